//! `check`: look for mistakes.

use super::args::{Apply, Check, FindingsForm, Shared};
use super::error::CliError;
use super::houses::folder_of;
use super::terminal::Terminal;
use super::{Outcome, houses, load};
use crate::Inspection;
use crate::emit;
use crate::findings::{Certainty, Edit, Summary, mend};
use crate::render::{self, Names, Report};
use crate::runs::{Doubt, beside};
use crate::sort;
use std::path::{Path, PathBuf};

/// Prints the findings; with `--mend` shows the corrections, and makes those asked for.
pub(super) fn run(args: &Check, shared: &Shared, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    let found = houses::find(&args.houses)?;
    let [house] = found.as_slice() else { return many(args, &found, shared, terminal) };
    let inspection = load::inspect(house, shared)?;
    if args.mend {
        show_corrections(args, house, &inspection, terminal)?;
    } else {
        let text = load::shown(house, &inspection, (args.format, shared), terminal);
        terminal.print(&text)?;
    }
    if let Some(path) = &args.report {
        write_report(args, path, &inspection, terminal)?;
    }
    let doubts = beside::doubts(&inspection, &folder_of(house));
    for Doubt { message, help } in &doubts {
        terminal.warn(message, help);
    }
    let stops = load::stops(&inspection.judged.summary, args.strict) || (args.strict && !doubts.is_empty());
    let unread = inspection.judged.lacks_a_file();
    load::leave(inspection);
    Ok(load::outcome(stops, unread))
}

/// What stands below the name of a house that could not be read; why is told beside the result.
const NOT_CHECKED: &str = "not checked: it could not be read";

/// What came of one house among several.
struct Looked {
    summary: Summary,
    text: String,
    id: Option<String>,
    doubts: Vec<Doubt>,
    unread: bool,
}

/// Several houses in parallel, printed in order, with one summary and one exit code.
fn many(
    args: &Check,
    found: &[PathBuf],
    shared: &Shared,
    terminal: &mut Terminal,
) -> Result<Outcome, CliError> {
    if args.mend {
        return Err(CliError::refused("`--mend` takes one house", "mend the houses one after the other"));
    }
    if args.report.is_some() {
        return Err(CliError::refused(
            "`--report` takes one house",
            "write a report of each, one after the other",
        ));
    }
    let mut total = Summary::default();
    let (mut ids, mut any_doubt, mut any_unread) = (houses::Ids::default(), false, false);
    let mut joined = load::Joined::new(args.format);
    let mut left_out = 0;
    let view = *terminal;
    houses::each(
        found,
        terminal,
        |house| {
            let inspection = load::inspect(house, shared)?;
            let text = houses::computing(|| load::shown(house, &inspection, (args.format, shared), &view));
            let doubts = beside::doubts(&inspection, &folder_of(house));
            let unread = inspection.judged.lacks_a_file();
            let id = houses::id_of(&inspection);
            Ok(Looked { summary: inspection.judged.summary, text, id, doubts, unread })
        },
        |house, looked: Result<Looked, CliError>, terminal| match looked {
            Ok(Looked { summary, text, id, doubts, unread }) => {
                total.add(&summary);
                any_unread |= unread;
                ids.look_at(house, id, terminal);
                for Doubt { message, help } in &doubts {
                    any_doubt = true;
                    terminal.warn(message, help);
                }
                joined.add(house, &text, terminal)
            }
            Err(error) => {
                terminal.complain(&error);
                left_out += 1;
                joined.leave_out(house, NOT_CHECKED, &error.told(), terminal)
            }
        },
    )?;
    joined.finish(terminal)?;
    if args.format == FindingsForm::Text {
        terminal.print(&in_all(found.len(), left_out, &total))?;
    }
    if left_out > 0 {
        return Err(CliError::Told);
    }
    let doubtful = args.strict && (ids.twice || any_doubt);
    Ok(load::outcome(doubtful || load::stops(&total, args.strict), any_unread))
}

/// The last line of several houses. What could not be read has no findings, which is not to be taken for none found.
fn in_all(houses: usize, left_out: usize, total: &Summary) -> String {
    match left_out {
        0 => format!("{houses} houses: {}\n", total.line()),
        _ if left_out == houses => format!("{houses} houses: none could be read\n"),
        _ => format!("{houses} houses, {left_out} of which could not be read: {}\n", total.line()),
    }
}

fn show_corrections(
    args: &Check,
    house: &Path,
    inspection: &Inspection,
    terminal: &mut Terminal,
) -> Result<(), CliError> {
    let all = || inspection.judged.findings.iter().filter_map(|finding| finding.edit.as_ref());
    let chosen: Vec<&Edit> = match args.apply {
        Some(Apply::Sure) => all().filter(|edit| edit.certainty == Certainty::Sure).collect(),
        Some(Apply::All) | None => all().collect(),
    };
    let cannot = |error: mend::MendError| {
        CliError::refused(error.to_string(), "make one of the corrections by hand, then check again")
    };
    let diff = mend::diff(chosen.iter().copied(), &inspection.sources).map_err(cannot)?;
    terminal.print(&diff)?;
    if args.apply.is_none() {
        if chosen.is_empty() {
            terminal
                .say("nothing to mend: no finding has a correction; `housewright check` shows what there is");
        }
        return Ok(());
    }
    if chosen.is_empty() {
        terminal.say(&match all().count() {
            0 => "nothing to mend: no finding has a correction".to_owned(),
            1 => "nothing is mended: the one correction is to be looked at; `--mend` shows it".to_owned(),
            more => format!("nothing is mended: {more} corrections are to be looked at; `--mend` shows them"),
        });
    }
    let folder = folder_of(house);
    for (file, _) in mend::apply(chosen.iter().copied(), &inspection.sources).map_err(cannot)? {
        let replacements =
            chosen.iter().flat_map(|edit| &edit.replacements).filter(|(place, _)| place.file == file);
        let mut edits: Vec<_> = replacements
            .map(|(place, text)| (place.start as usize..place.end as usize, text.as_str()))
            .collect();
        sort::by_key(&mut edits, |(range, text)| (range.start, range.end, *text));
        edits.dedup();
        let path = folder.join(inspection.sources.path(file));
        emit::write_edits(&folder, &path, inspection.sources.bytes(file), &edits)?;
        terminal.say(&format!("mended {}", inspection.sources.path(file)));
    }
    Ok(())
}

fn write_report(
    args: &Check,
    path: &Path,
    inspection: &Inspection,
    terminal: &mut Terminal,
) -> Result<(), CliError> {
    let report = Report {
        findings: &inspection.judged.findings,
        summary: &inspection.judged.summary,
        sources: &inspection.sources,
        plan: inspection.judged.plan(),
        library: &inspection.library,
        version: env!("CARGO_PKG_VERSION"),
    };
    let names = if args.without_names { Names::LeftOut } else { Names::Shown };
    emit::write_report(path, render::MARK, &report.html(names))?;
    terminal.say(&format!("wrote {}", path.display()));
    Ok(())
}
