//! `explain`: a rule, a class, a point, a datapoint type, a kind of change, a consequence or a key, in words.

use super::args::{Explain, Shared};
use super::error::CliError;
use super::terminal::{Terminal, USUAL_WIDTH};
use super::{Outcome, load};
use crate::classes::{self, Class, ClassLibrary};
use crate::findings::breaking::{beside, wrapped};
use crate::findings::{list, nearest};
use crate::knx::{self, DptIdError, DptRef};
use crate::render;
use crate::review::{Consequence, Kind, forms, judgements};
use crate::rules;
use std::fmt::Write as _;
use std::path::Path;

/// Prints the explanation.
pub(super) fn run(args: &Explain, shared: &Shared, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    let library = library(args.house.as_deref(), shared)?;
    let width = terminal.width;
    let text = match args.what.as_slice() {
        [kind, name] => match kind.as_str() {
            "rule" => rule(name, width),
            "class" => class(name, &library, width),
            "datapoint-type" => datapoint_type(name, width),
            "change" => change(name, width),
            "point" => classes::explain_points(name, &library, width),
            "consequence" => consequence(name, width),
            "key" => render::explain_key(name, width),
            class => library.get(class).and_then(|class| classes::explain_point(&class, name, width)),
        },
        [name] => rule(name, width)
            .or_else(|| class(name, &library, width))
            .or_else(|| datapoint_type(name, width))
            .or_else(|| change(name, width))
            .or_else(|| consequence(name, width))
            .or_else(|| classes::explain_points(name, &library, width))
            .or_else(|| render::explain_key(name, width)),
        _ => None,
    };
    let text = text.ok_or_else(|| unknown(&args.what, &library))?;
    terminal.print(&text)?;
    Ok(Outcome::Done)
}

/// The built-in classes, and those of a house where one is given.
pub(super) fn library(house: Option<&Path>, shared: &Shared) -> Result<ClassLibrary, CliError> {
    match house {
        Some(house) => Ok(load::inspect(house, shared)?.library),
        None => Ok(ClassLibrary::built_in()),
    }
}

fn rule(name: &str, width: usize) -> Option<String> {
    if let Some((name, why)) = rules::RETIRED.iter().find(|(retired, _)| *retired == name) {
        return Some(wrapped(&format!("There is no rule `{name}` any more: {why}"), width) + "\n");
    }
    rules::find(name).map(|rule| rules::explain(&rule.card, width))
}

fn class(name: &str, library: &ClassLibrary, width: usize) -> Option<String> {
    library.get(name).map(|class| classes::explain(&class, width))
}

fn datapoint_type(name: &str, width: usize) -> Option<String> {
    match name.parse().ok()? {
        DptRef::Exact(id) => knx::dpt::find(id).map(|dpt| knx::describe::datapoint_type(dpt, width)),
        DptRef::Main(main) => knx::describe::main_type(main, width),
    }
}

fn is_datapoint_type(name: &str) -> bool {
    datapoint_type(name, USUAL_WIDTH).is_some()
}

/// A kind of change that a review tells, with its consequence and the reason.
fn change(name: &str, width: usize) -> Option<String> {
    Kind::from_name(name).map(|kind| forms::change(kind, width))
}

/// What a consequence means, and the kinds of change that have it.
fn consequence(word: &str, width: usize) -> Option<String> {
    let consequence = Consequence::from_word(word)?;
    let meaning = wrapped(&format!("{word}: {}", consequence.meaning()), width);
    let mut text = format!("{meaning}\n\nChanges that are judged so:\n");
    let rows = || judgements().iter().filter(|row| row.consequence == consequence);
    let widest = rows().map(|row| row.name.len()).max().unwrap_or(0);
    for row in rows() {
        let _ = writeln!(text, "  {:widest$}  {}", row.name, beside(row.title, widest + 4, width));
    }
    let _ = writeln!(text, "\n{}", wrapped("`housewright explain change NAME` says why.", width));
    Some(text)
}

/// Kinds of things that can be explained: as they are written before a name, and as they are called.
const KINDS: [(&str, &str); 7] = [
    ("rule", "rule"),
    ("class", "class"),
    ("point", "point"),
    ("datapoint-type", "datapoint type"),
    ("change", "change"),
    ("consequence", "consequence"),
    ("key", "key"),
];

