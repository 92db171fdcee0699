//! Rooms that two files describe alike: a file that was copied beside the one it came from.

use super::model::Room;
use super::problem::{Problem, ProblemKind};
use crate::source::{FileId, Place, Spanned};
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::BTreeMap;

/// Takes out each room that an earlier file has with the same key and the same appliances, and tells it once for the two
/// files: nothing that follows from the second description is worth a word.
pub(super) fn take_repeated(rooms: &mut Vec<(Spanned<String>, Room)>, problems: &mut Vec<Problem>) {
    let mut first: FxHashMap<String, (Place, usize)> = FxHashMap::default();
    let mut again: Vec<(usize, Place)> = Vec::new();
    for (index, (key, room)) in rooms.iter().enumerate() {
        match first.get(&key.value) {
            Some((place, other)) => {
                let is_same = rooms.get(*other).is_some_and(|(_, other)| have_the_same(room, other));
                if place.file != key.place.file && is_same {
                    again.push((index, *place));
                }
            }
            None => {
                first.insert(key.value.clone(), (key.place, index));
            }
        }
    }
    if again.is_empty() {
        return;
    }
    tell(rooms, &again, problems);
    let gone: FxHashSet<usize> = again.into_iter().map(|(index, _)| index).collect();
    let mut index = 0..;
    rooms.retain(|_| index.next().is_some_and(|index| !gone.contains(&index)));
}

fn tell(rooms: &[(Spanned<String>, Room)], again: &[(usize, Place)], problems: &mut Vec<Problem>) {
    let mut of_files: BTreeMap<(FileId, FileId), Problem> = BTreeMap::new();
    for (index, first) in again {
        let Some((key, _)) = rooms.get(*index) else { continue };
        let problem = of_files.entry((first.file, key.place.file)).or_insert_with(|| Problem {
            place: key.place,
            kind: ProblemKind::RoomsTwice { key: key.value.clone(), rooms: 0, first: *first },
        });
        if let ProblemKind::RoomsTwice { rooms, .. } = &mut problem.kind {
            *rooms += 1;
        }
    }
    problems.extend(of_files.into_values());
}

/// Whether two rooms have appliances, and of the same keys.
fn have_the_same(room: &Room, other: &Room) -> bool {
    let keys = |room: &Room| {
        let appliances = room.appliances.value().map(|appliances| &appliances.0);
        let mut keys: Vec<String> =
            appliances.into_iter().flatten().map(|(key, _)| key.value.clone()).collect();
        keys.sort();
        keys
    };
    let keys_here = keys(room);
    !keys_here.is_empty() && keys_here == keys(other)
}
