//! Named cases.
