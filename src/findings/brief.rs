//! Long values of the user's, cut to what a message can show: the line beside it has the rest.

use std::borrow::Cow;

/// Letters of a value that are shown.
pub(crate) const VALUE: usize = 120;

/// Letters of a whole text, however many values stand in it.
const TEXT: usize = 4_000;

/// A value, cut where it is longer than so many letters.
pub(crate) fn value(value: &str, most: usize) -> Cow<'_, str> {
    match value.char_indices().nth(most) {
        Some((end, _)) => Cow::Owned(format!("{}…", value.get(..end).unwrap_or_default())),
        None => Cow::Borrowed(value),
    }
}

/// The text in which each value, between backticks or quotation marks, has so many letters at most.
pub(crate) fn text(text: String, most: usize) -> String {
    if text.len() <= most {
        return text;
    }
    let mut short = String::new();
    let mut rest = text.as_str();
    while let Some((before, mark, inside)) = opened(rest) {
        let Some((within, behind)) = inside.split_once(mark) else { break };
        short.extend([before, mark, &value(within, most), mark]);
        rest = behind;
    }
    short += rest;
    value(&short, TEXT).into_owned()
}

/// What stands before the first mark, the mark, and what stands behind it.
fn opened(text: &str) -> Option<(&str, &str, &str)> {
    let at = text.find(['`', '"'])?;
    Some((text.get(..at)?, text.get(at..=at)?, text.get(at + 1..)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Each value has five letters at most.
    fn check(given: &str, expected: &str) {
        assert_eq!(text(given.to_owned(), 5), expected);
    }

    #[test]
    fn only_values_are_cut() {
        check("`12345` is no class", "`12345` is no class");
        check("`123456` is no class of `1234567`", "`12345…` is no class of `12345…`");
        check("the row \"küchen\" and \"küche\"", "the row \"küche…\" and \"küche\"");
        check("a text without values stays", "a text without values stays");
        check("`123456 has no end", "`123456 has no end");
        check("", "");
    }

    #[test]
    fn no_text_is_longer_than_somebody_reads() {
        let long = text("` ".repeat(1_000_000), VALUE);
        assert_eq!(long.chars().count(), TEXT + 1);
    }
}
