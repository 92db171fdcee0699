//! Rooms that are called after one bridge and stand on another: "Flat 1 lounge" on the bridge "Flat 2".
//!
//! Only where the house keeps to it: the other rooms that are called after that bridge are on it, and no room of its own
//! is called after the one that this room names.

use super::tokens::split;
use crate::resolve::Plan;
use crate::resolve::plan::Room;
use rustc_hash::FxHashMap;

/// So many rooms on the bridge they are called after are a habit, and twice as many as are not.
const FEWEST: usize = 2;

/// A room that is probably on another bridge than it names.
#[derive(Clone, Copy, Debug)]
pub struct OnOtherBridge {
    /// Its index in the plan.
    pub room: usize,
    /// The index of the bridge that it is called after.
    pub bridge: usize,
    /// How many other rooms are called after that bridge, and on it.
    pub others: usize,
}

/// Such rooms of a plan, in its order.
pub fn on_other_bridges(plan: &Plan) -> Vec<OnOtherBridge> {
    if plan.bridges.len() < 2 {
        return Vec::new();
    }
    let bridge_of: FxHashMap<&str, usize> =
        plan.bridges.iter().map(|bridge| bridge.key.value.as_str()).zip(0..).collect();
    let own = own_words(plan);
    let placed = |(index, room): (usize, &Room)| {
        let named = *bridge_of.get(room.bridge.as_ref()?.value.as_str())?;
        Some((index, named, called_after(room, &own)?))
    };
    let rooms: Vec<(usize, usize, usize)> = plan.rooms.iter().enumerate().filter_map(placed).collect();
    let mut kept = vec![(0_usize, 0_usize); plan.bridges.len()];
    for (_, named, called) in &rooms {
        if let Some((right, wrong)) = kept.get_mut(*called) {
            *(if named == called { right } else { wrong }) += 1;
        }
    }
    let astray = rooms.into_iter().filter(|(_, named, called)| named != called);
    let found = astray.filter_map(|(room, _, bridge)| {
        let (others, astray) = *kept.get(bridge)?;
        (others >= FEWEST.max(2 * astray)).then_some(OnOtherBridge { room, bridge, others })
    });
    found.collect()
}

/// The words that one bridge alone is called, each with its index.
fn own_words(plan: &Plan) -> FxHashMap<String, Option<usize>> {
    let mut own: FxHashMap<String, Option<usize>> = FxHashMap::default();
    for (index, bridge) in plan.bridges.iter().enumerate() {
        let mut words = [split(&bridge.key.value), split(&bridge.name.value)].concat();
        words.sort_unstable();
        words.dedup();
        for word in words {
            own.entry(word).and_modify(|index| *index = None).or_insert(Some(index));
        }
    }
    own
}

/// The one bridge whose words a room is called by.
fn called_after(room: &Room, own: &FxHashMap<String, Option<usize>>) -> Option<usize> {
    let floor = room.floor.as_ref().map_or("", |floor| floor.value.as_str());
    let names = [room.key.value.as_str(), room.name.value.as_str(), floor];
    let mut called = names.iter().flat_map(|name| split(name)).filter_map(|word| *own.get(&word)?);
    let first = called.next()?;
    called.all(|bridge| bridge == first).then_some(first)
}
