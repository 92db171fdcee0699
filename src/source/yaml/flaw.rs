//! The error type of the reader: what serde says, kept as facts until the place is known.

use serde::de::{self, Expected, Unexpected};
use std::fmt;

use crate::source::{Place, Problem, Shape, SyntaxFault, Written};

/// [`Problem::Unfit`]'s `expected` of a number that would fit without the quotation marks around it.
pub const QUOTED: &str = "a number while it is in quotation marks";

/// Why a value could not be read.
#[derive(Debug)]
pub(super) struct Flaw(Box<Kind>);

#[derive(Debug)]
enum Kind {
    /// It is among the problems already.
    Told,
    /// It has its place.
    Placed(Problem),
    Missing(&'static str),
    Word {
        text: String,
        allowed: &'static [&'static str],
    },
    Unfit {
        expected: String,
    },
}

impl Flaw {
    pub(super) fn told() -> Self {
        Self(Box::new(Kind::Told))
    }

    pub(super) fn unfit(expected: impl Into<String>) -> Self {
        Self(Box::new(Kind::Unfit { expected: expected.into() }))
    }

    pub(super) fn shape(place: Place, expected: Shape, found: Shape, written: Option<Box<Written>>) -> Self {
        Self(Box::new(Kind::Placed(Problem::WrongShape { place, expected, found, written })))
    }

    pub(super) fn syntax(place: Place, fault: SyntaxFault) -> Self {
        Self(Box::new(Kind::Placed(Problem::Syntax { place, fault })))
    }

    /// Gives it a place, if it has none: `place` and `text` are those of the value that was read, `within` is the
    /// name of the structure.
    pub(super) fn at(self, place: Place, text: &str, within: &'static str) -> Self {
        let problem = match *self.0 {
            Kind::Told | Kind::Placed(_) => return self,
            Kind::Missing(key) => Problem::MissingKey { place, key, within },
            Kind::Word { text, allowed } => Problem::UnknownWord { place, text, allowed },
            Kind::Unfit { expected } => Problem::Unfit { place, text: shortened(text), expected },
        };
        Self(Box::new(Kind::Placed(problem)))
    }

    /// The problem, unless it has been told already.
    pub(super) fn into_problem(self, place: Place) -> Option<Problem> {
        match *self.at(place, "", "").0 {
            Kind::Placed(problem) => Some(problem),
            Kind::Told | Kind::Missing(_) | Kind::Word { .. } | Kind::Unfit { .. } => None,
        }
    }
}

/// The text, or its first 80 characters and an ellipsis.
fn shortened(text: &str) -> String {
    match text.char_indices().nth(80) {
        Some((end, _)) => format!("{}…", text.get(..end).unwrap_or("")),
        None => text.to_owned(),
    }
}

impl fmt::Display for Flaw {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &*self.0 {
            Kind::Told => f.write_str("told already"),
            Kind::Placed(problem) => write!(f, "{problem:?}"),
            Kind::Missing(key) => write!(f, "missing key `{key}`"),
            Kind::Word { text, allowed } => write!(f, "`{text}` is none of {}", allowed.join(", ")),
            Kind::Unfit { expected } => write!(f, "expected {expected}"),
        }
    }
}

impl std::error::Error for Flaw {}

impl de::Error for Flaw {
    fn custom<T: fmt::Display>(message: T) -> Self {
        Self::unfit(message.to_string())
    }

    fn invalid_type(_: Unexpected, expected: &dyn Expected) -> Self {
        Self::unfit(expected.to_string())
    }

    fn invalid_value(_: Unexpected, expected: &dyn Expected) -> Self {
        Self::unfit(expected.to_string())
    }

    fn invalid_length(_: usize, expected: &dyn Expected) -> Self {
        Self::unfit(expected.to_string())
    }

    fn unknown_variant(text: &str, allowed: &'static [&'static str]) -> Self {
        Self(Box::new(Kind::Word { text: shortened(text), allowed }))
    }

    fn missing_field(key: &'static str) -> Self {
        Self(Box::new(Kind::Missing(key)))
    }
}
