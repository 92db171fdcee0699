//! Where something stands: a file and a range of its bytes.

/// A file of the house, as an index into [`Sources`](super::Sources).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FileId(pub u32);

/// A range of bytes in a file of the house. Lines and columns are worked out only when someone is told.
///
/// The order is that of the files and, in a file, of the text.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// The file.
    pub file: FileId,
    /// First byte.
    pub start: u32,
    /// The byte after the last one; equal to `start` for a point between two characters.
    pub end: u32,
}

/// A position or a count in a file, which has fewer than 2^31 bytes.
pub(crate) fn narrow(position: usize) -> u32 {
    u32::try_from(position).unwrap_or(u32::MAX)
}

/// A value with the place it was read from. Two are equal when their values are.
#[derive(Clone, Copy, Debug)]
pub struct Spanned<T> {
    /// What was written.
    pub value: T,
    /// Where.
    pub place: Place,
}

impl<T> Spanned<T> {
    /// Puts a value and its place together.
    pub fn new(value: T, place: Place) -> Self {
        Self { value, place }
    }

    /// Changes the value and keeps the place.
    pub fn map<U>(self, change: impl FnOnce(T) -> U) -> Spanned<U> {
        Spanned { value: change(self.value), place: self.place }
    }

    /// Borrows the value, with its place.
    pub fn as_ref(&self) -> Spanned<&T> {
        Spanned { value: &self.value, place: self.place }
    }
}

impl<T: PartialEq> PartialEq for Spanned<T> {
    fn eq(&self, other: &Self) -> bool {
        self.value == other.value
    }
}

impl<T> std::ops::Deref for Spanned<T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.value
    }
}
