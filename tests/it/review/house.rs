//! A small house as definitions, and ways to change it.
