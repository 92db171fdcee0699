//! Word lists: what stands in the names of an address table for a status, a point, a room.
//!
//! Those of the trade are `schema/words/*.yaml`; a house's own, in the same form, `words/*.yaml` beside its root file.

use super::problem::{Problem, ProblemKind};
use crate::classes::ClassLibrary;
use crate::source::bare::loosen;
use crate::source::{self, FileId, FileKind, Given, Limits, Node, Sources, Tree, parse, read_tree};
use schemars::JsonSchema;
use schemars::generate::SchemaSettings;
use serde::Deserialize;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// Words of address tables in one language, and what they stand for in the name of a row. Small or capital letters,
/// accents and umlauts do not matter.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct WordList {
    /// The language, for people; nothing is made of it.
    pub language: String,
    /// Words of a status, such as `feedback`: the row is not a command.
    pub status: Vec<String>,
    /// Words of an address that moves more than one appliance, such as `central`.
    pub central: Vec<String>,
    /// Words of an address that is kept for later, or is used inside the bus only, such as `spare` or `logic`.
    pub spare: Vec<String>,
    /// Words of each point, by the point's name in the device classes: `brightness: [level, value]`.
    pub points: BTreeMap<String, Vec<String>>,
    /// Words of each room, by any name: all words of one room mean the same.
    pub rooms: BTreeMap<String, Vec<String>>,
    /// Words of each floor, likewise.
    pub floors: BTreeMap<String, Vec<String>>,
}

/// A word list as people write it: what is wrong in it is told, all of it, and the rest is read.
#[derive(Default, Deserialize)]
#[serde(default, rename = "WordList")]
struct Written {
    language: Given<String>,
    status: Words,
    central: Words,
    spare: Words,
    points: Given<BTreeMap<String, Words>>,
    rooms: Given<BTreeMap<String, Words>>,
    floors: Given<BTreeMap<String, Words>>,
}

impl Written {
    fn list(self) -> WordList {
        let Self { language, status, central, spare, points, rooms, floors } = self;
        WordList {
            language: language.value().cloned().unwrap_or_default(),
            status: words_of(status),
            central: words_of(central),
            spare: words_of(spare),
            points: lists_of(points),
            rooms: lists_of(rooms),
            floors: lists_of(floors),
        }
    }
}

type Words = Given<Vec<Given<String>>>;

fn words_of(words: Words) -> Vec<String> {
    let words = words.into_here().map(|words| words.value).unwrap_or_default();
    words.into_iter().filter_map(Given::into_here).map(|word| word.value).collect()
}

fn lists_of(lists: Given<BTreeMap<String, Words>>) -> BTreeMap<String, Vec<String>> {
    let lists = lists.into_here().map(|lists| lists.value).unwrap_or_default();
    lists.into_iter().map(|(name, words)| (name, words_of(words))).collect()
}

impl WordList {
    /// Reads a word list, and says what is wrong with it.
    pub fn read(text: &str, file: FileId, limits: &Limits) -> (Option<Self>, Vec<source::Problem>) {
        let (tree, mut problems) = parse(text, file, limits);
        let Some(tree) = tree else { return (None, problems) };
        let (list, mut told) = typed(&tree, file, text);
        problems.append(&mut told);
        (list, problems)
    }
}

/// The list, and entries that are not one word: a name is compared word by word.
fn typed(tree: &Tree, file: FileId, text: &str) -> (Option<WordList>, Vec<source::Problem>) {
    let (list, mut problems) = read_tree::<Written>(tree, file, text);
    let root = tree.root(file, text);
    let plain = ["status", "central", "spare"].into_iter().filter_map(|key| root.get(key));
    let named = ["points", "rooms", "floors"].into_iter().filter_map(|key| root.get(key));
    let lists = plain.chain(named.flat_map(|lists| lists.entries().map(|(_, list)| list)));
    for word in lists.flat_map(|list| list.items().collect::<Vec<Node<'_>>>()) {
        if word.text().is_some_and(|text| text.is_empty() || text.contains(char::is_whitespace)) {
            problems.push(source::Problem::Unfit {
                place: word.place(),
                text: word.raw_text().to_owned(),
                expected: "one word, without spaces".to_owned(),
            });
        }
    }
    (list.map(Written::list), problems)
}

/// The JSON Schema (draft 2020-12) of a word list, with the points of these classes.
pub fn words_schema(library: &ClassLibrary) -> Value {
    let mut schema =
        SchemaSettings::draft2020_12().into_generator().into_root_schema_for::<WordList>().to_value();
    loosen(&mut schema);
    if let Some(points) = schema.pointer_mut("/properties/points").and_then(Value::as_object_mut) {
        // For completion: a class of the house's own may have others.
        let names = json!({ "anyOf": [{ "enum": library.point_names() }, { "type": "string" }] });
        points.insert("propertyNames".to_owned(), names);
    }
    if let Some(root) = schema.as_object_mut() {
        root.insert("title".to_owned(), "housewright word list".into());
    }
    schema
}

/// The house's own word lists. What is wrong with the writing of a file was told when it was loaded.
pub(super) fn words(
    sources: &Sources,
    limits: &Limits,
    library: &ClassLibrary,
    problems: &mut Vec<Problem>,
) -> (Vec<WordList>, Vec<source::Problem>) {
    let (mut lists, mut of_source) = (Vec::new(), Vec::new());
    for file in sources.files().filter(|file| sources.kind(*file) == FileKind::Words) {
        let text = sources.source(file);
        let (tree, _) = parse(text, file, limits);
        let Some(tree) = tree else { continue };
        let (list, mut told) = typed(&tree, file, text);
        lists.extend(list);
        of_source.append(&mut told);
        let points = tree.root(file, text).get("points");
        let unknown = points
            .into_iter()
            .flat_map(Node::entries)
            .filter(|(name, _)| !library.has_point(name.raw_text()));
        problems.extend(unknown.map(|(name, _)| Problem {
            place: name.place(),
            appliance: None,
            room: None,
            kind: ProblemKind::UnknownPointWords { name: name.raw_text().to_owned() },
        }));
    }
    (lists, of_source)
}
