//! Who keeps an identity and who gets a fresh one, case by case.

use super::{House, build, lamp, lamps, numbers};
use housewright::ledger::{DeviceTypes, Identity, Ledger, RenameError};

/// Builds one house after the other and says what each key has in the end, and what is retired.
fn check(houses: &[House], living: &[&str], retired: &[&str]) {
    let mut ledger = Ledger::new("heron-wharf");
    for house in houses {
        ledger = build(&ledger, house).next;
        assert_eq!(build(&ledger, house).next, ledger, "a second build changes nothing");
    }
    assert_eq!(numbers(&ledger), living);
    let gone: Vec<String> =
        ledger.retired().map(|(key, part, it)| format!("{key}/{part} {} {}", it.bridge, it.number)).collect();
    assert_eq!(gone, retired);
}

fn renamed(mut house: House, from: &str, to: &str) -> House {
    let mut moved = house.remove(from).expect("the test names a key of its house");
    moved.formerly = Some(from.to_owned());
    house.insert(to.to_owned(), moved);
    house
}

fn with(mut house: House, key: &str, change: impl FnOnce(&mut super::Appliance)) -> House {
    change(house.get_mut(key).expect("the test names a key of its house"));
    house
}

#[test]
fn numbers_follow_the_order_of_keys_and_begin_at_two() {
    check(&[lamps(["c", "a", "b"])], &["a/light wharf 2", "b/light wharf 3", "c/light wharf 4"], &[]);
}

#[test]
fn a_new_appliance_takes_the_next_number_wherever_its_key_stands() {
    check(
        &[lamps(["b", "c"]), lamps(["a", "b", "c"])],
        &["a/light wharf 4", "b/light wharf 2", "c/light wharf 3"],
        &[],
    );
}

#[test]
fn a_removed_appliance_never_gives_its_number_back_not_even_to_itself() {
    check(
        &[lamps(["a", "b"]), lamps(["a"]), lamps(["a", "b"])],
        &["a/light wharf 2", "b/light wharf 4"],
        &["b/light wharf 3"],
    );
}

#[test]
fn a_rename_keeps_the_identity_and_the_line_may_stay() {
    let after = renamed(lamps(["a", "b"]), "a", "z");
    check(&[lamps(["a", "b"]), after.clone(), after], &["b/light wharf 3", "z/light wharf 2"], &[]);
}

#[test]
fn an_old_key_can_be_taken_by_another_appliance_at_once_and_later() {
    let mut after = renamed(lamps(["a"]), "a", "z");
    after.insert("a".to_owned(), lamp("wharf"));
    check(&[lamps(["a"]), after.clone()], &["a/light wharf 3", "z/light wharf 2"], &[]);
    check(
        &[lamps(["a"]), renamed(lamps(["a"]), "a", "z"), after],
        &["a/light wharf 3", "z/light wharf 2"],
        &[],
    );
}

#[test]
fn keys_can_move_along_a_chain() {
    let mut after = House::new();
    for (key, old) in [("b", "a"), ("c", "b"), ("d", "c")] {
        let appliance = super::Appliance { formerly: Some(old.to_owned()), ..lamp("wharf") };
        after.insert(key.to_owned(), appliance);
    }
    check(&[lamps(["a", "b", "c"]), after], &["b/light wharf 2", "c/light wharf 3", "d/light wharf 4"], &[]);
}

#[test]
fn a_line_that_comes_too_late_does_nothing_by_itself() {
    let late = renamed(lamps(["a", "b"]), "a", "z");
    check(
        &[lamps(["a", "b"]), lamps(["b", "z"]), late],
        &["b/light wharf 3", "z/light wharf 4"],
        &["a/light wharf 2"],
    );
    check(&[lamps(["a", "z"]), renamed(lamps(["a"]), "a", "z")], &["z/light wharf 3"], &["a/light wharf 2"]);
}

#[test]
fn a_person_can_tell_the_ledger_of_a_rename_too_late() {
    let before = build(&Ledger::new("heron-wharf"), &lamps(["a", "b"])).next;
    let after = lamps(["b", "z"]);
    let lost = build(&before, &after).next;
    let told = lost.rename("a", "z", |_| true).expect("`a` was retired");
    assert_eq!(numbers(&told), ["b/light wharf 3", "z/light wharf 2"]);
    assert_eq!(told.retired().map(|(key, _, it)| (key, it.number.get())).collect::<Vec<_>>(), [("z", 4)]);
    assert_eq!(told.identity("z", "light"), before.identity("a", "light"));
    assert_eq!(build(&told, &after).next, told, "the next build leaves it so");
    assert!(told.rename("a", "z", |_| true).is_err(), "nothing is left of it");
    assert!(told.rename("b", "z", |_| true).is_err(), "it lives");
}

#[test]
fn a_rename_told_too_late_takes_the_last_identity_of_each_part() {
    let dimmed =
        with(lamps(["a"]), "a", |a| a.parts = vec![("light", vec![0x0101]), ("meter", vec![0x0510])]);
    let mut ledger = Ledger::new("heron-wharf");
    for house in [lamps(["a"]), dimmed, House::new()] {
        ledger = build(&ledger, &house).next;
    }
    let told = ledger.rename("a", "z", |_| true).expect("`a` was retired");
    assert_eq!(numbers(&told), ["z/light wharf 3", "z/meter wharf 4"]);
    assert_eq!(told.retired().map(|(key, _, it)| (key, it.number.get())).collect::<Vec<_>>(), [("a", 2)]);
}

