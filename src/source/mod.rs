//! Text in: the only reader of files.

mod limits;
mod place;
mod problem;
mod yaml;

pub use limits::Limits;
pub use place::{FileId, Place, Spanned};
pub use problem::{AliasFault, Counted, Problem, Shape, SyntaxFault, TextFault};
pub use yaml::{Entries, Given, Node, Scalar, Tree, parse, read_node, read_tree};
