//! A correction of the user's text: a place and what to put there.

use super::Addition;
use crate::source::Place;

/// Whether a correction can be made without a person looking.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Certainty {
    /// The text can only have been meant so.
    Sure,
    /// Probably right; a person decides.
    ToBeLookedAt,
}

/// A correction. It touches no other byte.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Edit {
    /// How sure it is.
    pub certainty: Certainty,
    /// Each replacement: the bytes to take away (empty for an insertion) and the text to put there.
    pub replacements: Vec<(Place, String)>,
    /// What is to be written besides, until the texts are at hand: a rule sees none.
    pub additions: Vec<Addition>,
}
