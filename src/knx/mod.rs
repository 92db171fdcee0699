//! Stub.

/// A datapoint type's number, written `5.001`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct DptId {
    /// Main number.
    pub main: u16,
    /// Sub-number.
    pub sub: u16,
}
