//! Two builds in, a review out: every difference of the definitions, and what the family notices of it.
//!
//! In: two [`Build`]s, old and new. Out: a [`Review`], a complete and minimal list of [`Change`]s; it is empty exactly
//! when the definitions are equal (in whatever order their lists stand where order means nothing) and no place is lost that was
//! kept for what is not shown, and [`apply`]
//! turns the old definitions into the new ones with it. Reads no file, knows nothing of house descriptions, and never
//! says that nothing changed about something that could not be read: that is in [`Review::unread`].
//!
//! `compared` says what the two sides are, `outline` is an endpoint as far as it is looked at, `difference` finds and applies single differences, `effect` runs
//! conversions before and after to see what they do to people, `matching` says which appliance is which, `judgement` is the one table of consequences, `words` puts a change into sentences, `forms`
//! writes the review for people and programs.
#![allow(
    clippy::wildcard_enum_match_arm,
    reason = "a place that applies or words a difference names the few kinds that are its own"
)]

mod accept;
mod address;
mod both;
mod build;
mod change;
mod compared;
mod difference;
mod effect;
pub mod forms;
mod gate;
mod judgement;
mod matching;
mod of_ledgers;
mod outline;
mod read;
mod unshown;
mod words;

pub use accept::{
    AcceptEntry, AcceptFault, AcceptList, AcceptProblem, AcceptReading, AcceptSubject, accept_schema,
    read_accept_list,
};
pub use both::read_both;
pub use build::{Build, BuildFile, Size, Unread};
pub use change::{Change, Kind, Member, Remedy, Review, Side, Subject};
pub use compared::{Commit, Compared, Origin, OriginKind};
pub use difference::{
    ApplyError, BridgeField, ClusterField, Difference, EndpointField, LinkField, What, Wire, apply,
    json_patch, same,
};
pub use forms::schema;
pub use gate::{Gate, gate};
pub use judgement::{Consequence, Gateway, Judgement, judgement, judgements};
pub use of_ledgers::{Forgotten, LedgerReview, Names, forgotten, review_ledgers};
pub use outline::Outline;
pub use read::{ReadError, read_bridge_json};
pub use unshown::{KeptPlace, Unshown};

/// Compares two builds.
///
/// Takes time and memory in proportion to the two builds, and to the logarithm of the number of changed appliances.
pub fn review(old: &Build, new: &Build) -> Review {
    matching::review(old, new)
}
