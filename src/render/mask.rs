//! Names left out: every word of the house's own becomes a letter and a number, the same word the same one wherever it is
//! left out.
//!
//! What stays: addresses, datapoint types, flags and other numbers, keys and words of the format, names of classes,
//! points, settings and rules, and what the program itself says. Everything else that a person wrote goes, comments and
//! file names included.

use super::schemas::schema;
use crate::classes::ClassLibrary;
use crate::knx::dpt;
use crate::matter;
use crate::resolve::Plan;
use crate::rules;
use crate::sort;
use crate::source::{FileKind, Sources};
use rustc_hash::{FxHashMap, FxHashSet};
use serde_json::Value;

/// Keys whose value is what a person says.
const TOLD: [&str; 12] = [
    "name",
    "floor",
    "note",
    "by",
    "checked",
    "description",
    "room",
    "title",
    "summary",
    "explanation",
    "caution",
    "why",
];

/// Ends of file names, and names of files that the format gives.
const FILES: [&str; 8] = ["yaml", "yml", "csv", "tsv", "txt", "house", "ledger", "classes"];

/// What is said of class files beside the words of their format.
const OF_CLASSES: [&str; 4] = ["schema", "Cluster", "Attribute", "Command"];

/// Where a text stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// A line of the description, or a part of one: words of the format stay.
    Description,
    /// A row of a table, or what else is free text: only numbers stay.
    Free,
    /// A path.
    Path,
}

/// What is left out, and the numbers given so far.
#[derive(Debug)]
pub(super) struct Mask {
    /// Words of the format.
    known: FxHashSet<String>,
    /// What the program itself puts in quotation marks.
    quotes: FxHashSet<&'static str>,
    /// Names of the plan, as they are written.
    names: FxHashSet<String>,
    /// Words of the house's own, in small letters, that may stand in prose without quotation marks.
    bare: FxHashSet<String>,
    numbers: FxHashMap<String, usize>,
}

impl Mask {
    pub(super) fn of(plan: Option<&Plan>, sources: &Sources, library: &ClassLibrary) -> Self {
        let mut known: FxHashSet<String> =
            ["true", "false", "null"].into_iter().chain(FILES).map(str::to_owned).collect();
        format_words(&schema("house"), &mut known);
        let has = |kind: FileKind| sources.files().any(|file| sources.kind(file) == kind);
        if has(FileKind::Words) {
            format_words(&schema("words"), &mut known);
        }
        if has(FileKind::Class) {
            // What class files say of conversions is said of those of a bridge.
            for format in ["class", "bridge"] {
                format_words(&schema(format), &mut known);
            }
            known.extend(OF_CLASSES.map(str::to_owned));
            standard_words(&mut known);
        }
        // What a house's own classes add to the format.
        let own = library.names().into_iter().filter(|name| library.is_own(name));
        for class in own.filter_map(|name| library.get(name)) {
            known.insert(class.name.clone());
            known.extend(class.points.iter().map(|point| point.name.clone()));
            known.extend(class.settings.iter().map(|setting| setting.name.clone()));
        }
        let (mut said, mut quotes) = (FxHashSet::default(), FxHashSet::default());
        for rule in rules::all() {
            let card = &rule.card;
            known.insert(card.name.to_owned());
            for text in [card.summary, card.on_site, card.remedy] {
                said.extend(words(text).map(str::to_lowercase));
                quotes.extend(text.split('`').skip(1).step_by(2));
            }
        }
        let names = plan.into_iter().flat_map(names).map(|name| name.trim().to_owned()).collect();
        let mut mask =
            Self { known, quotes, names, bare: FxHashSet::default(), numbers: FxHashMap::default() };
        mask.bare = mask.bare_words(sources, &said);
        mask
    }

