//! Laws that hold over every history of a house.

use super::{Appliance, House, applicants, build, fits, sound};
use housewright::ledger::{EndpointNumber, Identity, Ledger, Owner, UniqueId, allocate, write};
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

/// What happens to a house between two builds.
#[derive(Clone, Debug)]
pub(super) enum Event {
    Add(usize, Appliance),
    Remove(usize),
    Rename(usize, usize),
    Change(usize, Appliance),
    Hide(usize),
    /// The line that a rename needs, written for a key that is not there: it came too late, or means nothing.
    TooLate(usize, usize),
}

const KEYS: [&str; 8] = ["barge", "crane", "dock", "eddy", "ferry", "gauge", "hoist", "inlet"];

fn appliance() -> impl Strategy<Value = Appliance> {
    let part = |name: &'static str| (Just(name), prop::sample::select(vec![vec![0x100], vec![0x101, 0x510]]));
    let parts = prop_oneof![
        part("light").prop_map(|light| vec![light]),
        (part("light"), part("meter")).prop_map(|(light, meter)| vec![light, meter]),
    ];
    (prop::sample::select(vec!["wharf", "quay"]), parts).prop_map(|(bridge, parts)| Appliance {
        bridge,
        formerly: None,
        parts,
    })
}

fn event() -> impl Strategy<Value = Event> {
    let key = || 0..KEYS.len();
    prop_oneof![
        (key(), appliance()).prop_map(|(key, it)| Event::Add(key, it)),
        key().prop_map(Event::Remove),
        (key(), key()).prop_map(|(from, to)| Event::Rename(from, to)),
        (key(), appliance()).prop_map(|(key, it)| Event::Change(key, it)),
        key().prop_map(Event::Hide),
        (key(), key()).prop_map(|(key, old)| Event::TooLate(key, old)),
    ]
}

/// Builds, each after some events.
pub(super) fn histories() -> impl Strategy<Value = Vec<Vec<Event>>> {
    prop::collection::vec(prop::collection::vec(event(), 0..5), 1..12)
}

impl Event {
    pub(super) fn happen(&self, house: &mut House) {
        match self {
            Self::Add(key, appliance) => {
                house.entry(KEYS[*key].to_owned()).or_insert_with(|| appliance.clone());
            }
            Self::Remove(key) => {
                house.remove(KEYS[*key]);
            }
            Self::Rename(from, to) => {
                if from != to
                    && !house.contains_key(KEYS[*to])
                    && let Some(mut moved) = house.remove(KEYS[*from])
                {
                    moved.formerly = Some(KEYS[*from].to_owned());
                    house.insert(KEYS[*to].to_owned(), moved);
                }
            }
            Self::Change(key, to) => {
                if let Some(there) = house.get_mut(KEYS[*key]) {
                    *there = Appliance { formerly: there.formerly.clone(), ..to.clone() };
                }
            }
            Self::Hide(key) => {
                if let Some(there) = house.get_mut(KEYS[*key]) {
                    there.parts.clear();
                }
            }
            Self::TooLate(key, old) => {
                if !house.contains_key(KEYS[*old])
                    && let Some(there) = house.get_mut(KEYS[*key])
                {
                    there.formerly = Some(KEYS[*old].to_owned());
                }
            }
        }
    }
}

fn all(ledger: &Ledger) -> Vec<&Identity> {
    ledger.living().chain(ledger.retired()).map(|(_, _, identity)| identity).collect()
}

