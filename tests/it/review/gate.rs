//! The gate of a build step: the limit, what was agreed to, and what could not be read.

use super::house::{House, lamp};
use housewright::review::forms::{self, ReviewDocument, TextOptions, text};
use housewright::review::{
    AcceptProblem, Build, Consequence, Gate, Kind, Review, Side, Subject, Unread, gate, read_accept_list,
    review,
};
use housewright::source::{FileId, Limits};

/// One appliance is gone, one is new, one has another name.
fn changed() -> Review {
    let (old, mut new) = (House::new(), House::new());
    new.take("reading-lamp");
    new.put(lamp((13, "stair-lamp", "Stair lamp", "Hall", "first"), "1/1/33", "1/4/33"));
    new.at("larder-light").node_label = "Pantry light".to_owned();
    review(&Build::of(&old.0), &Build::of(&new.0))
}

fn held(review: &Review, accepted: &str, stop_at: Option<Consequence>) -> Gate {
    let text = format!("housewright-accept: 1\n{accepted}");
    let reading = read_accept_list(&text, FileId(0), &Limits::default());
    assert!(reading.is_sound(), "{:?} {:?}", reading.faults, reading.problems);
    gate(review, &reading.list, stop_at)
}

/// How many changes stop, how many are agreed to, and whether the gate is open.
fn check(accepted: &str, stop_at: Option<Consequence>, expected: (usize, usize, bool)) {
    let gate = held(&changed(), accepted, stop_at);
    assert_eq!(
        (gate.stopped_by.len(), gate.accepted.len(), gate.is_open()),
        expected,
        "{accepted} {stop_at:?}"
    );
}

#[test]
fn changes_at_or_over_the_limit_stop_unless_they_are_agreed_to() {
    let gone = "appliances:\n  reading-lamp:\n    removed: it went to the boat\n";
    check("", None, (0, 0, true));
    check("", Some(Consequence::Lost), (1, 0, false));
    check("", Some(Consequence::Shown), (3, 0, false));
    check(gone, Some(Consequence::Lost), (0, 1, true));
    check(gone, Some(Consequence::Shown), (2, 1, false));
    check("appliances:\n  reading-lamp:\n    rewired: no\n", None, (0, 0, false));
}

/// A room of two lamps gets another name: the review tells it once, and each of the two is to be agreed to.
#[test]
fn what_happened_to_several_alike_is_agreed_to_for_each() {
    let (old, mut new) = (House::new(), House::new());
    let keys: Vec<String> = ["reading-lamp", "larder-light"].map(str::to_owned).to_vec();
    for key in &keys {
        new.at(key).room = "Den".to_owned();
    }
    let mut review = review(&Build::of(&old.0), &Build::of(&new.0));
    let both: Vec<_> =
        review.changes.iter().filter(|change| change.kind == Kind::RoomChanged).cloned().collect();
    let mut joined = both[0].clone();
    joined.subject = Subject::Appliances(both.iter().flat_map(|change| change.members().to_vec()).collect());
    review.changes = vec![joined];
    let one = "appliances:\n  reading-lamp: { room-changed: agreed }\n";
    let gate = held(&review, one, Some(Consequence::Shown));
    assert!(!gate.is_open() && gate.problems.is_empty());
    assert_eq!(gate.partly, [(0, vec!["larder-light".to_owned()])]);
    let all = format!("{one}  larder-light: {{ room-changed: agreed }}\n");
    let gate = held(&review, &all, Some(Consequence::Shown));
    assert!(gate.is_open(), "{:?}", gate.problems);
}

/// The owner knows the old key of a bridge.
#[test]
fn a_bridge_is_agreed_to_by_its_old_or_new_key() {
    let (old, mut new) = (House::new(), House::new());
    let key = std::mem::replace(&mut new.0[0].bridge.key, "quay".to_owned());
    let review = review(&Build::of(&old.0), &Build::of(&new.0));
    assert_eq!(review.changes[0].kind, Kind::BridgeRekeyed, "{:?}", review.changes);
    for key in [key.as_str(), "quay"] {
        let list = format!("bridges:\n  {key}: {{ bridge-rekeyed: agreed }}\n");
        let gate = held(&review, &list, Some(Consequence::Lost));
        assert!(gate.problems.is_empty() && !gate.stopped_by.contains(&0), "{:?}", gate.problems);
    }
}

