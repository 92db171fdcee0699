//! What git shows of a ledger or a bridge JSON: as an external diff program, and as a filter that makes lines of it.
//!
//! In: the bytes of a file, or of its two versions. Out: text. What cannot be read is said to be so, and is then shown as
//! the lines it has, so that git never shows nothing about a file that differs.

use crate::bridge::definition::BridgeDefinition;
use crate::findings::{Around, unified};
use crate::ledger::{FILE_NAME, Identity, Ledger, sound_ledger, unmerged_sides};
use crate::review::forms::{self, TextOptions};
use crate::review::{self, Build, LedgerReview, Names, read_bridge_json, review_ledgers};
use std::fmt::Write as _;

/// Two versions of a file, as git hands them to an external diff program.
#[derive(Clone, Copy, Debug)]
pub struct Versions<'a> {
    /// The old path in the repository.
    pub old_path: &'a str,
    /// What it held; `None` for a new file.
    pub old: Option<&'a [u8]>,
    /// The new path in the repository.
    pub new_path: &'a str,
    /// What it holds; `None` for a file that is gone.
    pub new: Option<&'a [u8]>,
}

/// What a version of a file is.
enum Content {
    Bridge(Box<BridgeDefinition>),
    Ledger(Ledger),
    /// It cannot be read; why, and what to do.
    Unread(String, String),
}

/// The file in lines, one fact a line and those of one endpoint number together, for git to compare; the text as it is
/// where it is neither a sound ledger nor a sound bridge JSON.
pub fn lines(bytes: &[u8]) -> String {
    match content(bytes) {
        Content::Bridge(definition) => forms::listing(&definition),
        Content::Ledger(ledger) => forms::ledger_listing(&ledger),
        Content::Unread(..) => String::from_utf8_lossy(bytes).into_owned(),
    }
}

/// What changed between the two versions, for a person.
pub fn difference(versions: &Versions<'_>, options: &TextOptions) -> String {
    let name = |path: &str, side: &str, there: bool| {
        if there { format!("{side}/{path}") } else { "/dev/null".to_owned() }
    };
    let old = name(versions.old_path, "a", versions.old.is_some());
    let new = name(versions.new_path, "b", versions.new.is_some());
    let mut out = format!("--- {old}\n+++ {new}\n");
    match (versions.old.map(content), versions.new.map(content)) {
        (Some(Content::Ledger(before)), Some(Content::Ledger(after))) => {
            out.push_str(&told(&review_ledgers(&before, &after, &Names::default()), options));
        }
        (None, Some(Content::Ledger(after))) => {
            let before = Ledger::new(after.house());
            out.push_str(&told(&review_ledgers(&before, &after, &Names::default()), options));
        }
        (Some(Content::Ledger(before)), None) => {
            let _ = writeln!(
                out,
                "the ledger is gone: the next build gives all endpoint numbers anew, and {} appliances leave the family's \
                 rooms and automations",
                before.appliances()
            );
        }
        (old @ (Some(Content::Bridge(_)) | None), new @ (Some(Content::Bridge(_)) | None)) => {
            let (old, new) = (definitions(old), definitions(new));
            let review = review::review(&Build::of(&old), &Build::of(&new));
            out.push_str(&forms::text(&review, options));
        }
        (old, new) => {
            for (side, content) in [("old", old), ("new", new)] {
                if let Some(Content::Unread(why, help)) = content {
                    let _ = writeln!(out, "the {side} version cannot be compared: {why}; {help}");
                }
            }
            raw(versions, &mut out);
        }
    }
    out
}

fn definitions(content: Option<Content>) -> Vec<BridgeDefinition> {
    match content {
        Some(Content::Bridge(definition)) => vec![*definition],
        Some(Content::Ledger(_) | Content::Unread(..)) | None => Vec::new(),
    }
}

fn content(bytes: &[u8]) -> Content {
    let text = String::from_utf8_lossy(bytes);
    if !text.trim_start_matches('\u{feff}').trim_start().starts_with('{') {
        return match sound_ledger(&text) {
            Ok(ledger) => Content::Ledger(ledger),
            Err(error) if unmerged_sides(&text).is_some() => {
                let help = "`housewright ledger resolve` brings what both branches left into order";
                Content::Unread(error.to_string(), help.to_owned())
            }
            Err(error) => Content::Unread(error.to_string(), error.help().to_owned()),
        };
    }
    match read_bridge_json(bytes) {
        Ok(definition) => Content::Bridge(Box::new(definition)),
        Err(error) => Content::Unread(error.to_string(), error.help().to_owned()),
    }
}

fn told(ledgers: &LedgerReview, options: &TextOptions) -> String {
    let mut out = forms::text(&ledgers.review, options);
    let ledgers = &ledgers.forgotten;
    if !ledgers.forgotten.is_empty() {
        out.push_str("\nforgotten: what was given once, and a ledger is to remember for ever\n\n");
    }
    for (key, part, identity) in &ledgers.forgotten {
        let _ = writeln!(out, "    endpoint {} of `{}`, `{key}` ({part})", identity.number, identity.bridge);
    }
    if !ledgers.forgotten.is_empty() {
        let _ = writeln!(
            out,
            "      help: take their lines in `{FILE_NAME}` back: nothing is ever taken out of it"
        );
    }
    if !ledgers.given_again.is_empty() {
        out.push_str("\ngiven again: numbers that were retired, and that another appliance has now\n\n");
        for (key, part, identity, holder) in &ledgers.given_again {
            let Identity { number, bridge, .. } = identity;
            let _ = writeln!(out, "    endpoint {number} of `{bridge}`, `{key}` ({part}), now of `{holder}`");
        }
        out.push_str(
            "      help: leave it where a merge of two branches did it; else take `ledger.yaml` back, and build again\n",
        );
    }
    out
}

/// The difference of the two texts, line by line.
fn raw(versions: &Versions<'_>, out: &mut String) {
    let text = |bytes: Option<&[u8]>| String::from_utf8_lossy(bytes.unwrap_or_default()).into_owned();
    let (old, new) = (text(versions.old), text(versions.new));
    out.push_str(&unified(&old, &new, Around::default()));
}
