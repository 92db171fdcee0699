//! Which datapoint types there are.

use super::super::dpt::{self, Dpt, Size};
use super::folded;
use std::str::FromStr;

/// Which datapoint types to list; what is not set lets all through.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Filter {
    /// The unit of the value or of one of its fields, as the table writes it: `°C`.
    pub unit: Option<String>,
    /// Length of the payload.
    pub size: Option<Size>,
    /// Words that number, name, title, note or a value's name hold, in any order and case.
    pub text: Option<String>,
}

/// Why text is no size.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{text}` is no size: write `1 bit` to `6 bits`, `1 byte` to `14 bytes`, or `any`")]
pub struct SizeError {
    /// What was written.
    pub text: String,
}

impl FromStr for Size {
    type Err = SizeError;

    /// Reads `4 bits`, `2 bytes`, `2` (bytes), `16 bits` (2 bytes) or `any` (text of any length).
    fn from_str(text: &str) -> Result<Self, SizeError> {
        let wrong = || SizeError { text: text.to_owned() };
        let trimmed = text.trim();
        if trimmed == "any" {
            return Ok(Self::Variable);
        }
        let end = trimmed.find(|letter: char| !letter.is_ascii_digit()).unwrap_or(trimmed.len());
        let (digits, unit) = trimmed.split_at_checked(end).ok_or_else(wrong)?;
        let number: u8 = digits.parse().map_err(|_| wrong())?;
        match (unit.trim(), number) {
            ("bit" | "bits", 1..=6) => Ok(Self::Bits(number)),
            ("bit" | "bits", 8..=112) if number.is_multiple_of(8) => Ok(Self::Bytes(number / 8)),
            ("" | "byte" | "bytes", 1..=14) => Ok(Self::Bytes(number)),
            _ => Err(wrong()),
        }
    }
}

impl Filter {
    /// Whether a type passes.
    pub fn takes(&self, dpt: &Dpt) -> bool {
        let unit = |wanted: &String| dpt.value_fields().any(|field| field.unit == wanted);
        self.unit.as_ref().is_none_or(unit)
            && self.size.is_none_or(|wanted| dpt.size == wanted)
            && self.text.as_ref().is_none_or(|words| holds(dpt, words))
    }
}

fn holds(dpt: &Dpt, words: &str) -> bool {
    let members = dpt.value_fields().flat_map(|field| field.members).map(|member| member.name);
    let mut text = format!("{} {} {} {}", dpt.id, dpt.name, dpt.title, dpt.note).to_lowercase();
    for member in members {
        text.push(' ');
        text.push_str(member);
    }
    words.to_lowercase().split_whitespace().all(|word| text.contains(word))
}

/// The types that pass, ascending.
pub fn filtered(filter: &Filter) -> Vec<&'static Dpt> {
    dpt::all().iter().filter(|dpt| filter.takes(dpt)).collect()
}

/// The types that pass all filters, for a terminal of so many columns; empty where there is none.
///
/// # Errors
/// [`SizeError`] if the size is not written like `2 bytes`.
pub fn list(
    unit: Option<&str>,
    size: Option<&str>,
    text: Option<&str>,
    width: usize,
) -> Result<String, SizeError> {
    let size = size.map(str::parse).transpose()?;
    let filter = Filter { unit: unit.map(str::to_owned), size, text: text.map(str::to_owned) };
    Ok(listing(&filtered(&filter), width))
}

/// Of each type number, size, unit, what it is.
pub fn listing(types: &[&Dpt], width: usize) -> String {
    let row = |dpt: &&Dpt| {
        vec![dpt.id.to_string(), dpt.size.to_string(), dpt.unit().to_owned(), dpt.title.to_owned()]
    };
    folded(&types.iter().map(row).collect::<Vec<_>>(), 0, width)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(unit: &str, size: &str, text: &str, expected: &str) {
        let set = |text: &str| (!text.is_empty()).then(|| text.to_owned());
        let filter = Filter {
            unit: set(unit),
            size: (!size.is_empty()).then(|| size.parse().unwrap()),
            text: set(text),
        };
        let found: Vec<String> = filtered(&filter).iter().map(|dpt| dpt.id.to_string()).collect();
        assert_eq!(found.join(" "), expected, "{filter:?}");
    }

    #[test]
    fn filters() {
        check("°C", "", "", "9.001 14.068 222.100 275.100");
        check("°C", "2 bytes", "", "9.001");
        check("", "4 bits", "", "3.007 3.008");
        check("", "", "Colour temperature", "7.600 249.600 250.600");
        check("", "", "building-protection", "20.102 20.113");
        check("", "any", "", "24.001 28.001");
        check("parsec", "", "", "");
    }

    #[test]
    fn sizes() {
        for (text, size) in [("2", Size::Bytes(2)), ("16 bits", Size::Bytes(2)), ("1bit", Size::Bits(1))] {
            assert_eq!(text.parse(), Ok(size));
        }
        for text in ["7 bits", "15 bytes", "0", "", "two", "2 words", "999"] {
            assert_eq!(text.parse::<Size>(), Err(SizeError { text: text.to_owned() }));
        }
    }

    #[test]
    fn lists() {
        assert_eq!(
            list(None, None, Some("scene"), 80).unwrap(),
            "\
1.022   1 bit     scene A or B
17.001  1 byte    scene number
18.001  1 byte    recall or store a scene
26.001  1 byte    whether a scene is active
"
        );
    }
}
