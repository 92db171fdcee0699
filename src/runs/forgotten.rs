//! What the ledger of one side of a review knows and that of the other has lost, in words.

use crate::ledger::{FILE_NAME, Identity, Ledger};
use crate::review::{self, Origin, Unread};

/// That the new side's ledger has lost what the old side's has. What a build gives for those numbers, nobody can compare.
pub(crate) fn forgotten(before: &Ledger, after: &Ledger, origin: &Origin) -> Option<Unread> {
    if before.house() != after.house() {
        return None;
    }
    let lost = review::forgotten(before, after);
    let given = origin.given.as_deref().unwrap_or("the old side");
    let has_lost = |key: &str, part: &str, it: &Identity| {
        format!("endpoint {} of `{}`, which `{key}` ({part}) had in `{given}`", it.number, it.bridge)
    };
    let first = lost.given_again.first().map(|(key, part, identity, holder)| {
        let now = format!("is `{holder}` now: its number was given again");
        (has_lost(key, part, identity), now)
    });
    let first = first.or_else(|| {
        let (key, part, identity) = lost.forgotten.first()?;
        // Numbers are given above all that the ledger knows of.
        let is_below =
            after.highest().get(&identity.bridge).is_some_and(|highest| *highest > identity.number);
        let comes = if is_below { "it could not be brought back" } else { "its number could be given again" };
        Some((has_lost(key, part, identity), format!("is forgotten: {comes}")))
    });
    let (what, now) = first?;
    let more = match lost.given_again.len() + lost.forgotten.len() - 1 {
        0 => String::new(),
        more => format!("; and {more} more"),
    };
    let help = match origin.commit.as_ref() {
        Some(_) => {
            format!("take the lines back from `{given}`, then build: nothing is ever taken out of a ledger")
        }
        None => "take the lines back, then build: nothing is ever taken out of a ledger".to_owned(),
    };
    let why = format!("{what}, {now}{more}");
    Some(Unread { name: FILE_NAME.to_owned(), bridge: None, why, help })
}
