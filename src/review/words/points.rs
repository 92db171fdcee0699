//! What a wire of each point does, in words. Written by hand; the points are those of the device classes.

use crate::classes::Direction;

/// A point, what its wires to the bus do, and what its wires from the bus do. They stand after the appliance's name
/// and before an address.
const PHRASES: &[(&str, &str, &str)] = &[
    ("alarm", "acknowledges its alarm through", "learns of an alarm from"),
    ("amount", "sends the amount of rain to", "reads the amount of rain from"),
    ("automatic", "is put into automatic through", "learns whether it is in automatic from"),
    ("blue", "drives its blue through", "learns its blue from"),
    ("boost", "heats up quickly through", "learns whether it heats up quickly from"),
    ("brightness", "is set to a brightness through", "learns its brightness from"),
    ("carbon-dioxide", "sends the carbon dioxide to", "reads the carbon dioxide from"),
    ("carbon-monoxide", "sends the alarm of carbon monoxide to", "learns of carbon monoxide from"),
    ("changeover", "changes between heating and cooling through", "learns whether it heats or cools from"),
    ("charge", "sends its charge to", "reads its charge from"),
    ("charging", "releases the charging through", "learns whether it charges from"),
    ("coarse-dust", "sends the coarse dust to", "reads the coarse dust from"),
    ("colour", "is set to a colour through", "learns its colour from"),
    ("colour-temperature", "is set to a colour temperature through", "learns its colour temperature from"),
    ("contact", "sends whether it is closed to", "learns whether it is closed from"),
    ("current", "sends its current to", "reads its current from"),
    ("current-limit", "limits its current through", "learns the limit of its current from"),
    ("dark", "sends whether it is dark to", "learns whether it is dark from"),
    ("date", "sends the date to", "reads the date from"),
    ("date-and-time", "sends date and time to", "reads date and time from"),
    ("dimming", "is dimmed in steps through", "follows dimming on"),
    ("double-press", "sends double presses to", "learns of double presses from"),
    ("energy", "sends its energy to", "reads its energy from"),
    ("energy-export", "sends the energy given back to", "reads the energy given back from"),
    ("fault", "sends its fault to", "learns of a fault from"),
    ("filter", "sends that it needs a new filter to", "learns whether it needs a new filter from"),
    ("fine-dust", "sends the fine dust to", "reads the fine dust from"),
    ("flow", "sends the flow to", "reads the flow from"),
    ("freezing", "sends that it freezes to", "learns that it freezes from"),
    ("frequency", "sends the frequency to", "reads the frequency from"),
    ("green", "drives its green through", "learns its green from"),
    ("heating", "sends whether it heats to", "learns whether it heats from"),
    ("hue", "is set to a hue through", "learns its hue from"),
    ("humidity", "sends the humidity to", "reads the humidity from"),
    ("illuminance", "sends the illuminance to", "reads the illuminance from"),
    ("impulse", "starts and stops through", "follows impulses on"),
    ("leak", "sends whether there is a leak to", "learns of a leak from"),
    ("lock", "locks through", "learns whether it is locked from"),
    ("long-press", "sends long presses to", "learns of long presses from"),
    ("mode", "is set to a mode through", "learns its mode from"),
    ("moisture", "sends the moisture to", "reads the moisture from"),
    ("move", "moves through", "learns which way it moves from"),
    ("moving", "sends whether it moves to", "learns whether it moves from"),
    ("nitrogen-dioxide", "sends the nitrogen dioxide to", "reads the nitrogen dioxide from"),
    ("occupancy", "sends whether someone is there to", "learns whether someone is there from"),
    ("open-contact", "sends whether it is fully open to", "learns whether it is fully open from"),
    ("ozone", "sends the ozone to", "reads the ozone from"),
    (
        "pedestrian",
        "opens for a person on foot through",
        "learns whether it is open for a person on foot from",
    ),
    ("plugged", "sends whether a vehicle is plugged in to", "learns whether a vehicle is plugged in from"),
    ("position", "is set to a position through", "learns its position from"),
    ("power", "sends its power to", "reads its power from"),
    ("press", "sends presses to", "learns of presses from"),
    ("pressure", "sends the pressure to", "reads the pressure from"),
    ("quality", "sends how bad the air is to", "learns how bad the air is from"),
    ("rain", "sends whether it rains to", "learns whether it rains from"),
    ("rain-alarm", "sends the rain alarm to", "learns of rain from"),
    ("red", "drives its red through", "learns its red from"),
    ("release", "sends releases to", "learns of releases from"),
    ("saturation", "is set to a saturation through", "learns its saturation from"),
    ("scene", "calls scenes through", "learns which scene is called from"),
    ("setpoint", "is set to a temperature through", "learns its setpoint from"),
    ("setpoint-shift", "shifts its setpoint through", "learns the shift of its setpoint from"),
    ("slat", "turns its slats through", "learns how its slats stand from"),
    ("smoke", "sends the alarm of smoke to", "learns of smoke from"),
    ("speed", "is set to a speed through", "learns its speed from"),
    ("step-stop", "steps and stops through", "follows steps on"),
    ("stop", "stops through", "learns of a stop from"),
    ("switching", "switches through", "learns whether it is on from"),
    ("temperature", "sends the temperature to", "reads the temperature from"),
    ("tilt", "sends whether it is tilted to", "learns whether it is tilted from"),
    ("time", "sends the time to", "reads the time from"),
    ("valve", "sets its valve through", "learns its demand from"),
    (
        "volatile-compounds",
        "sends the volatile organic compounds to",
        "reads the volatile organic compounds from",
    ),
    ("voltage", "sends its voltage to", "reads its voltage from"),
    ("white", "drives its white through", "learns its white from"),
    ("wind-alarm", "sends the wind alarm to", "learns of wind from"),
    ("wind-direction", "sends the direction of the wind to", "reads the direction of the wind from"),
    ("wind-speed", "sends the speed of the wind to", "reads the speed of the wind from"),
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

/// Commands that do a part of what their point does, with what they do through a wire to the bus.
const COMMANDS: &[(&str, &str)] = &[
    ("LevelControl.Move", "is dimmed with a held button through"),
    ("LevelControl.MoveWithOnOff", "is dimmed with a held button through"),
    ("LevelControl.Stop", "is dimmed with a held button through"),
    ("LevelControl.StopWithOnOff", "is dimmed with a held button through"),
    ("WaterHeaterManagement.CancelBoost", "cancels a boost through"),
    ("WindowCovering.DownOrClose", "closes through"),
    ("WindowCovering.StopMotion", "is stopped through"),
    ("WindowCovering.UpOrOpen", "opens through"),
];

/// What a command does through a wire to the bus, where that is a part of what its point does.
pub(super) fn command(cluster: &str, name: &str) -> Option<&'static str> {
    let name = format!("{cluster}.{name}");
    let at = COMMANDS.binary_search_by(|(one, _)| (*one).cmp(name.as_str())).ok()?;
    COMMANDS.get(at).map(|(_, does)| *does)
}

