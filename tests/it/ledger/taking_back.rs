//! What `ledger rename` brings back, against a table of what the two keys had and have.

use super::history::{Event, histories};
use super::{House, build, numbers, sound};
use housewright::ledger::{Identity, Keeps, Ledger, RenameError, resolve, write};
use proptest::prelude::*;
use std::collections::BTreeMap;

/// Key, part and state of each identity.
fn all(ledger: &Ledger) -> BTreeMap<(String, String, bool, u16, String), Identity> {
    let entry = |living| {
        move |(key, part, it): (&str, &str, &Identity)| {
            ((key.to_owned(), part.to_owned(), living, it.number.get(), it.bridge.to_string()), it.clone())
        }
    };
    ledger.living().map(entry(true)).chain(ledger.retired().map(entry(false))).collect()
}

fn retired<'a>(ledger: &'a Ledger, key: &str) -> Vec<(&'a str, &'a Identity)> {
    ledger.retired().filter(|(its, ..)| *its == key).map(|(_, part, it)| (part, it)).collect()
}

/// What each part of `new` has after `old` was told to be what it was; an error where nothing comes back.
fn expected(
    ledger: &Ledger,
    old: &str,
    new: &str,
    fits: impl Fn(&Identity) -> bool,
) -> Result<BTreeMap<String, Identity>, &'static str> {
    if old != new && ledger.lives(old) {
        return Err("lives");
    }
    let lost = retired(ledger, old);
    if lost.is_empty() {
        return Err("unknown");
    }
    let now: BTreeMap<String, Identity> =
        ledger.of(new).map(|(part, it)| (part.to_owned(), it.clone())).collect();
    let mut then = now.clone();
    let mut back: BTreeMap<&str, &Identity> = BTreeMap::new();
    for (part, it) in lost {
        // What came before what it has, and of that the last.
        let own = now.get(part).filter(|now| old == new && fits(now));
        if fits(it) && own.is_none_or(|own| it.number < own.number) {
            let last = back.entry(part).or_insert(it);
            *last = if it.number > last.number { it } else { last };
        }
    }
    match (back.is_empty(), old == new && now.values().any(&fits)) {
        (true, true) => Err("has"),
        (true, false) => Err("unlike"),
        (false, _) => {
            then.extend(back.into_iter().map(|(part, it)| (part.to_owned(), it.clone())));
            Ok(then)
        }
    }
}

fn why(error: &RenameError) -> &'static str {
    match error {
        RenameError::Lives { .. } => "lives",
        RenameError::Unknown { .. } => "unknown",
        RenameError::Unlike { .. } => "unlike",
        RenameError::Has { .. } => "has",
    }
}

