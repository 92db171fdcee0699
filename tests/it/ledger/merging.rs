//! What becomes of two branches.

use super::history::{Event, histories};
use super::{House, build, lamps, numbers, sound};
use housewright::ledger::{Built, Change, Identity, Keeps, Ledger, UniqueId, merge, resolve, write};
use proptest::prelude::*;
use std::collections::BTreeMap;

/// Merges the ledgers of two houses that both came from one.
fn check(base: &House, ours: &House, theirs: &House, living: &[&str], changes: &[&str]) {
    let base = build(&Ledger::new("heron-wharf"), base).next;
    let (ours, theirs) = (build(&base, ours).next, build(&base, theirs).next);
    let merged = merge(Some(&base), &ours, &theirs, Built::Ours).expect("they are of one house");
    assert_eq!(numbers(&merged.ledger), living);
    let said: Vec<String> = merged.changes.iter().map(tell).collect();
    assert_eq!(said, changes);
}

fn tell(change: &Change) -> String {
    match change {
        Change::Renumbered { owner, from, to, .. } => format!("{} {from} -> {to}", owner.key),
        Change::Forgotten { owner, identity } => format!("{} forgets {}", owner.key, identity.number),
        Change::Disputed { owner, other } => format!("{} is {} there", owner.key, other.key),
        Change::Retired { owner, identity } => format!("{} retires {}", owner.key, identity.number),
    }
}

#[test]
fn the_branch_not_yet_built_gives_way_above_all_numbers() {
    check(
        &lamps(["a"]),
        &lamps(["a", "m"]),
        &lamps(["a", "b", "c"]),
        // `b` had 3, which `m` has; 4 stays with `c`; so 5 is next.
        &["a/light wharf 2", "b/light wharf 5", "c/light wharf 4", "m/light wharf 3"],
        &["b 3 -> 5"],
    );
}

#[test]
fn what_one_side_removed_stays_removed() {
    check(
        &lamps(["a", "b"]),
        &lamps(["a"]),
        &lamps(["a", "b", "c"]),
        &["a/light wharf 2", "c/light wharf 4"],
        &[],
    );
}

#[test]
fn a_rename_on_one_side_and_a_removal_on_the_other_keep_the_identity() {
    let mut renamed = House::new();
    renamed
        .insert("z".to_owned(), super::Appliance { formerly: Some("a".to_owned()), ..super::lamp("wharf") });
    check(&lamps(["a"]), &lamps([]), &renamed, &["z/light wharf 2"], &[]);
    check(&lamps(["a"]), &renamed, &lamps([]), &["z/light wharf 2"], &[]);
}

#[test]
fn the_same_new_appliance_on_both_sides_is_one() {
    check(
        &lamps(["a"]),
        &lamps(["a", "b"]),
        &lamps(["a", "b"]),
        &["a/light wharf 2", "b/light wharf 3"],
        &[],
    );
    // `b` has 4 on the side that gives way, where `aa` took 3: nobody else gets that 4.
    check(
        &lamps(["a"]),
        &lamps(["a", "b"]),
        &lamps(["a", "aa", "b"]),
        &["a/light wharf 2", "aa/light wharf 5", "b/light wharf 3"],
        &["aa 3 -> 5"],
    );
}

#[test]
fn a_key_that_two_identities_want_goes_to_the_built_one_and_the_other_keeps_its_old_key() {
    let mut renamed = House::new();
    renamed
        .insert("z".to_owned(), super::Appliance { formerly: Some("a".to_owned()), ..super::lamp("wharf") });
    check(&lamps(["a"]), &lamps(["a", "z"]), &renamed, &["a/light wharf 2", "z/light wharf 3"], &[]);
}

