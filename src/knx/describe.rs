//! Texts about datapoint types, for people.
