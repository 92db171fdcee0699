//! The proof of a conversion: what each way loses, found by running it on every value there is.
//!
//! In: a datapoint type behind [`BusSide`], the attributes it shows as, the chains both ways. Out: a [`Proof`], which
//! says what each side can reach of the other, what collides, what is cut off and how far a value is from itself after
//! both ways, in the unit a person thinks in. [`Proof::noticeable`] picks what a person would notice.
//!
//! Every raw value is looked at where a side has 16 bits or fewer; beyond, more than a million values spread over all of
//! it, the same on every machine. Knows nothing of classes or houses.

mod cache;
mod dpt_side;
mod judgement;
mod measure;
mod numbers;
mod sense;
mod side;
mod spread;
mod subject;
mod table;
mod tally;
mod walk;

pub use cache::{Key, ProofCache, known_text};
pub use dpt_side::DptSide;
pub use judgement::{End, Noticeable, Way};
pub use measure::{Collisions, CutOff, Errors, Reach, Refused, RoundTrip, Span, Tally};
pub use sense::{Person, Sense};
pub use side::{AttributeSide, AttributeValues, BusSide};
pub use subject::{Input, Shown, Subject, ToBus};
pub use walk::{Proof, prove};
