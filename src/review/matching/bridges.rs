//! A bridge that only has another key: told once, with all of its appliances.

use crate::review::change::{Change, Kind, Subject};
use crate::review::difference::{BridgeField, Difference, What, application_types};
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::BTreeMap;

/// What the two sides say of their bridges.
pub(super) struct Heads<'a> {
    /// How many endpoints each old one has.
    pub(super) endpoints: FxHashMap<&'a str, usize>,
    /// What each new one is called.
    pub(super) names: FxHashMap<&'a str, &'a str>,
}

/// Tells a bridge that only has another key as one change: one that went and one that came, or two that exchanged their
/// keys, with the appliances that went from the one to the other. It needs more than half of the old one's endpoints.
pub(super) fn fold(mut changes: Vec<Change>, heads: &Heads) -> Vec<Change> {
    let renamed = renamed(&changes, heads);
    if renamed.is_empty() {
        return changes;
    }
    let mut folded: Vec<Vec<Difference>> = vec![Vec::new(); renamed.len()];
    let mut rest = Vec::with_capacity(changes.len());
    for change in changes.drain(..) {
        let place = match (change.kind, &change.subject) {
            (Kind::BridgeRemoved, Subject::Bridge { key, .. }) => at(&renamed, |(from, _)| from == key),
            (Kind::BridgeAdded, Subject::Bridge { key, .. }) => at(&renamed, |(_, to)| to == key),
            (Kind::BridgeChanged, _) => moved(&change)
                .and_then(|pair| at(&renamed, |(from, to)| (from.as_str(), to.as_str()) == pair)),
            _ => None,
        };
        match place.and_then(|at| folded.get_mut(at)) {
            Some(differences) => differences.extend(change.differences),
            None => rest.push(change),
        }
    }
    for ((_, to), differences) in renamed.into_iter().zip(folded) {
        let name = heads.names.get(to.as_str()).map_or(to.as_str(), |name| name).to_owned();
        let subject = Subject::Bridge { key: to, name };
        rest.push(Change { kind: Kind::BridgeRekeyed, subject, remedy: None, agreed: None, differences });
    }
    rest
}

fn at(renamed: &[(String, String)], is: impl Fn(&(String, String)) -> bool) -> Option<usize> {
    renamed.iter().position(is)
}

/// Old and new key of every bridge that only has another one.
fn renamed(changes: &[Change], heads: &Heads) -> Vec<(String, String)> {
    let of_kind = |kind: Kind| -> FxHashSet<&str> {
        let bridges = changes.iter().filter(|change| change.kind == kind);
        bridges
            .filter_map(|change| match &change.subject {
                Subject::Bridge { key, .. } => Some(key.as_str()),
                Subject::House | Subject::Appliances(_) => None,
            })
            .collect()
    };
    let mut went: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    for change in changes.iter().filter(|change| change.kind == Kind::BridgeChanged) {
        if let Some(pair) = moved(change) {
            let gone =
                change.differences.iter().filter(|one| matches!(one.what, What::EndpointRemoved { .. }));
            *went.entry(pair).or_insert(0) += gone.count();
        }
    }
    // More than half of a bridge went to one other only.
    went.retain(|(from, _), count| *count * 2 > heads.endpoints.get(from).copied().unwrap_or(0));
    let (gone, came) = (of_kind(Kind::BridgeRemoved), of_kind(Kind::BridgeAdded));
    let former = former_names(changes);
    let name = |key: &str| heads.names.get(key).copied();
    // Of two bridges that are both still there the names tell whether the keys went to and fro, or the appliances.
    let has_its_name = |from: &str, to: &str| former.get(from).copied().or_else(|| name(from)) == name(to);
    let mut taken: FxHashSet<&str> = FxHashSet::default();
    let mut renamed = Vec::new();
    for (from, to) in went.keys() {
        let replaced = gone.contains(from) && came.contains(to);
        let exchanged = went.contains_key(&(*to, *from)) && has_its_name(from, to);
        if (replaced || exchanged) && taken.insert(to) {
            renamed.push(((*from).to_owned(), (*to).to_owned()));
        }
    }
    renamed
}

/// What bridges were called that have another name, by key.
fn former_names(changes: &[Change]) -> FxHashMap<&str, &str> {
    let renamed = changes.iter().filter(|change| change.kind == Kind::BridgeRenamed);
    let all =
        renamed.flat_map(|change| &change.differences).filter_map(|difference| match &difference.what {
            What::BridgeField { field: BridgeField::BridgeName, before, .. } => {
                Some((difference.bridge.as_str(), before.as_str()?))
            }
            _ => None,
        });
    all.collect()
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
