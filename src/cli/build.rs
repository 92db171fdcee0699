//! `build`: check, then write the bridge definitions, the manifest and the review.

use super::args::{Build, FindingsForm, Shared};
use super::error::CliError;
use super::gate::{self, accepted, consequence, gate_words};
use super::houses::folder_of;
use super::terminal::Terminal;
use super::{Outcome, houses, load};
use crate::Inspection;
use crate::emit::{EmitError, Lock, Patience};
use crate::findings::visible;
use crate::ledger::Ledger;
use crate::review::AcceptList;
use crate::review::forms::Detail;
use crate::runs::build::{self, Against, BuildError, Built, Order};
use crate::runs::{Doubt, beside};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Builds a house, or several in parallel: what they say is printed in order.
pub(super) fn run(args: &Build, shared: &Shared, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    let found = houses::find(&args.houses)?;
    if let [house] = found.as_slice() {
        let out = args.out.clone().unwrap_or_else(|| beside::usual_out(&folder_of(house)));
        let (told, house) = one(house, &out, args, shared, terminal)?;
        load::leave(house);
        let in_place = told.in_place;
        let said = told.document.as_ref().map_or(Ok(()), |document| terminal.print(document));
        let said = said.and_then(|()| told.tell(terminal));
        if let Err(CliError::Stream { stream, cause }) = &said
            && in_place
        {
            let message = format!("cannot use standard {stream}: {cause}");
            return Err(CliError::refused(message, "the build and its ledger are in place all the same"));
        }
        return said;
    }
    many(args, &found, shared, terminal)
}

/// Several houses in parallel, told in order, with one exit code.
fn many(
    args: &Build,
    found: &[PathBuf],
    shared: &Shared,
    terminal: &mut Terminal,
) -> Result<Outcome, CliError> {
    let out = |house: &Path| out_of(house, args.out.as_deref());
    apart(found, &out)?;
    let (mut stopped, mut failed) = (0, 0);
    let mut ids = houses::Ids::default();
    let mut joined = load::Joined::new(args.format);
    let is_text = args.format == FindingsForm::Text;
    let view = *terminal;
    houses::each(
        found,
        terminal,
        |house| {
            let (told, (inspection, _)) = one(house, &out(house), args, shared, &view)?;
            Ok((told, houses::id_of(&inspection)))
        },
        |house, told: Result<_, CliError>, terminal| {
            say(&visible::one_line(&house.display().to_string()), is_text, terminal)?;
            match told {
                Ok((told, id)) => {
                    ids.look_at(house, id, terminal);
                    if let Some(document) = &told.document {
                        joined.add(house, document, terminal)?;
                    }
                    match told.tell_of_one(is_text, terminal)? {
                        Outcome::Done => {}
                        Outcome::Stopped => stopped += 1,
                        Outcome::Unread => failed += 1,
                    }
                }
                Err(error) => {
                    failed += 1;
                    if is_text {
                        say(NOT_BUILT, is_text, terminal)?;
                    } else {
                        joined.leave_out(house, NOT_BUILT, &error.told(), terminal)?;
                    }
                    terminal.complain(&error);
                }
            }
            Ok(())
        },
    )?;
    joined.finish(terminal)?;
    let built = found.len() - stopped - failed;
    let total = format!("{} houses: {built} built, {stopped} stopped, {failed} failed", found.len());
    say(&total, is_text, terminal)?;
    match (failed, stopped) {
        (0, 0) => Ok(Outcome::Done),
        (0, _) => Ok(Outcome::Stopped),
        _ => Err(CliError::Told),
    }
}

/// Says a line of the result: on standard output, unless findings are printed there for a program.
fn say(line: &str, is_text: bool, terminal: &mut Terminal) -> Result<(), CliError> {
    if is_text {
        return terminal.print(&format!("{line}\n"));
    }
    terminal.show(line);
    Ok(())
}

/// Where a house among several is built.
fn out_of(house: &Path, out: Option<&Path>) -> PathBuf {
    let folder = folder_of(house);
    let Some(out) = out else { return beside::usual_out(&folder) };
    let name = |folder: &Path| folder.file_name().map(|name| out.join(name));
    // `.` has no name of its own.
    name(&folder)
        .or_else(|| folder.canonicalize().ok().as_deref().and_then(name))
        .unwrap_or_else(|| beside::usual_out(&folder))
}

/// Refuses houses that would be built into one folder.
fn apart(found: &[PathBuf], out: &impl Fn(&Path) -> PathBuf) -> Result<(), CliError> {
    let mut outs: BTreeMap<PathBuf, &Path> = BTreeMap::new();
    for house in found {
        let folder = out(house);
        if let Some(other) = outs.insert(folder.clone(), house) {
            return Err(CliError::refused(
                format!(
                    "`{}` and `{}` would both be built into `{}`",
                    other.display(),
                    house.display(),
                    folder.display()
                ),
                "build one after the other, each with an `--out` of its own, or rename one of the folders",
            ));
        }
    }
    Ok(())
}

/// What a build has to say: beside the result, and as the result.
#[derive(Default)]
struct Told {
    /// The findings for a program. They are then the result, and all else is said beside them.
    document: Option<String>,
    /// Of the ledger.
    doubts: Vec<Doubt>,
    beside: Vec<String>,
    result: String,
    outcome: Outcome,
    /// Whether a build is in place.
    in_place: bool,
}

