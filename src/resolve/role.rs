//! What an address is for: the end of a point that it is wired to.

use crate::classes::End;

/// What a wire is for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// The point is written through it.
    #[default]
    Command,
    /// The point's status is learned from it.
    Feedback,
    /// It also moves the point: a central or group function.
    Listens,
}

impl Role {
    /// The key in the description.
    pub fn word(self) -> &'static str {
        match self {
            Self::Command => "command",
            Self::Feedback => "feedback",
            Self::Listens => "listens",
        }
    }

    /// What people call such an address: "the command of `switching`".
    pub fn noun(self) -> &'static str {
        match self {
            Self::Listens => "further address",
            Self::Command | Self::Feedback => self.word(),
        }
    }

    /// The class's word for it.
    pub fn end(self) -> End {
        match self {
            Self::Command => End::Command,
            Self::Feedback => End::Feedback,
            Self::Listens => End::Listens,
        }
    }
}
