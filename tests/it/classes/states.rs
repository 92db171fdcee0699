//! What an endpoint shows after several telegrams, and what it then sends: states that more than one address has a part in.

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
