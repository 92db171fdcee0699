//! Laws of reading descriptions: nothing panics, every place lies in its file, other readers read the same.

use housewright::source::{Document, FileId, Limits, Node, Place, Shape, Sources, parse};
use proptest::prelude::*;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

fn yaml_files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            yaml_files(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "yaml") {
            found.push(path);
        }
    }
    found.sort();
}

/// The texts of every description in the repository.
fn descriptions() -> Vec<String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut paths = Vec::new();
    for folder in ["examples", "templates"] {
        yaml_files(&root.join(folder), &mut paths);
    }
    assert!(paths.len() > 20, "no descriptions to read");
    paths.iter().map(|path| std::fs::read_to_string(path).unwrap()).collect()
}

/// A small house with something of everything that a description may have.
const HOUSE: &str = "\
# A house
housewright: 1
house: { id: heron-wharf, name: \"Heron \\u0057harf\", notation: three-level }
buses:
  main:
    table: bus/addresses.csv   # the table
bridges: &bridges
  wharf:
    name: 'Heron''s Wharf'
    capacity: 100
include:
- rooms/*.yaml
rooms:
  küche:
    name: >-
      Kitchen
      below
    floor: ground
    appliances:
      island-pendant:
        name: Island pendant
        class: dimmable-light
        points:
          switching:  { command: 1/1/10, feedback: 1/4/10, listens: [1/0/1, 1/0/2] }
          brightness:
            command: 1/2/10
            dpt: 5.010
        allow:
          missing-feedback: the old relay
            has no status
        note: |
          two
          lines
";

fn check_place(place: Place, sources: &Sources, what: &str) {
    let text = sources.source(place.file);
    assert!(
        text.get(place.start as usize..place.end as usize).is_some(),
        "{what} has {place:?}, which is not in a text of {} bytes",
        text.len()
    );
}

fn check_node(node: Node, sources: &Sources) {
    check_place(node.place(), sources, "a node");
    for (key, value) in node.entries() {
        check_node(key, sources);
        check_node(value, sources);
    }
    node.items().for_each(|item| check_node(item, sources));
}

/// Reads a house and looks at every place of its trees, problems and findings.
fn check(texts: &[(&str, &str)]) {
    let (sources, documents, problems) = Sources::from_texts(texts);
    for Document { file, tree, .. } in &documents {
        if let Some(tree) = tree {
            check_node(tree.root(*file, sources.source(*file)), &sources);
        }
    }
    for problem in &problems {
        problem.places().for_each(|place| check_place(place, &sources, &format!("{problem:?}")));
    }
    let inspection = housewright::inspect((sources, documents, problems), &Limits::default());
    for finding in &inspection.judged.findings {
        for label in std::iter::once(&finding.primary).chain(&finding.related) {
            check_place(label.place, &inspection.sources, &format!("{finding:?}"));
        }
        let edit = finding.edit.iter().flat_map(|edit| &edit.replacements);
        edit.for_each(|(place, _)| check_place(*place, &inspection.sources, &format!("{finding:?}")));
    }
}

const TABLE: &str =
    "Address;Name;DPT\n1/1/10;\"Kitchen; pendant\";1.001\n1/4/10;Kitchen pendant status;DPST-1-1\n";

/// Characters that mean something to one of the readers.
const CHARACTERS: &str = "a0 \n\t:-#{}[],'\"\\&*!|>%@`?~/.;\r\u{0}\u{1b}\u{85}\u{feff}é\u{2028}😀";

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn one_character_more_less_or_other_never_panics_and_no_place_leaves_its_file(
        in_table in any::<bool>(), at in 0..2_000_usize, cut in 0..2_usize, with in 0..CHARACTERS.chars().count() + 1
    ) {
        let mutated = |text: &str| {
            let mut characters: Vec<char> = text.chars().collect();
            let at = at % (characters.len() + 1);
            let end = (at + cut).min(characters.len());
            characters.splice(at..end, CHARACTERS.chars().nth(with));
            characters.into_iter().collect::<String>()
        };
        if in_table {
            check(&[("house.yaml", HOUSE), ("bus/addresses.csv", &mutated(TABLE))]);
        } else {
            check(&[("house.yaml", &mutated(HOUSE)), ("bus/addresses.csv", TABLE)]);
        }
    }
}

#[test]
fn any_line_less_never_panics_and_no_place_leaves_its_file() {
    for text in descriptions().into_iter().filter(|text| text.len() < 3_000) {
        let lines: Vec<&str> = text.split_inclusive('\n').collect();
        for without in 0..lines.len() {
            let kept: String =
                lines.iter().enumerate().filter(|(nth, _)| *nth != without).map(|(_, line)| *line).collect();
            let (sources, documents, problems) = Sources::from_texts(&[("house.yaml", &kept)]);
            for problem in &problems {
                problem.places().for_each(|place| check_place(place, &sources, &format!("{problem:?}")));
            }
            for Document { file, tree, .. } in &documents {
                let tree = tree.iter();
                tree.for_each(|tree| check_node(tree.root(*file, sources.source(*file)), &sources));
            }
        }
    }
}

/// What a text says, as this program and as `serde_yaml` read it; none where a reader refuses it.
fn both(text: &str) -> (Option<serde_json::Value>, Option<serde_json::Value>) {
    let (tree, problems) = parse(text, FileId(0), &Limits::default());
    let here = tree.filter(|_| problems.is_empty()).map(|tree| tree.root(FileId(0), text).to_json());
    (here, serde_yaml::from_str(text).ok())
}

#[test]
fn another_reader_reads_the_same_out_of_every_description() {
    for text in descriptions().iter().map(String::as_str).chain([HOUSE]) {
        let (here, there) = both(text);
        assert!(here.is_some(), "{text}");
        assert_eq!(here, there, "{text}");
    }
}

#[test]
fn as_texts_other_readers_read_the_same() {
    type Texts = BTreeMap<String, BTreeMap<String, String>>;
    let text = "\
dpts: { a: 5.010, b: 1.001, c: 05, d: 0x10, e: 1e3, f: .5 }
words: { a: on, b: off, c: yes, d: no, e: true, f: 12:30, g: 2026-05-31 }
addresses: { a: 1/0/1, b: 2563, c: 1/515 }
quoted: { a: '5.010', b: \"null\", c: '' }
blocks:
  a: |
    two
    lines
  b: >
    folded
    text
";
    let (tree, _) = parse(text, FileId(0), &Limits::default());
    let tree = tree.unwrap();
    let (here, problems) = housewright::source::read_tree::<Texts>(&tree, FileId(0), text);
    assert_eq!(problems, []);
    assert_eq!(here.unwrap(), serde_yaml::from_str::<Texts>(text).unwrap());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, failure_persistence: None, ..ProptestConfig::default() })]

    /// Where both read a changed description they read the same.
    #[test]
    fn another_reader_reads_the_same_out_of_changed_descriptions(
        at in 0..2_000_usize, cut in 0..3_usize, with in 0..CHARACTERS.chars().count() + 1
    ) {
        let mut characters: Vec<char> = HOUSE.chars().collect();
        let at = at % (characters.len() + 1);
        let end = (at + cut).min(characters.len());
        characters.splice(at..end, CHARACTERS.chars().nth(with));
        // To YAML 1.1, which that reader follows here, two of the characters are line ends, a question mark
        // begins a key, and a colon ends the name of an anchor or alias. A block of text that the file ends in has a
        // line end at its end to one reader and none to the other.
        if matches!(CHARACTERS.chars().nth(with), Some('&' | '*' | '?' | '\u{85}' | '\u{2028}')) {
            return Ok(());
        }
        let text: String = characters.into_iter().chain(['\n']).collect();
        // A fraction with a zero before its whole part is text here, as a whole number with one is to both.
        let mut numbers = text.split(|letter: char| !letter.is_ascii_digit() && letter != '.');
        if numbers.any(|word| word.starts_with('0') && !word.starts_with("0.") && word.contains('.')) {
            return Ok(());
        }
        if let (Some(here), Some(there)) = both(&text) {
            prop_assert_eq!(here, there, "{}", text);
        }
    }
}

#[test]
fn a_scalar_is_its_text_in_every_style() {
    fn check(written: &str, text: Option<&str>, shape: Shape, json: &str) {
        let source = format!("key: {written}\n");
        let (tree, problems) = parse(&source, FileId(0), &Limits::default());
        assert_eq!(problems, [], "{source}");
        let tree = tree.unwrap();
        let value = tree.root(FileId(0), &source).get("key").unwrap();
        assert_eq!((value.text(), value.shape()), (text, shape), "{source}");
        assert_eq!(value.to_json().to_string(), json, "{source}");
    }
    check("5.010", Some("5.010"), Shape::Text, "5.01");
    check("05", Some("05"), Shape::Text, "\"05\"");
    check("0x1F", Some("0x1F"), Shape::Text, "31");
    check("-12", Some("-12"), Shape::Text, "-12");
    check("18446744073709551615", Some("18446744073709551615"), Shape::Text, "18446744073709551615");
    check("1e400", Some("1e400"), Shape::Text, "\"1e400\"");
    check("True", Some("True"), Shape::Text, "true");
    check("on", Some("on"), Shape::Text, "\"on\"");
    check(".inf", Some(".inf"), Shape::Text, "\".inf\"");
    check("~", None, Shape::Nothing, "null");
    check("", None, Shape::Nothing, "null");
    check("'null'", Some("null"), Shape::Text, "\"null\"");
    check("\"a\\tb\"", Some("a\tb"), Shape::Text, "\"a\\tb\"");
    check("!!str 5", Some("5"), Shape::Text, "\"5\"");
    check("|\n  a\n  b", Some("a\nb\n"), Shape::Text, "\"a\\nb\\n\"");
    check("[a, 1]", None, Shape::Sequence, "[\"a\",1]");
    check("{a: 1}", None, Shape::Mapping, "{\"a\":1}");
}
