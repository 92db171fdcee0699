//! The name that a family sees.

use std::fmt;

/// A NodeLabel: 1 to 32 bytes of UTF-8, something to see in it and no control characters.
///
/// An umlaut takes two bytes. Source: core§11.1.5.6, length core§7.19 (counted in bytes: from memory).
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NodeLabel(String);

/// Why a text is no NodeLabel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LabelFault {
    /// Nothing, or nothing but white space.
    #[error("is empty")]
    Empty,
    /// More than [`NodeLabel::LONGEST`] bytes.
    #[error("takes {bytes} bytes of 32")]
    Long {
        /// How many it has.
        bytes: usize,
    },
    /// A control character: a controller may show anything or nothing for it.
    #[error("holds a control character")]
    Control {
        /// Byte at which it stands.
        at: usize,
    },
}

impl NodeLabel {
    /// Bytes that fit.
    pub const LONGEST: usize = 32;

    /// Takes a text as it is.
    ///
    /// # Errors
    /// Empty, too long, or with a control character.
    pub fn new(text: &str) -> Result<Self, LabelFault> {
        if text.trim().is_empty() {
            return Err(LabelFault::Empty);
        }
        if let Some((at, _)) = text.char_indices().find(|(_, c)| c.is_control()) {
            return Err(LabelFault::Control { at });
        }
        if text.len() > Self::LONGEST {
            return Err(LabelFault::Long { bytes: text.len() });
        }
        Ok(Self(text.to_owned()))
    }

    /// The text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for NodeLabel {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, expected: Result<(), LabelFault>) {
        assert_eq!(NodeLabel::new(text).map(|label| assert_eq!(label.as_str(), text)), expected, "{text:?}");
    }

    #[test]
    fn a_label_is_at_most_32_bytes_of_something_to_see() {
        check("Island pendant", Ok(()));
        check("ÄÖÜäöüßéÄÖÜäöüßé", Ok(()));
        check("ÄÖÜäöüßéÄÖÜäöüßé.", Err(LabelFault::Long { bytes: 33 }));
        check("", Err(LabelFault::Empty));
        check(" \u{3000}", Err(LabelFault::Empty));
        check("two\nlines", Err(LabelFault::Control { at: 3 }));
    }
}
