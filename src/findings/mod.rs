//! What is said to people about a house, as data, and its output forms.
//!
//! In: findings with places. Out: text for a terminal, JSON and SARIF for programs, Markdown for a merge request, one
//! line each for editors, all in the same order; and corrections, shown as a diff or applied to a text. It knows no
//! rule and prints nothing.

mod addition;
mod bounded;
pub(crate) mod breaking;
pub(crate) mod brief;
mod collection;
mod edit;
mod finding;
pub mod json;
pub mod lines;
pub mod markdown;
pub mod mend;
mod nearest;
pub mod sarif;
pub mod text;
mod unified;
pub(crate) mod visible;

pub use addition::Addition;
pub use collection::{Findings, RuleFacts, Summary};
pub use edit::{Certainty, Edit};
pub use finding::{Finding, Label, Severity};
pub use nearest::{list, nearest, nearest_key, nearest_sorted, some};
pub use unified::{Around, unified};

/// A document of ours as JSON with a line end.
fn pretty(document: &impl serde::Serialize) -> String {
    // Only maps with keys that are no text cannot be written, and our documents have none.
    let mut text = serde_json::to_string_pretty(document).unwrap_or_default();
    text.push('\n');
    text
}
