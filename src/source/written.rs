//! A short value as it is written, for what to write in its place.

use super::place::Place;

/// A value that is not what its key takes, as it is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// Its key.
    pub key: String,
    /// Its text, or those of the items of a list; none where it is long, or holds more than texts.
    pub texts: Vec<String>,
    /// All of the value, where it stands within a line.
    pub place: Option<Place>,
    /// Whether it is a list of mappings.
    pub is_of_mappings: bool,
}
