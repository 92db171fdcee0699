//! `ledger merge` and `ledger resolve`: the ledgers of two branches brought together, by git or after it.
//! `ledger rename`: a rename that the description told too late.

use super::args::{BuiltSide, LedgerCommand, LedgerMerge, LedgerRename, LedgerResolve, Shared};
use super::error::CliError;
use super::load::{self, limits};
use super::terminal::Terminal;
use super::{Outcome, houses};
use crate::bridge::identifying;
use crate::findings::nearest;
use crate::ledger::{
    Built, Change, DeviceTypes, FILE_NAME, Identity, Keeps, MergeTextError, MergedText, UniqueId,
    merge_texts, resolve_text, sound_ledger, unmerged_sides,
};
use crate::resolve::Plan;
use crate::review::read_bridge_json;
use crate::runs::{beside, history, unshown};
use crate::source::{Limits, read_single};
use crate::{emit, ledger};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Merges, and says what gave way.
pub(super) fn run(
    command: &LedgerCommand,
    shared: &Shared,
    terminal: &mut Terminal,
) -> Result<Outcome, CliError> {
    match command {
        LedgerCommand::Merge(args) => merge(args, &limits(shared), terminal),
        LedgerCommand::Resolve(args) => resolve(args, &limits(shared), terminal),
        LedgerCommand::Rename(args) => rename(args, shared, terminal),
    }
}

fn merge(args: &LedgerMerge, limits: &Limits, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    let read = |path| read(path, limits);
    let (base, ours, theirs) = (read(&args.base)?, read(&args.ours)?, read(&args.theirs)?);
    let merged = merge_texts(&base, &ours, &theirs, built(args.built)).map_err(refused)?;
    let done = put(&args.ours, &merged, terminal);
    if merged.changes.iter().any(|change| matches!(change, Change::Renumbered { .. })) {
        terminal.say(match args.built {
            BuiltSide::Ours => {
                "both branches gave these numbers, and the branch that is merged gave way. If the gateways have what that branch \
                 gave, undo this merge and merge again with `--built theirs`"
            }
            BuiltSide::Theirs => "both branches gave these numbers, and the branch that is merged into gave way",
        });
    }
    done
}

fn resolve(args: &LedgerResolve, limits: &Limits, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    let folder = houses::folder_of_one(&args.house)?;
    let _lock = super::build::lock(&folder, terminal)?;
    let path = ledger_of(&folder, "resolve")?;
    let text = read(&path, limits)?;
    let out = args.out.clone().unwrap_or_else(|| beside::usual_out(&folder));
    // A folder that is named must be there.
    let last = if out.exists() || args.out.is_some() { Some(last_build(&out)?) } else { None };
    let is_one_text = unmerged_sides(&text).is_none() && !text.contains("<<<<<<<");
    if is_one_text && args.built.is_some() {
        return Err(CliError::refused(
            "`--built` chooses between the lines that git left of two branches, and here it has merged them",
            "leave it out: the build in the output folder says who keeps a number, or `--out` names it",
        ));
    }
    if !args.keep.is_empty() && (last.is_some() || !is_one_text) {
        let decides =
            if is_one_text { format!("the build in `{}`", out.display()) } else { "`--built`".to_owned() };
        return Err(CliError::refused(
            format!("{decides} says who keeps a number, so `--keep` cannot"),
            "leave out `--keep`; if the gateways have another build, name its folder with `--out`",
        ));
    }
    let keeps = last.as_ref().map_or(Keeps::Keys(&args.keep), Keeps::Built);
    let side = built(args.built.unwrap_or(BuiltSide::Ours));
    // While a merge is not finished git has the ledgers themselves; the lines that it left are some of each.
    let versions = if is_one_text { None } else { history::unmerged(&folder, FILE_NAME) };
    let merged = match versions {
        Some([base, ours, theirs]) => merge_texts(&base, &ours, &theirs, side),
        None => resolve_text(&text, side, keeps),
    };
    let merged = merged.map_err(refused)?;
    if merged.text == text {
        terminal.say(&format!("`{}` is in order: there is nothing to resolve", path.display()));
        return Ok(Outcome::Done);
    }
    let done = put(&path, &merged, terminal)?;
    if is_one_text && last.is_some() && !merged.changes.is_empty() {
        terminal.say(&format!(
            "the build in `{}` said who keeps a number. If the gateways have another build, take the merged `{FILE_NAME}` back \
             (`git checkout -- {FILE_NAME}`) and name the folder of theirs with `--out`",
            out.display()
        ));
    }
    Ok(done)
}

