//! Typed values out of a description: the type decides how a scalar is read, and everything that does not fit is told.

use housewright::source::{Entries, FileId, Given, Limits, Problem, Scalar, Spanned, parse, read_tree};
use std::collections::BTreeMap;

#[derive(Debug, Default, serde::Deserialize)]
#[serde(rename = "thing", default)]
struct Thing {
    name: Given<String>,
    dpt: Given<Scalar>,
    small: Given<u8>,
    signed: Given<i32>,
    real: Given<f64>,
    flag: Given<bool>,
    word: Given<Word>,
    list: Given<Vec<Spanned<String>>>,
    pair: Given<[f64; 2]>,
    strict: Given<Strict>,
    things: Given<Entries<Thing>>,
    maybe: Option<u16>,
    numbers: Given<BTreeMap<u16, bool>>,
    shape: Given<Choice>,
    any: Given<serde_json::Value>,
}

#[derive(Debug, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Word {
    FirstOne,
    Second,
}

#[derive(Debug, serde::Deserialize)]
#[serde(rename = "strict thing")]
#[allow(dead_code, reason = "only what is read of it matters")]
struct Strict {
    must: u8,
    also: String,
}

#[derive(Debug, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
#[allow(dead_code, reason = "only what is read of it matters")]
enum Choice {
    Same,
    Scale(Vec<f64>),
    Table { from: u8 },
}

/// Reads a [`Thing`] and compares its debug form, without places and what is absent, and each problem with the
/// text of its place.
fn check(source: &str, expected: &str, problems: &[&str]) {
    let (tree, told) = parse(source, FileId(0), &Limits::default());
    assert_eq!(told, [], "{source}");
    let tree = tree.expect("sound YAML");
    let (thing, told) = read_tree::<Thing>(&tree, FileId(0), source);
    let shown: Vec<String> = told
        .iter()
        .map(|problem| {
            let place = problem.place();
            let text = &source[place.start as usize..place.end as usize];
            match problem {
                Problem::UnknownKey { within, .. } => format!("{text}: not of {within}"),
                Problem::MissingKey { key, within, .. } => format!("{text}: no {key} of {within}"),
                Problem::WrongShape { expected, found, .. } => {
                    format!("{text}: {found:?} for {expected:?}")
                }
                Problem::UnknownWord { allowed, .. } => format!("{text}: none of {}", allowed.join(" ")),
                Problem::Unfit { expected, .. } => format!("{text}: not {expected}"),
                other => format!("{text}: {other:?}"),
            }
        })
        .collect();
    assert_eq!(shown, problems, "{source}");
    assert_eq!(thing.map_or("nothing".to_owned(), |thing| show(&thing)), expected, "{source}");
}

