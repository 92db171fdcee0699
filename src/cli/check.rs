//! `check`: look for mistakes.

use super::args::{Apply, Check, Shared};
use super::error::CliError;
use super::terminal::Terminal;
use super::{Outcome, load};
use crate::Inspection;
use crate::emit;
use crate::findings::{Certainty, Edit, mend};
use std::path::{Path, PathBuf};

/// Prints the findings; with `--mend` shows the corrections, and makes those asked for.
pub(super) fn run(args: &Check, shared: &Shared, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    let inspection = load::inspect(&args.house, shared)?;
    if args.mend {
        show_corrections(args, &inspection, terminal)?;
    } else {
        let text = load::shown(&inspection, args.format, terminal);
        terminal.print(&text)?;
    }
    Ok(if load::stops(&inspection.judged.summary, args.strict) { Outcome::Stopped } else { Outcome::Done })
}

fn show_corrections(args: &Check, inspection: &Inspection, terminal: &mut Terminal) -> Result<(), CliError> {
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
        return Ok(());
    }
    let folder = folder_of(&args.house);
    for (file, _) in mend::apply(chosen.iter().copied(), &inspection.sources).map_err(cannot)? {
        let replacements =
            chosen.iter().flat_map(|edit| &edit.replacements).filter(|(place, _)| place.file == file);
        let mut edits: Vec<_> = replacements
            .map(|(place, text)| (place.start as usize..place.end as usize, text.as_str()))
            .collect();
        edits.dedup();
        let path = folder.join(inspection.sources.path(file));
        emit::write_edits(&folder, &path, inspection.sources.bytes(file), &edits)?;
        terminal.say(&format!("mended {}", inspection.sources.path(file)));
    }
    Ok(())
}

/// The folder of a house that is given by its folder or by its root file.
pub(super) fn folder_of(house: &Path) -> PathBuf {
    if house.is_dir() {
        return house.to_owned();
    }
    let parent = house.parent().filter(|parent| !parent.as_os_str().is_empty());
    parent.unwrap_or(Path::new(".")).to_owned()
}