    /// What the house says is quoted, but for the texts of its own classes; and a quotation mark in a line, or in a name, ends
    /// the quotation early.
    fn bare_words(&self, sources: &Sources, said: &FxHashSet<String>) -> FxHashSet<String> {
        let mut bare: FxHashSet<String> = FxHashSet::default();
        let mut add = |text: &str| bare.extend(words(text).map(str::to_lowercase));
        for file in sources.files() {
            let text = sources.source(file);
            if sources.kind(file) == FileKind::Class {
                runs(text).filter(|(_, run)| !self.known.contains(*run)).for_each(|(_, run)| add(run));
            } else {
                let comments = sources.kind(file) != FileKind::Table;
                let said = |line: &'_ str| if comments { comment(line) } else { line.len() };
                let lines = text.lines().filter_map(|line| line.get(..said(line)));
                lines.filter(|line| line.contains('`')).for_each(&mut add);
            }
        }
        self.names.iter().filter(|name| name.contains('"')).for_each(|name| add(name));
        bare.retain(|word| !said.contains(word) && !self.known.contains(word));
        bare
    }

    /// A text without its names.
    pub(super) fn text(&mut self, text: &str, kind: Kind) -> String {
        self.atoms(text, kind).into_iter().map(|(_, atom)| atom).collect()
    }

    /// What the program says: what is the house's stands in quotation marks.
    pub(super) fn prose(&mut self, text: &str) -> String {
        let mut out = String::new();
        let mut rest = text;
        while let Some(at) = rest.find(['`', '"']) {
            let (before, from) = rest.split_at(at);
            out += &self.plain(before);
            let quote = if from.starts_with('`') { '`' } else { '"' };
            let kind = if quote == '`' { Kind::Description } else { Kind::Free };
            let inner = from.get(1..).unwrap_or("");
            out.push(quote);
            // A quotation mark in a name leaves one over: then all up to the last may be the house's.
            let is_odd = from.matches(quote).count() % 2 == 1;
            match if is_odd { inner.rsplit_once(quote) } else { inner.split_once(quote) } {
                Some((quoted, behind)) => {
                    out += &self.quoted(quoted, kind);
                    out.push(quote);
                    rest = behind;
                }
                None => rest = inner,
            }
        }
        out + &self.plain(rest)
    }

    fn quoted(&mut self, text: &str, kind: Kind) -> String {
        if self.names.contains(text.trim()) {
            return self.text(text, Kind::Free);
        }
        if self.quotes.contains(text) {
            return text.to_owned();
        }
        self.text(text, kind)
    }

    /// Prose without quotation marks is the program's own.
    fn plain(&mut self, text: &str) -> String {
        let (mut out, mut done) = (String::new(), 0);
        for (start, word) in word_places(text) {
            if self.bare.contains(&word.to_lowercase()) {
                out += text.get(done..start).unwrap_or("");
                out += &self.number(word);
                done = start + word.len();
            }
        }
        out + text.get(done..).unwrap_or("")
    }

    /// The text in pieces that belong together, each with where it began.
    pub(super) fn atoms(&mut self, text: &str, kind: Kind) -> Vec<(usize, String)> {
        let mut atoms = Vec::new();
        let mut hidden = 0..0;
        let comment = if kind == Kind::Description { comment(text) } else { text.len() };
        let mut done = 0;
        for (start, run) in runs(text) {
            letters(text, done..start, &mut atoms);
            done = start + run.len();
            let free = kind == Kind::Free || start >= comment || hidden.contains(&start);
            let stays = is_number(run) || (!free && self.stays(run, kind));
            if stays {
                atoms.push((start, run.to_owned()));
            } else {
                for (at, part) in word_places(run) {
                    let number = if part.chars().all(|c| c.is_ascii_digit()) {
                        part.to_owned()
                    } else {
                        self.number(part)
                    };
                    atoms.push((start + at, number));
                }
                for (at, mark) in run.match_indices(['-', '_', '\'']) {
                    atoms.push((start + at, mark.to_owned()));
                }
                sort::by_key(&mut atoms, |(at, _)| *at);
            }
            if !free && kind == Kind::Description && (TOLD.contains(&run) || rules::find(run).is_some()) {
                hidden = told(text, done).unwrap_or(hidden);
            }
        }
        letters(text, done..text.len(), &mut atoms);
        atoms
    }