fn show(thing: &Thing) -> String {
    fn one<T>(name: &str, given: &Given<T>, show: impl Fn(&T) -> String) -> Option<String> {
        match given {
            Given::Absent => None,
            Given::Broken(_) => Some(format!("{name} broken")),
            Given::Here(value) => Some(format!("{name}={}", show(value))),
        }
    }
    let debug = |value: &dyn std::fmt::Debug| format!("{value:?}");
    let parts = [
        one("name", &thing.name, |it| debug(it)),
        one("dpt", &thing.dpt, |it| format!("{}{}", it.text, if it.plain { "" } else { " quoted" })),
        one("small", &thing.small, |it| debug(it)),
        one("signed", &thing.signed, |it| debug(it)),
        one("real", &thing.real, |it| debug(it)),
        one("flag", &thing.flag, |it| debug(it)),
        one("word", &thing.word, |it| debug(it)),
        one("list", &thing.list, |it| debug(&it.iter().map(|text| &text.value).collect::<Vec<_>>())),
        one("pair", &thing.pair, |it| debug(it)),
        one("strict", &thing.strict, |it| debug(it)),
        one("things", &thing.things, |it| {
            let shown = |(key, value): &(Spanned<String>, Given<Thing>)| {
                one(&key.value, value, |it| format!("({})", show(it))).unwrap_or_default()
            };
            it.0.iter().map(shown).collect::<Vec<_>>().join(" ")
        }),
        thing.maybe.map(|maybe| format!("maybe={maybe}")),
        one("numbers", &thing.numbers, |it| debug(it)),
        one("shape", &thing.shape, |it| debug(it)),
        one("any", &thing.any, |it| it.to_string()),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_type_decides_how_a_scalar_is_read() {
    check("name: 5.010\ndpt: 5.010\nreal: 5.010\n", "name=\"5.010\" dpt=5.010 real=5.01", &[]);
    check("name: on\ndpt: '1/2/3'\nflag: true\n", "name=\"on\" dpt=1/2/3 quoted flag=true", &[]);
    check("small: 0x1F\nsigned: -12\nreal: 1e3\n", "small=31 signed=-12 real=1000.0", &[]);
    check(
        "small: 5.0\nsigned: +7\nreal: .5\nword: first-one\n",
        "small=5 signed=7 real=0.5 word=FirstOne",
        &[],
    );
    check("maybe:\nname: 'null'\n", "name=\"null\"", &[]);
    check("maybe: 12\npair: [1, 2.5]\nlist: [a, 1]\n", "list=[\"a\", \"1\"] pair=[1.0, 2.5] maybe=12", &[]);
    check("numbers: { 1: true, 0x10: false }\n", "numbers={1: true, 16: false}", &[]);
    check("any: { a: 5.010, b: 05, c: [~, x] }\n", r#"any={"a":5.01,"b":"05","c":[null,"x"]}"#, &[]);
    check("shape: same\n", "shape=Same", &[]);
    check("shape: { scale: [1, 2] }\n", "shape=Scale([1.0, 2.0])", &[]);
    check("shape: { table: { from: 3 } }\n", "shape=Table { from: 3 }", &[]);
}

#[test]
fn what_does_not_fit_is_told_and_the_rest_is_read() {
    check(
        "small: 05\nsigned: 1.5\nreal: x\nflag: on\nword: third\nname: n\n",
        "name=\"n\" small broken signed broken real broken flag broken word broken",
        &[
            "05: not a whole number from 0 to 255",
            "1.5: not a whole number from -2147483648 to 2147483647",
            "x: not a number",
            "on: not `true` or `false`",
            "third: none of first-one second",
        ],
    );
    check("small: '5'\n", "small broken", &["'5': not a number while it is in quotation marks"]);
    check("small: 256\n", "small broken", &["256: not a whole number from 0 to 255"]);
    check("pair: [1]\n", "pair broken", &["pair: not a list of 2"]);
    check("shape: { scale: [1], same: }\n", "shape broken", &["shape: not one key with its value"]);
    check("shape: { table: { from: 3, to: 4 } }\n", "shape=Table { from: 3 }", &["to: not of Choice"]);
}

#[test]
fn wrong_shapes_show_at_the_value_or_at_its_key() {
    check("name: [a]\n", "name broken", &["name: Sequence for Text"]);
    check("name:\nlist: x\n", "name broken list broken", &["name: Nothing for Text", "x: Text for Sequence"]);
    check("things: [a]\n", "things broken", &["things: Sequence for Mapping"]);
    check("- a\n", "nothing", &["- a: Sequence for Mapping"]);
    check("# nothing\n", "nothing", &[": Nothing for Mapping"]);
}

#[test]
fn keys_are_looked_at_one_by_one() {
    check(
        "nam: x\nthings:\n  one: { small: 1, smal: 2 }\n  two: 7\n  three: { strict: { must: 1 } }\nname: n\n",
        "name=\"n\" things=one=(small=1) two broken three=(strict broken)",
        &[
            "nam: not of thing",
            "smal: not of thing",
            "7: Text for Mapping",
            "strict: no also of strict thing",
        ],
    );
    // A key of a mapping is text, whatever it looks like.
    check("things: { null: { name: a }, 1: { name: b } }\n", "things=null=(name=\"a\") 1=(name=\"b\")", &[]);
}

#[test]
fn a_key_written_together_with_its_value_is_told_and_read_as_it_was_meant() {
    let told = "name: Syntax { place: Place { file: FileId(0), start: 2, end: 6 }, \
                fault: KeyWithoutColon { meant: Some(\"name: x\") } }";
    check("{ name x, small: 1 }\n", "name=\"x\" small=1", &[told]);
    let told = ":: Syntax { place: Place { file: FileId(0), start: 18, end: 19 }, \
                fault: ColonWithoutSpace { meant: Some(\"small: 1\") } }";
    check("{ name: \"x\", small:1 }\n", "name=\"x\" small=1", &[told]);
    // Not where the key is not known, or there already, and not in a mapping with free keys.
    check("{ nom:x }\n", "", &["nom:x: not of thing"]);
    check("{ name: x, name:y }\n", "name=\"x\"", &["name:y: not of thing"]);
    check("{ things: { name:x } }\n", "things=name:x broken", &["name:x: Nothing for Mapping"]);
}

#[test]
fn aliases_stand_for_what_they_name() {
    check("things: { a: &a { name: x }, b: *a }\n", "things=a=(name=\"x\") b=(name=\"x\")", &[]);
}
