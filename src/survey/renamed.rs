//! Rooms that have each other's names: the rows of each speak of the other one, and its key does not say that the name is
//! right. Where it does, the addresses are wrong.

use super::marks::Judge;
use super::suspects::Suspect;
use super::wires::narrow;
use rustc_hash::{FxHashMap, FxHashSet};

/// So many appliances of one of the two rooms say what it is called.
const FEWEST: u32 = 3;

/// Of so many appliances of a room with rows that speak of a room, one may speak of a third.
const OF_EACH: u32 = 5;

/// Pairs of rooms with each other's names, by their indices in the plan, the earlier one first. Of rooms with
/// suspects only those whose keys say the same as the rows.
pub(super) fn find(judge: Judge<'_>, suspects: &[Suspect]) -> Vec<(usize, usize)> {
    let mut of_room = vec![(0_u32, 0_u32); judge.plan.rooms.len()];
    let mut others: FxHashMap<(u32, u32), u32> = FxHashMap::default();
    for (appliance, index) in judge.plan.appliances.iter().zip(0usize..) {
        let Some((own, strange)) = of_room.get_mut(appliance.room) else { continue };
        let here = narrow(appliance.room);
        let said = said(judge, index);
        if said.contains(&here) {
            *own += 1;
        } else if !said.is_empty() {
            *strange += 1;
            said.into_iter().for_each(|room| *others.entry((here, room)).or_default() += 1);
        }
    }
    let speaks_of = |here: u32, there: u32| {
        let (own, strange) = of_room.get(here as usize).copied().unwrap_or_default();
        let count = others.get(&(here, there)).copied().unwrap_or(0);
        (own == 0 && (strange - count) * OF_EACH <= strange).then_some(count)
    };
    let both = |(here, there): &(u32, u32)| {
        let counts = speaks_of(*here, *there).zip(speaks_of(*there, *here));
        here < there && counts.is_some_and(|(one, other)| one.min(other) > 0 && one.max(other) >= FEWEST)
    };
    let owners = &judge.learned.owners;
    let wires = suspects.iter().flat_map(Suspect::wires);
    let with_suspects: FxHashSet<usize> =
        wires.filter_map(|wire| judge.appliance(wire)).map(|one| one.room).collect();
    let told = |room: usize| with_suspects.contains(&room);
    let keys_agree =
        |here: usize, there: usize| match owners.key_says(here, there) + owners.key_says(there, here) {
            0 => !told(here) && !told(there),
            said => said > 0,
        };
    let pairs = others.keys().filter(|pair| both(pair));
    let pairs = pairs.map(|(here, there)| (*here as usize, *there as usize));
    let mut pairs: Vec<(usize, usize)> = pairs.filter(|(here, there)| keys_agree(*here, *there)).collect();
    pairs.sort_unstable();
    pairs
}

/// The rooms of these pairs.
pub(super) fn rooms(pairs: &[(usize, usize)]) -> FxHashSet<usize> {
    pairs.iter().flat_map(|(one, other)| [*one, *other]).collect()
}

/// The rooms whose names the first row of an appliance has a word of that no other room is called by, each once.
fn said(judge: Judge<'_>, appliance: usize) -> Vec<u32> {
    let learned = judge.learned;
    let (_, own) = judge.wires.of_appliance(appliance);
    let mut rows = own.iter().filter(|wired| !wired.shared);
    let row = rows.find_map(|wired| Some(learned.stems.row(wired.bus, wired.row?)));
    let named = |word| learned.owners.named_after(word);
    let mut said: Vec<u32> = row.into_iter().flatten().filter_map(|word| named(*word)).collect();
    said.sort_unstable();
    said.dedup();
    said
}