/// Datapoint types that a number with too few digits may be.
fn with_zeros(written: &str) -> Vec<String> {
    match written.parse::<DptRef>() {
        Err(DptIdError::ShortSub { main, sub, .. }) => {
            let mut meant = vec![format!("{main}.{sub:0>3}"), format!("{main}.{sub:0<3}")];
            meant.dedup();
            meant.retain(|one| is_datapoint_type(one));
            meant
        }
        Ok(_) | Err(_) => Vec::new(),
    }
}

/// What may have been meant by a name of a kind; of any kind where none is given.
fn meant(kind: Option<&str>, name: &str, library: &ClassLibrary) -> Vec<String> {
    let rules = || rules::all().iter().map(|rule| rule.card.name);
    let changes = || judgements().iter().map(|row| row.name);
    let (points, keys) = (library.point_names(), render::description_keys());
    let consequences = || Consequence::WORST_FIRST.into_iter().map(Consequence::word);
    let one = |found: Option<&str>| found.map(str::to_owned).into_iter().collect();
    let classes = || library.meant(name).into_iter().map(str::to_owned).collect();
    match kind {
        Some("rule") => one(nearest(name, rules())),
        Some("class") => classes(),
        Some("point") => one(nearest(name, points.iter().map(String::as_str))),
        Some("datapoint-type") => with_zeros(name),
        Some("change") => one(nearest(name, changes())),
        Some("consequence") => one(nearest(name, consequences())),
        Some("key") => one(nearest(name, keys.iter().map(String::as_str))),
        Some(_) | None => {
            let numbers = with_zeros(name);
            let mut all: Vec<&str> = rules().chain(changes()).chain(consequences()).collect();
            all.extend(points.iter().chain(&keys).map(String::as_str));
            match nearest(name, all.iter().copied()) {
                _ if !numbers.is_empty() => numbers,
                Some(right) => vec![right.to_owned()],
                None => classes(),
            }
        }
    }
}

/// The kinds in which there is something of this name.
fn kinds_of(name: &str, library: &ClassLibrary) -> impl Iterator<Item = &'static str> {
    let is_there = [
        rules::find(name).is_some(),
        library.get(name).is_some(),
        library.has_point(name),
        is_datapoint_type(name),
        Kind::from_name(name).is_some(),
        Consequence::from_word(name).is_some(),
        render::explain_key(name, USUAL_WIDTH).is_some(),
    ];
    KINDS.into_iter().zip(is_there).filter(|(_, is_there)| *is_there).map(|((written, _), _)| written)
}

fn unknown(what: &[String], library: &ClassLibrary) -> CliError {
    let name = what.last().map_or("", String::as_str);
    let first = what.first().filter(|_| what.len() == 2).map(String::as_str);
    if let Some(class) = first.and_then(|first| library.get(first)) {
        return no_point(&class, name);
    }
    let kind = KINDS.into_iter().find(|(written, _)| Some(*written) == first);
    let (kind, called) = kind.map_or(
        (None, "rule, class, point, datapoint type, change, consequence or key"),
        |(kind, called)| (Some(kind), called),
    );
    if library.is_broken(name) && kind.is_none_or(|kind| kind == "class") {
        let help = "`housewright check HOUSE` says what is wrong with it";
        return CliError::refused(format!("class `{name}` of the house cannot be used"), help);
    }
    let other = kinds_of(name, library).next();
    let meant = meant(kind, name, library);
    let help = match (other, meant.as_slice()) {
        (Some(other), _) => format!("write `housewright explain {other} {name}`"),
        (None, [right]) => format!("did you mean `{right}`?"),
        (None, [_, _, ..]) => format!("did you mean one of {}?", list(meant.iter().map(String::as_str))),
        (None, []) => {
            "`housewright list rules`, `list classes`, `list datapoint-types` and `list changes` show what there is"
                .to_owned()
        }
    };
    let help = if kind == Some("class") && other.is_none() {
        format!("{help} (a house's own classes need `--house HOUSE`)")
    } else {
        help
    };
    let name = if kind.is_none() { what.join(" ") } else { name.to_owned() };
    CliError::refused(format!("there is no {called} `{name}`"), help)
}

/// A point that a class has not.
fn no_point(class: &Class, name: &str) -> CliError {
    let points = || class.points.iter().map(|point| point.name.as_str());
    let help = match nearest(name, points()) {
        Some(right) => format!("did you mean `{right}`?"),
        None => format!("it has {}", list(points())),
    };
    CliError::refused(format!("class `{}` has no point `{name}`", class.name), help)
}