fn check(ledger: &Ledger, old: &str, new: &str, fits: impl Fn(&Identity) -> bool) {
    let told = ledger.rename(old, new, &fits);
    let due = expected(ledger, old, new, &fits);
    let next = match (told, due) {
        (Ok(next), Ok(due)) => {
            let has: BTreeMap<_, _> = next.of(new).map(|(part, it)| (part.to_owned(), it.clone())).collect();
            assert_eq!(has, due, "{old} to {new}");
            next
        }
        (Err(told), due) => return assert_eq!(Err(why(&told)), due, "{old} to {new}"),
        (Ok(_), Err(due)) => panic!("{old} to {new} is {due}"),
    };
    assert_eq!(sound(&write(&next)), next, "what is written is read again");
    let (before, after) = (all(ledger), all(&next));
    let identities = |all: &BTreeMap<_, Identity>| {
        let mut all: Vec<Identity> = all.values().cloned().collect();
        all.sort_by_key(|it| it.unique_id);
        all
    };
    assert_eq!(identities(&before), identities(&after), "nothing is forgotten or made");
    for (place, it) in &after {
        let gave_way = !place.2 && place.0 == new;
        let came_back = place.2 && place.0 == new;
        assert!(gave_way || came_back || before.get(place) == Some(it), "{place:?} is as it was");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(300) })]

    #[test]
    fn a_rename_brings_back_the_last_that_fits_of_each_part(history in histories(), types in 0..3usize) {
        let (mut house, mut ledger) = (House::new(), Ledger::new("heron-wharf"));
        for events in history {
            events.iter().for_each(|event: &Event| event.happen(&mut house));
            ledger = build(&ledger, &house).next;
        }
        let fits = |it: &Identity| match types {
            0 => true,
            1 => &*it.bridge == "wharf" && it.device_types.ids() == [0x100],
            _ => &*it.bridge == "wharf",
        };
        let mut keys: Vec<String> = ledger.keys().map(str::to_owned).collect();
        keys.sort();
        keys.dedup();
        for old in &keys {
            for new in &keys {
                // Numbers are compared on one bridge only.
                if types > 0 {
                    check(&ledger, old, new, fits);
                }
                let lost = retired(&ledger, old);
                let is_same = |(part, it): &(&str, &Identity)| ledger.identity(new, part)
                    .is_some_and(|now| now.bridge == it.bridge && now.device_types == it.device_types);
                let is_lost = !lost.is_empty() && !ledger.lives(old)
                    && (!ledger.lives(new) || lost.iter().any(is_same));
                prop_assert_eq!(ledger.is_lost(old, new), is_lost, "{} {}", old, new);
                let has = |key: &str| ledger.of(key).any(|(_, it)| fits(it));
                prop_assert_eq!(ledger.fits_rather(old, new, fits), !has(new) && has(old));
            }
            let is_left = |part: &str| retired(&ledger, old).into_iter()
                .filter(|(its, it)| *its == part && fits(it)).map(|(_, it)| it.number).max();
            for part in ["light", "meter"] {
                let has_own = ledger.of(old).any(|(_, it)| fits(it));
                let left = ledger.left_behind(old, part, fits).map(|it| it.number);
                prop_assert_eq!(left, is_left(part).filter(|_| !has_own), "{} {}", old, part);
            }
            prop_assert_eq!(ledger.has_retired(old), !retired(&ledger, old).is_empty());
        }
        let living: std::collections::BTreeSet<&str> = keys.iter().map(String::as_str)
            .filter(|key| ledger.lives(key)).collect();
        prop_assert_eq!((ledger.appliances(), ledger.is_empty()), (living.len(), keys.is_empty()));
    }
}

/// Changed to and fro: of all that it had, the last before what it has.
#[test]
fn what_was_changed_more_than_once_goes_back_by_one() {
    let mut ledger = Ledger::new("heron-wharf");
    for id in [0x100, 0x101, 0x100, 0x101] {
        let lamp = super::Appliance { parts: vec![("light", vec![id])], ..super::lamp("wharf") };
        ledger = build(&ledger, &House::from([("a".to_owned(), lamp)])).next;
    }
    check(&ledger, "a", "a", |_| true);
    let told = ledger.rename("a", "a", |_| true).expect("three are retired");
    assert_eq!(numbers(&told), ["a/light wharf 4"]);
}

/// One unique id in two lines, as a merge of lines leaves it, with nobody named who keeps a number.
#[test]
fn lines_with_one_unique_id_are_one_where_that_is_plain() {
    const ID: &str = "0123456789abcdef0123456789abcdef";
    let resolved = |living: &[(&str, u16)], retired: &[(&str, u16)]| {
        let mut text = "housewright-ledger: 1\nhouse: heron-wharf\nappliances:\n".to_owned();
        for (key, number) in living {
            text += &format!("  {key}:\n    light: wharf {number} 0x0100 {ID}\n");
        }
        text += "retired:\n";
        for (key, number) in retired {
            text += &format!("  {key}:\n  - light: wharf {number} 0x0100 {ID}\n");
        }
        let ledger = super::whole(&text).0.expect("every line can be read");
        let merged = resolve(&ledger, Keeps::Keys(&[])).ok()?.ledger;
        assert_eq!(sound(&write(&merged)), merged);
        Some((numbers(&merged).join(", "), merged.retired().count()))
    };
    let is = |living: &str, retired| Some((living.to_owned(), retired));
    assert_eq!(resolved(&[("a", 2)], &[("a", 2)]), is("a/light wharf 2", 0));
    assert_eq!(resolved(&[("b", 2)], &[("a", 2)]), is("b/light wharf 2", 0));
    assert_eq!(resolved(&[], &[("a", 2), ("b", 2)]).map(|it| it.1), Some(1));
    assert_eq!(resolved(&[("a", 2), ("b", 2)], &[]), None, "two have it");
    assert_eq!(resolved(&[("a", 2)], &[("a", 3)]), None, "it is at two places");
    assert_eq!(resolved(&[("a", 2)], &[("b", 3)]), None, "it is at two places");
    assert_eq!(resolved(&[], &[("a", 2), ("b", 3)]), None, "it is at two places");
}