/// What a build shows of its ledger.
fn built_of(ledger: &Ledger) -> Vec<(Owner, Identity)> {
    let owner = |key: &str, part: &str| Owner { key: key.to_owned(), part: part.to_owned() };
    ledger.living().map(|(key, part, identity)| (owner(key, part), identity.clone())).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(400) })]

    #[test]
    fn an_identity_once_given_never_changes_and_is_never_forgotten(history in histories()) {
        let (mut house, mut ledger) = (House::new(), Ledger::new("heron-wharf"));
        let mut ever: BTreeMap<UniqueId, Identity> = BTreeMap::new();
        for events in history {
            events.iter().for_each(|event| event.happen(&mut house));
            ledger = build(&ledger, &house).next;
            let now: BTreeMap<UniqueId, Identity> =
                all(&ledger).into_iter().map(|identity| (identity.unique_id, identity.clone())).collect();
            prop_assert_eq!(now.len(), all(&ledger).len(), "unique ids are unique");
            let places: BTreeSet<_> = now.values().map(|it| (it.bridge.clone(), it.number)).collect();
            prop_assert_eq!(places.len(), now.len(), "numbers are unique on their bridge");
            for (unique_id, identity) in &ever {
                prop_assert_eq!(now.get(unique_id), Some(identity));
            }
            ever = now;
        }
    }

    #[test]
    fn a_number_belongs_to_one_appliance_through_all_its_keys(events in prop::collection::vec(event(), 1..40)) {
        // One event a build, so that it is plain which appliance a key means: it is born with `Add` and keeps being
        // itself under every key that `Rename` gives it.
        let (mut house, mut ledger) = (House::new(), Ledger::new("heron-wharf"));
        let mut persons: BTreeMap<String, usize> = BTreeMap::new();
        let mut owner: BTreeMap<UniqueId, usize> = BTreeMap::new();
        for (birth, event) in events.iter().enumerate() {
            let before = house.clone();
            event.happen(&mut house);
            let gone = before.keys().find(|key| !house.contains_key(*key)).and_then(|key| persons.remove(key));
            if let Some(came) = house.keys().find(|key| !before.contains_key(*key)) {
                persons.insert(came.clone(), gone.unwrap_or(birth));
            }
            ledger = build(&ledger, &house).next;
            for (key, _, identity) in ledger.living() {
                prop_assert_eq!(*owner.entry(identity.unique_id).or_insert(persons[key]), persons[key]);
            }
        }
    }

    #[test]
    fn a_ledger_that_goes_back_gives_no_number_twice(
        history in histories(),
        back in prop::collection::vec(0..4usize, 12),
    ) {
        let mut house = House::new();
        let mut states = vec![Ledger::new("heron-wharf")];
        let mut given: BTreeMap<(String, u16), UniqueId> = BTreeMap::new();
        let mut built: Vec<(Owner, Identity)> = Vec::new();
        for (events, back) in history.iter().zip(back) {
            events.iter().for_each(|event| event.happen(&mut house));
            let older = &states[states.len().saturating_sub(1 + back)];
            let (mut ledger, _) = older.remember(built, |owner, identity| fits(&house, owner, identity));
            for identity in all(older) {
                prop_assert!(all(&ledger).contains(&identity), "{:?} stays", identity);
            }
            let numbers = given.keys();
            let numbers = numbers.map(|(bridge, number)| (bridge.as_str(), *number));
            ledger.given_up_to(
                numbers.map(|(bridge, number)| (bridge, EndpointNumber::new(number).expect("it was given"))),
            );
            for (_, shown) in built_of(&states[states.len() - 1]) {
                let is_it = |it: &&Identity| it.bridge == shown.bridge && it.number == shown.number;
                prop_assert!(all(&ledger).iter().any(is_it), "{:?} is remembered", shown);
            }
            let next = build(&ledger, &house).next;
            prop_assert_eq!(&sound(&write(&next)), &next);
            for (_, _, identity) in next.living() {
                let place = (identity.bridge.to_string(), identity.number.get());
                prop_assert_eq!(*given.entry(place).or_insert(identity.unique_id), identity.unique_id);
            }
            built = built_of(&next);
            states.push(next);
        }
    }

    #[test]
    fn a_ledger_learns_nothing_from_its_own_build(history in histories()) {
        let (mut house, mut ledger) = (House::new(), Ledger::new("heron-wharf"));
        for events in history {
            events.iter().for_each(|event| event.happen(&mut house));
            ledger = build(&ledger, &house).next;
            let (same, remembered) = ledger.remember(built_of(&ledger), |_, _| false);
            prop_assert_eq!((&same, remembered.len()), (&ledger, 0));
        }
    }

    #[test]
    fn the_order_of_appliances_does_not_matter(history in histories(), seed in any::<u64>()) {
        let (mut house, mut ledger) = (House::new(), Ledger::new("heron-wharf"));
        for events in history {
            events.iter().for_each(|event| event.happen(&mut house));
            let straight = build(&ledger, &house);
            let list = applicants(&house);
            let mut order: Vec<usize> = (0..list.len()).collect();
            order.sort_by_key(|position| (*position as u64 + 1).wrapping_mul(seed | 1));
            let shuffled: Vec<_> = order.iter().map(|position| list[*position].clone()).collect();
            let other = allocate(&ledger, &shuffled).expect("houses of tests are small");
            prop_assert_eq!(&other.next, &straight.next);
            for (at, position) in order.iter().enumerate() {
                prop_assert_eq!(other.of(at), straight.of(*position));
            }
            ledger = straight.next;
        }
    }

    #[test]
    fn who_stays_as_it_is_keeps_what_it_has(history in histories()) {
        let (mut house, mut ledger) = (House::new(), Ledger::new("heron-wharf"));
        for events in history {
            let before = house.clone();
            events.iter().for_each(|event| event.happen(&mut house));
            let claimed: BTreeSet<&str> = house.values().filter_map(|it| it.formerly.as_deref()).collect();
            let next = build(&ledger, &house).next;
            for (key, appliance) in &house {
                if before.get(key) == Some(appliance) && !claimed.contains(key.as_str()) {
                    for (part, _) in &appliance.parts {
                        prop_assert_eq!(next.identity(key, part), ledger.identity(key, part), "{}", key);
                    }
                }
            }
            ledger = next;
        }
    }

    #[test]
    fn what_is_given_stands_in_the_next_ledger_and_a_second_build_changes_nothing(history in histories()) {
        let (mut house, mut ledger) = (House::new(), Ledger::new("heron-wharf"));
        for events in history {
            events.iter().for_each(|event| event.happen(&mut house));
            let first = build(&ledger, &house);
            for (position, (key, appliance)) in house.iter().enumerate() {
                let given = first.of(position);
                prop_assert_eq!(given.len(), appliance.parts.len());
                for ((part, _), given) in appliance.parts.iter().zip(given) {
                    let identity = first.next.identity(key, part).expect("every part has an identity");
                    prop_assert_eq!((identity.number, identity.unique_id), (given.number, given.unique_id));
                    prop_assert_eq!(&*identity.bridge, appliance.bridge);
                }
            }
            let second = build(&first.next, &house);
            prop_assert_eq!(&second, &first);
            ledger = first.next;
        }
    }

    #[test]
    fn what_is_written_is_read_again(history in histories()) {
        let (mut house, mut ledger) = (House::new(), Ledger::new("heron-wharf"));
        for events in history {
            events.iter().for_each(|event| event.happen(&mut house));
            ledger = build(&ledger, &house).next;
        }
        let text = write(&ledger);
        let again = sound(&text);
        prop_assert_eq!(&again, &ledger);
        prop_assert_eq!(write(&again), text);
    }
}
