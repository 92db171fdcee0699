//! What a wire of each point does, in words. Written by hand; the points are those of the device classes.

use crate::classes::Direction;

/// A point, what its wires to the bus do, and what its wires from the bus do. They stand after the appliance's name
/// and before an address.
const PHRASES: &[(&str, &str, &str)] = &[
    ("alarm", "acknowledges its alarm through", "learns of an alarm from"),
    ("automatic", "is put into automatic through", "learns whether it is in automatic from"),
    ("brightness", "is set to a brightness through", "learns its brightness from"),
    ("changeover", "changes between heating and cooling through", "learns whether it heats or cools from"),
    ("colour", "is set to a colour through", "learns its colour from"),
    ("colour-temperature", "is set to a colour temperature through", "learns its colour temperature from"),
    ("contact", "sends whether it is closed to", "learns whether it is closed from"),
    ("current", "sends its current to", "reads its current from"),
    ("dimming", "is dimmed in steps through", "follows dimming on"),
    ("double-press", "sends double presses to", "learns of double presses from"),
    ("energy", "sends its energy to", "reads its energy from"),
    ("hue", "is set to a hue through", "learns its hue from"),
    ("humidity", "sends the humidity to", "reads the humidity from"),
    ("illuminance", "sends the illuminance to", "reads the illuminance from"),
    ("leak", "sends whether there is a leak to", "learns of a leak from"),
    ("lock", "locks through", "learns whether it is locked from"),
    ("long-press", "sends long presses to", "learns of long presses from"),
    ("mode", "is set to a mode through", "learns its mode from"),
    ("move", "moves through", "learns which way it moves from"),
    ("occupancy", "sends whether someone is there to", "learns whether someone is there from"),
    ("position", "is set to a position through", "learns its position from"),
    ("power", "sends its power to", "reads its power from"),
    ("press", "sends presses to", "learns of presses from"),
    ("rain-alarm", "sends the rain alarm to", "learns of rain from"),
    ("release", "sends releases to", "learns of releases from"),
    ("saturation", "is set to a saturation through", "learns its saturation from"),
    ("scene", "calls scenes through", "learns which scene is called from"),
    ("setpoint", "is set to a temperature through", "learns its setpoint from"),
    ("setpoint-shift", "shifts its setpoint through", "learns the shift of its setpoint from"),
    ("slat", "turns its slats through", "learns how its slats stand from"),
    ("speed", "is set to a speed through", "learns its speed from"),
    ("step-stop", "steps and stops through", "follows steps on"),
    ("stop", "stops through", "learns of a stop from"),
    ("switching", "switches through", "learns whether it is on from"),
    ("temperature", "sends the temperature to", "reads the temperature from"),
    ("valve", "sets its valve through", "learns its demand from"),
    ("voltage", "sends its voltage to", "reads its voltage from"),
    ("wind-alarm", "sends the wind alarm to", "learns of wind from"),
];

/// What a wire of the point does. A point of a house's own class is named as it is.
pub(super) fn phrase(point: &str, direction: Direction) -> String {
    let known = PHRASES.binary_search_by(|(name, ..)| (*name).cmp(point)).ok().and_then(|at| PHRASES.get(at));
    match (known, direction) {
        (Some((_, to_bus, _)), Direction::ToBus) => (*to_bus).to_owned(),
        (Some((_, _, from_bus)), Direction::FromBus) => (*from_bus).to_owned(),
        (None, Direction::ToBus) => format!("sends `{point}` to"),
        (None, Direction::FromBus) => format!("learns `{point}` from"),
    }
}

/// A point, and what is the other way round when its wires to and from the bus are.
const OPPOSITES: &[(&str, &str, &str)] = &[
    (
        "brightness",
        "what was asked for as bright is now dark",
        "what was shown as bright is now shown as dark",
    ),
    ("contact", "what it sends as closed was open", "what was shown as closed is now shown as open"),
    ("leak", "what it sends as a leak was none", "a leak is now shown where there is none"),
    ("lock", "what locked now unlocks", "what was shown as locked is now shown as unlocked"),
    ("move", "what opened now closes", "what was shown as opening is now shown as closing"),
    ("occupancy", "what it sends as occupied was empty", "what was shown as occupied is now shown as empty"),
    ("position", "what opened now closes", "what was shown as open is now shown as closed"),
    ("rain-alarm", "what it sends as rain was none", "rain is now shown where there is none"),
    ("slat", "what turned the slats open now turns them closed", "open slats are now shown as closed"),
    ("switching", "what switched on now switches off", "what was shown as on is now shown as off"),
    ("wind-alarm", "what it sends as an alarm was none", "a wind alarm is now shown where there is none"),
];

/// What is the other way round of a point.
pub(super) fn opposite(point: &str, direction: Direction) -> String {
    let known =
        OPPOSITES.binary_search_by(|(name, ..)| (*name).cmp(point)).ok().and_then(|at| OPPOSITES.get(at));
    match (known, direction) {
        (Some((_, to_bus, _)), Direction::ToBus) => (*to_bus).to_owned(),
        (Some((_, _, from_bus)), Direction::FromBus) => (*from_bus).to_owned(),
        (None, Direction::ToBus) => "it now sends the opposite".to_owned(),
        (None, Direction::FromBus) => "it now shows the opposite".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_are_sorted_so_that_each_is_found() {
        assert!(PHRASES.is_sorted_by_key(|(name, ..)| *name));
        for (name, to_bus, from_bus) in PHRASES {
            assert_eq!(phrase(name, Direction::ToBus), *to_bus);
            assert_eq!(phrase(name, Direction::FromBus), *from_bus);
        }
        assert_eq!(phrase("bubbles", Direction::ToBus), "sends `bubbles` to");
        assert!(OPPOSITES.is_sorted_by_key(|(name, ..)| *name));
        for (name, to_bus, from_bus) in OPPOSITES {
            assert_eq!(opposite(name, Direction::ToBus), *to_bus);
            assert_eq!(opposite(name, Direction::FromBus), *from_bus);
        }
        assert_eq!(opposite("bubbles", Direction::ToBus), "it now sends the opposite");
    }
}
