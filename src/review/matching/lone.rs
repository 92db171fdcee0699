//! Tells of endpoints that did not stay where they were: moved, gone, come, or recognised under another key.

use super::drafts::{Drafts, came, gone, member, widen};
use super::identity::{Pairs, Spot, Stayed, appliance_key, part};
use super::kept::{Hidden, place};
use super::recognition::{Family, recognise};
use crate::review::Side;
use crate::review::change::{Change, Kind, Member, Remedy, Subject};
use crate::review::difference::{Difference, application_types};
use crate::review::outline::Outline;
use crate::sort;
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};
use std::sync::Arc;

/// An appliance that is on one side only, with its endpoints.
#[derive(Clone, Debug)]
pub(super) struct Lone<'a> {
    pub(super) bridge: &'a str,
    pub(super) parts: Vec<&'a Arc<Outline>>,
}

impl<'a> Lone<'a> {
    /// The part that gives the appliance its name: the first one, else that with the lowest number.
    pub(super) fn main(&self) -> Option<&'a Outline> {
        self.parts
            .iter()
            .find(|endpoint| part(&endpoint.key).is_empty())
            .or(self.parts.first())
            .map(|endpoint| &***endpoint)
    }

    pub(super) fn spots(&self) -> impl Iterator<Item = Spot<'a>> {
        self.parts.iter().map(|endpoint| Spot { bridge: self.bridge, endpoint })
    }

    pub(super) fn member(&self, side: Side, old_key: Option<&str>) -> Option<Member> {
        let mut spots = self.spots();
        let mut member = member(spots.next()?, side, old_key);
        spots.for_each(|spot| widen(&mut member, spot.endpoint));
        Some(member)
    }

    fn key(&self) -> Option<&'a str> {
        self.main().map(|endpoint| appliance_key(&endpoint.key))
    }
}

/// Adds a change for every endpoint that did not stay.
pub(super) fn tell<'a>(mut pairs: Pairs<'a>, hidden: &Hidden<'a>, drafts: &mut Drafts<'a>) {
    let used: FxHashSet<(&str, u16)> = pairs
        .gone
        .iter()
        .chain(pairs.moved.iter().map(|(before, _)| before))
        .map(|spot| (spot.bridge, spot.endpoint.number))
        .collect();
    let again = pairs.came.iter().chain(pairs.moved.iter().map(|(_, after)| after)).map(place).collect();
    hidden.tell_sight(&mut pairs, drafts);
    tell_moved(std::mem::take(&mut pairs.moved), drafts);
    let heirs = heirs(&pairs.stayed);
    let mut parts = Vec::new();
    tell_first_parts(&mut pairs, &heirs, drafts, &mut parts);
    let gone_alone = lone(pairs.gone, Side::Old, drafts, &mut parts);
    parts.iter().for_each(|(_, spot)| rename(*spot, &heirs, drafts));
    let came_alone = lone(pairs.came, Side::New, drafts, &mut parts);
    let came_alone = hidden.tell_lost(&again, came_alone, drafts);
    let families = recognise(&gone_alone, &came_alone, &pairs.stayed, &parts);
    let mut known_gone = vec![false; gone_alone.len()];
    let mut known_came = vec![false; came_alone.len()];
    for family in &families {
        family.gone.iter().for_each(|at| mark(&mut known_gone, *at));
        family.came.iter().for_each(|at| mark(&mut known_came, *at));
    }
    let (classes, families): (Vec<_>, Vec<_>) =
        families.into_iter().partition(|family| family.kind == Kind::ClassChanged);
    for family in &classes {
        tell_class(family, &gone_alone, &came_alone, drafts);
    }
    let told: Vec<_> =
        families.par_iter().filter_map(|family| told(family, &gone_alone, &came_alone)).collect();
    drafts.changes.extend(told);
    for (appliance, _) in gone_alone.iter().zip(known_gone).filter(|(_, known)| !known) {
        if hidden.tell_renamed(appliance, drafts) {
            continue;
        }
        let differences = appliance.spots().map(gone).collect();
        push_lone(drafts, Kind::Removed, appliance.member(Side::Old, None), differences);
    }
    for (appliance, _) in came_alone.iter().zip(known_came).filter(|(_, known)| !known) {
        let again = appliance.spots().any(|spot| used.contains(&(spot.bridge, spot.endpoint.number)));
        let kind = if again { Kind::NumberReused } else { Kind::Added };
        push_lone(drafts, kind, appliance.member(Side::New, None), appliance.spots().map(came).collect());
    }
}

