//! The houses are sound, the mistakes are where they are said to be, and the scorer counts right.

use super::checker::check;
use super::generate::{Language, Order, Random, Scheme, house};
use super::houses::{example, generated, read_folder};
use super::kinds::KINDS;
use super::plant::{Expected, Kind, Planted, Site, Subject, plant};
use super::reading::House;
use super::score::{Score, Seen, says};
use super::tree::tree;
use housewright::findings::Severity;
use housewright::rules::Family;
use similar::{ChangeTag, TextDiff};
use std::collections::{BTreeSet, HashMap, HashSet};

/// All houses of the tests.
fn houses() -> Vec<(String, House)> {
    let mut houses = generated(&[50, 300], 1);
    for name in ["heron-wharf", "heron-wharf-spring"] {
        houses.push((name.to_owned(), example(name)));
    }
    houses
}

/// What is wrong with a house that should have nothing wrong, as far as reading it without knowledge shows.
fn faults(house: &House) -> Vec<String> {
    let mut faults = Vec::new();
    let (mut keys, mut used, mut names) = (HashSet::new(), HashMap::new(), HashSet::new());
    for appliance in &house.appliances {
        let key = &appliance.key.text;
        if !keys.insert(key) {
            faults.push(format!("key {key} given twice"));
        }
        if !names.insert((appliance.room, appliance.name.text.to_lowercase()))
            || appliance.name.text.len() > 32
        {
            faults.push(format!("name of {key} too long or not alone in its room"));
        }
        for point in &appliance.points {
            let ends = [(&point.command, 'W'), (&point.feedback, 'R'), (&point.feedback, 'T')];
            for (value, flag) in ends.into_iter().filter_map(|(end, flag)| Some((end.as_ref()?, flag))) {
                let holder = used.entry((&appliance.bus, &value.text)).or_insert((key, &point.name.text));
                if *holder != (key, &point.name.text) {
                    faults.push(format!("{} used by {key} and {holder:?}", value.text));
                }
                match house.row(appliance, &value.text) {
                    Some(row) if row.flags.text.contains(flag) => {}
                    Some(_) => faults.push(format!("{} has no flag {flag}", value.text)),
                    None => faults.push(format!("{} is not in the table", value.text)),
                }
            }
            if point.command.as_ref().map(|end| &end.text) == point.feedback.as_ref().map(|end| &end.text) {
                faults.push(format!("{key}: command and feedback are one"));
            }
            let unknown = point.listens.iter().find(|heard| house.row(appliance, &heard.text).is_none());
            faults.extend(unknown.map(|heard| format!("{} is not in the table", heard.text)));
        }
    }
    for table in house.tables.values() {
        if table.by_address.len() != table.rows.len() {
            faults.push("an address stands twice in a table".to_owned());
        }
        let names: HashSet<_> = table.rows.iter().map(|row| &row.name.text).collect();
        if names.len() != table.rows.len() {
            faults.push("a name stands twice in a table".to_owned());
        }
    }
    faults
}

#[test]
fn houses_have_no_mistakes() {
    for (name, house) in houses() {
        assert_eq!(faults(&house), Vec::<String>::new(), "{name}");
    }
}

#[test]
fn the_reader_has_nothing_to_say_about_them() {
    let starter = read_folder(&["templates", "new"]);
    let all = houses()
        .into_iter()
        .map(|(name, house)| (name, house.files))
        .chain([("starter".to_owned(), starter)]);
    for (name, files) in all {
        let texts: Vec<_> = files.iter().map(|(path, text)| (path.as_str(), text.as_str())).collect();
        let (sources, documents, problems) = housewright::source::Sources::from_texts(&texts);
        assert!(problems.is_empty(), "{name}: {problems:?}");
        assert_eq!(sources.files().count(), files.len(), "{name}: a file that nothing includes");
        assert!(!documents.is_empty(), "{name}");
    }
}

#[test]
fn the_checks_have_nothing_against_the_examples_and_next_to_nothing_against_the_others() {
    let alarms = |files: &[(String, String)]| {
        check(files).into_iter().filter(|seen| seen.severity > Severity::Note).collect::<Vec<_>>()
    };
    for path in [["examples", "heron-wharf"], ["examples", "heron-wharf-spring"], ["templates", "new"]] {
        let alarms = alarms(&read_folder(&path));
        assert!(alarms.is_empty(), "{path:?}: {alarms:?}");
    }
    let houses = generated(&[50, 300], 1);
    let appliances: usize = houses.iter().map(|(_, house)| house.appliances.len()).sum();
    let all: Vec<_> = houses.iter().flat_map(|(_, house)| alarms(&house.files)).collect();
    assert!(all.len() * 200 <= appliances, "{all:#?}");
}

