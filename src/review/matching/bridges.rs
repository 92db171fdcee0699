//! A bridge that only has another key: told once, with all of its appliances.

use crate::review::change::{Change, Kind, Subject};
use crate::review::difference::{Difference, What, application_types};
use rustc_hash::FxHashMap;

/// Tells a bridge that went, one that came, and the appliances that went from the one to the other as one change. It
/// needs every appliance of the old one.
pub(super) fn fold(mut changes: Vec<Change>) -> Vec<Change> {
    let renamed = renamed(&changes);
    if renamed.is_empty() {
        return changes;
    }
    let mut folded: Vec<(&str, Vec<Difference>)> = Vec::new();
    for (_, to) in &renamed {
        folded.push((to, Vec::new()));
    }
    let mut rest = Vec::with_capacity(changes.len());
    let mut heads: FxHashMap<String, Subject> = FxHashMap::default();
    for change in changes.drain(..) {
        let place = match (change.kind, &change.subject) {
            (Kind::BridgeRemoved, Subject::Bridge { key, .. }) => at(&renamed, |(from, _)| from == key),
            (Kind::BridgeAdded, Subject::Bridge { key, .. }) => at(&renamed, |(_, to)| to == key),
            (Kind::BridgeChanged, _) => moved(&change)
                .and_then(|pair| at(&renamed, |(from, to)| (from.as_str(), to.as_str()) == pair)),
            _ => None,
        };
        match place.and_then(|at| folded.get_mut(at)) {
            Some((to, differences)) => {
                if change.kind == Kind::BridgeAdded {
                    heads.insert((*to).to_owned(), change.subject);
                }
                differences.extend(change.differences);
            }
            None => rest.push(change),
        }
    }
    for (to, differences) in folded {
        let there = heads.remove(to);
        rest.extend(there.map(|subject| Change {
            kind: Kind::BridgeRekeyed,
            subject,
            remedy: None,
            agreed: None,
            differences,
        }));
    }
    rest
}

fn at(renamed: &[(String, String)], is: impl Fn(&(String, String)) -> bool) -> Option<usize> {
    renamed.iter().position(is)
}

/// Old and new key of every bridge that only has another one.
fn renamed(changes: &[Change]) -> Vec<(String, String)> {
    let heads = |kind: Kind| -> Vec<&str> {
        let bridges = changes.iter().filter(|change| change.kind == kind);
        bridges
            .filter_map(|change| match &change.subject {
                Subject::Bridge { key, .. } => Some(key.as_str()),
                Subject::House | Subject::Appliances(_) => None,
            })
            .collect()
    };
    let (gone, came) = (heads(Kind::BridgeRemoved), heads(Kind::BridgeAdded));
    if gone.is_empty() || came.is_empty() {
        return Vec::new();
    }
    // Where the appliances of each old bridge went; none for one with an appliance that went elsewhere or nowhere.
    let mut went: FxHashMap<&str, Option<&str>> = FxHashMap::default();
    for change in changes.iter().filter(|change| leaves(change)) {
        let pair = moved(change).filter(|_| change.kind == Kind::BridgeChanged);
        for difference in &change.differences {
            if let What::EndpointRemoved { .. } = &difference.what {
                let to = pair.map(|(_, to)| to);
                let known = went.entry(&difference.bridge).or_insert(to);
                *known = known.filter(|known| Some(*known) == to);
            }
        }
    }
    let mut taken: Vec<&str> = Vec::new();
    let mut renamed = Vec::new();
    for from in gone {
        let to = went.get(from).copied().flatten().filter(|to| came.contains(to) && !taken.contains(to));
        if let Some(to) = to {
            taken.push(to);
            renamed.push((from.to_owned(), to.to_owned()));
        }
    }
    renamed
}

/// Whether a change takes endpoints away.
fn leaves(change: &Change) -> bool {
    change.differences.iter().any(|one| matches!(one.what, What::EndpointRemoved { .. }))
}

/// From which bridge to which one an appliance went, if all of its endpoints did and stayed what they are.
fn moved(change: &Change) -> Option<(&str, &str)> {
    let (mut old, mut new) = (Vec::new(), Vec::new());
    for difference in &change.differences {
        match &difference.what {
            What::EndpointRemoved { endpoint } => old.push((difference.bridge.as_str(), endpoint)),
            What::EndpointAdded { endpoint } => new.push((difference.bridge.as_str(), endpoint)),
            _ => return None,
        }
    }
    let ((from, _), (to, _)) = (old.first()?, new.first()?);
    let together = old.len() == new.len()
        && old.iter().zip(&new).all(|((bridge, before), (other, after))| {
            bridge == from
                && other == to
                && application_types(before.device_types()) == application_types(after.device_types())
        });
    together.then_some((*from, *to))
}
