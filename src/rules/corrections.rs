//! Corrections that cannot be right are not offered, whichever rule thought of them.
//!
//! What a house's names and habits lead to is a guess. It is none where it gives two ends of an appliance one address, a
//! wire a row of a type that its point does not take, or a command a row that is called a status.

use super::{Context, cross_wiring, find, suspicion};
use crate::findings::Finding;
use crate::knx::GroupAddress;
use crate::source::Place;
use rustc_hash::{FxHashMap, FxHashSet};

/// What writes to more appliances follows from their places, not from what each is called.
const FEW_APPLIANCES: usize = 2;

/// Takes the corrections that cannot be right from findings, and what is nothing but such a correction out.
pub(super) fn withdraw_unfit(found: &mut Vec<Finding>, context: &Context<'_>) {
    if !found.iter().any(|finding| finding.edit.is_some()) {
        return;
    }
    let wires = wires(context);
    let is_unfit = |finding: &Finding| {
        let ends = written(finding, &wires, context);
        let mut appliances: Vec<u32> = ends
            .iter()
            .filter_map(|(wire, _)| context.survey.wires.all.get(*wire as usize))
            .map(|wired| wired.appliance)
            .collect();
        appliances.sort_unstable();
        appliances.dedup();
        appliances.len() <= FEW_APPLIANCES
            && (ends.iter().any(|(wire, address)| !context.survey.can_be(context.plan, *wire, *address))
                || appliances.iter().any(|appliance| meet(*appliance, &ends, context)))
    };
    found.retain_mut(|finding| {
        let unfit = is_unfit(finding);
        if unfit {
            withdraw(finding);
        }
        !unfit || finding.rule != cross_wiring::addresses_exchanged::RULE.card.name
    });
}

/// Takes the corrections from findings that would give one row to two ends: at most one of them is right, and that is the
/// one that writes more.
pub(super) fn withdraw_rival(found: &mut [Finding], context: &Context<'_>) {
    if found.iter().filter(|finding| finding.edit.is_some()).nth(1).is_none() {
        return;
    }
    let takers = takers(found, context);
    let writes = |index: usize| {
        let edit = found.get(index).and_then(|finding| finding.edit.as_ref());
        edit.map_or(0, |edit| edit.replacements.len() + edit.additions.len())
    };
    let mut rival: FxHashSet<usize> = FxHashSet::default();
    for of_one in takers.into_values() {
        let Some((first, place)) = of_one.first() else { continue };
        if of_one.iter().all(|(index, other)| index == first || other == place) {
            continue;
        }
        let most = of_one.iter().map(|(index, _)| writes(*index)).max().unwrap_or_default();
        let with_most = of_one.iter().filter(|(index, _)| writes(*index) == most).count();
        let loses = |index: &usize| writes(*index) < most || with_most > 1;
        rival.extend(of_one.iter().map(|(index, _)| *index).filter(loses));
    }
    for (index, finding) in found.iter_mut().enumerate() {
        if rival.contains(&index) {
            withdraw(finding);
        }
    }
}

/// The findings that give out an address of a bus, each with the end that it goes to.
type Takers = FxHashMap<(usize, String), Vec<(usize, Place)>>;

fn takers(found: &[Finding], context: &Context<'_>) -> Takers {
    let wires = wires(context);
    let points = points(found, context);
    let mut takers = Takers::default();
    for (index, finding) in found.iter().enumerate() {
        let Some(edit) = &finding.edit else { continue };
        let own = edit.replacements.iter().filter_map(|(place, text)| {
            let wired = context.survey.wires.all.get(*wires.get(place)? as usize)?;
            (!wired.shared).then_some((wired.bus as usize, text, *place))
        });
        let added = edit.additions.iter().filter_map(|addition| {
            Some((*points.get(&addition.mapping)?, &addition.value, addition.mapping))
        });
        for (bus, text, place) in own.chain(added) {
            takers.entry((bus, text.clone())).or_default().push((index, place));
        }
    }
    takers
}

fn withdraw(finding: &mut Finding) {
    finding.edit = None;
    finding.help = find(finding.rule).map(|rule| rule.card.remedy.to_owned());
}

/// The wires of the survey by the places of their addresses.
fn wires(context: &Context<'_>) -> FxHashMap<Place, u32> {
    let all = (0u32..).take(context.survey.wires.all.len());
    all.filter_map(|index| Some((suspicion::wire_of(index, context)?.1.address.place, index))).collect()
}

/// The buses of the points that lack an end.
fn points(found: &[Finding], context: &Context<'_>) -> FxHashMap<Place, usize> {
    let added = found.iter().filter_map(|finding| finding.edit.as_ref()).flat_map(|edit| &edit.additions);
    let lacking: FxHashSet<Place> = added.map(|addition| addition.mapping).collect();
    if lacking.is_empty() {
        return FxHashMap::default();
    }
    let all = context.plan.appliances.iter().flat_map(|appliance| {
        appliance
            .points
            .iter()
            .filter(|point| !point.is_shared(appliance))
            .map(|point| (point.key, appliance.bus))
    });
    all.filter(|(key, _)| lacking.contains(key)).collect()
}

/// The wires that a correction writes, and the addresses.
fn written(
    finding: &Finding,
    wires: &FxHashMap<Place, u32>,
    context: &Context<'_>,
) -> Vec<(u32, GroupAddress)> {
    let replaced = finding.edit.iter().flat_map(|edit| &edit.replacements);
    let written = replaced.filter_map(|(place, text)| {
        let address = GroupAddress::parse(text, context.plan.house.notation).ok()?;
        Some((*wires.get(place)?, address))
    });
    written.collect()
}

/// Whether a correction gives an end of an appliance the address that another one has, or is given.
fn meet(appliance: u32, ends: &[(u32, GroupAddress)], context: &Context<'_>) -> bool {
    let (start, own) = context.survey.wires.of_appliance(appliance as usize);
    let mut all: Vec<(GroupAddress, bool)> = own
        .iter()
        .zip(start..)
        .map(|(wired, index)| {
            let new = ends.iter().find(|(wire, _)| *wire as usize == index);
            (new.map_or(wired.address, |(_, address)| *address), new.is_some())
        })
        .collect();
    all.sort_unstable();
    all.windows(2).any(|pair| matches!(pair, [(one, a), (other, b)] if one == other && (*a || *b)))
}
