//! Everything in a house that has a name of its own, for what holds of all names.

use super::Said;
use crate::resolve::Plan;
use crate::resolve::plan::{Appliance, Room};
use crate::source::Place;

/// A name, and whose it is.
pub(super) struct Named<'a> {
    pub(super) name: &'a str,
    place: Place,
    whose: Whose<'a>,
}

enum Whose<'a> {
    House,
    Bridge(&'a str),
    Room(&'a Room),
    Floor(&'a Room),
    Appliance(&'a Appliance),
}

/// The names of the house, its bridges, rooms, floors and appliances, as far as they are written. A floor has its name once in
/// each of its rooms.
pub(super) fn all(plan: &Plan) -> impl Iterator<Item = Named<'_>> {
    let house =
        plan.house.name_place.map(|place| Named { name: &plan.house.name, place, whose: Whose::House });
    let bridges = plan.bridges.iter().map(|bridge| Named {
        name: &bridge.name.value,
        place: bridge.name.place,
        whose: Whose::Bridge(&bridge.key.value),
    });
    let rooms = plan.rooms.iter().map(|room| Named {
        name: &room.name.value,
        place: room.name.place,
        whose: Whose::Room(room),
    });
    let floors = plan.rooms.iter().filter_map(|room| {
        let floor = room.floor.as_ref()?;
        Some(Named { name: &floor.value, place: floor.place, whose: Whose::Floor(room) })
    });
    let appliances = plan.appliances.iter().map(|appliance| Named {
        name: &appliance.name.value,
        place: appliance.name.place,
        whose: Whose::Appliance(appliance),
    });
    house.into_iter().chain(bridges).chain(rooms).chain(floors).chain(appliances)
}

impl Named<'_> {
    /// Whether it is a floor's, which may be left out.
    pub(super) fn is_of_floor(&self) -> bool {
        matches!(self.whose, Whose::Floor(_))
    }

    /// A finding at the name. The message is what `tell` makes of a phrase such as "the name of `lamp`".
    pub(super) fn said(&self, tell: impl FnOnce(&str) -> String, label: &str, plan: &Plan) -> Said {
        let message = match self.whose {
            Whose::House => "the name of the house".to_owned(),
            Whose::Bridge(key) => format!("the name of the bridge `{key}`"),
            Whose::Room(room) => format!("the name of the room `{}`", room.key.value),
            Whose::Floor(room) => format!("the floor of the room `{}`", room.key.value),
            Whose::Appliance(appliance) => format!("the name of `{}`", appliance.key.value),
        };
        let said = Said::new(tell(&message), self.place, label);
        match self.whose {
            Whose::House | Whose::Bridge(_) => said,
            Whose::Room(room) | Whose::Floor(room) => said.about_room(&room.key.value),
            Whose::Appliance(appliance) => said.about(appliance, plan),
        }
    }
}

/// Characters without ink that are no plain space: controls, zero width, direction marks, soft hyphen, fillers.
pub(super) fn is_invisible(character: char) -> bool {
    character.is_control()
        || matches!(
            character,
            '\u{ad}'
                | '\u{34f}'
                | '\u{61c}'
                | '\u{115f}'..='\u{1160}'
                | '\u{17b4}'..='\u{17b5}'
                | '\u{180b}'..='\u{180f}'
                | '\u{200b}'..='\u{200f}'
                | '\u{2028}'..='\u{202e}'
                | '\u{2060}'..='\u{206f}'
                | '\u{3164}'
                | '\u{feff}'
                | '\u{ffa0}'
                | '\u{fff9}'..='\u{fffb}'
                | '\u{e0000}'..='\u{e007f}'
        )
}

/// The name without what nobody sees: plain spaces, one at a time.
pub(super) fn tidy(name: &str) -> String {
    let plain: String = name
        .chars()
        .filter(|&character| !is_invisible(character) || character.is_whitespace())
        .map(|character| if character.is_whitespace() { ' ' } else { character })
        .collect();
    plain.split_whitespace().collect::<Vec<_>>().join(" ")
}
