//! `explain`: a rule, a class, a datapoint type or a kind of change, in words.

use super::args::{Explain, Shared};
use super::error::CliError;
use super::terminal::Terminal;
use super::{Outcome, load};
use crate::classes::{self, ClassLibrary};
use crate::findings::{list, nearest};
use crate::knx::{self, DptRef};
use crate::review::{Kind, forms, judgements};
use crate::rules;
use std::path::Path;

/// Prints the explanation.
pub(super) fn run(args: &Explain, shared: &Shared, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    let library = library(args.house.as_deref(), shared)?;
    let text = match args.what.as_slice() {
        [kind, name] => match kind.as_str() {
            "rule" => rule(name),
            "class" => class(name, &library),
            "datapoint-type" => datapoint_type(name),
            "change" => change(name, terminal.width),
            _ => None,
        },
        [name] => rule(name)
            .or_else(|| class(name, &library))
            .or_else(|| datapoint_type(name))
            .or_else(|| change(name, terminal.width)),
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

fn rule(name: &str) -> Option<String> {
    if let Some((name, why)) = rules::RETIRED.iter().find(|(retired, _)| *retired == name) {
        return Some(format!("There is no rule `{name}` any more: {why}\n"));
    }
    rules::find(name).map(|rule| rules::explain(&rule.card))
}

fn class(name: &str, library: &ClassLibrary) -> Option<String> {
    library.get(name).map(|class| classes::explain(&class))
}

fn datapoint_type(name: &str) -> Option<String> {
    match name.parse().ok()? {
        DptRef::Exact(id) => knx::dpt::find(id).map(knx::describe::datapoint_type),
        DptRef::Main(main) => knx::describe::main_type(main),
    }
}

/// A kind of change that a review tells, with its consequence and the reason.
fn change(name: &str, width: usize) -> Option<String> {
    Kind::from_name(name).map(|kind| forms::change(kind, width))
}

fn unknown(what: &[String], library: &ClassLibrary) -> CliError {
    let name = what.last().map_or("", String::as_str);
    let rules = || rules::all().iter().map(|rule| rule.card.name);
    let changes = || judgements().iter().map(|row| row.name);
    let kind = match what {
        [kind, _] if kind == "class" => "class",
        [kind, _] if kind == "rule" => "rule",
        [kind, _] if kind == "datapoint-type" => "datapoint type",
        [kind, _] if kind == "change" => "change",
        _ => "rule, class, datapoint type or change",
    };
    let meant: Vec<&str> = match kind {
        "rule" => nearest(name, rules()).into_iter().collect(),
        "class" => library.meant(name),
        "datapoint type" => Vec::new(),
        "change" => nearest(name, changes()).into_iter().collect(),
        _ => nearest(name, rules().chain(changes())).map_or_else(|| library.meant(name), |one| vec![one]),
    };
    let other = [
        ("rule", rules::find(name).is_some()),
        ("class", library.get(name).is_some()),
        ("datapoint-type", datapoint_type(name).is_some()),
        ("change", Kind::from_name(name).is_some()),
    ];
    if library.is_broken(name) && kind.contains("class") {
        let help = "`housewright check HOUSE` says what is wrong with it";
        return CliError::refused(format!("class `{name}` of the house cannot be used"), help);
    }
    let help = match (other.into_iter().find(|(_, there)| *there), meant.as_slice()) {
        (Some((other, _)), _) => format!("write `housewright explain {other} {name}`"),
        (None, [right]) => format!("did you mean `{right}`?"),
        (None, [_, _, ..]) => format!("did you mean one of {}?", list(meant.iter().copied())),
        (None, []) => {
            "`housewright list rules`, `list classes`, `list datapoint-types` and `list changes` show what there is"
                .to_owned()
        }
    };
    let name = if kind.contains(',') { what.join(" ") } else { name.to_owned() };
    let help = if kind == "class" && other.iter().all(|(_, there)| !there) {
        format!("{help} (a house's own classes need `--house HOUSE`)")
    } else {
        help
    };
    CliError::refused(format!("there is no {kind} `{name}`"), help)
}