impl Told {
    /// Of one house among several: as text all of it stands below the house's name, so that neither stream leaves it open whose
    /// a finding is.
    fn tell_of_one(self, is_text: bool, terminal: &mut Terminal) -> Result<Outcome, CliError> {
        if is_text {
            for text in &self.beside {
                say(text, is_text, terminal)?;
            }
            return Self { beside: Vec::new(), ..self }.tell(terminal);
        }
        self.tell(terminal)
    }

    fn tell(self, terminal: &mut Terminal) -> Result<Outcome, CliError> {
        for Doubt { message, help } in &self.doubts {
            terminal.warn(message, help);
        }
        for text in &self.beside {
            terminal.show(text);
        }
        if !self.result.is_empty() {
            say(self.result.trim_end_matches('\n'), self.document.is_none(), terminal)?;
        }
        Ok(self.outcome)
    }
}

/// What stands below the name of a house that an error stopped; the error itself is told beside the result.
const NOT_BUILT: &str = "not built: an error stopped it";
const NOTHING_BUILT: &str = "nothing was built: the last build and the ledger are as they were";

/// The lock of a house. Says that it waits for another build, where it does.
pub(super) fn lock(folder: &Path, terminal: &Terminal) -> Result<Lock, EmitError> {
    match build::lock(folder, Patience::Refuse) {
        Err(EmitError::Busy { .. }) => {
            terminal.clone().say(&format!("waiting for another build of `{}`", folder.display()));
            build::lock(folder, Patience::Wait)
        }
        taken => taken,
    }
}

fn one(
    house: &Path,
    out: &Path,
    args: &Build,
    shared: &Shared,
    terminal: &Terminal,
) -> Result<(Told, (Inspection, Option<Ledger>)), CliError> {
    let folder = folder_of(house);
    if out.canonicalize().is_ok_and(|out| folder.canonicalize().is_ok_and(|folder| folder == out)) {
        return Err(CliError::refused(
            format!("`{}` is the house's own folder", out.display()),
            "a build takes the place of the whole folder: give another one with `--out`, or none",
        ));
    }
    let _lock = lock(&folder, terminal)?;
    let inspection = load::inspect(house, shared)?;
    let mut beside = Vec::new();
    let shown = || load::shown(house, &inspection, (args.format, shared), terminal);
    let document = (args.format != FindingsForm::Text).then(shown);
    if document.is_none() && !inspection.judged.findings.is_empty() {
        beside.push(shown().trim_end().to_owned());
    }
    let stopped = load::stops(&inspection.judged.summary, args.strict);
    let Some(checked) = inspection.judged.checked.as_ref().filter(|_| !stopped) else {
        beside.push(NOTHING_BUILT.to_owned());
        let outcome = load::outcome(true, inspection.judged.lacks_a_file());
        let doubts = beside::doubt_of_lost_ledger(&inspection, &folder, out).into_iter().collect();
        let told = Told { document, doubts, beside, outcome, ..Told::default() };
        return Ok((told, (inspection, None)));
    };
    let accepted = accepted(&args.gate, shared)?;
    let order =
        Order { house: &folder, out, stop_at: args.gate.stop_at.map(consequence), accepted: &accepted };
    let mut built = build::build(&inspection, checked, &order)?;
    let doubts = std::mem::take(&mut built.doubts);
    let first = format!("first build: {} in `{}`\n", inspection.judged.summary.size(), out.display());
    let told =
        of_build(&built, Told { document, beside, doubts, ..Told::default() }, &accepted, &first, terminal);
    Ok((told, (inspection, Some(built.ledger))))
}

/// What there is to say of a build. `first` says of one that nothing was there before it.
fn of_build(built: &Built, mut told: Told, accepted: &AcceptList, first: &str, terminal: &Terminal) -> Told {
    told.in_place = built.outcome.is_some();
    for judged in &built.judged {
        told.beside.extend(gate_words(&judged.review, &judged.gate, accepted));
    }
    let is_over_another = built.judged.iter().any(|judged| judged.against == Against::LastBuild);
    let detail = if built.outcome.is_some() { Detail::Brief } else { Detail::Usual };
    match &built.outcome {
        None => told.beside.push(NOTHING_BUILT.to_owned()),
        Some(outcome) if !outcome.changed => {
            told.result = "no change\n".to_owned();
            return told;
        }
        Some(_) if !is_over_another => told.result = first.to_owned(),
        Some(_) => {}
    }
    for judged in built.judged.iter().filter(|judged| {
        // A ledger that nothing was lost from, or added to, has nothing to add.
        judged.against == Against::LastBuild || !judged.review.is_empty()
    }) {
        if judged.against == Against::Ledger {
            told.result.push_str(AGAINST_LEDGER);
        }
        told.result.push_str(&gate::told(&judged.review, detail, terminal));
    }
    if built.outcome.is_none() {
        let incomplete = built.judged.iter().any(|judged| judged.gate.incomplete);
        told.outcome = if incomplete { Outcome::Unread } else { Outcome::Stopped };
    }
    told
}

const AGAINST_LEDGER: &str = "\
against `ledger.yaml` alone, for no last build can be read: only keys, bridges and
device types were compared
";

impl From<BuildError> for CliError {
    fn from(error: BuildError) -> Self {
        match error {
            BuildError::Emit(error) => Self::Emit(error),
            BuildError::Exhausted(_) | BuildError::LedgerLost { .. } | BuildError::LastUnread { .. } => {
                Self::refused(error.to_string(), error.help())
            }
        }
    }
}