#[test]
fn no_appliance_name_holds_a_word_of_a_room_name() {
    for (name, house) in houses() {
        let words = |text: &str| text.to_lowercase().split(' ').map(str::to_owned).collect::<HashSet<_>>();
        for appliance in &house.appliances {
            let room = &house.rooms[appliance.room].name;
            let common: Vec<_> = words(&appliance.name.text).intersection(&words(room)).cloned().collect();
            assert!(common.is_empty(), "{name}: `{}` in `{room}`", appliance.name.text);
        }
    }
}

#[test]
fn an_order_is_kept_to_the_appliance_and_gives_the_same_bytes_twice() {
    for scheme in Scheme::ALL {
        for appliances in [1, 50, 4_000] {
            let order = Order { appliances, scheme, seed: 3, language: Language::German, files: 5 };
            let texts = house(order);
            assert_eq!(texts, house(order));
            let read = House::read(texts).unwrap();
            assert_eq!(read.appliances.len(), appliances, "{}", scheme.name());
            assert_eq!(faults(&read), Vec::<String>::new(), "{} {appliances}", scheme.name());
        }
    }
}

#[test]
fn heron_wharf_is_as_large_as_it_says() {
    let house = example("heron-wharf");
    let classes: HashSet<_> = house.appliances.iter().map(|appliance| &appliance.class.text).collect();
    assert!(house.rooms.len() >= 12 && house.appliances.len() >= 70 && classes.len() == 12);
    assert!(house.tables["main"].rows.len() >= 300);
}

/// Lines of the new texts that are not in the old ones.
fn new_lines(old: &[(String, String)], new: &[(String, String)]) -> BTreeSet<(String, usize)> {
    let mut lines = BTreeSet::new();
    for ((path, before), (_, after)) in old.iter().zip(new).filter(|(before, after)| before != after) {
        let diff = TextDiff::from_lines(before.as_str(), after.as_str());
        for change in diff.iter_all_changes().filter(|change| change.tag() == ChangeTag::Insert) {
            lines.extend(change.new_index().map(|index| (path.clone(), index + 1)));
        }
    }
    lines
}

/// Kinds that leave no new line where the finding belongs: something is taken away.
const TAKEN_AWAY: [&str; 4] = ["row missing", "no status", "required point missing", "not confirmed"];

fn well_placed(house: &House, planted: &Planted, mistake: &Expected) {
    let lines = new_lines(&house.files, &planted.files);
    let fits = TAKEN_AWAY.contains(&mistake.kind) || mistake.at.iter().any(|place| lines.contains(place));
    assert!(fits, "{}: {:?} holds none of the changed lines {lines:?}", mistake.kind, mistake.at);
    assert!(mistake.at.is_subset(&mistake.around), "{}: a place that it does not touch", mistake.kind);
    for (path, line) in &mistake.at {
        let text = &planted.files.iter().find(|(other, _)| other == path).expect("a file of the house").1;
        assert!(
            text.lines().nth(line - 1).is_some_and(|line| !line.trim().is_empty()),
            "{}: {path}:{line}",
            mistake.kind
        );
    }
}

#[test]
fn a_mistake_lies_where_it_is_said_to_lie() {
    let mut places: HashMap<&str, usize> = HashMap::new();
    for (number, (name, house)) in (1..).zip(houses()) {
        let (mut site, mut random) = (Site::new(&house), Random::new(number));
        for kind in KINDS {
            let planted = plant(&mut site, &[kind], &mut random);
            for mistake in &planted.mistakes {
                well_placed(&house, &planted, mistake);
                *places.entry(kind.name).or_default() += 1;
            }
            if kind.subject != Subject::Alone {
                let changed = house.files.iter().zip(&planted.files).filter(|(old, new)| old != new);
                let readable =
                    |(path, text): &(String, String)| !path.ends_with(".yaml") || tree(text).is_some();
                assert!(
                    changed.into_iter().all(|(_, new)| readable(new)),
                    "{name}: {} is no YAML",
                    kind.name
                );
            }
        }
    }
    for kind in KINDS {
        let count = places.get(kind.name).copied().unwrap_or(0);
        assert!(
            count >= 10 || (kind.name == "rule misspelt" && count >= 3),
            "{}: planted {count} times",
            kind.name
        );
    }
}

#[test]
fn twenty_mistakes_at_once_keep_apart() {
    for (number, (name, house)) in (1..).zip(houses()) {
        let mut random = Random::new(number);
        let mut kinds: Vec<&Kind> = KINDS.iter().filter(|kind| kind.subject != Subject::Alone).collect();
        random.shuffle(&mut kinds);
        let planted = plant(&mut Site::new(&house), &kinds[..20], &mut random);
        assert!(planted.mistakes.len() >= 14, "{name}: only {} found a place", planted.mistakes.len());
        for mistake in &planted.mistakes {
            well_placed(&house, &planted, mistake);
        }
    }
}

