//! Doors, gates, roof windows and locks: what they show, and when they are sent anything.

use super::gateway::appliance;
use serde_json::{Value as Json, json};

const NOTHING: [(String, Json); 0] = [];

/// cluster§5.4.6.1: not closed is not fully opened. An impulse is sent from a known end alone.
#[test]
fn an_impulse_never_starts_from_somewhere_between_the_ends() {
    let (open, close) = (json!({"Position": 1}), json!({"Position": 0}));
    for class in ["garage-door", "gate", "roof-window"] {
        let mut door = appliance(class, &["impulse.command", "contact.feedback"], &[]);
        assert_eq!(door.asked("ClosureControl.MoveTo", open.clone()), NOTHING, "{class}: nothing is known");
        door.told("contact", json!(false));
        let impulse = [("impulse".to_owned(), json!(true))];
        assert_eq!(door.asked("ClosureControl.MoveTo", open.clone()), impulse, "{class}");
        assert_eq!(door.asked("ClosureControl.MoveTo", close.clone()), NOTHING, "{class} is closed");
        door.told("contact", json!(true));
        let somewhere = json!({"Position": 2, "SecureState": false});
        assert_eq!(door.shows("ClosureControl.OverallCurrentState"), somewhere, "{class}");
        assert_eq!(door.asked("ClosureControl.MoveTo", close.clone()), NOTHING, "{class} may be half way");
        let mut door = appliance(class, &["impulse.command", "position.feedback"], &[]);
        door.told("position", json!(0));
        assert_eq!(door.asked("ClosureControl.MoveTo", close.clone()), impulse, "{class} is reported open");
        door.told("position", json!(40));
        assert_eq!(door.asked("ClosureControl.MoveTo", close.clone()), NOTHING, "{class}");
    }
}

/// With both ends told an impulse also closes, and never from between them.
#[test]
fn an_impulse_closes_what_is_reported_open() {
    let (open, close) = (json!({"Position": 1}), json!({"Position": 0}));
    let impulse = [("impulse".to_owned(), json!(true))];
    for class in ["garage-door", "gate"] {
        let ends = ["impulse.command", "contact.feedback", "open-contact.feedback"];
        let mut door = appliance(class, &ends, &[]);
        // As a gateway reads them at its start, in either order.
        door.told("open-contact", json!(true));
        door.told("contact", json!(true));
        assert_eq!(door.asked("ClosureControl.MoveTo", close.clone()), impulse, "{class} is open");
        door.told("open-contact", json!(false));
        let somewhere = json!({"Position": 2, "SecureState": false});
        assert_eq!(door.shows("ClosureControl.OverallCurrentState"), somewhere, "{class}");
        assert_eq!(door.asked("ClosureControl.MoveTo", close.clone()), NOTHING, "{class} has begun to move");
        door.told("contact", json!(false));
        assert_eq!(door.asked("ClosureControl.MoveTo", open.clone()), impulse, "{class} is closed");
    }
}

/// A drive that starts is still at its end: a second impulse would halt it or turn it round.
#[test]
fn an_impulse_is_not_sent_to_what_is_reported_to_move() {
    let (open, close) = (json!({"Position": 1}), json!({"Position": 0}));
    let impulse = [("impulse".to_owned(), json!(true))];
    for class in ["garage-door", "gate", "roof-window"] {
        let ends = ["impulse.command", "position.feedback", "moving.feedback", "fault.feedback"];
        let mut door = appliance(class, &ends, &[]);
        for (position, asked) in [(100, &open), (0, &close)] {
            door.told("position", json!(position));
            assert_eq!(door.asked("ClosureControl.MoveTo", asked.clone()), impulse, "{class} stands still");
            door.told("moving", json!(true));
            assert_eq!(
                door.asked("ClosureControl.MoveTo", asked.clone()),
                NOTHING,
                "{class} has begun to move"
            );
            door.told("moving", json!(false));
        }
        door.told("fault", json!(true));
        assert_eq!(door.asked("ClosureControl.MoveTo", close.clone()), NOTHING, "{class} has a fault");
    }
}

