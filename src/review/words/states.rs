//! What one of several wires tells of an attribute that all of them make together.

use super::list;
use super::values;
use crate::bridge::definition::{Joint, Link};
use crate::convert::Value;
use crate::review::effect::shown_by;

/// What nobody learns any more without the wire, to stand after what it did.
pub(super) fn gone(link: &Link) -> Option<String> {
    let (states, are) = states(link)?;
    Some(format!(", so {states} {are} not shown any more where only that told it"))
}

/// What people learn by the wire now, to stand after what it does.
pub(super) fn came(link: &Link) -> Option<String> {
    let (states, are) = states(link)?;
    Some(format!(", so {states} {are} shown now where only that tells it"))
}

/// The states that count when a wire tells them, and the verb for so many. That which counts least is what the others leave when they say nothing.
fn states(link: &Link) -> Option<(String, &'static str)> {
    let attribute = link.attribute.as_deref()?;
    let shown = shown_by(link);
    let mut names: Vec<String> = match link.joint.as_ref()? {
        Joint::Bits => {
            let bits =
                shown.iter().filter_map(|state| values::bits(&link.cluster, attribute, &state.to_json()));
            bits.flatten().map(|name| format!("`{name}`")).collect()
        }
        Joint::FirstOf(order) => {
            let rank = |state: &Value| order.iter().position(|one| state.equals_json(one));
            let least = shown.iter().filter_map(rank).max()?;
            let counting = shown.iter().filter(|state| rank(state).is_some_and(|rank| rank < least));
            counting
                .map(|state| format!("`{}`", values::value(&link.cluster, attribute, &state.to_json())))
                .collect()
        }
    };
    names.dedup();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    (!names.is_empty()).then(|| (list(&names), if names.len() == 1 { "is" } else { "are" }))
}