fn mark(known: &mut [bool], at: usize) {
    if let Some(known) = known.get_mut(at) {
        *known = true;
    }
}

pub(super) fn push_lone(
    drafts: &mut Drafts,
    kind: Kind,
    member: Option<Member>,
    differences: Vec<Difference>,
) {
    if let Some(member) = member {
        drafts.push(kind, Subject::Appliances(vec![member]), differences);
    }
}

/// Adds the changes of endpoints that are behind another bridge or have another number.
fn tell_moved<'a>(mut moved: Vec<(Spot<'a>, Spot<'a>)>, drafts: &mut Drafts<'a>) {
    let types = |spot: &Spot| application_types(spot.endpoint.device_types());
    // First parts first, so that further parts join their appliance's change.
    sort::by_key(&mut moved, |(_, after)| !part(&after.endpoint.key).is_empty());
    for (before, after) in moved {
        let kind = if before.bridge != after.bridge {
            Kind::BridgeChanged
        } else if types(&before) == types(&after) {
            Kind::NewIdentity
        } else {
            Kind::ClassChanged
        };
        let kind = joined(drafts, after).unwrap_or(kind);
        drafts.add(kind, after, Side::Both, Some(&before.endpoint.key), vec![gone(before), came(after)]);
        drafts.left(before, after);
    }
}

/// The first endpoints of appliances that had another key, as they were and are: by bridge and the appliance's old key.
type Heirs<'a> = FxHashMap<(&'a str, &'a str), (&'a Arc<Outline>, &'a Arc<Outline>)>;

fn heirs<'a>(stayed: &[Stayed<'a>]) -> Heirs<'a> {
    let firsts = stayed.iter().filter(|pair| part(&pair.new.key).is_empty() && pair.old.key != pair.new.key);
    firsts.map(|pair| ((pair.bridge, appliance_key(&pair.old.key)), (pair.old, pair.new))).collect()
}

/// Adds a change for every first endpoint that is gone while a further one of its appliance took its place, and takes it out
/// of the pairs: the appliance is not gone.
fn tell_first_parts<'a>(
    pairs: &mut Pairs<'a>,
    heirs: &Heirs<'a>,
    drafts: &mut Drafts<'a>,
    lone_parts: &mut Vec<(Side, Spot<'a>)>,
) {
    if heirs.is_empty() {
        return;
    }
    let is_followed = |spot: &Spot<'a>| {
        let heir = heirs.get(&(spot.bridge, spot.endpoint.key.as_str()));
        heir.is_some_and(|(old, _)| !part(&old.key).is_empty())
    };
    let (first, others): (Vec<_>, Vec<_>) =
        std::mem::take(&mut pairs.gone).into_iter().partition(is_followed);
    pairs.gone = others;
    for spot in first {
        drafts.add(Kind::PartRemoved, spot, Side::Both, None, vec![gone(spot)]);
        lone_parts.push((Side::Old, spot));
    }
}

/// Tells of an endpoint that is gone under the key that its appliance has now.
fn rename<'a>(spot: Spot<'a>, heirs: &Heirs<'a>, drafts: &mut Drafts<'a>) {
    if let Some((_, now)) = heirs.get(&(spot.bridge, appliance_key(&spot.endpoint.key))) {
        drafts.rename(Kind::PartRemoved, spot, now);
    }
}

/// The kind of change that an appliance's further endpoints join.
fn joined<'a>(drafts: &Drafts<'a>, spot: Spot<'a>) -> Option<Kind> {
    let key = appliance_key(&spot.endpoint.key);
    [Kind::ClassChanged, Kind::BridgeChanged, Kind::NewIdentity]
        .into_iter()
        .find(|kind| drafts.has(*kind, spot.bridge, key))
}

