//! A house that is looked at again and again is seen as it is, whatever was changed between two looks.

use housewright::bridge::lower;
use housewright::runs::again::Last;
use housewright::runs::definitions::written;
use housewright::source::{Limits, load};
use housewright::{Inspection, findings};
use std::fs;
use std::path::{Path, PathBuf};

/// Numbers that look like chance and are the same each time.
struct Random(u64);

impl Random {
    fn below(&mut self, end: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).unwrap() % end.max(1)
    }
}

/// All files below a folder, in order.
fn files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        found.extend(if path.is_dir() { files(&path) } else { vec![path] });
    }
    found.sort();
    found
}

fn copy(from: &Path, to: &Path) {
    for file in files(from) {
        let there = to.join(file.strip_prefix(from).unwrap());
        fs::create_dir_all(there.parent().unwrap()).unwrap();
        fs::copy(file, there).unwrap();
    }
}

/// What is said of a house and, where it can be built, what is built.
fn seen(inspection: &Inspection) -> String {
    let judged = &inspection.judged;
    let mut text = findings::json::write(&judged.findings, &judged.summary, &inspection.sources);
    if let Some(checked) = &judged.checked {
        for (name, bytes) in written(&lower(checked, &inspection.ledger).unwrap()) {
            text = format!("{text}\n{name}\n{}", String::from_utf8(bytes).unwrap());
        }
    }
    text
}

/// Changes something in a house, and says what. `original` is the house as it was.
fn change(house: &Path, original: &Path, random: &mut Random) -> String {
    let all = files(house);
    let root = house.join("house.yaml");
    let file = if random.below(4) == 0 { &root } else { &all[random.below(all.len())] };
    let name = file.strip_prefix(house).unwrap();
    let text = String::from_utf8(fs::read(file).unwrap()).unwrap();
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    let at = random.below(lines.len());
    let is_root = name == Path::new("house.yaml");
    let changed = match random.below(10) {
        0 | 1 => {
            let digits: Vec<usize> =
                text.match_indices(|it: char| it.is_ascii_digit()).map(|it| it.0).collect();
            let Some(digit) = digits.get(random.below(digits.len())) else { return String::new() };
            format!("{}{}{}", &text[..*digit], random.below(10), &text[digit + 1..])
        }
        2 => [&lines[..at], &["# a remark\n"], &lines[at..]].concat().concat(),
        3 if lines.len() > 1 => [&lines[..at], &lines[at + 1..]].concat().concat(),
        4 => format!("{text}nonsense: [\n"),
        // A table says other things then, though not a letter of it is another.
        5 if is_root => text.replace("three-level", "two-level"),
        6 if is_root => {
            text.replace("addresses.csv\n", "addresses.csv\n    columns: { name: Description }\n")
        }
        6 if !is_root => {
            fs::remove_file(file).unwrap();
            return format!("{} is gone", name.display());
        }
        7 if name.starts_with("floors") => {
            let other = file.with_file_name(format!("a-{}", file.file_name().unwrap().display()));
            fs::rename(file, other).unwrap();
            return format!("{} has another name", name.display());
        }
        8 => text.replace("\r\n", "\n").replace('\n', "\r\n"),
        // Most of what was wrong is mended again: a house is sound most of the time.
        _ => {
            fs::remove_dir_all(house).unwrap();
            copy(original, house);
            return "all is as it was".to_owned();
        }
    };
    fs::write(file, changed).unwrap();
    format!("{} at line {at}", name.display())
}

#[test]
fn a_house_is_seen_as_it_is_however_often_it_was_looked_at() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let place = tempfile::tempdir().expect("there is room");
    let (house, original) = (place.path().join("house"), place.path().join("original"));
    copy(&root.join("examples/heron-wharf"), &original);
    fs::remove_dir_all(original.join("build")).unwrap_or_default();
    copy(&original, &house);
    let limits = Limits::default();
    let (mut random, mut last, mut unchanged, mut builds) = (Random(7), Last::default(), 0, 0);
    for turn in 0..120 {
        let what = if turn == 0 { String::new() } else { change(&house, &original, &mut random) };
        let look = last.look(&house, &limits).unwrap();
        let afresh = housewright::inspect(load(&house, &limits).unwrap(), &limits);
        let (again, anew) = (seen(&look.inspection), seen(&afresh));
        let differing = again.lines().zip(anew.lines()).find(|(again, anew)| again != anew);
        assert_eq!(differing, None, "turn {turn}: {what}");
        assert_eq!(again.len(), anew.len(), "turn {turn}: {what}");
        builds += usize::from(afresh.judged.checked.is_some());
        last = Last::from(look);
        unchanged += last.files();
    }
    assert!(builds > 20 && unchanged > 500, "{builds} {unchanged}");
}
