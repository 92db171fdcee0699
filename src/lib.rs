//! housewright compiles a reviewed description of a house on a KNX bus into Matter bridge definitions, checks it on the
//! way, and says what a change means for the family.
//!
//! This page is the whole line. Each stage has its own module and its own type, made only by the stage before it:
//!
//! ```text
//! files ──source──▶ Sources + trees ──house──▶ House ──resolve──▶ Plan ──rules──▶ Findings + Checked
//!       ──bridge──▶ Lowered + next Ledger ──emit──▶ files        two builds ──review──▶ Review
//! ```
//!
//! | file | read by | written by |
//! | --- | --- | --- |
//! | `house.yaml`, what it includes, address tables, `classes/`, `words/` | `source` | people; `emit`, where `new` makes one that is not there yet, and the bytes of a correction that `check --mend --apply` was asked for |
//! | `ledger.yaml` | `source`, `ledger` | `emit` |
//! | output folder: `*.bridge.json`, `manifest.json`, `review.*` | `emit`, `review` | `emit` |
//!
//! A house in memory, from its text to the endpoints that a controller sees, and what a change of it means. [`source::load`]
//! reads one from a folder instead, and [`runs::build`] puts the files of a build in place. Nothing but [`cli`] prints, ends the
//! program or looks at the environment; what computes does so on the threads of `rayon`.
//!
//! ```
//! use housewright::review::{self, Build, Kind, judgement};
//! use housewright::source::{Limits, Sources};
//! use housewright::{Inspection, bridge, inspect, ledger};
//!
//! fn look(name: &str) -> Inspection {
//!     let house = format!("
//! housewright: 1
//! house: {{ id: reed-house, name: Reed House }}
//! bridges: {{ reed: {{ name: Reed House, capacity: 20 }} }}
//! rooms:
//!   hall:
//!     name: Hall
//!     appliances:
//!       lamp: {{ name: {name}, class: on-off-light, points: {{ switching: {{ command: 1/0/1 }} }} }}
//! ");
//!     inspect(Sources::from_texts(&[("house.yaml", &house)]), &Limits::default())
//! }
//!
//! let spring = look("Lamp");
//! let told: Vec<(&str, u32)> = spring.judged.findings.iter().map(|finding| {
//!     let place = finding.primary.place;
//!     (finding.rule, spring.sources.line_column(place.file, place.start).line)
//! }).collect();
//! assert_eq!(told, [("missing-feedback", 9)]);
//! let lowered = bridge::lower(spring.judged.checked.as_ref().ok_or("an error")?, &spring.ledger)?;
//! assert_eq!(lowered.definition(0).endpoints[0].node_label, "Lamp");
//! assert!(ledger::write(&lowered.ledger).contains("main: reed 2 0x0100 "));
//!
//! // One season later: the ledger of the last build keeps every identity.
//! let autumn = look("Hall lamp");
//! let next = bridge::lower(autumn.judged.checked.as_ref().ok_or("an error")?, &lowered.ledger)?;
//! let review = review::review(&Build::of(&[lowered.definition(0)]), &Build::of(&[next.definition(0)]));
//! let kinds: Vec<Kind> = review.changes.iter().map(|change| change.kind).collect();
//! assert_eq!(kinds, [Kind::Relabelled]);
//! assert_eq!(judgement(Kind::Relabelled).consequence.word(), "shown");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod bridge;
pub mod classes;
pub mod cli;
pub mod convert;
pub mod emit;
pub mod findings;
pub mod house;
pub mod knx;
pub mod ledger;
pub mod matter;
mod pieces;
pub mod render;
pub mod resolve;
pub mod review;
pub mod rules;
pub mod runs;
mod sort;
pub mod source;
pub mod survey;

use classes::ClassLibrary;
use ledger::Ledger;
use rules::{Judged, Problems};
use rustc_hash::FxHashSet;
use source::{FileKind, Limits, Loaded, Sources};

/// A house that was looked at.
#[derive(Debug)]
pub struct Inspection {
    /// Its files.
    pub sources: Sources,
    /// What the checks have to say, its numbers, and the plan when no finding is an error.
    pub judged: Judged,
    /// Endpoint numbers and unique ids so far.
    pub ledger: Ledger,
    /// The device classes.
    pub library: ClassLibrary,
}

/// Looks at a house: every stage from its files to its findings.
pub fn inspect(loaded: Loaded, limits: &Limits) -> Inspection {
    inspect_since(loaded, limits, None).0
}

