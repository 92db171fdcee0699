//! Bytes into text: which encoding a file has is found out by reading it.

use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

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

/// Reads bytes as text.
pub(super) fn decode(bytes: Vec<u8>, guess: Guess) -> Decoded {
    match Encoding::for_bom(&bytes) {
        Some((encoding, mark)) if encoding != UTF_8 => return utf16(bytes, encoding, mark),
        None if guess == Guess::AlsoOlder => {
            if let Some(encoding) = unmarked_utf16(&bytes) {
                return utf16(bytes, encoding, 0);
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
            let text = WINDOWS_1252.decode_without_bom_handling(&bytes).0.into_owned();
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

fn utf16(bytes: Vec<u8>, encoding: &'static Encoding, mark: usize) -> Decoded {
    let text = bytes.get(mark..).unwrap_or(&[]);
    let (text, broken) = encoding.decode_without_bom_handling(text);
    let text = text.into_owned();
    let fault = if broken {
        let at = text.find('\u{fffd}').unwrap_or(0);
        Some((at, TextFault::Utf16))
    } else {
        control(&text)
    };
    Decoded { text, original: Some(bytes), fault }
}

/// Text in Latin script has a zero in every other byte of UTF-16.
fn unmarked_utf16(bytes: &[u8]) -> Option<&'static Encoding> {
    let start = bytes.get(..bytes.len().min(512) & !1)?;
    let (mut even, mut odd) = (0, 0);
    for pair in start.chunks_exact(2) {
        even += usize::from(pair.first() == Some(&0));
        odd += usize::from(pair.last() == Some(&0));
    }
    let many = start.len() / 4;
    match (even, odd) {
        _ if start.len() < 4 => None,
        (0, odd) if odd > many => Some(UTF_16LE),
        (even, 0) if even > many => Some(UTF_16BE),
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
    let fault = if bytes.get(at) == Some(&0) { TextFault::Zero } else { TextFault::Control };
    Some((at, fault))
}