fn rename(args: &LedgerRename, shared: &Shared, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    let folder = houses::folder_of_one(&args.house)?;
    let _lock = super::build::lock(&folder, terminal)?;
    let path = ledger_of(&folder, "rename")?;
    let ledger = sound_ledger(&read(&path, &limits(shared))?).map_err(refused)?;
    let inspection = load::inspect(&args.house, shared)?;
    let Some(checked) = &inspection.judged.checked else {
        return Err(CliError::refused(
            format!("the house has errors, so it is not known what `{}` is", args.new),
            "run `housewright check`, mend them, and try again",
        ));
    };
    let (bridge, types) = described(&args.new, checked.plan())?;
    let fits = |it: &Identity| *it.bridge == *bridge && types.contains(&it.device_types);
    let renamed = ledger
        .rename(&args.old, &args.new, fits)
        .map_err(|error| CliError::refused(error.to_string(), error.help()))?;
    emit::replace_file(&path, ledger::write(&renamed).as_bytes())?;
    let what = if args.old == args.new {
        format!("`{}` has again what it had before", args.new)
    } else {
        format!("`{}` has what `{}` had", args.new, args.old)
    };
    terminal.say(&format!("{what}. Next: `housewright build {}`", houses::as_word(&args.house)));
    Ok(Outcome::Done)
}

/// The bridge of the appliance with that key, and the device types of its parts.
fn described<'a>(key: &str, plan: &'a Plan) -> Result<(&'a str, Vec<DeviceTypes>), CliError> {
    let Some(appliance) = plan.appliances.iter().find(|appliance| appliance.key.value == key) else {
        let keys = plan.appliances.iter().map(|appliance| appliance.key.value.as_str());
        let help = match nearest(key, keys) {
            Some(right) => format!("did you mean `{right}`?"),
            None => "give the key that the appliance has in the description now".to_owned(),
        };
        return Err(CliError::refused(format!("the house has no appliance `{key}`"), help));
    };
    let bridge = plan.bridges.get(appliance.bridge).map_or("", |bridge| bridge.key.value.as_str());
    let parts = appliance.shape().into_iter().flat_map(|shape| &shape.parts);
    let types = parts.map(|part| identifying(part.device_types.iter().map(|it| it.id)));
    Ok((bridge, types.collect()))
}

/// Bridge and number of each unique id in the build in a folder, and of those that it keeps for what is not shown.
fn last_build(out: &Path) -> Result<BTreeMap<UniqueId, (String, u16)>, CliError> {
    let mut endpoints = BTreeMap::new();
    for (name, bytes) in emit::read_definitions(out)? {
        let definition = read_bridge_json(&bytes).map_err(|error| {
            CliError::refused(
                format!("cannot read `{}`: {error}", out.join(name).display()),
                "name the folder of the last build with `--out`",
            )
        })?;
        let place = |number| (definition.bridge.key.clone(), number);
        let its = definition.endpoints.iter();
        endpoints.extend(its.filter_map(|it| Some((UniqueId::parse(&it.unique_id)?, place(it.number)))));
    }
    let hidden = emit::believed(out, Limits::default().file_bytes).unshown.unwrap_or_default();
    let kept =
        unshown::identities(&hidden).map(|(_, it)| (it.unique_id, (it.bridge.to_string(), it.number.get())));
    endpoints.extend(kept);
    Ok(endpoints)
}

/// The ledger of a house, where a build has made one: `doing` is what for.
fn ledger_of(folder: &Path, doing: &str) -> Result<PathBuf, CliError> {
    let path = folder.join(FILE_NAME);
    if path.exists() {
        return Ok(path);
    }
    Err(CliError::refused(
        format!("there is no `{}`: nothing was built yet, so there is nothing to {doing}", path.display()),
        "if the house was built before, take its ledger back from version control",
    ))
}

fn put(path: &Path, merged: &MergedText, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    emit::replace_file(path, merged.text.as_bytes())?;
    for change in &merged.changes {
        terminal.say(&change.to_string());
    }
    Ok(Outcome::Done)
}

fn built(side: BuiltSide) -> Built {
    match side {
        BuiltSide::Ours => Built::Ours,
        BuiltSide::Theirs => Built::Theirs,
    }
}

fn read(path: &Path, limits: &Limits) -> Result<String, CliError> {
    let cannot = |why: String| {
        CliError::refused(format!("cannot read `{}`: {why}", path.display()), "give the file of a ledger")
    };
    let bytes = read_single(path, limits).map_err(|cause| cannot(cause.to_string()))?;
    String::from_utf8(bytes).map_err(|_| cannot("it is no text".to_owned()))
}

fn refused(error: MergeTextError) -> CliError {
    let help = error.help();
    CliError::refused(error.to_string(), help)
}