/// Built with another class, and with the old one again: before the build that gave the third number and after it.
#[test]
fn what_was_changed_back_is_taken_back_part_by_part() {
    let dimmed = with(lamps(["a"]), "a", |a| a.parts = vec![("light", vec![0x0101])]);
    let light = |it: &Identity| it.device_types == DeviceTypes::new([0x0100]);
    let mut ledger = Ledger::new("heron-wharf");
    for house in [lamps(["a"]), dimmed] {
        ledger = build(&ledger, &house).next;
    }
    let later = build(&ledger, &lamps(["a"])).next;
    for ledger in [&ledger, &later] {
        let told = ledger.rename("a", "a", light).expect("2 is retired");
        assert_eq!(numbers(&build(&told, &lamps(["a"])).next), ["a/light wharf 2"]);
        assert_eq!(told.retired().count(), ledger.retired().count());
        assert!(matches!(told.rename("a", "a", light), Err(RenameError::Has { .. })));
    }
    let two = with(lamps(["a"]), "a", |a| a.parts.push(("meter", vec![0x0510])));
    let mut ledger = Ledger::new("heron-wharf");
    for house in [two.clone(), lamps(["a"])] {
        ledger = build(&ledger, &house).next;
    }
    let told = ledger.rename("a", "a", |_| true).expect("the meter is retired");
    assert_eq!(numbers(&build(&told, &two).next), ["a/light wharf 2", "a/meter wharf 3"]);
}

#[test]
fn another_kind_of_device_gets_another_number() {
    let dimmed = with(lamps(["a", "b"]), "a", |a| a.parts = vec![("light", vec![0x0101])]);
    check(&[lamps(["a", "b"]), dimmed], &["a/light wharf 4", "b/light wharf 3"], &["a/light wharf 2"]);
}

#[test]
fn the_same_kind_of_device_under_another_part_name_keeps_its_number() {
    let named = with(lamps(["a"]), "a", |a| a.parts = vec![("lamp", vec![0x0100])]);
    check(&[lamps(["a"]), named], &["a/lamp wharf 2"], &[]);
}

#[test]
fn parts_come_and_go_one_by_one() {
    let two = with(lamps(["a", "b"]), "a", |a| a.parts.push(("meter", vec![0x0510])));
    check(
        &[lamps(["a", "b"]), two.clone(), lamps(["a", "b"]), two],
        &["a/light wharf 2", "a/meter wharf 5", "b/light wharf 3"],
        &["a/meter wharf 4"],
    );
}

#[test]
fn another_bridge_gives_its_own_numbers() {
    let moved = with(lamps(["a", "b"]), "b", |b| b.bridge = "quay");
    check(&[lamps(["a", "b"]), moved], &["a/light wharf 2", "b/light quay 2"], &["b/light wharf 3"]);
}

/// The other part has another kind of device by now, and keeps its name: what it had is not its sibling's.
#[test]
fn a_part_does_not_take_what_its_sibling_had() {
    let outlet = |parts| with(lamps(["a"]), "a", |a| a.parts = parts);
    check(
        &[
            outlet(vec![("main", vec![0x0100]), ("meter", vec![0x0510])]),
            outlet(vec![("main", vec![0x0101]), ("meter", vec![0x0100])]),
        ],
        &["a/main wharf 4", "a/meter wharf 5"],
        &["a/main wharf 2", "a/meter wharf 3"],
    );
}

#[test]
fn only_what_nobody_has_is_lost() {
    let mut ledger = Ledger::new("heron-wharf");
    for keys in [&["a", "b", "c"][..], &["c"], &["a", "c"]] {
        ledger = build(&ledger, &lamps(keys.iter().copied())).next;
    }
    assert!(ledger.is_lost("b", "new"), "an appliance that no build knows may be what it was");
    assert!(ledger.is_lost("b", "c"));
    assert!(!ledger.is_lost("a", "new"), "it lives, whatever else it had once");
    assert!(!ledger.is_lost("never", "new"));
}

#[test]
fn an_appliance_that_is_not_shown_keeps_its_number_for_later() {
    let hidden = with(lamps(["a", "b"]), "a", |a| a.parts.clear());
    check(
        &[lamps(["a", "b"]), hidden, lamps(["a", "b", "c"])],
        &["a/light wharf 2", "b/light wharf 3", "c/light wharf 4"],
        &[],
    );
}

#[test]
fn a_bridge_that_has_given_every_number_says_so() {
    let keys: Vec<String> = (0..=65533).map(|number| format!("lamp-{number:05}")).collect();
    let mut house = lamps(keys.iter().map(String::as_str));
    let full = Ledger::new("heron-wharf");
    let fault = housewright::ledger::allocate(&full, &super::applicants(&house));
    assert_eq!(fault.map_err(|it| it.bridge).map(|_| ()), Err("wharf".to_owned()));
    house.remove("lamp-00000");
    let last = build(&full, &house);
    assert_eq!(last.next.identity("lamp-65533", "light").map(|it| it.number.get()), Some(65534));
    assert_eq!(last.of(0).len(), 1);
    assert_eq!(last.of(65533).len(), 0);
}
