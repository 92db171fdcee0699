//! Text in: the only reader of files.
//!
//! In: a path, or texts with their paths. Out: [`Sources`] (the texts, lines and columns), a [`Document`] with its
//! [`Tree`] for each file, and the [`Problem`]s of all files at once. It knows what a description names (includes,
//! address tables) and nothing else of a house; it never prints, never leaves the house's folder, and goes beyond no
//! [`Limits`].

pub(crate) mod bare;
pub mod delimited;
mod encoding;
mod fault;
mod file;
mod folder;
mod houses;
mod limits;
mod load;
mod pattern;
mod place;
mod problem;
mod reach;
mod rounds;
mod single;
mod sources;
mod unreached;
mod watch;
mod written;
mod yaml;

pub use delimited::RowFault;
pub use fault::{AliasFault, NoTable, SyntaxFault, TextFault};
pub use file::Last;
pub(crate) use folder::resolve as resolve_path;
pub use houses::{TooMuch, begins_a_house, first_in, house_around, houses_below, is_house};
pub use limits::{Counted, Limits};
pub use load::{LoadError, Loaded, load, load_since};
pub(crate) use pattern::At;
pub use place::{FileId, Place, Spanned};
pub use problem::{Problem, Shape};
pub(crate) use reach::may_read;
pub use single::read_single;
pub use sources::{Document, FileKind, LineColumn, Sources};
pub use watch::{Changed, Watch};
pub use written::Written;
pub use yaml::{Entries, Given, Node, QUOTED, Scalar, TEXT_OR_LIST, Tree, parse, read_node, read_tree};
pub(crate) use yaml::{parse_around, read_judged};
