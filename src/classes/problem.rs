//! What can be wrong with a class file: facts with places, no prose.

use crate::source::Place;

/// A problem of a class file.
#[derive(Clone, Debug, PartialEq)]
pub enum Problem {
    /// A name that means nothing here.
    Unknown {
        /// Where it stands.
        place: Place,
        /// What kind of thing it should name: `cluster`, `feature`, `attribute` …
        what: &'static str,
        /// The name.
        name: String,
        /// In what it was looked for: the cluster's name for an attribute.
        within: String,
        /// The names that there are.
        known: Vec<String>,
    },
}
