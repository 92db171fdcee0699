//! Texts: one byte a character, or UTF-8; a zero byte ends what is shorter than its room.

use super::super::dpt::{CodeSet, Dpt, Field, Size};
use super::super::payload::Payload;
use super::error::{DecodeError, EncodeError};

/// Most bytes of a text of free length, without its zero byte: what an extended frame carries (from memory).
const LONGEST: usize = 252;

pub(super) fn decode(dpt: &Dpt, code_set: CodeSet, bytes: &[u8]) -> Result<Box<str>, DecodeError> {
    // A single character has no end: a zero byte is the character 0.
    let zero = if dpt.size == Size::Bytes(1) { None } else { bytes.iter().position(|byte| *byte == 0) };
    let end = zero.unwrap_or(bytes.len());
    let (text, rest) = bytes.split_at_checked(end).unwrap_or((bytes, &[]));
    if let Some(after) = rest.iter().position(|byte| *byte != 0) {
        return Err(DecodeError::AfterEnd { dpt: dpt.id, position: end + after + 1 });
    }
    if dpt.size == Size::Variable && text.len() > LONGEST {
        return Err(DecodeError::TooLong { dpt: dpt.id, bytes: text.len(), most: LONGEST });
    }
    let outside = |position| DecodeError::Character { dpt: dpt.id, position: position + 1, code_set };
    match code_set {
        CodeSet::Ascii => match text.iter().position(|byte| !byte.is_ascii()) {
            Some(at) => Err(outside(at)),
            None => Ok(text.iter().copied().map(char::from).collect()),
        },
        CodeSet::Latin1 => Ok(text.iter().copied().map(char::from).collect()),
        CodeSet::Utf8 => {
            std::str::from_utf8(text).map(Into::into).map_err(|error| outside(error.valid_up_to()))
        }
    }
}

pub(super) fn encode(
    dpt: &Dpt,
    field: &Field,
    code_set: CodeSet,
    text: &str,
) -> Result<Payload, EncodeError> {
    let outside = |character| EncodeError::Character { dpt: dpt.id, character, code_set };
    let most = match dpt.size {
        Size::Variable => LONGEST,
        Size::Bits(_) | Size::Bytes(_) => usize::from(field.bits / 8),
    };
    let mut bytes = Vec::with_capacity(text.len() + 1);
    for character in text.chars() {
        let byte = match code_set {
            CodeSet::Utf8 => Some(0),
            CodeSet::Ascii => u8::try_from(character).ok().filter(u8::is_ascii),
            CodeSet::Latin1 => u8::try_from(character).ok(),
        };
        // A zero character would end a longer text.
        bytes.push(byte.filter(|_| character != '\0' || most == 1).ok_or_else(|| outside(character))?);
    }
    if code_set == CodeSet::Utf8 {
        bytes = text.as_bytes().to_vec();
    }
    if bytes.len() > most {
        return Err(EncodeError::TooLong { dpt: dpt.id, bytes: bytes.len(), most });
    }
    if most == 1 && bytes.is_empty() {
        return Err(EncodeError::TooShort { dpt: dpt.id });
    }
    bytes.resize(if dpt.size == Size::Variable { bytes.len() + 1 } else { most }, 0);
    Ok(Payload::bytes(&bytes))
}
