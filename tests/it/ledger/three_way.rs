//! What a merge makes of each identity, against a table of what both sides and their base say of it.

use super::history::{Event, histories};
use super::{Appliance, House, build, lamp, lamps, sound};
use housewright::ledger::{Built, Change, EndpointNumber, Identity, Ledger, Merged, UniqueId, merge, write};
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

/// Whose an identity is, and whether it is in use.
type State = (String, bool);

fn states(ledger: &Ledger) -> BTreeMap<UniqueId, State> {
    let state = |living| {
        move |(key, part, it): (&str, &str, &Identity)| (it.unique_id, (format!("{key}/{part}"), living))
    };
    ledger.living().map(state(true)).chain(ledger.retired().map(state(false))).collect()
}

fn identities(ledger: &Ledger) -> BTreeMap<UniqueId, Identity> {
    ledger.living().chain(ledger.retired()).map(|(.., it)| (it.unique_id, it.clone())).collect()
}

fn places(ledger: &Ledger) -> BTreeSet<(String, EndpointNumber)> {
    identities(ledger).into_values().map(|it| (it.bridge.to_string(), it.number)).collect()
}

/// The state that a merge gives an identity which no other one stands in the way of. The first side was built.
fn expected(base: Option<&State>, first: Option<&State>, second: Option<&State>) -> Option<State> {
    match (first, second) {
        (Some(first), Some(second)) => {
            let (by_first, by_second) = (base != Some(first), base != Some(second));
            let takes_second = by_second && (!by_first || second.1 && !first.1);
            Some(if takes_second { second } else { first }.clone())
        }
        // The first side has never seen the base: what the second one has as that has it is not brought into use.
        (None, Some((owner, living))) => Some((owner.clone(), *living && base != second)),
        (only, None) => only.cloned(),
    }
}

/// What the sides say of whose an identity is, where both gave it to another key.
fn rivals<'a>(
    base: Option<&State>,
    first: Option<&'a State>,
    second: Option<&'a State>,
) -> Option<[&'a str; 2]> {
    let (first, second) = first.zip(second)?;
    let is_disputed =
        base != Some(first) && base != Some(second) && first.1 && second.1 && first.0 != second.0;
    is_disputed.then_some([&first.0, &second.0])
}

/// Holds a merge against the table.
fn check(base: &Ledger, ours: &Ledger, theirs: &Ledger, merged: &Merged) {
    let (before, first, second) = (states(base), states(ours), states(theirs));
    let now = states(&merged.ledger);
    let bearers: BTreeSet<&str> = now.values().filter(|it| it.1).map(|it| it.0.as_str()).collect();
    let told_of = |change: fn(&Change) -> Option<&Identity>| -> BTreeSet<UniqueId> {
        merged.changes.iter().filter_map(change).map(|it| it.unique_id).collect()
    };
    let forgotten =
        told_of(|it| if let Change::Forgotten { identity, .. } = it { Some(identity) } else { None });
    let given_up =
        told_of(|it| if let Change::Retired { identity, .. } = it { Some(identity) } else { None });
    let (mut disputed, mut retired) = (BTreeSet::new(), BTreeSet::new());
    for id in before.keys().chain(first.keys()).chain(second.keys()).collect::<BTreeSet<_>>() {
        let states = (before.get(id), first.get(id), second.get(id));
        let Some(state) = now.get(id) else {
            assert!(forgotten.contains(id) && !first.contains_key(id), "{id:?} is nowhere");
            continue;
        };
        let due = expected(states.0, states.1, states.2).expect("one of the sides has it");
        if *state != due {
            assert!(due.1 && bearers.contains(due.0.as_str()), "{state:?} is to be {due:?}");
            assert!(!state.1 || states.0.is_some_and(|before| before.0 == state.0), "{state:?} was {due:?}");
            retired.extend(Some(*id).filter(|_| !state.1));
        }
        if let Some(rivals) = rivals(states.0, states.1, states.2).filter(|_| state.1) {
            disputed.insert((state.0.clone(), rivals[1].to_owned()));
        }
    }
    let told = merged.changes.iter().filter_map(|it| match it {
        Change::Disputed { owner, other } => {
            Some((format!("{}/{}", owner.key, owner.part), format!("{}/{}", other.key, other.part)))
        }
        _ => None,
    });
    assert_eq!(told.collect::<BTreeSet<_>>(), disputed);
    // One that gave way and whose number another one has is forgotten, too.
    assert_eq!(&given_up - &forgotten, retired);
    // What is known without having anything is so on a side, and the other one has not removed it.
    let is_empty = |ledger: &Ledger, key: &str| ledger.lives(key) && ledger.of(key).next().is_none();
    for key in [base, ours, theirs, &merged.ledger].into_iter().flat_map(Ledger::keys) {
        let stays =
            |side: &Ledger, other: &Ledger| is_empty(side, key) && (other.lives(key) || !base.lives(key));
        let is_known = stays(ours, theirs) || stays(theirs, ours);
        let has_one = merged.ledger.of(key).next().is_some();
        assert_eq!(is_empty(&merged.ledger, key), is_known && !has_one, "{key}");
    }
}

/// Whatever becomes of each: what was built stays as it is numbered, and no number that anybody gave is free.
fn check_numbers(base: &Ledger, ours: &Ledger, theirs: &Ledger, merged: &Ledger) {
    assert_eq!(&sound(&write(merged)), merged);
    let all = identities(merged);
    let (before, second) = (identities(base), identities(theirs));
    for (unique_id, identity) in &identities(ours) {
        let now = all.get(unique_id);
        // What has another number on the other branch alone goes with it.
        let is_renumbered = before.get(unique_id) == Some(identity) && now == second.get(unique_id);
        assert!(now == Some(identity) || is_renumbered, "{identity:?} is {now:?}");
    }
    let taken = places(merged);
    for place in [base, ours, theirs].into_iter().flat_map(places) {
        assert!(taken.contains(&place), "{place:?} is free");
    }
}