/// Whatever was built has the place under the new key: what the other branch had is not what is described any more.
#[test]
fn a_rename_on_one_side_and_another_bridge_or_class_on_the_other_give_the_new_key_the_new_place() {
    let former = |appliance: &super::Appliance| super::Appliance {
        formerly: Some("a".to_owned()),
        ..appliance.clone()
    };
    let dimmed = super::Appliance { parts: vec![("light", vec![0x0101])], ..super::lamp("wharf") };
    for (changed, place) in [(super::lamp("quay"), "z/light quay 2"), (dimmed, "z/light wharf 3")] {
        let base = build(&Ledger::new("heron-wharf"), &lamps(["a"])).next;
        let renamed = build(&base, &House::from([("z".to_owned(), former(&super::lamp("wharf")))])).next;
        let moved = build(&base, &House::from([("a".to_owned(), changed.clone())])).next;
        let both = House::from([("z".to_owned(), former(&changed))]);
        for (ours, theirs) in [(&renamed, &moved), (&moved, &renamed)] {
            let merged = merge(Some(&base), ours, theirs, Built::Ours).expect("they are of one house").ledger;
            let next = build(&merged, &both).next;
            assert_eq!(numbers(&next), [place]);
            let kept = next.identity("z", "light").expect("it was built");
            assert_eq!(Some(kept), moved.identity("a", "light"));
            assert_eq!(build(&next, &both).next, next, "a second build changes nothing");
            // Where the old key is somebody's, or the own place fits, the line has done its work.
            let mut two = both.clone();
            two.insert("a".to_owned(), changed.clone());
            assert_eq!(build(&merged, &two).next.identity("a", "light"), Some(kept));
            let first = House::from([("z".to_owned(), former(&super::lamp("wharf")))]);
            assert_eq!(numbers(&build(&merged, &first).next), ["z/light wharf 2"]);
        }
    }
}

#[test]
fn two_houses_do_not_merge() {
    let (one, other) = (Ledger::new("heron-wharf"), Ledger::new("mill-lane"));
    assert!(merge(None, &one, &other, Built::Ours).is_err());
}

#[test]
fn what_both_sides_lost_by_hand_is_not_given_again() {
    let base = build(&Ledger::new("heron-wharf"), &lamps(["a", "b"])).next;
    let lost = sound(&write(&build(&Ledger::new("heron-wharf"), &lamps(["a"])).next));
    let merged = merge(Some(&base), &lost, &lost, Built::Ours).expect("they are of one house").ledger;
    assert_eq!(numbers(&merged), ["a/light wharf 2"]);
    assert_eq!(numbers(&build(&merged, &lamps(["a", "c"])).next), ["a/light wharf 2", "c/light wharf 4"]);
}

/// As an earlier merge does.
#[test]
fn a_number_that_one_branch_changed_stays_changed() {
    let base = build(&Ledger::new("heron-wharf"), &lamps(["a", "b"])).next;
    let changed = sound(&write(&base).replacen("wharf 3 ", "wharf 9 ", 1));
    for (ours, theirs) in [(&base, &changed), (&changed, &base)] {
        for built in [Built::Ours, Built::Theirs] {
            let merged = merge(Some(&base), ours, theirs, built).expect("they are of one house");
            assert_eq!(numbers(&merged.ledger), ["a/light wharf 2", "b/light wharf 9"]);
        }
    }
}

/// Both make the same unique id for it, at two places: neither is given again.
#[test]
fn the_place_of_one_that_both_branches_replaced_is_not_given_again() {
    let base = build(&Ledger::new("heron-wharf"), &lamps(["a"])).next;
    let (mut dimmed, mut moved) = (lamps(["a"]), lamps(["a"]));
    dimmed.values_mut().for_each(|lamp| lamp.parts = vec![("light", vec![0x0101])]);
    moved.values_mut().for_each(|lamp| lamp.bridge = "quay");
    let (ours, theirs) = (build(&base, &dimmed).next, build(&base, &moved).next);
    let merged = merge(Some(&base), &ours, &theirs, Built::Ours).expect("they are of one house").ledger;
    assert_eq!(numbers(&merged), ["a/light wharf 3"]);
    dimmed.insert("b".to_owned(), super::lamp("quay"));
    assert_eq!(numbers(&build(&merged, &dimmed).next), ["a/light wharf 3", "b/light quay 3"]);
}

/// As a cherry-pick does: the commit's base is one that the branch it comes to has never seen.
#[test]
fn what_a_commit_that_is_taken_over_alone_stands_on_gives_way() {
    let start = build(&Ledger::new("heron-wharf"), &lamps(["a"])).next;
    let base = build(&start, &lamps(["a", "p"])).next;
    let theirs = build(&base, &lamps(["a", "p", "s"])).next;
    let ours = build(&start, &lamps(["a", "m"])).next;
    let merged = merge(Some(&base), &ours, &theirs, Built::Ours).expect("they are of one house");
    assert_eq!(numbers(&merged.ledger), ["a/light wharf 2", "m/light wharf 3", "s/light wharf 4"]);
    // What only was lost there by hand is as the other side has it.
    let lost = sound(
        &write(&build(&base, &lamps(["a", "p", "z"])).next).replace(
            &write(&base)
                .lines()
                .skip_while(|line| *line != "  p:")
                .take(2)
                .fold(String::new(), |text, line| text + line + "\n"),
            "",
        ),
    );
    assert_eq!(numbers(&lost), ["a/light wharf 2", "z/light wharf 4"]);
    let merged = merge(Some(&base), &lost, &base, Built::Ours).expect("they are of one house");
    assert_eq!(numbers(&merged.ledger), ["a/light wharf 2", "p/light wharf 3", "z/light wharf 4"]);
}

