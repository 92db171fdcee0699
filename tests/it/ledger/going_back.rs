//! A ledger that went back to an older state beside a build that did not.

use super::{House, build, lamp, lamps, numbers};
use housewright::ledger::{Identity, Ledger, Owner};

fn shown(ledger: &Ledger) -> Vec<(Owner, Identity)> {
    let owner = |key: &str, part: &str| Owner { key: key.to_owned(), part: part.to_owned() };
    ledger.living().map(|(key, part, identity)| (owner(key, part), identity.clone())).collect()
}

/// Builds one house after the other, takes the ledger back to the first of them, and says what `last` then has.
fn check(houses: &[House], last: &House, expected: &[&str]) {
    let first = build(&Ledger::new("heron-wharf"), &houses[0]).next;
    let newest = houses[1..].iter().fold(first.clone(), |ledger, house| build(&ledger, house).next);
    let (remembered, _) = first.remember(shown(&newest), |_, _| true);
    let next = build(&remembered, last).next;
    assert_eq!(numbers(&next), expected);
    assert_eq!(build(&next, last).next, next, "a second build changes nothing");
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

/// The appliance was removed and came again, and the build is one in which it had come again with the number that the ledger
/// has retired since: the two numbers change places, and neither is given again.
#[test]
fn a_number_that_the_same_part_has_retired_goes_back_to_what_was_built() {
    let first = build(&Ledger::new("heron-wharf"), &lamps(["a"])).next;
    let empty = build(&first, &House::new()).next;
    let again = build(&empty, &lamps(["a"])).next;
    let (_, _, old) = again.retired().next().expect("the first one");
    let (_, _, new) = again.living().next().expect("the second one");
    let built = Identity { number: old.number, ..new.clone() };
    let owner = Owner { key: "a".to_owned(), part: "light".to_owned() };
    let (remembered, told) = again.remember([(owner, built)], |_, _| true);
    assert_eq!(told.len(), 1);
    assert_eq!(numbers(&build(&remembered, &lamps(["a"])).next), ["a/light wharf 2"]);
    let retired: Vec<u16> = remembered.retired().map(|(_, _, identity)| identity.number.get()).collect();
    assert_eq!(retired, [3]);
}