    fn stays(&self, run: &str, kind: Kind) -> bool {
        match kind {
            Kind::Description | Kind::Path => self.known.contains(run),
            Kind::Free => false,
        }
    }

    fn number(&mut self, word: &str) -> String {
        if word.chars().all(|c| c.is_ascii_digit()) {
            return word.to_owned();
        }
        let next = self.numbers.len() + 1;
        format!("n{}", self.numbers.entry(word.to_lowercase()).or_insert(next))
    }
}

/// The names that a plan gives to things.
fn names(plan: &Plan) -> impl Iterator<Item = &str> {
    let rows = plan.buses.iter().filter_map(|bus| bus.table.as_ref()).flat_map(|table| &table.rows);
    std::iter::once(plan.house.name.as_str())
        .chain(plan.bridges.iter().map(|bridge| bridge.name.value.as_str()))
        .chain(plan.rooms.iter().map(|room| room.name.value.as_str()))
        .chain(plan.appliances.iter().map(|appliance| appliance.name.value.as_str()))
        .chain(rows.map(|row| &*row.name.value))
}

/// The names that the standards give to what class files name.
fn standard_words(known: &mut FxHashSet<String>) {
    let mut add = |word: &str| {
        known.insert(word.to_owned());
    };
    matter::device_type_names().for_each(&mut add);
    for cluster in matter::cluster_names().filter_map(matter::cluster) {
        add(&cluster.name);
        cluster.features.iter().for_each(|feature| add(&feature.code));
        cluster.attributes.iter().for_each(|attribute| add(&attribute.name));
        cluster.commands.iter().for_each(|command| add(&command.name));
        cluster.events.iter().for_each(|event| add(&event.name));
    }
    dpt::all().iter().for_each(|known| add(known.unit()));
}