/// The command that asks for a place between the ends; others move to an end.
const BETWEEN: &str = "WindowCovering.GoToLiftPercentage";

/// A point, and what is the other way round when its wires to and from the bus are.
const OPPOSITES: &[(&str, &str, &str)] = &[
    (
        "alarm",
        "what it sends as an alarm was none",
        "an alarm is now shown where there is none, and none where there is one",
    ),
    (
        "automatic",
        "what put it into automatic now takes it out of it",
        "automatic is now shown where it is not in it, and not where it is",
    ),
    (
        "brightness",
        "what was asked for as bright is now dark",
        "what was shown as bright is now shown as dark",
    ),
    (
        "carbon-monoxide",
        "what it sends as carbon monoxide was none",
        "carbon monoxide is now shown where there is none, and none where there is",
    ),
    ("changeover", "what asked for heating now asks for cooling", "heating is now shown as cooling"),
    (
        "charging",
        "what released the charging now stops it",
        "what was shown as released is now shown as stopped",
    ),
    ("contact", "what it sends as closed was open", "what was shown as closed is now shown as open"),
    ("current", "what it sends as drawn was given back", "current that is drawn is now shown as given back"),
    ("dark", "what it sends as dark was light", "what was shown as dark is now shown as light"),
    (
        "dimming",
        "what made it brighter now makes it darker",
        "what was shown as brighter is now shown as darker",
    ),
    (
        "fault",
        "what it sends as a fault was none",
        "a fault is now shown where there is none, and none where there is one",
    ),
    (
        "filter",
        "what it sends as a used filter was a good one",
        "a used filter is now shown where there is a good one, and a good one where it is used",
    ),
    (
        "freezing",
        "what it sends as freezing was not",
        "freezing is now shown where it does not freeze, and not where it does",
    ),
    (
        "heating",
        "what it sends as heating was not",
        "heating is now shown where it does not heat, and not where it does",
    ),
    (
        "leak",
        "what it sends as a leak was none",
        "a leak is now shown where there is none, and none where there is one",
    ),
    ("lock", "what locked now unlocks", "what was shown as locked is now shown as unlocked"),
    ("move", "what opened now closes", "what was shown as opening is now shown as closing"),
    ("occupancy", "what it sends as occupied was empty", "what was shown as occupied is now shown as empty"),
    (
        "open-contact",
        "what it sends as fully open was not",
        "fully open is now shown where it is not, and not where it is",
    ),
    (
        "plugged",
        "what it sends as plugged in was not",
        "a vehicle is now shown where there is none, and none where there is one",
    ),
    ("position", "what opened now closes", "what was shown as open is now shown as closed"),
    ("power", "what it sends as drawn was given back", "power that is drawn is now shown as given back"),
    ("quality", "what it sends as good air was bad", "bad air is now shown as good, and good air as bad"),
    (
        "rain",
        "what it sends as rain was none",
        "rain is now shown where there is none, and none where there is",
    ),
    (
        "rain-alarm",
        "what it sends as rain was none",
        "rain is now shown where there is none, and none where there is",
    ),
    ("slat", "what turned the slats open now turns them closed", "open slats are now shown as closed"),
    (
        "smoke",
        "what it sends as smoke was none",
        "smoke is now shown where there is none, and none where there is",
    ),
    ("step-stop", "a step that opened now closes", "a step that opens is now shown as closing"),
    ("switching", "what switched on now switches off", "what was shown as on is now shown as off"),
    ("tilt", "what it sends as tilted was not", "tilted is now shown where it is not, and not where it is"),
    ("valve", "what opened now closes", "what was shown as open is now shown as closed"),
    (
        "wind-alarm",
        "what it sends as an alarm was none",
        "a wind alarm is now shown where there is none, and none where there is one",
    ),
];

