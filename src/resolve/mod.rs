//! Looks up what a description names.
//!
//! In: a [`House`] as written, the device classes, the address tables. Out: a [`Plan`] in which every point has its
//! class role, datapoint type, bus and address, and a [`Problem`] for each thing that could not be looked up. Decides
//! nothing about whether the wiring makes sense, and knows nothing of Matter.

mod appliances;
mod cells;
mod keys;
mod notation;
pub mod plan;
mod problem;
mod role;
mod tables;
mod told;
mod words;

use crate::classes::ClassLibrary;
use crate::house::House;
use crate::pieces;
use crate::source::{self, Entries, Given, Limits, Place, Scalar, Sources, Spanned};
use keys::Keys;
use plan::{Allow, Appliance, Bridge, HouseFacts, Room};
use rayon::prelude::*;
use std::borrow::Cow;
use unicode_normalization::{UnicodeNormalization as _, is_nfc};

pub use plan::Plan;
pub use problem::{CellFault, Problem, ProblemKind};
pub use tables::LastTables;
pub use words::{WordList, words_schema};

/// Looks up what a description names. Never fails: what cannot be looked up is left out and told.
pub fn resolve(
    house: House,
    sources: &Sources,
    limits: &Limits,
    library: &ClassLibrary,
) -> (Plan, Vec<Problem>, Vec<source::Problem>) {
    resolve_since(house, sources, limits, library, None)
}

/// The same, after a last look at the house: tables that have not changed since are not read again.
pub fn resolve_since(
    house: House,
    sources: &Sources,
    limits: &Limits,
    library: &ClassLibrary,
    last: Option<&LastTables<'_>>,
) -> (Plan, Vec<Problem>, Vec<source::Problem>) {
    let mut problems = Vec::new();
    let (notation, wrong_notation) = notation::notation(&house);
    problems.extend(wrong_notation);
    let facts = HouseFacts {
        id: house.head.id.here().map(|id| id.value.clone()).unwrap_or_default(),
        id_place: house.head.id.place(),
        name: house.head.name.here().map(|name| composed(&name.value).into_owned()).unwrap_or_default(),
        name_place: house.head.name.here().map(|name| name.place),
        notation,
        unread: house.unread,
        place: Some(house.head_place.unwrap_or(house.root)),
    };
    let on_buses = tables::keys(&house.buses);
    let on_bridges = Keys::of(house.bridges.iter().map(|(key, _)| key.value.as_str()));
    let surroundings = appliances::Surroundings { notation, buses: &on_buses, bridges: &on_bridges, library };
    let (tables, (rooms, appliances, mut told_of_rooms)) = rayon::join(
        || tables::buses(house.buses, notation, sources, (limits, last)),
        || all_rooms(house.rooms, &surroundings, limits.mistakes),
    );
    let (buses, mut told_of_tables, mut source_problems) = tables;
    source_problems.extend(cut(&mut told_of_rooms, limits.mistakes));
    problems.append(&mut told_of_tables);
    let bridges = bridges(house.bridges, house.root, house.unread, &mut problems);
    problems.append(&mut told_of_rooms);
    let allows = allows(house.allow);
    let (words, mut told) = words::words(sources, limits, library, &mut problems);
    source_problems.append(&mut told);
    (Plan { house: facts, buses, bridges, rooms, appliances, allows, words }, problems, source_problems)
}

/// All rooms, and one behind the other their appliances.
fn all_rooms(
    written: Vec<(Spanned<String>, crate::house::model::Room)>,
    surroundings: &appliances::Surroundings<'_>,
    most: usize,
) -> (Vec<Room>, Vec<Appliance>, Vec<Problem>) {
    // One more, to see where it is too much.
    let quota = pieces::Quota::new(written.len(), most.saturating_add(1));
    let resolved: Vec<_> = written
        .into_par_iter()
        .enumerate()
        .with_max_len(pieces::HEAVY)
        .map(|(index, (key, room))| appliances::room(index, key, room, surroundings, &quota))
        .collect();
    let mut rooms = Vec::with_capacity(resolved.len());
    let mut appliances = Vec::with_capacity(resolved.iter().map(|(_, of_room, _)| of_room.len()).sum());
    let mut problems = Vec::new();
    for (room, mut of_room, mut told) in resolved {
        rooms.push(room);
        appliances.append(&mut of_room);
        problems.append(&mut told);
    }
    (rooms, appliances, problems)
}