fn grow((mut house, mut ledger): (House, Ledger), history: &[Vec<Event>]) -> (House, Ledger) {
    for events in history {
        events.iter().for_each(|event| event.happen(&mut house));
        ledger = build(&ledger, &house).next;
    }
    (house, ledger)
}

/// The ledger without some of its lines, as a hand takes them out.
fn lose(ledger: &Ledger, which: u64) -> Ledger {
    let text = write(ledger);
    let is_lost = |at: u32, line: &str| line.contains(" 0x") && which.rotate_left(at).is_multiple_of(5);
    let left = (0..).zip(text.lines()).filter(|(at, line)| !is_lost(*at, line));
    sound(&left.map(|(_, line)| format!("{line}\n")).collect::<String>())
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(400) })]

    #[test]
    fn a_merge_takes_of_each_identity_what_was_changed(
        before in histories(), on_ours in histories(), on_theirs in histories(),
    ) {
        let start = grow((House::new(), Ledger::new("heron-wharf")), &before);
        let (ours, theirs) = (grow(start.clone(), &on_ours).1, grow(start.clone(), &on_theirs).1);
        let merged = merge(Some(&start.1), &ours, &theirs, Built::Ours).expect("they are of one house");
        check(&start.1, &ours, &theirs, &merged);
        check_numbers(&start.1, &ours, &theirs, &merged.ledger);
    }

    /// As a cherry-pick does: the base is one that the built side has never seen.
    #[test]
    fn a_commit_that_is_taken_over_alone_brings_what_it_changed(
        before in histories(), on_ours in histories(), unseen in histories(), picked in histories(),
    ) {
        let start = grow((House::new(), Ledger::new("heron-wharf")), &before);
        let base = grow(start.clone(), &unseen);
        let (ours, theirs) = (grow(start, &on_ours).1, grow(base.clone(), &picked).1);
        let merged = merge(Some(&base.1), &ours, &theirs, Built::Ours).expect("they are of one house");
        check(&base.1, &ours, &theirs, &merged);
        check_numbers(&base.1, &ours, &theirs, &merged.ledger);
    }

    #[test]
    fn lines_that_a_hand_took_out_make_no_number_free(
        before in histories(), on_ours in histories(), on_theirs in histories(), lost in any::<(u64, u64)>(),
    ) {
        let start = grow((House::new(), Ledger::new("heron-wharf")), &before);
        let branch = |history, lost| {
            let (house, ledger) = grow(start.clone(), history);
            let ledger = lose(&ledger, lost);
            build(&ledger, &house).next
        };
        let (ours, theirs) = (branch(&on_ours[..], lost.0), branch(&on_theirs[..], lost.1));
        let nothing = Ledger::new("heron-wharf");
        for base in [Some(&start.1), None] {
            let merged = merge(base, &ours, &theirs, Built::Ours).expect("they are of one house");
            check_numbers(base.unwrap_or(&nothing), &ours, &theirs, &merged.ledger);
        }
    }
}

fn renamed(key: &str, old: &str) -> House {
    House::from([(key.to_owned(), Appliance { formerly: Some(old.to_owned()), ..lamp("wharf") })])
}

fn told(merged: &Merged) -> Vec<String> {
    merged.changes.iter().map(ToString::to_string).collect()
}

#[test]
fn what_gives_way_is_told() {
    let base = build(&Ledger::new("heron-wharf"), &lamps(["a"])).next;
    let ours = build(&base, &renamed("z", "a")).next;
    let theirs = build(&base, &lamps(["a", "z"])).next;
    let merged = merge(Some(&base), &ours, &theirs, Built::Ours).expect("they are of one house");
    assert_eq!(told(&merged), ["endpoint 3 of `wharf`, a second one for `z` (light), is retired"]);
    let ours = build(&base, &lamps(["a", "m"])).next;
    let theirs = build(&build(&base, &lamps(["a", "b"])).next, &lamps(["a"])).next;
    let merged = merge(Some(&base), &ours, &theirs, Built::Ours).expect("they are of one house");
    assert_eq!(
        told(&merged),
        ["endpoint 3 of `wharf`, which `b` (light) once had, belongs to another appliance"]
    );
    // Of a number of which no line says whose it was there is nothing to tell.
    let mut theirs = base.clone();
    theirs.given_up_to([("wharf", EndpointNumber::new(3).expect("it is in range"))]);
    let merged = merge(Some(&base), &ours, &theirs, Built::Ours).expect("they are of one house");
    assert_eq!((told(&merged), &merged.ledger), (vec![], &ours));
}

/// The branch that gives way has another number for it, and that one was given on the built branch meanwhile.
#[test]
fn what_was_built_keeps_its_number_where_another_one_was_moved_to_it() {
    let base = build(&Ledger::new("heron-wharf"), &lamps(["a"])).next;
    let ours = build(&base, &lamps(["a", "b"])).next;
    let theirs = sound(&write(&base).replacen("wharf 2 ", "wharf 3 ", 1));
    let merged = merge(Some(&base), &ours, &theirs, Built::Ours).expect("they are of one house").ledger;
    assert_eq!(super::numbers(&merged), ["a/light wharf 2", "b/light wharf 3"]);
}