#[test]
fn a_merge_of_lines_is_resolved_by_what_was_built() {
    let base = build(&Ledger::new("heron-wharf"), &lamps(["a"])).next;
    let ours = build(&base, &lamps(["a", "m"])).next;
    let theirs = build(&base, &lamps(["a", "b"])).next;
    let line =
        write(&theirs).lines().skip_while(|line| *line != "  b:").take(2).collect::<Vec<_>>().join("\n");
    let both = write(&ours).replace("  m:\n", &format!("{line}\n  m:\n"));
    let (ledger, problems) = super::whole(&both);
    let ledger = ledger.expect("every line can be read");
    assert_eq!(problems.len(), 1, "{problems:?}");
    let built = |side: &Ledger| {
        let built = side.living().map(|(_, _, it)| (it.unique_id, (it.bridge.to_string(), it.number.get())));
        resolve(&ledger, Keeps::Built(&built.collect())).expect("numbers are left").ledger
    };
    assert_eq!(numbers(&built(&ours)), ["a/light wharf 2", "b/light wharf 4", "m/light wharf 3"]);
    assert_eq!(numbers(&built(&theirs)), ["a/light wharf 2", "b/light wharf 3", "m/light wharf 4"]);
}

fn grow(mut house: House, mut ledger: Ledger, history: &[Vec<Event>]) -> (House, Ledger) {
    for events in history {
        events.iter().for_each(|event| event.happen(&mut house));
        ledger = build(&ledger, &house).next;
    }
    (house, ledger)
}

fn known(ledger: &Ledger) -> BTreeMap<UniqueId, Identity> {
    ledger.living().chain(ledger.retired()).map(|(_, _, it)| (it.unique_id, it.clone())).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(400) })]

    #[test]
    fn a_merge_is_sound_and_keeps_every_identity_that_was_built(
        before in histories(), on_ours in histories(), on_theirs in histories(),
    ) {
        let (house, base) = grow(House::new(), Ledger::new("heron-wharf"), &before);
        let (our_house, ours) = grow(house.clone(), base.clone(), &on_ours);
        let (their_house, theirs) = grow(house, base.clone(), &on_theirs);
        let merged = merge(Some(&base), &ours, &theirs, Built::Ours).expect("they are of one house");
        prop_assert_eq!(&sound(&write(&merged.ledger)), &merged.ledger);
        let all = known(&merged.ledger);
        for (unique_id, identity) in known(&ours).into_iter().chain(known(&base)) {
            prop_assert_eq!(all.get(&unique_id), Some(&identity));
        }
        // Whoever lives on both sides under one key lives on.
        for (key, part, identity) in ours.living() {
            if theirs.identity(key, part) == Some(identity) {
                prop_assert_eq!(merged.ledger.identity(key, part), Some(identity));
            }
        }
        // Whichever side's description is built next, the built side's numbers stay with their unique ids.
        for house in [&our_house, &their_house] {
            let next = known(&build(&merged.ledger, house).next);
            for (unique_id, identity) in known(&ours) {
                prop_assert_eq!(next.get(&unique_id), Some(&identity));
            }
        }
    }

    #[test]
    fn it_does_not_matter_which_side_is_called_ours(
        before in histories(), on_ours in histories(), on_theirs in histories(),
    ) {
        let (house, base) = grow(House::new(), Ledger::new("heron-wharf"), &before);
        let ours = grow(house.clone(), base.clone(), &on_ours).1;
        let theirs = grow(house, base.clone(), &on_theirs).1;
        prop_assert_eq!(
            merge(Some(&base), &ours, &theirs, Built::Ours),
            merge(Some(&base), &theirs, &ours, Built::Theirs)
        );
    }

    #[test]
    fn a_side_that_did_nothing_changes_nothing(before in histories(), after in histories()) {
        let (house, base) = grow(House::new(), Ledger::new("heron-wharf"), &before);
        let after = grow(house, base.clone(), &after).1;
        for built in [Built::Ours, Built::Theirs] {
            let merged = merge(Some(&base), &after, &base, built).expect("they are of one house");
            prop_assert_eq!((&merged.ledger, merged.changes), (&after, vec![]));
            let merged = merge(None, &after, &after, built).expect("they are of one house");
            prop_assert_eq!((&merged.ledger, merged.changes), (&after, vec![]));
        }
    }
}