/// Cuts off the problems of rooms behind the first so many, and tells that there are more.
fn cut(problems: &mut Vec<Problem>, most: usize) -> Option<source::Problem> {
    let place = problems.get(most)?.place;
    problems.truncate(most);
    let (counted, limit) = (source::Counted::Mistakes, most as u64);
    Some(source::Problem::TooMany { place, counted, limit, path: None })
}

fn bridges(
    written: Vec<(Spanned<String>, crate::house::model::Bridge)>,
    root: Place,
    unread: bool,
    problems: &mut Vec<Problem>,
) -> Vec<Bridge> {
    if written.is_empty() && !unread {
        problems.push(Problem { place: root, appliance: None, room: None, kind: ProblemKind::NoBridge });
    }
    written
        .into_iter()
        .map(|(key, bridge)| {
            let name = bridge.name.into_here().map_or_else(|| key.clone(), composed_name);
            Bridge { name, capacity: bridge.capacity.into_here(), key }
        })
        .collect()
}

/// A text whose letters are the same bytes however an editor saved them: in Unicode's composed form (NFC, Unicode Standard
/// Annex 15). So a name is as long as people count it, and no change to anybody when another machine saved the file.
fn composed(text: &str) -> Cow<'_, str> {
    if text.is_ascii() || is_nfc(text) { Cow::Borrowed(text) } else { Cow::Owned(text.nfc().collect()) }
}

fn composed_name(name: Spanned<String>) -> Spanned<String> {
    name.map(|name| {
        let other = match composed(&name) {
            Cow::Borrowed(_) => None,
            Cow::Owned(other) => Some(other),
        };
        other.unwrap_or(name)
    })
}

/// A reason that could not be read was told; the rule is silenced all the same, so that one mistake is one finding.
fn allows(written: Vec<(Spanned<String>, Given<Scalar>)>) -> Vec<Allow> {
    let reason = |rule: &Spanned<String>, reason: Given<Scalar>| match reason {
        Given::Here(reason) => reason.map(|scalar| scalar.text),
        Given::Broken(place) => Spanned::new(String::new(), place),
        Given::Absent => Spanned::new(String::new(), rule.place),
    };
    written.into_iter().map(|(rule, given)| Allow { reason: reason(&rule, given), rule }).collect()
}

fn given_allows(written: Given<Entries<Scalar>>) -> Vec<Allow> {
    written.into_here().map(|entries| allows(entries.value.0)).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use crate::source::{Limits, Sources};

    /// Names of a house as they reach controllers.
    fn names(text: &str) -> Vec<String> {
        let inspection = crate::inspect(Sources::from_texts(&[("house.yaml", text)]), &Limits::default());
        let plan = inspection.judged.plan().expect("nothing is wrong with it");
        let of_rooms = plan.rooms.iter().flat_map(|room| [Some(&room.name), room.floor.as_ref()]);
        let of_appliances = plan.appliances.iter().map(|appliance| Some(&appliance.name));
        let of_bridges = plan.bridges.iter().map(|bridge| Some(&bridge.name));
        let names = of_rooms.chain(of_appliances).chain(of_bridges).flatten().map(|name| name.value.clone());
        std::iter::once(plan.house.name.clone()).chain(names).collect()
    }

    #[test]
    fn a_name_is_the_same_however_its_letters_were_saved() {
        let composed = "housewright: 1\nhouse: { id: mill, name: Mühle }\nbuses: { main: {} }\n\
            bridges: { main: { name: Brücke, capacity: 4 } }\nrooms:\n  hall:\n    name: Küche\n    floor: Dachböden\n\
            \x20   appliances:\n      lamp:\n        name: Lüster\n        class: on-off-light\n\
            \x20       points: { switching: { command: 1/1/1, feedback: 1/4/1 } }\n";
        let apart = composed.replace('ü', "u\u{308}").replace('ö', "o\u{308}");
        assert_ne!(apart, composed);
        assert_eq!(names(&apart), ["Mühle", "Küche", "Dachböden", "Lüster", "Brücke"]);
        assert_eq!(names(&apart), names(composed));
    }
}
