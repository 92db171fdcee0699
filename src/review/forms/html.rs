//! The review as one page for a browser.

use crate::review::change::Review;

/// Writes the review as one self-contained page.
pub fn html(_review: &Review) -> String {
    String::new()
}
