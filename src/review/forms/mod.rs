//! The review as people and programs read it, one file a form.

mod html;
mod json;
mod listing;
mod markdown;
pub(crate) mod page;
mod text;
mod view;

pub use html::html;
pub use json::{
    BridgeName, ChangeDocument, FORMAT, ReviewDocument, SummaryDocument, UnreadDocument, VERSION, document,
    json, schema, write_json,
};
pub use listing::{ledger_listing, listing};
pub use markdown::markdown;
pub use text::{Colour, Detail, TextOptions, change, changes, named, text};
