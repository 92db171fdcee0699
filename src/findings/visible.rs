//! Text of the user's that is safe to show: nothing in it moves the cursor, hides or turns what stands beside it.

use std::borrow::Cow;

/// The text with control characters and those that change the direction of writing made visible. Line ends stay.
pub(crate) fn text(text: &str) -> Cow<'_, str> {
    if text.chars().any(|character| character != '\n' && is_unsafe(character)) {
        Cow::Owned(
            text.chars()
                .map(|character| if character == '\n' { character } else { shown(character) })
                .collect(),
        )
    } else {
        Cow::Borrowed(text)
    }
}

/// The same with line ends made spaces.
pub(crate) fn one_line(text: &str) -> String {
    text.chars()
        .map(|character| if matches!(character, '\n' | '\r') { ' ' } else { shown(character) })
        .collect()
}

fn is_unsafe(character: char) -> bool {
    character.is_control()
        || matches!(character, '\u{2028}' | '\u{2029}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// A picture of a control character, a replacement for anything else unsafe.
fn shown(character: char) -> char {
    match u32::from(character) {
        0x09 => ' ',
        code @ 0..0x20 => char::from_u32(0x2400 + code).unwrap_or('\u{fffd}'),
        0x7f => '\u{2421}',
        _ if is_unsafe(character) => '\u{fffd}',
        _ => character,
    }
}
