//! The tree of `ledger.yaml` in, a ledger and everything wrong with it out.

use super::entries::Ledger;
use super::format::{HOUSE_KEY, LIVING_KEY, LineFault, RETIRED_KEY, VERSION, VERSION_KEY, parse_line};
use super::identity::{EndpointNumber, Identity, UniqueId};
use super::problem::Problem;
use super::unmerged::markers;
use crate::source::{FileId, Limits, Node, Place, Shape, Tree};
use rustc_hash::FxHashMap;
use std::ops::Range;
use std::sync::Arc;

/// Reads a ledger from the text and tree of its file. `house` is the id of the house it must be of, where one is known.
///
/// There is no ledger unless every line could be read, since what is left out would be given again. One that gave
/// something twice is there, so that [`resolve`](super::resolve) can bring it into order; with any problem, though,
/// nothing may be built. What is not YAML or stands there twice has been told by
/// [`parse`](crate::source::parse) already, and forbids building just as well.
pub fn read(
    text: &str,
    file: FileId,
    tree: Option<&Tree>,
    house: Option<&str>,
) -> (Option<Ledger>, Vec<Problem>) {
    let unmerged: Vec<Problem> =
        markers(text, file).take(MOST_PROBLEMS).map(|place| Problem::Unmerged { place }).collect();
    let Some(tree) = tree.filter(|_| unmerged.is_empty()) else { return (None, unmerged) };
    let mut reader = Reader::default();
    let ledger = reader.ledger(tree.root(file, text), house);
    let sound = reader.problems.is_empty();
    reader.given_twice();
    reader.problems.truncate(MOST_PROBLEMS);
    (ledger.filter(|_| sound), reader.problems)
}

/// A ledger with more faults than this is none, and nobody mends it by hand.
const MOST_PROBLEMS: usize = Limits::PROBLEMS_PER_FILE;

/// An identity with its place, to find what was given twice.
struct Seen {
    /// Of the whole line.
    line: Place,
    /// Of the number in it.
    number: Place,
    identity: Identity,
    living: bool,
}

#[derive(Default)]
struct Reader {
    problems: Vec<Problem>,
    seen: Vec<Seen>,
    bridge: Option<Arc<str>>,
}

impl Reader {
    fn ledger(&mut self, root: Node<'_>, house: Option<&str>) -> Option<Ledger> {
        let start = Place { end: root.place().start, ..root.place() };
        if root.shape() != Shape::Mapping {
            self.problems.push(Problem::NoVersion { place: start });
            return None;
        }
        let Some(version) = root.get(VERSION_KEY) else {
            self.problems.push(Problem::NoVersion { place: start });
            return None;
        };
        if version.raw_text() != VERSION.to_string() {
            let found = version.raw_text().to_owned();
            self.problems.push(Problem::UnknownVersion { place: version.place(), found });
            return None;
        }
        for (key, _) in root.entries() {
            if ![VERSION_KEY, HOUSE_KEY, LIVING_KEY, RETIRED_KEY].contains(&key.raw_text()) {
                let key_text = key.raw_text().to_owned();
                self.problems.push(Problem::UnknownKey { place: key.place(), key: key_text });
            }
        }
        let Some(found) = root.get(HOUSE_KEY) else {
            self.problems.push(Problem::NoHouse { place: start });
            return None;
        };
        let id = self.text(found, "the id of the house")?;
        if house.is_some_and(|house| house != id) {
            let living = root.get(LIVING_KEY).into_iter().flat_map(|living| living.entries());
            let keys = living.map(|(key, _)| key.raw_text().to_owned()).collect();
            self.problems.push(Problem::OtherHouse { place: found.place(), found: id.to_owned(), keys });
            return None;
        }
        let mut ledger = Ledger::new(id);
        if let Some(living) = root.get(LIVING_KEY) {
            self.living(living, &mut ledger);
        }
        if let Some(retired) = root.get(RETIRED_KEY) {
            self.retired(retired, &mut ledger);
        }
        ledger.sort();
        Some(ledger)
    }