/// What is the other way round of a point, for these commands or attributes of it.
/// `alone` says that nothing else is different about its values.
pub(super) fn opposite(point: &str, direction: Direction, ends: &[&str], alone: bool) -> String {
    if direction == Direction::ToBus && !ends.is_empty() && ends.iter().all(|end| *end == BETWEEN) {
        let example = if alone { "40 % goes to 60 %; " } else { "" };
        return format!(
            "a position that is asked for is now counted from the other end ({example}Open and Close stay as they are)"
        );
    }
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
    use crate::classes::ClassLibrary;
    use crate::matter;

    #[test]
    fn each_point_of_a_class_has_words() {
        let library = ClassLibrary::built_in();
        let classes = library.names().into_iter().filter_map(|name| library.get(name));
        for class in classes {
            for point in &class.points {
                let known = PHRASES.iter().any(|(name, ..)| *name == point.name);
                let turned = !point.reversible || OPPOSITES.iter().any(|(name, ..)| *name == point.name);
                assert!(known && turned, "`{}` of `{}`", point.name, class.name);
            }
        }
    }

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
            assert_eq!(opposite(name, Direction::ToBus, &[], true), *to_bus);
            assert_eq!(opposite(name, Direction::FromBus, &[], true), *from_bus);
        }
        assert_eq!(opposite("bubbles", Direction::ToBus, &[], true), "it now sends the opposite");
    }

    #[test]
    fn commands_are_sorted_and_in_the_data_model() {
        assert!(COMMANDS.is_sorted_by_key(|(name, _)| *name));
        for name in COMMANDS.iter().map(|(name, _)| *name).chain([BETWEEN]) {
            let (cluster, command) = name.split_once('.').expect("Cluster.Command");
            let known = matter::cluster(cluster)
                .is_some_and(|one| one.commands.iter().any(|one| one.name == command));
            assert!(known, "{name}");
        }
        assert_eq!(command("LevelControl", "Step"), None);
    }

    #[test]
    fn a_position_that_is_turned_round_alone_leaves_open_and_close_as_they_were() {
        let check = |ends: &[&str], expected: &str| {
            let told = opposite("position", Direction::ToBus, ends, true);
            assert!(told.starts_with(expected), "{told}");
        };
        check(
            &["WindowCovering.GoToLiftPercentage"],
            "a position that is asked for is now counted from the other end",
        );
        check(&["WindowCovering.GoToLiftPercentage", "WindowCovering.UpOrOpen"], "what opened now closes");
    }
}