#[test]
fn what_is_right_stood_there_before() {
    let house = example("heron-wharf");
    let (mut site, mut random) = (Site::new(&house), Random::new(9));
    for kind in KINDS.iter().filter(|kind| kind.subject == Subject::Address) {
        for mistake in plant(&mut site, &[kind], &mut random).mistakes {
            assert!(!mistake.right.is_empty(), "{}: nothing right to name", kind.name);
            for right in &mistake.right {
                let stood = house
                    .appliances
                    .iter()
                    .any(|appliance| appliance.addresses().any(|value| value.text == *right));
                assert!(stood, "{}: `{right}` was no address of the house", kind.name);
            }
        }
    }
}

/// A checker that knows the house as it was, and tells each line that is new.
fn knowing<'a>(house: &'a House, help: &'a str) -> impl Fn(&[(String, String)]) -> Vec<Seen> + 'a {
    move |texts| {
        let lines = new_lines(&house.files, texts);
        let families = KINDS.iter().flat_map(|kind| kind.families).copied().collect::<BTreeSet<Family>>();
        let seen = |place: &(String, usize), family| Seen {
            rule: "new-line".to_owned(),
            family,
            severity: Severity::Error,
            places: vec![place.clone()],
            help: help.to_owned(),
            edits: Vec::new(),
        };
        lines.iter().flat_map(|place| families.iter().map(move |family| seen(place, *family))).collect()
    }
}

#[test]
fn who_knows_all_finds_all() {
    let house = example("heron-wharf");
    let mut score = Score::new();
    let checker = knowing(&house, "");
    score.clean(&house, &checker);
    score.single(&house, &checker, &mut Random::new(1));
    score.many(&house, 20, &checker, &mut Random::new(2));
    let addresses = score.total(true);
    assert_eq!((addresses.found, addresses.suggested), (addresses.planted, 0));
    assert!(
        score.falls_short().contains(&format!("named the right address 0 of {} times", addresses.nameable))
    );
    assert!(score.table().contains("| rooms swapped | "), "{}", score.table());
    for (kind, tally) in KINDS.iter().zip(&score.kinds) {
        assert!(tally.found == tally.planted || TAKEN_AWAY.contains(&kind.name), "{}: {tally:?}", kind.name);
        assert_eq!(tally.suggested, 0, "{}", kind.name);
    }
    assert_eq!(
        (score.clean_alarms, score.clean_appliances, score.false_alarms),
        (0, 104, 0),
        "{:?}",
        score.examples
    );
}

#[test]
fn who_sees_nothing_finds_nothing() {
    let house = example("heron-wharf");
    let mut score = Score::new();
    score.single(&house, &|_| Vec::new(), &mut Random::new(1));
    let total = score.total(false);
    assert_eq!((total.found, total.suggested, score.false_alarms), (0, 0, 0));
    assert!(total.planted >= KINDS.len() - 1);
}

#[test]
fn who_cries_wolf_is_counted() {
    let house = example("heron-wharf");
    let mut score = Score::new();
    let place = ("house.yaml".to_owned(), 1);
    let wolf = Seen {
        rule: "wolf".to_owned(),
        family: Family::Writing,
        severity: Severity::Warning,
        places: vec![place],
        help: String::new(),
        edits: Vec::new(),
    };
    score.single(&house, &|_| vec![wolf.clone()], &mut Random::new(1));
    assert_eq!((score.false_alarms, score.total(false).found), (score.total(false).planted, 0));
    score.clean(&house, &|_| vec![wolf.clone()]);
    assert_eq!(score.clean_alarms, 1);
    let before = score.false_alarms;
    score.single(&house, &|_| vec![wolf.clone()], &mut Random::new(1));
    assert_eq!(score.false_alarms, before, "what is said of the house without a mistake is counted once");
}

#[test]
fn a_right_text_counts_as_a_word_of_its_own_only() {
    let check = |text: &str, expected: bool| assert_eq!(says(text, "1/4/1"), expected, "{text}");
    check("write `1/4/1`", true);
    check("it would be 1/4/1.", true);
    check("1/4/1, 'Hall lantern status'", true);
    check("1/4/19", false);
    check("11/4/1", false);
    check("1/4/1/2", false);
    check("", false);
}

/// The page beside this file tells of every kind that there is, and of those that need the bus.
#[test]
fn the_page_names_every_kind() {
    let page = include_str!("README.md");
    let rows: Vec<&str> = page
        .lines()
        .filter_map(|line| line.strip_prefix("| ")?.split_once(" |"))
        .map(|(name, _)| name)
        .filter(|name| KINDS.iter().any(|kind| kind.name == *name))
        .collect();
    let kinds: Vec<&str> = KINDS.iter().map(|kind| kind.name).collect();
    assert_eq!(rows, kinds, "measure again: `cargo run --release --example score-mistakes`");
    for (kind, why) in super::kinds::NEEDS_THE_BUS {
        assert!(page.contains(&format!("- **{kind}**: {why}.")), "{kind}");
    }
}