/// The same, but for what the last look has read already, where there was one; and what this one has read of the description.
fn inspect_since(
    (sources, documents, source_problems): Loaded,
    limits: &Limits,
    last: Option<&runs::again::Last>,
) -> (Inspection, house::Kept) {
    rayon::spawn(survey::prepare);
    let mut problems = Problems { source: source_problems, limits: *limits, ..Problems::default() };

    // The device classes: the built-in ones, and those in the house's own `classes/`.
    let (descriptions, others): (Vec<_>, Vec<_>) =
        documents.into_iter().partition(|document| document.kind == FileKind::Description);
    let (library, mut told) = ClassLibrary::load(&others, &sources);
    let unread: FxHashSet<source::FileId> = problems.source.iter().map(|text| text.place().file).collect();
    told.retain(|problem| !problem.is_of_the_whole() || !unread.contains(&problem.place().file));
    problems.classes = told;

    // The description as written, put together from its files.
    let before = last.map(runs::again::Last::descriptions);
    let (house, mut told, house_problems, kept) =
        house::read_with_lines_moved(&sources, descriptions, &mut problems.source, limits, before);
    problems.source.append(&mut told);
    problems.house = house_problems;

    // Every name in it looked up: classes, points, datapoint types, addresses. And the ledger, read before the rules so
    // that its conflicts are findings.
    let id = house.known_id().map(str::to_owned);
    let tables = last.map(runs::again::Last::tables);
    let ((plan, resolve_problems, mut told), (ledger, ledger_problems)) = rayon::join(
        || resolve::resolve_since(house, &sources, limits, &library, tables.as_ref()),
        || ledger_of(&sources, &others, id.as_deref()),
    );
    problems.resolve = resolve_problems;
    problems.source.append(&mut told);
    forget_headings_of_unread(&mut problems.source, &sources);
    forget_files_of_misspelt_include(&mut problems.source);
    problems.ledger = ledger_problems;
    tell_of_ledger(&mut problems, &others);

    // What is built of the house's own classes.
    let built = plan.appliances.iter().filter(|appliance| {
        library.is_own(&appliance.class.value.name) && appliance.bridged && !appliance.incomplete
    });
    problems
        .classes
        .extend(library.problems_of(built.map(|appliance| (&*appliance.class.value, appliance.chosen()))));

    // All rules. Only a plan without errors can be lowered.
    let mut judged = rules::check(plan, &problems, &library, &ledger);
    judged.findings.settle(&sources);
    (Inspection { sources, judged, ledger, library }, kept)
}

/// What is wrong with the text of the ledger is a problem of the ledger: to mend it as one mends a description would lose
/// what it remembers. The marks of a merge are no YAML either; that follows.
fn tell_of_ledger(problems: &mut Problems, documents: &[source::Document]) {
    let Some(document) = documents.iter().find(|document| document.kind == FileKind::Ledger) else { return };
    let is_unmerged = matches!(problems.ledger.first(), Some(ledger::Problem::Unmerged { .. }));
    let mut told = Vec::new();
    problems.source.retain(|problem| {
        let place = problem.place();
        if place.file != document.file || !is_of_text(problem) {
            return true;
        }
        told.push(if let source::Problem::DuplicateKey { first, key, .. } = problem {
            ledger::Problem::KeyTwice { place, first: *first, key: key.clone() }
        } else {
            ledger::Problem::Garbled { place }
        });
        false
    });
    if !is_unmerged {
        // What cannot be read for a fault of the text is that fault.
        if told.iter().any(|problem| matches!(problem, ledger::Problem::Garbled { .. })) {
            problems.ledger.clear();
        }
        problems.ledger.extend(told);
    }
}

/// Whether the text itself is at fault, and not what it says or how much it is.
fn is_of_text(problem: &source::Problem) -> bool {
    use source::Problem as Kind;
    matches!(
        problem,
        Kind::Syntax { .. }
            | Kind::Tab { .. }
            | Kind::DuplicateKey { .. }
            | Kind::KeyShape { .. }
            | Kind::Alias { .. }
            | Kind::Tag { .. }
            | Kind::SecondDocument { .. }
            | Kind::NotText { .. }
    )
}

/// A table that the system would not read has no headings either; that follows.
fn forget_headings_of_unread(problems: &mut Vec<source::Problem>, sources: &Sources) {
    let path = |problem: &source::Problem| {
        if let source::Problem::Unreadable { path, .. } = problem { Some(path.clone()) } else { None }
    };
    let unread: Vec<String> = problems.iter().filter_map(path).collect();
    if unread.is_empty() {
        return;
    }
    problems.retain(|problem| {
        let source::Problem::NoHeading { place, .. } = problem else { return true };
        !unread.iter().any(|path| path == sources.path(place.file))
    });
}

/// What a key that nobody knows may have included is told with that key.
fn forget_files_of_misspelt_include(problems: &mut Vec<source::Problem>) {
    let is_misspelt = |problem: &source::Problem| {
        let source::Problem::UnknownKey { within, missing, .. } = problem else { return false };
        *within == "DescriptionFile" && missing.contains(&"include")
    };
    if problems.iter().any(is_misspelt) {
        problems.retain(|problem| !matches!(problem, source::Problem::NotIncluded { .. }));
    }
}

fn ledger_of(
    sources: &Sources,
    documents: &[source::Document],
    house: Option<&str>,
) -> (Ledger, Vec<ledger::Problem>) {
    let empty = || Ledger::new(house.unwrap_or_default());
    match documents.iter().find(|document| document.kind == FileKind::Ledger) {
        Some(document) => {
            let text = sources.source(document.file);
            let (ledger, problems) = ledger::read(text, document.file, document.tree.as_ref(), house);
            (ledger.unwrap_or_else(empty), problems)
        }
        None => (empty(), Vec::new()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_that_was_not_read_lacks_no_headings() {
        let root = "buses: { main: { table: bus.csv } }\n";
        let (sources, ..) = Sources::from_texts(&[("house.yaml", root), ("bus.csv", "")]);
        let place = |path| source::Place { file: sources.find(path).expect("it is there"), start: 0, end: 0 };
        let lack = source::Problem::NoHeading { place: place("bus.csv"), found: source::NoTable::Other };
        let mut problems = vec![lack.clone()];
        forget_headings_of_unread(&mut problems, &sources);
        assert_eq!(problems.len(), 1, "an empty table lacks them");
        let (path, cause) = ("bus.csv".to_owned(), "permission denied".to_owned());
        problems.push(source::Problem::Unreadable { place: place("house.yaml"), path, cause });
        forget_headings_of_unread(&mut problems, &sources);
        assert_eq!(problems.len(), 1, "{problems:?}");
        assert_ne!(problems.first(), Some(&lack));
    }
}