/// What weighs more is shown in place of the movement, and must not open the way for an impulse.
#[test]
fn an_impulse_is_not_sent_to_what_moves_behind_a_fault_or_an_alarm() {
    let close = json!({"Position": 0});
    let impulse = [("impulse".to_owned(), json!(true))];
    for (class, hides) in [
        ("garage-door", "fault"),
        ("gate", "fault"),
        ("roof-window", "fault"),
        ("roof-window", "wind-alarm"),
        ("roof-window", "rain-alarm"),
    ] {
        let hiding = format!("{hides}.feedback");
        for ends in [
            &["impulse.command", "position.feedback", "moving.feedback", &hiding][..],
            &["impulse.command", "position.feedback", &hiding],
        ] {
            let mut door = appliance(class, ends, &[]);
            door.told("position", json!(0));
            assert_eq!(door.asked("ClosureControl.MoveTo", close.clone()), impulse, "{class} stands still");
            if ends.contains(&"moving.feedback") {
                door.told("moving", json!(true));
            }
            door.told(hides, json!(true));
            assert_eq!(door.asked("ClosureControl.MoveTo", close.clone()), NOTHING, "{class} with {hides}");
        }
    }
}

/// The contact is the one sensor of the closed end; a position is reckoned.
#[test]
fn a_door_is_closed_only_where_position_and_contacts_say_so() {
    let (open, partly, closed) = (
        json!({"Position": 1, "SecureState": false}),
        json!({"Position": 2, "SecureState": false}),
        json!({"Position": 0, "SecureState": true}),
    );
    let state = "ClosureControl.OverallCurrentState";
    for class in ["garage-door", "gate", "roof-window"] {
        let mut door = appliance(class, &["move.command", "position.feedback", "contact.feedback"], &[]);
        for (point, told, shown) in [
            ("position", json!(100), &closed),
            ("contact", json!(true), &partly),
            ("position", json!(40), &partly),
            ("contact", json!(false), &partly),
            ("position", json!(100), &closed),
            ("position", json!(0), &open),
            ("contact", json!(true), &open),
        ] {
            door.told(point, told.clone());
            assert_eq!(door.shows(state), *shown, "{class}: {point} {told}");
        }
    }
    for class in ["garage-door", "gate"] {
        let mut door = appliance(class, &["move.command", "position.feedback", "open-contact.feedback"], &[]);
        door.told("open-contact", json!(false));
        assert_eq!(door.shows(state), json!(null), "{class}: not open may be anywhere");
        for (point, told, shown) in [
            ("position", json!(100), &closed),
            ("open-contact", json!(true), &open),
            ("position", json!(40), &open),
            ("open-contact", json!(false), &partly),
        ] {
            door.told(point, told.clone());
            assert_eq!(door.shows(state), *shown, "{class}: {point} {told}");
        }
    }
}

/// A bolt that missed its hole was asked to lock, and so was a gate that stands still half way.
#[test]
fn what_a_lock_or_a_closure_was_asked_for_is_never_shown_as_done() {
    use housewright::classes::Shown;
    for (class, ends, command) in [
        ("door-lock", "lock.command", "LockDoor"),
        ("door-lock", "lock.command", "UnlockDoor"),
        ("door-opener", "release.command", "UnlockDoor"),
        ("garage-door", "move.command", "MoveTo"),
        ("gate", "move.command", "MoveTo"),
        ("gate", "position.command", "MoveTo"),
        ("gate", "pedestrian.command", "MoveTo"),
        ("roof-window", "position.command", "MoveTo"),
        ("roof-window", "position.command", "SetTarget"),
    ] {
        let thing = appliance(class, &[ends], &[]);
        assert_eq!(thing.shown(command), [Some(Shown::Reported)], "{class}");
        let (point, _) = ends.split_once('.').expect("a point and its address");
        assert!(!thing.hears(point), "{class}: what others ask for is no report either");
    }
}
