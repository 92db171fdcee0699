//! Bytes into text: which encoding a file has is found out by reading it.

use super::TextFault;

/// What is kept of the text behind the first fault, in bytes: enough to show its line.
const KEPT_BEHIND_FAULT: usize = 256;

/// A file's text.
pub(super) struct Decoded {
    pub(super) text: String,
    /// The file's bytes, where they are not those of the text.
    pub(super) original: Option<Vec<u8>>,
    /// Where in the text something is not text, and what.
    pub(super) fault: Option<(usize, TextFault)>,
}

/// Which encodings are thought of.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Guess {
    /// UTF-8, and UTF-16 with a byte-order mark.
    Unicode,
    /// These, UTF-16 without a mark, and Windows-1252: what spreadsheets write.
    AlsoOlder,
}

/// The order of the two bytes of a unit of UTF-16.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Order {
    LowFirst,
    HighFirst,
}

/// The characters of Windows-1252 that are not those of their number: 80 to 9f. WHATWG Encoding Standard, index
/// windows-1252; a test holds them to another implementation.
const WINDOWS_1252: [char; 32] = [
    '\u{20ac}', '\u{81}', '\u{201a}', '\u{192}', '\u{201e}', '\u{2026}', '\u{2020}', '\u{2021}', '\u{2c6}',
    '\u{2030}', '\u{160}', '\u{2039}', '\u{152}', '\u{8d}', '\u{17d}', '\u{8f}', '\u{90}', '\u{2018}',
    '\u{2019}', '\u{201c}', '\u{201d}', '\u{2022}', '\u{2013}', '\u{2014}', '\u{2dc}', '\u{2122}', '\u{161}',
    '\u{203a}', '\u{153}', '\u{9d}', '\u{17e}', '\u{178}',
];

/// Reads bytes as text.
pub(super) fn decode(bytes: Vec<u8>, guess: Guess) -> Decoded {
    match bytes.as_slice() {
        [0xff, 0xfe, ..] => return utf16(bytes, Order::LowFirst, 2),
        [0xfe, 0xff, ..] => return utf16(bytes, Order::HighFirst, 2),
        [0xef, 0xbb, 0xbf, ..] => {}
        _ if guess == Guess::AlsoOlder => {
            if let Some(order) = unmarked_utf16(&bytes) {
                return utf16(bytes, order, 0);
            }
        }
        _ => {}
    }
    match String::from_utf8(bytes) {
        Ok(text) => {
            let fault = control(&text);
            Decoded { text, original: None, fault }
        }
        Err(error) if guess == Guess::AlsoOlder => {
            let bytes = error.into_bytes();
            let text = windows_1252(&bytes);
            let fault = control(&text);
            Decoded { text, original: Some(bytes), fault }
        }
        Err(error) => {
            let at = error.utf8_error().valid_up_to();
            let bytes = error.into_bytes();
            let shown = bytes.get(..(at + KEPT_BEHIND_FAULT).min(bytes.len())).unwrap_or(&[]);
            let text = String::from_utf8_lossy(shown).into_owned();
            Decoded { text, original: Some(bytes), fault: Some((at, TextFault::Utf8)) }
        }
    }
}

fn windows_1252(bytes: &[u8]) -> String {
    let letter = |byte: &u8| match byte {
        0x80..=0x9f => WINDOWS_1252.get(usize::from(byte - 0x80)).copied().unwrap_or_default(),
        _ => char::from(*byte),
    };
    bytes.iter().map(letter).collect()
}

fn utf16(bytes: Vec<u8>, order: Order, mark: usize) -> Decoded {
    let (units, rest) = bytes.get(mark..).unwrap_or(&[]).as_chunks::<2>();
    let units = units.iter().map(|unit| match order {
        Order::LowFirst => u16::from_le_bytes(*unit),
        Order::HighFirst => u16::from_be_bytes(*unit),
    });
    let mut broken = false;
    let letters = char::decode_utf16(units).map(|letter| {
        broken |= letter.is_err();
        letter.unwrap_or(char::REPLACEMENT_CHARACTER)
    });
    let mut text: String = letters.collect();
    if !rest.is_empty() {
        broken = true;
        text.push(char::REPLACEMENT_CHARACTER);
    }
    let fault = if broken {
        let at = text.find('\u{fffd}').unwrap_or(0);
        Some((at, TextFault::Utf16))
    } else {
        control(&text)
    };
    Decoded { text, original: Some(bytes), fault }
}

/// Text in Latin script has a zero in every other byte of UTF-16.
fn unmarked_utf16(bytes: &[u8]) -> Option<Order> {
    let start = bytes.get(..bytes.len().min(512) & !1)?;
    let (mut even, mut odd) = (0, 0);
    for pair in start.chunks_exact(2) {
        even += usize::from(pair.first() == Some(&0));
        odd += usize::from(pair.last() == Some(&0));
    }
    let many = start.len() / 4;
    match (even, odd) {
        _ if start.len() < 4 => None,
        (0, odd) if odd > many => Some(Order::LowFirst),
        (even, 0) if even > many => Some(Order::HighFirst),
        _ => None,
    }
}

/// The first control character that text does not have.
fn control(text: &str) -> Option<(usize, TextFault)> {
    let is_control = |byte: &u8| *byte < 0x20 && !matches!(*byte, b'\t' | b'\n' | b'\r' | 0x0c);
    let bytes = text.as_bytes();
    // A block at a time without a way out of it is looked at sixteen bytes and more at once.
    let none = |block: &&[u8]| !block.iter().fold(false, |found, byte| found | is_control(byte));
    let sound = bytes.chunks(256).take_while(none).count() * 256;
    let at = sound + bytes.get(sound..)?.iter().position(is_control)?;
    let fault = match bytes.get(at) {
        _ if text.starts_with("PK\u{3}\u{4}") => TextFault::Archive,
        Some(0) => TextFault::Zero,
        _ => TextFault::Control,
    };
    Some((at, fault))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the implementation of the WHATWG Encoding Standard in the crate `encoding_rs`.
    #[test]
    fn windows_1252_is_read_as_others_read_it() {
        let all: Vec<u8> = (0..=u8::MAX).collect();
        assert_eq!(windows_1252(&all), encoding_rs::WINDOWS_1252.decode_without_bom_handling(&all).0);
    }

    #[test]
    fn utf_16_is_read_as_others_read_it() {
        let texts: [&[u16]; 5] =
            [&[0x41, 0x20ac], &[0xd83d, 0xde00], &[0xd83d, 0x41], &[0x41, 0xde00], &[0x41, 0xd83d]];
        for (units, odd) in texts.into_iter().flat_map(|units| [(units, false), (units, true)]) {
            for (order, other) in
                [(Order::LowFirst, encoding_rs::UTF_16LE), (Order::HighFirst, encoding_rs::UTF_16BE)]
            {
                let low = order == Order::LowFirst;
                let mut bytes: Vec<u8> = units
                    .iter()
                    .flat_map(|unit| if low { unit.to_le_bytes() } else { unit.to_be_bytes() })
                    .collect();
                bytes.extend(odd.then_some(0x41));
                let (text, broken) = other.decode_without_bom_handling(&bytes);
                let decoded = utf16(bytes.clone(), order, 0);
                // Up to the first fault, which is what is told.
                let sound = |text: &str| text.split('\u{fffd}').next().map(str::to_owned);
                let ours = (sound(&decoded.text), decoded.fault.is_some());
                assert_eq!(ours, (sound(&text), broken), "{bytes:x?}");
            }
        }
    }
}