/// Keys, and words that a key takes, of a schema.
fn format_words(schema: &Value, known: &mut FxHashSet<String>) {
    match schema {
        Value::Object(object) => {
            for (key, value) in object {
                match (key.as_str(), value) {
                    ("properties", Value::Object(properties)) => known.extend(properties.keys().cloned()),
                    ("enum", Value::Array(items)) => {
                        known.extend(items.iter().filter_map(Value::as_str).map(str::to_owned));
                    }
                    ("const", Value::String(word)) => {
                        known.insert(word.clone());
                    }
                    _ => {}
                }
                format_words(value, known);
            }
        }
        Value::Array(items) => items.iter().for_each(|item| format_words(item, known)),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}

fn letters(text: &str, range: std::ops::Range<usize>, atoms: &mut Vec<(usize, String)>) {
    let start = range.start;
    let between = text.get(range).unwrap_or("");
    atoms.extend(between.char_indices().map(|(at, letter)| (start + at, letter.to_string())));
}

/// Where a comment begins in a line of YAML; its end where there is none.
fn comment(line: &str) -> usize {
    let mut before = ' ';
    for (at, letter) in line.char_indices() {
        if letter == '#' && before.is_whitespace() {
            return at;
        }
        before = letter;
    }
    line.len()
}

/// The value behind a key that ends at `from`: to its quotation mark, to the end of its `{…}` entry, or of the line.
fn told(line: &str, from: usize) -> Option<std::ops::Range<usize>> {
    let behind = line.get(from..)?.strip_prefix(':')?;
    let value = behind.trim_start();
    let start = line.len() - value.len();
    let quote = value.chars().next().filter(|quote| matches!(quote, '"' | '\''));
    let length = match quote {
        Some(quote) => value.get(1..).and_then(|inner| inner.find(quote)).map(|at| at + 2),
        None if line.get(..from).is_some_and(|before| before.contains('{')) => value.find([',', '}']),
        None => None,
    };
    Some(start..start + length.unwrap_or(value.len()))
}

/// Whether a run of letters is a number, a datapoint type, or flags.
fn is_number(run: &str) -> bool {
    let rest = run.strip_prefix("DPST").or_else(|| run.strip_prefix("DPT")).unwrap_or(run);
    let digits = rest.chars().all(|letter| letter.is_ascii_digit() || letter == '-');
    let flags = run.len() <= 6 && run.chars().all(|letter| "CRWTUI-".contains(letter));
    digits || flags
}

fn is_part(letter: char) -> bool {
    letter.is_alphanumeric() || matches!(letter, '-' | '_' | '\'') || ('\u{300}'..'\u{370}').contains(&letter)
}

/// Runs of letters, digits, hyphens and the like.
fn runs(text: &str) -> impl Iterator<Item = (usize, &str)> {
    split(text, is_part)
}

/// Words: runs without hyphens.
fn word_places(text: &str) -> impl Iterator<Item = (usize, &str)> {
    split(text, |letter| is_part(letter) && !matches!(letter, '-' | '_' | '\''))
}

fn words(text: &str) -> impl Iterator<Item = &str> {
    word_places(text).map(|(_, word)| word)
}

fn split(text: &str, belongs: impl Fn(char) -> bool) -> impl Iterator<Item = (usize, &str)> {
    let mut from = 0;
    std::iter::from_fn(move || {
        let start = from + text.get(from..)?.find(&belongs)?;
        let rest = text.get(start..)?;
        let length = rest.find(|letter| !belongs(letter)).unwrap_or(rest.len());
        from = start + length;
        Some((start, text.get(start..from)?))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mask() -> Mask {
        let texts = [(
            "house.yaml",
            "housewright: 1\nrooms: { den: { name: Den, appliances: { reading-lamp: { name: The green lamp, class: clock } } } } # Uncle`s den\n",
        )];
        let inspection = crate::inspect(Sources::from_texts(&texts), &crate::source::Limits::default());
        Mask::of(inspection.judged.plan(), &inspection.sources, &inspection.library)
    }

    fn check(text: &str, kind: Kind, expected: &str) {
        assert_eq!(mask().text(text, kind), expected, "{text}");
    }

    #[test]
    fn words_of_the_format_stay_and_others_go() {
        check(
            "      reading-lamp: { name: The on-off-light, class: on-off-light } # name: x",
            Kind::Description,
            "      n1-n2: { name: n3 n4-n5-n6, class: on-off-light } # n7: n8",
        );
        check("  name: \"Lamp, class\" # Lamp 3", Kind::Description, "  name: \"n1, n2\" # n1 3");
        check(
            "  switching: { command: 1/2/10, dpt: 5.001 }",
            Kind::Description,
            "  switching: { command: 1/2/10, dpt: 5.001 }",
        );
        check("  missing-feedback: the switching relay", Kind::Description, "  missing-feedback: n1 n2 n3");
    }

    #[test]
    fn only_numbers_of_a_row_stay() {
        check("1/2/10,\"Küche position 2\",DPST-5-1,CR-T-", Kind::Free, "1/2/10,\"n1 n2 2\",DPST-5-1,CR-T-");
        check("rooms/küche 2.yaml", Kind::Path, "rooms/n1 2.yaml");
    }

    #[test]
    fn names_go_from_what_the_program_says() {
        let said = "`reading-lamp` in `1/2/3` is \"Green position\", and `The green lamp` is dark";
        assert_eq!(mask().prose(said), "`n1-n2` in `1/2/3` is \"n3 n4\", and `n5 n3 n2` is dark");
        // What is not quoted is the program's, even if the house says it too.
        assert_eq!(mask().prose("a green lamp of class on-off-light"), "a green lamp of class on-off-light");
        let written = "write `confirmed: { by: who, checked: what }`";
        assert_eq!(mask().prose(written), written);
        // A line with a quotation mark of its own may end a quotation early.
        assert_eq!(mask().prose("`Uncle`s den`"), "`n1`n2 n3`");
    }
}
