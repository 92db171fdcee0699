//! The ledger: which endpoint number and unique id each appliance has, for ever.
//!
//! In goes the text of `ledger.yaml` and, later, the list of checked appliances; out come the [`Ledger`], the
//! identities of the appliances, the next ledger and its text. What is wrong with a ledger is a [`Problem`].
//!
//! The module is pure: it reads and writes no file, knows nothing of rooms, points or clusters, and takes from
//! Matter only that endpoint numbers are 16 bits and a `UniqueID` is at most 32 bytes.
//!
//! What always holds:
//!
//! - A number that a bridge once gave to an appliance is never given to another one.
//! - A unique id stands for one appliance in the whole house, and for no other one ever.
//! - Both stay the same as long as the appliance's key lives, on the same bridge and with the same device types.
//! - The same ledger and the same appliances, in whatever order, give the same identities and the same bytes.

mod allocate;
mod driver;
mod entries;
mod format;
mod identity;
mod merge;
mod problem;
mod read;
mod remember;
mod resolve;
mod schema;
mod three_way;
mod unmerged;

pub use allocate::{Allocation, Applicant, Exhausted, Given, Part, allocate};
pub use driver::{MergeTextError, MergedText, Version, merge_texts, resolve_text, sound_ledger};
pub use entries::{Ledger, Owner, RenameError};
pub use format::{FILE_NAME, VERSION, write};
pub use identity::{DeviceTypes, EndpointNumber, Identity, UniqueId};
pub use merge::{Built, Change, MergeError, Merged, merge};
pub use problem::Problem;
pub use read::read;
pub use remember::{Remembered, TOP_PART, UNKNOWN};
pub use resolve::{Keeps, resolve};
pub use schema::schema;
pub use unmerged::{Sides, unmerged_sides};
