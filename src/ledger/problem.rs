//! What can be wrong with a ledger, as facts with places; the words are in the rules.

use super::identity::UniqueId;
use crate::source::Place;

/// Something wrong with the ledger file. With any of them nothing may be built.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Problem {
    /// A line that a git merge left behind (`<<<<<<<`, `|||||||`, `=======`, `>>>>>>>`): the branches were never brought together.
    Unmerged {
        /// The marker's line.
        place: Place,
    },
    /// The file does not say that it is a ledger: its `housewright-ledger` key is missing.
    NoVersion {
        /// The start of the file.
        place: Place,
    },
    /// The format's version is none that this program reads.
    UnknownVersion {
        /// The version.
        place: Place,
        /// As written.
        found: String,
    },
    /// The ledger of another house: its unique ids would be given a second time.
    OtherHouse {
        /// The house's id in the ledger.
        place: Place,
        /// The id in the ledger.
        found: String,
        /// The keys of the appliances that live in it.
        keys: Vec<String>,
    },
    /// The `house` key is missing.
    NoHouse {
        /// The start of the file.
        place: Place,
    },
    /// It is no longer YAML as it is written: a tab, a line that was moved, bytes that are no text.
    Garbled {
        /// Where the reader stumbled.
        place: Place,
    },
    /// A key stands there twice, as a merge of lines leaves it; only one of the two would count.
    KeyTwice {
        /// The later one.
        place: Place,
        /// The earlier one.
        first: Place,
        /// As written.
        key: String,
    },
    /// A key that a ledger does not have.
    UnknownKey {
        /// The key.
        place: Place,
        /// As written.
        key: String,
    },
    /// Something else than was expected there: text instead of a mapping, a list instead of text.
    WrongShape {
        /// The value.
        place: Place,
        /// What belongs there.
        expected: &'static str,
    },
    /// A line that is not bridge, number, device types and unique id.
    Malformed {
        /// The value.
        place: Place,
        /// As written.
        text: String,
    },
    /// An endpoint number that no bridged endpoint can have (2 to 65534).
    OutOfRange {
        /// The line's value.
        place: Place,
        /// The number as written.
        number: String,
    },
    /// A bridge gave a number twice: two branches took the same one.
    SameNumber {
        /// The later line of the file.
        place: Place,
        /// The earlier one.
        first: Place,
        /// Key of the bridge.
        bridge: String,
        /// The number.
        number: u16,
    },
    /// A unique id stands for two endpoints.
    SameUniqueId {
        /// The later line of the file.
        place: Place,
        /// The earlier one.
        first: Place,
        /// The id.
        unique_id: UniqueId,
    },
    /// An identity is in use and retired at once.
    LivingAndRetired {
        /// The line below `retired`.
        place: Place,
        /// The line below `appliances`.
        first: Place,
        /// Its unique id.
        unique_id: UniqueId,
    },
}

impl Problem {
    /// Where the fault shows.
    pub fn place(&self) -> Place {
        match self {
            Self::Unmerged { place }
            | Self::NoVersion { place }
            | Self::UnknownVersion { place, .. }
            | Self::OtherHouse { place, .. }
            | Self::NoHouse { place }
            | Self::Garbled { place }
            | Self::KeyTwice { place, .. }
            | Self::UnknownKey { place, .. }
            | Self::WrongShape { place, .. }
            | Self::Malformed { place, .. }
            | Self::OutOfRange { place, .. }
            | Self::SameNumber { place, .. }
            | Self::SameUniqueId { place, .. }
            | Self::LivingAndRetired { place, .. } => *place,
        }
    }
}