    fn living(&mut self, node: Node<'_>, ledger: &mut Ledger) {
        for (key, parts) in self.mapping(node, "a mapping of appliances") {
            ledger.known(key.raw_text());
            for (part, line) in self.mapping(parts, "a mapping of parts") {
                if let Some(identity) = self.line(line, true) {
                    ledger.live(key.raw_text(), part.raw_text().to_owned(), identity);
                }
            }
        }
    }

    fn retired(&mut self, node: Node<'_>, ledger: &mut Ledger) {
        for (key, items) in self.mapping(node, "a mapping of appliances") {
            if !matches!(items.shape(), Shape::Sequence | Shape::Nothing) {
                self.wrong_shape(items, "a list of parts");
            }
            for item in items.items() {
                for (part, line) in self.mapping(item, "a part") {
                    if let Some(identity) = self.line(line, false) {
                        ledger.retire(key.raw_text(), part.raw_text().to_owned(), identity);
                    }
                }
            }
        }
    }

    fn line(&mut self, node: Node<'_>, living: bool) -> Option<Identity> {
        let text = self.text(node, "bridge, endpoint number, device types and unique id")?;
        match parse_line(text, &mut self.bridge) {
            Ok((identity, number)) => {
                let number = within(node, &number);
                self.seen.push(Seen { line: node.place(), number, identity: identity.clone(), living });
                Some(identity)
            }
            Err(LineFault::Malformed) => {
                self.problems.push(Problem::Malformed { place: node.place(), text: text.to_owned() });
                None
            }
            Err(LineFault::OutOfRange(range)) => {
                let number = text.get(range.clone()).unwrap_or_default().to_owned();
                self.problems.push(Problem::OutOfRange { place: within(node, &range), number });
                None
            }
        }
    }

    fn mapping<'a>(
        &mut self,
        node: Node<'a>,
        expected: &'static str,
    ) -> impl Iterator<Item = (Node<'a>, Node<'a>)> + use<'a> {
        if !matches!(node.shape(), Shape::Mapping | Shape::Nothing) {
            self.wrong_shape(node, expected);
        }
        node.entries()
    }

    fn text<'a>(&mut self, node: Node<'a>, expected: &'static str) -> Option<&'a str> {
        let text = node.text();
        if text.is_none() {
            self.wrong_shape(node, expected);
        }
        text
    }

    fn wrong_shape(&mut self, node: Node<'_>, expected: &'static str) {
        self.problems.push(Problem::WrongShape { place: node.place(), expected });
    }

    /// Finds numbers and unique ids that stand there twice. One identity that does is one problem.
    fn given_twice(&mut self) {
        let mut numbers: FxHashMap<(&str, EndpointNumber), &Seen> = FxHashMap::default();
        let mut ids: FxHashMap<UniqueId, &Seen> = FxHashMap::default();
        let mut found = Vec::new();
        for seen in &self.seen {
            let unique_id = seen.identity.unique_id;
            if let Some(first) = ids.get(&unique_id) {
                let (place, first_place) = (seen.line, first.line);
                found.push(if first.living && !seen.living {
                    Problem::LivingAndRetired { place, first: first_place, unique_id }
                } else {
                    Problem::SameUniqueId { place, first: first_place, unique_id }
                });
                continue;
            }
            ids.insert(unique_id, seen);
            if let Some(first) = numbers.get(&(&*seen.identity.bridge, seen.identity.number)) {
                found.push(Problem::SameNumber {
                    place: seen.number,
                    first: first.number,
                    bridge: seen.identity.bridge.to_string(),
                    number: seen.identity.number.get(),
                });
                continue;
            }
            numbers.insert((&*seen.identity.bridge, seen.identity.number), seen);
        }
        self.problems.extend(found);
    }
}

/// The place of some bytes of a scalar's text; of the whole scalar where they do not stand there as they are.
fn within(node: Node<'_>, range: &Range<usize>) -> Place {
    let whole = node.place();
    let at = |offset: usize| u32::try_from(offset).ok().and_then(|offset| whole.start.checked_add(offset));
    match (at(range.start), at(range.end)) {
        (Some(start), Some(end)) if node.is_plain() && end <= whole.end => Place { start, end, ..whole },
        _ => whole,
    }
}