/// Gathers lone endpoints to appliances. Further parts of an appliance that is there on both sides become changes, and
/// are kept in `lone_parts`.
pub(super) fn lone<'a>(
    spots: Vec<Spot<'a>>,
    side: Side,
    drafts: &mut Drafts<'a>,
    lone_parts: &mut Vec<(Side, Spot<'a>)>,
) -> Vec<Lone<'a>> {
    let mut appliances: Vec<Lone<'a>> = Vec::new();
    let mut place: FxHashMap<(&str, &str), usize> = FxHashMap::default();
    let (mains, parts): (Vec<_>, Vec<_>) =
        spots.into_iter().partition(|spot| part(&spot.endpoint.key).is_empty());
    for spot in mains {
        let at = *place.entry((spot.bridge, &spot.endpoint.key)).or_insert(appliances.len());
        match appliances.get_mut(at) {
            Some(appliance) => appliance.parts.push(spot.endpoint),
            None => appliances.push(Lone { bridge: spot.bridge, parts: vec![spot.endpoint] }),
        }
    }
    for spot in parts {
        let key = (spot.bridge, appliance_key(&spot.endpoint.key));
        if let Some(appliance) = place.get(&key).and_then(|at| appliances.get_mut(*at)) {
            appliance.parts.push(spot.endpoint);
            continue;
        }
        lone_parts.push((side, spot));
        if side == Side::Old && drafts.add_left(spot) {
            continue;
        }
        let (kind, difference) = match side {
            Side::Old => (Kind::PartRemoved, gone(spot)),
            Side::New | Side::Both => (Kind::PartAdded, came(spot)),
        };
        let kind = joined(drafts, spot).unwrap_or(kind);
        drafts.add(kind, spot, Side::Both, None, vec![difference]);
    }
    appliances
}

/// Adds the change of an appliance with another class and another key. Parts of it may have a change of class already.
fn tell_class<'a>(
    family: &Family,
    gone_alone: &[Lone<'a>],
    came_alone: &[Lone<'a>],
    drafts: &mut Drafts<'a>,
) {
    let of = |side: &[Lone<'a>], at: &[usize]| at.first().and_then(|at| side.get(*at)).cloned();
    let (Some(old), Some(new)) = (of(gone_alone, &family.gone), of(came_alone, &family.came)) else { return };
    let mut differences: Vec<Difference> = old.spots().map(gone).chain(new.spots().map(came)).collect();
    // Behind another bridge it is a new one, whatever its class is.
    let kind = if old.bridge == new.bridge { family.kind } else { Kind::BridgeChanged };
    for spot in new.spots() {
        drafts.add(kind, spot, Side::Both, old.key(), std::mem::take(&mut differences));
    }
}

/// The change that a recognised family of appliances is.
fn told(family: &Family, gone_alone: &[Lone], came_alone: &[Lone]) -> Option<Change> {
    let before: Vec<&Lone> = family.gone.iter().filter_map(|at| gone_alone.get(*at)).collect();
    let after: Vec<&Lone> = family.came.iter().filter_map(|at| came_alone.get(*at)).collect();
    let differences = before
        .iter()
        .flat_map(|one| one.spots().map(gone))
        .chain(after.iter().flat_map(|one| one.spots().map(came)));
    let differences = differences.collect();
    let (kind, members, remedy) = match family.kind {
        Kind::ProbableRename => renamed(before.first()?, after.first()?)?,
        kind => {
            let staying = |stayed: Option<(Spot, &str)>| {
                stayed.map(|(spot, old_key)| member(spot, Side::Both, Some(old_key)))
            };
            let mut members: Vec<Member> =
                before.iter().filter_map(|one| one.member(Side::Old, None)).collect();
            let fresh = after.iter().filter_map(|one| one.member(Side::New, None));
            if kind == Kind::SplitOff {
                members.extend(fresh.chain(staying(family.stayed)));
            } else {
                members.extend(staying(family.stayed).into_iter().chain(fresh));
            }
            (kind, members, None)
        }
    };
    Some(Change { kind, subject: Subject::Appliances(members), remedy, agreed: None, differences })
}

/// An appliance that has only another key. Behind another bridge it is a new one whatever is written, so there is nothing to
/// write.
fn renamed(old: &Lone, new: &Lone) -> Option<(Kind, Vec<Member>, Option<Remedy>)> {
    let members = vec![new.member(Side::Both, old.key())?];
    if old.bridge != new.bridge {
        return Some((Kind::BridgeChanged, members, None));
    }
    let line = format!("formerly: {}", old.key()?);
    let remedy = Remedy { appliance: new.key()?.to_owned(), line };
    Some((Kind::ProbableRename, members, Some(remedy)))
}
