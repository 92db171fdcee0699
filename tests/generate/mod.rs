//! Houses for tests and measurements: as many appliances as wanted, in five styles of giving addresses, in two
//! languages, always the same for the same order, and without a mistake in them.
//!
//! In: an [`Order`]. Out: the texts of a house's files. Knows nothing of the tool: classes and datapoint types stand in
//! a plain list of its own (`trade.rs`), so that a slip in the tool's tables cannot hide itself here.

mod house;
mod names;
mod random;
mod scheme;
mod trade;
mod words;
mod write;

pub(crate) use house::Order;
#[allow(unused_imports, reason = "the program needs no random numbers of its own, the tests do")]
pub(crate) use random::Random;
pub(crate) use scheme::Scheme;
pub(crate) use words::Language;

/// The files of the house that was ordered: path from its folder, and text. The root file comes first.
pub(crate) fn house(order: Order) -> Vec<(String, String)> {
    write::texts(&house::house(order))
}
