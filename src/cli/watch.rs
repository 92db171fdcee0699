//! `check --watch`: the findings anew at every save.

use super::args::{Check, Shared};
use super::error::CliError;
use super::terminal::Terminal;
use super::{Outcome, houses, load, memory};
use crate::runs::again::{Last, Look};
use crate::source::{Sources, Watch};
use std::path::Path;
use std::thread::sleep;
use std::time::{Duration, Instant, SystemTime};

/// The shortest time between two looks at the files.
const SHORTEST: Duration = Duration::from_millis(10);
/// A file that never rests is read after so many of these.
const SETTLING: usize = 50;
/// Looking takes at most this part of the time.
const SHARE: u32 = 20;

/// Checks a house and prints the findings, then does so again whenever one of its files was changed, until it is
/// stopped from outside or nobody reads its output any more.
pub(super) fn run(args: &Check, shared: &Shared, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    let found = houses::find(&args.houses)?;
    let [house] = found.as_slice() else {
        return Err(CliError::refused("`--watch` takes one house", "give the one that is being worked on"));
    };
    memory::keep();
    let (mut watch, mut last, seen) = look(house, &Last::default(), (args, shared), terminal)?;
    terminal.print(&last)?;
    let mut before = Last::from(seen);
    terminal.say(&format!("watching `{}`", house.display()));
    while !terminal.closed {
        wait(&watch);
        let (next, text, seen) = match look(house, &before, (args, shared), terminal) {
            Ok((next, text, seen)) => (next, text, Some(seen)),
            // Between two steps of a save there may be no file; it is looked for until it is there again.
            Err(error) => {
                terminal.complain(&error);
                (only_root(house, shared), String::new(), None)
            }
        };
        let files = next.changed_since(&watch);
        watch = next;
        if !files.is_empty() || text != last {
            terminal.say(&said(&files, text == last));
            if text != last {
                terminal.print(&text)?;
            }
            last = text;
        }
        // After the findings: nobody waits for it then.
        before = seen.map_or(before, Last::from);
    }
    Ok(Outcome::Done)
}

/// The house as it is now: what to watch, the findings in the form asked for, and all that they came from.
fn look(
    house: &Path,
    before: &Last,
    (args, shared): (&Check, &Shared),
    terminal: &Terminal,
) -> Result<(Watch, String, Look), CliError> {
    let (begun, limits) = (now(), load::limits(shared));
    let seen = houses::computing(|| before.look(house, &limits))?;
    let watch = Watch::new(house, &seen.inspection.sources, &limits, begun, now());
    let text = load::shown(house, &seen.inspection, (args.format, shared), terminal);
    Ok((watch, text, seen))
}

/// Watches the root file alone, where there is no house to read.
fn only_root(house: &Path, shared: &Shared) -> Watch {
    let now = now();
    Watch::new(house, &Sources::default(), &load::limits(shared), now, now)
}

/// Waits until something has changed and then stays as it is, so that no half of a save is read.
fn wait(watch: &Watch) {
    loop {
        let begun = Instant::now();
        if watch.changed().is_none() {
            sleep(SHORTEST.max(begun.elapsed() * SHARE));
            continue;
        }
        let mut now = watch.anew();
        for _ in 0..SETTLING {
            sleep(SHORTEST);
            if now.changed().is_none() {
                break;
            }
            now = watch.anew();
        }
        return;
    }
}

fn said(files: &[String], same: bool) -> String {
    let what = match files {
        [] => "files came or went".to_owned(),
        [one] => format!("`{one}` changed"),
        [one, more @ ..] => format!("`{one}` and {} more changed", more.len()),
    };
    let outcome = if same { "the same findings" } else { "checked again" };
    format!("\n== {what}: {outcome}")
}

#[allow(clippy::disallowed_methods, reason = "compared with the times of files, and never printed")]
fn now() -> SystemTime {
    SystemTime::now()
}
