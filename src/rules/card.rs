//! What every rule says about itself.

use crate::findings::Severity;

/// What a rule is about. Families are for reading lists; they silence nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Family {
    /// Files, keys, names and references in the description.
    Writing,
    /// Group addresses.
    Address,
    /// Datapoint types.
    DatapointType,
    /// Where the status comes from, and the flags it needs.
    Feedback,
    /// Two appliances or points whose wires are exchanged or shared.
    CrossWiring,
    /// What breaks a habit that the rest of the house keeps.
    Habit,
    /// Ranges, limits, directions, times.
    Behaviour,
    /// What the family sees and says.
    Naming,
    /// Bridges, endpoint numbers, the ledger.
    Identity,
    /// What can hurt someone.
    Safety,
    /// The address table itself.
    Table,
    /// Device classes of the house's own.
    Class,
}

impl Family {
    /// All families, in the order of listings.
    pub const ALL: [Self; 12] = [
        Self::Writing,
        Self::Address,
        Self::DatapointType,
        Self::Feedback,
        Self::CrossWiring,
        Self::Habit,
        Self::Behaviour,
        Self::Naming,
        Self::Identity,
        Self::Safety,
        Self::Table,
        Self::Class,
    ];

    /// The word in listings.
    pub fn word(self) -> &'static str {
        match self {
            Self::Writing => "writing",
            Self::Address => "address",
            Self::DatapointType => "datapoint type",
            Self::Feedback => "feedback",
            Self::CrossWiring => "cross-wiring",
            Self::Habit => "habit",
            Self::Behaviour => "behaviour",
            Self::Naming => "naming",
            Self::Identity => "identity",
            Self::Safety => "safety",
            Self::Table => "table",
            Self::Class => "class",
        }
    }

    /// The folder of its rules under `src/rules`.
    pub fn folder(self) -> &'static str {
        match self {
            Self::DatapointType => "datapoint_type",
            Self::CrossWiring => "cross_wiring",
            Self::Writing
            | Self::Address
            | Self::Feedback
            | Self::Habit
            | Self::Behaviour
            | Self::Naming
            | Self::Identity
            | Self::Safety
            | Self::Table
            | Self::Class => self.word(),
        }
    }
}

/// Where a rule comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// A section of a published standard.
    Standard(&'static str),
    /// A fact of the trade without a published source.
    CommonPractice,
    /// A promise or a format of this program.
    Format,
}

impl std::fmt::Display for Source {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Standard(section) => f.write_str(section),
            Self::CommonPractice => f.write_str("common practice"),
            Self::Format => f.write_str("the format of house descriptions"),
        }
    }
}

/// What the examples of a card stand in, so that they can be short and still be run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Frame {
    /// The example is the `points:` of one appliance of this class.
    Points {
        /// The class.
        class: &'static str,
    },
    /// The example is the `appliances:` of one room.
    Appliances,
    /// The example is the `rooms:` of a house.
    Rooms,
    /// The example is the root file, whole.
    Root,
    /// The example is several files, each after a line `--- path`.
    Files,
}

/// What a rule says about itself: the explanation, the docs page, the SARIF table and the tests are made from it.
#[derive(Clone, Copy, Debug)]
pub struct Card {
    /// States the fault and reads well after "allow". Never used again for another rule.
    pub name: &'static str,
    /// What it is about.
    pub family: Family,
    /// How much its findings usually weigh.
    pub severity: Severity,
    /// How much they weigh otherwise, and where.
    pub otherwise: &'static [(Severity, &'static str)],
    /// The fault in half a sentence.
    pub summary: &'static str,
    /// What happens on site if it is ignored.
    pub on_site: &'static str,
    /// What to do.
    pub remedy: &'static str,
    /// Where it comes from.
    pub source: Source,
    /// What the examples stand in.
    pub frame: Frame,
    /// An example with the fault. A comment line of `^` under a line marks the place that must be found.
    pub bad: &'static str,
    /// The example without the fault.
    pub good: &'static str,
    /// Rules whose findings at the same place only follow from this one, and are left out.
    pub folds: &'static [&'static str],
}

impl Card {
    /// All that its findings may weigh, the usual first.
    pub fn severities(&self) -> impl Iterator<Item = Severity> {
        std::iter::once(self.severity).chain(self.otherwise.iter().map(|(severity, _)| *severity))
    }
}
