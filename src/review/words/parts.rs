//! Words for endpoints that an appliance has more or less than it had.

use super::endpoints::Endpoints;
use super::together::phrases;
use super::{Telling, capital, summary};
use crate::ledger::TOP_PART;
use crate::review::change::Change;

/// An appliance that has endpoints more or less than it had.
pub(super) fn told(name: &str, change: &Change, endpoints: &Endpoints) -> Telling {
    // The first part has no name in its key.
    let first = endpoints.old.iter().filter(|(_, one)| !one.key.contains('/'));
    let first = first.map(|(_, one)| format!("no longer has the endpoint {} (`{TOP_PART}`)", one.number));
    let mut phrases: Vec<String> = first.chain(phrases(change)).collect();
    let (headline, mut details) = match phrases.as_slice() {
        [_] => (format!("{name} {}", phrases.remove(0)), Vec::new()),
        _ => (
            format!("{name} {}", summary(change.kind)),
            phrases.iter().map(|phrase| capital(phrase)).collect(),
        ),
    };
    details.extend(endpoints.both());
    details.extend(endpoints.cautions());
    Telling { headline, details }
}
