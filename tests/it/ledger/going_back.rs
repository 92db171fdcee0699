//! A ledger that went back to an older state beside a build that did not.

use super::{House, build, fits, lamp, lamps, numbers, sound};
use housewright::ledger::write;
use housewright::ledger::{Identity, Ledger, Owner};

fn shown(ledger: &Ledger) -> Vec<(Owner, Identity)> {
    let owner = |key: &str, part: &str| Owner { key: key.to_owned(), part: part.to_owned() };
    ledger.living().map(|(key, part, identity)| (owner(key, part), identity.clone())).collect()
}

/// Builds one house after the other, takes the ledger back to the first of them, and says what `last` then has.
fn check(houses: &[House], last: &House, expected: &[&str]) {
    let first = build(&Ledger::new("heron-wharf"), &houses[0]).next;
    let newest = houses[1..].iter().fold(first.clone(), |ledger, house| build(&ledger, house).next);
    let (remembered, _) = first.remember(shown(&newest), |owner, identity| fits(last, owner, identity));
    let next = build(&remembered, last).next;
    assert_eq!(numbers(&next), expected);
    assert_eq!(build(&next, last).next, next, "a second build changes nothing");
    assert_eq!(sound(&write(&next)), next, "what is written is read again");
}

fn on(bridge: &'static str) -> House {
    House::from([("a".to_owned(), lamp(bridge))])
}

#[test]
fn what_moved_to_another_bridge_keeps_what_it_was_built_with() {
    check(&[on("quay"), on("wharf")], &on("wharf"), &["a/light wharf 2"]);
}

#[test]
fn what_moved_to_another_bridge_and_back_keeps_what_the_ledger_has() {
    check(&[on("quay"), on("wharf")], &on("quay"), &["a/light quay 2"]);
}

#[test]
fn what_became_another_kind_of_device_keeps_what_it_was_built_with() {
    let mut dimmed = lamps(["a"]);
    dimmed.values_mut().for_each(|lamp| lamp.parts = vec![("light", vec![0x0101])]);
    check(&[lamps(["a"]), dimmed.clone()], &dimmed, &["a/light wharf 3"]);
    check(&[lamps(["a"]), dimmed], &lamps(["a"]), &["a/light wharf 2"]);
}

#[test]
fn what_came_since_keeps_what_it_was_built_with() {
    check(&[lamps(["a"]), lamps(["a", "b"])], &lamps(["a", "b"]), &["a/light wharf 2", "b/light wharf 3"]);
}

/// It has one place, and what was built elsewhere is not given to anybody.
#[test]
fn what_is_not_shown_keeps_the_one_place_that_the_ledger_has() {
    let mut hidden = lamps(["a"]);
    hidden.values_mut().for_each(|lamp| lamp.parts.clear());
    check(&[lamps(["a"]), on("quay")], &hidden, &["a/light wharf 2"]);
    let mut dimmed = lamps(["a"]);
    dimmed.values_mut().for_each(|lamp| lamp.parts = vec![("light", vec![0x0101])]);
    check(&[lamps(["a"]), dimmed], &hidden, &["a/light wharf 2"]);
}

/// The build is of another branch, or a hand changed the ledger: what stands in it counts, and it is told.
#[test]
fn what_the_ledger_has_otherwise_stays() {
    let base = build(&Ledger::new("heron-wharf"), &lamps(["a"])).next;
    let main = build(&base, &lamps(["a", "s"])).next;
    let branch = build(&base, &lamps(["a", "p", "s"])).next;
    let (remembered, told) = main.remember(shown(&branch), |_, _| true);
    assert_eq!(numbers(&build(&remembered, &lamps(["a", "s"])).next), ["a/light wharf 2", "s/light wharf 3"]);
    let told: Vec<_> = told.iter().map(|it| (it.owner.key.as_str(), it.instead.is_some())).collect();
    assert_eq!(told, [("s", true)]);
    // The branch's number is not given to anybody else.
    let next = build(&remembered, &lamps(["a", "s", "z"])).next;
    assert_eq!(numbers(&next)[2], "z/light wharf 5");
}

/// The appliance was removed and came again, and the build is one in which it had come again with the number that the ledger
/// has retired since.
#[test]
fn a_number_that_the_same_part_has_retired_stays_retired() {
    let first = build(&Ledger::new("heron-wharf"), &lamps(["a"])).next;
    let empty = build(&first, &House::new()).next;
    let again = build(&empty, &lamps(["a"])).next;
    let (_, _, old) = again.retired().next().expect("the first one");
    let (_, _, new) = again.living().next().expect("the second one");
    let built = Identity { number: old.number, ..new.clone() };
    let owner = Owner { key: "a".to_owned(), part: "light".to_owned() };
    let (remembered, told) = again.remember([(owner, built)], |_, _| true);
    assert_eq!(told.len(), 1);
    assert_eq!(remembered, again);
}