#[test]
fn each_entry_is_used_once_and_one_without_a_change_closes_the_gate() {
    let (old, mut new) = (House::new(), House::new());
    new.at("larder-light").key = "pantry-light".to_owned();
    let review = review(&Build::of(&old.0), &Build::of(&new.0));
    let gate = held(
        &review,
        "appliances:\n  larder-light:\n    rekeyed: a\n  pantry-light:\n    rekeyed: b\n",
        None,
    );
    assert_eq!(gate.accepted, [(0, 0)]);
    assert_eq!(gate.problems, [AcceptProblem::AgreedTwice { entry: 1, first: 0 }]);
    assert!(!gate.is_open());
}

#[test]
fn an_entry_with_a_key_that_is_nearly_right_is_told_the_right_one() {
    let told = |accepted: &str| {
        let gate = held(&changed(), accepted, None);
        gate.problems.iter().map(AcceptProblem::help).collect::<Vec<_>>()
    };
    let [help] = told("appliances:\n  readin-lamp:\n    removed: it went to the boat\n").try_into().unwrap();
    assert!(help.starts_with("write `reading-lamp` if you mean that one"), "{help}");
    // Another appliance that changed in another way is not meant.
    let [help] = told("appliances:\n  reading-lamp:\n    rewired: no\n").try_into().unwrap();
    assert!(help.starts_with("take the entry out"), "{help}");
}

#[test]
fn the_owners_reason_stands_in_every_form_and_comes_back() {
    let mut review = changed();
    let text = "housewright-accept: 1\nappliances:\n  reading-lamp:\n    removed: it went to the boat\n";
    let reading = read_accept_list(text, FileId(0), &Limits::default());
    let gate = gate(&review, &reading.list, None);
    review.note_reasons(&gate, &reading.list);
    let json = forms::json(&review);
    let forms = [
        forms::text(&review, &TextOptions::default()),
        forms::markdown(&review),
        forms::html(&review),
        json.clone(),
    ];
    for form in forms {
        assert_eq!(form.matches("Agreed to by the owner: it went to the boat").count(), 1, "{form}");
    }
    let read: ReviewDocument = serde_json::from_str(&json).unwrap();
    assert_eq!(Review::from(read), review);
}

#[test]
fn what_could_not_be_read_closes_the_gate_and_is_never_no_change() {
    let house = House::new();
    let unread = Unread {
        name: "v1:heron-wharf".to_owned(),
        bridge: None,
        why: "the house has 2 errors".to_owned(),
        help: "mend it".to_owned(),
    };
    let review = review(&Build::unreadable(unread.clone()), &Build::of(&house.0));
    assert!(review.changes.is_empty() && !review.is_empty());
    assert_eq!(review.unread.first(), Some(&(Side::Old, unread)));
    // The bridge is not called new, and nothing else is said than why it cannot be compared.
    assert_eq!(review.unread.len(), 1);
    let told = text(&review, &TextOptions::default());
    assert!(told.starts_with("Heron Wharf: nothing could be compared\n"), "{told}");
    assert!(!held(&review, "", Some(Consequence::Lost)).is_open());
    // Nobody asked for a limit: the build that mends what is damaged may go on.
    assert!(held(&review, "", None).is_open());
}

#[test]
fn an_entry_that_is_left_over_does_not_stop_a_build_without_a_change() {
    let house = House::new();
    let review = review(&Build::of(&house.0), &Build::of(&house.0));
    let gate = held(
        &review,
        "appliances:\n  reading-lamp:\n    removed: it went to the boat\n",
        Some(Consequence::Unseen),
    );
    assert!(gate.is_open() && gate.unchanged);
    assert_eq!(gate.problems, [AcceptProblem::Unused { entry: 0, nearest: None }]);
}

/// A key that one appliance had and another one has now is the other one's.
#[test]
fn an_entry_is_for_the_appliance_that_has_the_key_now() {
    let (old, mut new) = (House::new(), House::new());
    for (from, to, label) in
        [("larder-light", "attic-light", "Attic light"), ("reading-lamp", "larder-light", "Larder lamp")]
    {
        let endpoint = new.at(from);
        (endpoint.key, endpoint.node_label) = (to.to_owned(), label.to_owned());
    }
    let review = review(&Build::of(&old.0), &Build::of(&new.0));
    let relabelled = "appliances:\n  larder-light:\n    relabelled: a\n  attic-light:\n    relabelled: b\n";
    let gate = held(&review, relabelled, None);
    assert_eq!((gate.problems.as_slice(), gate.accepted.len()), (&[][..], 2));
}
