//! What can be wrong with a description before anything in it is looked up. Facts only; `rules` puts them into words.

use crate::source::Place;

/// One thing wrong with the description as written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// Where.
    pub place: Place,
    /// What.
    pub kind: ProblemKind,
}

/// What can be keyed in a description.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Keyed {
    /// The house, by its id.
    House,
    /// A bus.
    Bus,
    /// A bridge.
    Bridge,
    /// A room.
    Room,
    /// An appliance.
    Appliance,
}

impl Keyed {
    /// The word for people.
    pub fn word(self) -> &'static str {
        match self {
            Self::House => "house",
            Self::Bus => "bus",
            Self::Bridge => "bridge",
            Self::Room => "room",
            Self::Appliance => "appliance",
        }
    }
}

/// What is wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ProblemKind {
    /// The root file does not say which version of the format it is in.
    NoVersion,
    /// A version that this program does not know.
    UnknownVersion {
        /// As written.
        text: String,
    },
    /// `housewright` or `house` in an included file.
    OnlyInRoot {
        /// The key.
        key: &'static str,
    },
    /// The root file does not describe the house, or not all of it.
    MissingInHouse {
        /// The key that is missing, under `house`; `house` itself where all is missing.
        key: &'static str,
    },
    /// Something has no key that this program can keep for ever.
    UnfitKey {
        /// What.
        what: Keyed,
        /// As written.
        text: String,
    },
    /// Two things of a kind with one key, in one file or in two.
    KeyTwice {
        /// What.
        what: Keyed,
        /// As written.
        text: String,
        /// Where it stood first.
        first: Place,
    },
    /// Something without a name for the family.
    NoName {
        /// What.
        what: Keyed,
        /// Its key.
        key: String,
    },
    /// An appliance without a class.
    NoClass {
        /// Its key.
        key: String,
        /// Its name; empty where it has none.
        name: String,
        /// The names of its points.
        points: Vec<String>,
    },
    /// A silenced rule without a reason.
    NoReason {
        /// The rule's name as written.
        rule: String,
    },
    /// A bridge without a capacity.
    NoCapacity {
        /// Its key.
        key: String,
    },
    /// A name or free text that ends at a `#` where more of it seems to be meant.
    CutShort {
        /// The text.
        text: String,
        /// The text as it seems to be meant, from the same place on.
        whole: String,
        /// The key of the room that it is about.
        room: Option<String>,
        /// The key of the appliance that it is about.
        appliance: Option<String>,
    },
}

impl Problem {
    /// The key that is missing, where one is.
    pub fn missing_key(&self) -> Option<&'static str> {
        match &self.kind {
            ProblemKind::MissingInHouse { key } => Some(key),
            ProblemKind::NoName { .. } => Some("name"),
            ProblemKind::NoClass { .. } => Some("class"),
            ProblemKind::NoCapacity { .. } => Some("capacity"),
            ProblemKind::NoVersion
            | ProblemKind::UnknownVersion { .. }
            | ProblemKind::OnlyInRoot { .. }
            | ProblemKind::UnfitKey { .. }
            | ProblemKind::KeyTwice { .. }
            | ProblemKind::NoReason { .. }
            | ProblemKind::CutShort { .. } => None,
        }
    }
}
