//! The payload of a group telegram.

use std::fmt;

/// Longest payload held without the heap; all but free-length texts fit.
const SHORT: usize = 14;

/// The payload of a group telegram: 1 to 6 bits inside the service octet, or bytes after it.
///
/// The two forms differ on the bus: a one-byte payload of 1 is not a 6-bit payload of 1. Up to 14 bytes are kept
/// without the heap. Written as hexadecimal digits, `0c1a`.
/// Source: KNX 3/3/7, `A_GroupValue` services (from memory).
#[derive(Clone, PartialEq, Eq, Hash)]
pub struct Payload(Form);

#[derive(Clone, PartialEq, Eq, Hash)]
enum Form {
    Small([u8; 1]),
    Short { length: u8, bytes: [u8; SHORT] },
    Long(Box<[u8]>),
}

/// Why text is no payload.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PayloadError {
    /// Something else than hexadecimal digits.
    #[error("`{found}` is no hexadecimal digit: write a payload like `0c 1a`")]
    NotHexadecimal {
        /// The first such character.
        found: char,
    },
    /// An odd number of digits.
    #[error("`{text}` has an odd number of hexadecimal digits: a byte has two")]
    HalfByte {
        /// What was written.
        text: String,
    },
    /// More than 6 bits for the form inside the service octet.
    #[error("`{value:02x}` has more than 6 bits, which is the most that travels inside the service octet")]
    MoreThanSixBits {
        /// What was written.
        value: u8,
    },
}

impl Payload {
    /// A payload inside the service octet; `None` if `value` has more than 6 bits.
    pub fn small(value: u8) -> Option<Self> {
        (value < 64).then_some(Self(Form::Small([value])))
    }

    /// A payload of whole bytes after the service octet.
    #[inline]
    pub fn bytes(from: &[u8]) -> Self {
        let mut bytes = [0; SHORT];
        match (bytes.get_mut(..from.len()), u8::try_from(from.len())) {
            (Some(start), Ok(length)) => {
                start.copy_from_slice(from);
                Self(Form::Short { length, bytes })
            }
            _ => Self(Form::Long(from.into())),
        }
    }

    /// A payload of a fixed number of bytes, 14 at most.
    #[inline]
    pub(super) fn short<const N: usize>(from: [u8; N]) -> Self {
        const { assert!(N <= SHORT) };
        let mut bytes = [0; SHORT];
        if let Some(start) = bytes.first_chunk_mut::<N>() {
            *start = from;
        }
        #[allow(clippy::cast_possible_truncation, reason = "14 at most")]
        Self(Form::Short { length: N as u8, bytes })
    }

    /// The bytes, if there are exactly so many and they are outside the service octet.
    #[inline]
    pub(super) fn exactly<const N: usize>(&self) -> Option<[u8; N]> {
        match &self.0 {
            Form::Short { length, bytes } if usize::from(*length) == N => bytes.first_chunk::<N>().copied(),
            Form::Short { .. } | Form::Small(_) | Form::Long(_) => None,
        }
    }

    /// Reads hexadecimal digits as whole bytes: `0c1a`, `0C 1A`, `0x0c1a`, `0c:1a`.
    ///
    /// # Errors
    /// [`PayloadError`] for another character or an odd number of digits.
    pub fn parse(text: &str) -> Result<Self, PayloadError> {
        let digits = digits(text)?;
        let (pairs, rest) = digits.as_chunks::<2>();
        if !rest.is_empty() {
            return Err(PayloadError::HalfByte { text: text.trim().to_owned() });
        }
        let bytes: Vec<u8> = pairs.iter().map(|[high, low]| high << 4 | low).collect();
        Ok(Self::bytes(&bytes))
    }

    /// Reads one or two hexadecimal digits as a payload inside the service octet: `1`, `01`, `0x3f`.
    ///
    /// # Errors
    /// [`PayloadError`] for another character, or a value of more than 6 bits. More digits give the byte form, which
    /// the decoder then refuses for its length.
    pub fn parse_small(text: &str) -> Result<Self, PayloadError> {
        let value = match digits(text)?.as_slice() {
            [digit] => *digit,
            [high, low] => high << 4 | low,
            _ => return Self::parse(text),
        };
        Self::small(value).ok_or(PayloadError::MoreThanSixBits { value })
    }

    /// The bytes; of the form inside the service octet, one byte that holds the 6 bits.
    #[inline]
    pub fn as_bytes(&self) -> &[u8] {
        match &self.0 {
            Form::Small(byte) => byte,
            Form::Short { length, bytes } => bytes.get(..usize::from(*length)).unwrap_or(bytes),
            Form::Long(bytes) => bytes,
        }
    }

    /// Whether it travels inside the service octet.
    #[inline]
    pub fn is_small(&self) -> bool {
        matches!(self.0, Form::Small(_))
    }
}

/// The values of the digits, without `0x` before them and the separators between bytes.
fn digits(text: &str) -> Result<Vec<u8>, PayloadError> {
    let text = text.trim();
    let text = text.strip_prefix("0x").or_else(|| text.strip_prefix("0X")).unwrap_or(text);
    text.chars()
        .filter(|letter| !matches!(letter, ' ' | ':' | '-' | '\t'))
        .map(|letter| {
            letter
                .to_digit(16)
                .and_then(|digit| u8::try_from(digit).ok())
                .ok_or(PayloadError::NotHexadecimal { found: letter })
        })
        .collect()
}

impl fmt::Display for Payload {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.as_bytes().iter().try_for_each(|byte| write!(out, "{byte:02x}"))
    }
}

impl fmt::Debug for Payload {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "Payload({}{self})", if self.is_small() { "small " } else { "" })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(input: &str, expected: Result<&[u8], &str>) {
        let found = Payload::parse(input).map_err(|error| error.to_string());
        assert_eq!(found.as_ref().map(Payload::as_bytes).map_err(String::as_str), expected, "{input}");
    }

    #[test]
    fn reads_digits_with_and_without_separators() {
        for text in ["0c1a", "0C 1A", "0x0c1a", "0c:1a", " 0c1a "] {
            check(text, Ok(&[0x0c, 0x1a]));
        }
        check("", Ok(&[]));
        check(
            "00112233445566778899aabbccddeeff",
            Ok(&[
                0, 0x11, 0x22, 0x33, 0x44, 0x55, 0x66, 0x77, 0x88, 0x99, 0xaa, 0xbb, 0xcc, 0xdd, 0xee, 0xff,
            ]),
        );
    }

    #[test]
    fn refuses_other_text() {
        check("0g", Err("`g` is no hexadecimal digit: write a payload like `0c 1a`"));
        check("0c1", Err("`0c1` has an odd number of hexadecimal digits: a byte has two"));
    }

    #[test]
    fn a_small_payload_has_six_bits() {
        assert_eq!(Payload::parse_small("9"), Ok(Payload::small(9).unwrap()));
        assert_eq!(Payload::parse_small("40"), Err(PayloadError::MoreThanSixBits { value: 0x40 }));
        assert_eq!(Payload::small(64), None);
        assert_ne!(Payload::small(1).unwrap(), Payload::bytes(&[1]));
    }
}
