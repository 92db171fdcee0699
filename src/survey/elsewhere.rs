//! Appliances whose rows all name another room of the house than the one they stand in.
//!
//! Only where rows of this house name rooms at all: other appliances of the same room must have rows that name it, and
//! appliances of the other room rows that name that one.

use super::marks::Judge;
use super::suspects::{Charge, Evidence, Slip, Suspect};
use super::wires::narrow;
use crate::pieces;
use rustc_hash::{FxHashMap, FxHashSet};

/// Of so many appliances of a room one may be an exception.
const OF_EACH: u32 = 3;

/// Finds them among the appliances that nothing else speaks against. `said` is the room that all rows of each name.
pub(super) fn find(judge: Judge<'_>, charges: &[Charge], said: &[Option<u32>]) -> Vec<Suspect> {
    let charged: FxHashSet<u32> = charges
        .iter()
        .filter_map(|charge| judge.wires.all.get(charge.wire as usize))
        .map(|wired| wired.appliance)
        .collect();
    let mut counts: FxHashMap<(u32, u32), u32> = FxHashMap::default();
    for (appliance, said) in judge.plan.appliances.iter().zip(said) {
        if let Some(said) = said {
            *counts.entry((narrow(appliance.room), *said)).or_default() += 1;
        }
    }
    let count = |room: u32, said: u32| counts.get(&(room, said)).copied().unwrap_or(0);
    let mut suspects = Vec::new();
    for ((appliance, said), index) in judge.plan.appliances.iter().zip(said).zip(0u32..) {
        let here = narrow(appliance.room);
        let Some(said) = said.filter(|said| *said != here && !charged.contains(&index)) else { continue };
        let others = count(here, here);
        let exception = others >= 1 && count(here, said) * OF_EACH <= others + OF_EACH;
        if exception && count(said, said) >= 1 && !may_be_here(judge, index as usize, said) {
            let (start, _) = judge.wires.of_appliance(index as usize);
            suspects.push(Suspect {
                wire: narrow(start),
                right: None,
                slip: Slip::Alone,
                also: Vec::new(),
                with: Vec::new(),
                evidence: vec![Evidence::Room { said, others }],
            });
        }
    }
    suspects
}

/// The room that all named rows of each appliance speak of.
pub(super) fn rooms_said(judge: Judge<'_>) -> Vec<Option<u32>> {
    pieces::each(judge.plan.appliances.len(), pieces::LIGHT, |appliance| room_said(judge, appliance))
}

fn room_said(judge: Judge<'_>, appliance: usize) -> Option<u32> {
    let learned = judge.learned;
    let (_, own) = judge.wires.of_appliance(appliance);
    let mut said = own
        .iter()
        .filter(|wired| !wired.shared)
        .filter_map(|wired| learned.stems.stem(wired.bus, wired.row?))
        .map(|stem| learned.owners.room_said(stem, &learned.stems));
    let first = said.next()??;
    said.all(|room| room == Some(first)).then_some(first)
}

fn may_be_here(judge: Judge<'_>, appliance: usize, said: u32) -> bool {
    let learned = judge.learned;
    let (_, own) = judge.wires.of_appliance(appliance);
    let mut stems = own.iter().filter_map(|wired| learned.stems.stem(wired.bus, wired.row?));
    stems.any(|stem| learned.owners.may_be_here(stem, appliance, said, &learned.stems, &learned.tokens))
}
