//! A finding: one thing the checks have to say, as data.

use super::Edit;
use crate::source::Place;

/// How much a finding weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Worth a look.
    Note,
    /// Very probably it does not work as meant.
    Warning,
    /// It cannot work, or it can do harm. Nothing is built.
    Error,
}

impl Severity {
    /// The word for it, the same in every output.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Warning => "warning",
            Self::Error => "error",
        }
    }
}

/// A place and the few words that stand beside it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// Where it points.
    pub place: Place,
    /// Short, because it points; may be empty.
    pub text: String,
}

/// One thing the checks have to say. It cannot be made without a primary place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// The rule's name, as written after `allow:`.
    pub rule: &'static str,
    /// How much it weighs.
    pub severity: Severity,
    /// Stands alone: what is wrong, with the house's own names, lower case, no full stop.
    pub message: String,
    /// Where the fault shows: the smallest span.
    pub primary: Label,
    /// The other half of a conflict, perhaps in another file.
    pub related: Vec<Label>,
    /// Further places of the same fault, of which there may be thousands: told where a list of them is of use.
    pub others: Vec<Place>,
    /// What it is concluded from, where that is not plain from the places: counted habits of the house.
    pub evidence: Option<String>,
    /// What happens on site.
    pub on_site: Option<String>,
    /// What to write instead: the text itself.
    pub help: Option<String>,
    /// The key of the appliance it is about, if it is about one.
    pub appliance: Option<String>,
    /// The key of the room it is about, if it is about one.
    pub room: Option<String>,
    /// A correction, when the right text is known.
    pub edit: Option<Edit>,
}
