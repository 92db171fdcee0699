//! Datapoint types as the cells of an address table have them: with words behind, with a decimal comma, without a dot.
//!
//! How tables look that have been through a spreadsheet is common practice.

use super::dpt;
use super::dpt_id::{DptId, DptIdError, DptRef};

/// What a cell says of a datapoint type.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DptCell {
    /// That there is none to say: `-`, `n/a`.
    Nothing,
    /// A type.
    Type(DptRef),
    /// A type whose dot was taken for a mark between thousands and went: `1001` for `1.001`.
    WithoutDot(DptId),
}

impl DptCell {
    /// Reads a cell. Of several types the most exact one counts, the first one if they are as exact; of words behind a
    /// type or before it nothing does, unless they have another type among them.
    ///
    /// # Errors
    /// [`DptIdError`]: nothing in it is a type beyond doubt. Empty text is an error.
    pub fn read(text: &str) -> Result<Self, DptIdError> {
        let text = text.trim();
        let dashes = || text.chars().all(|letter| matches!(letter, '-' | '–' | '—')) && !text.is_empty();
        // A zero is what a spreadsheet makes of an empty cell that it looked up; there is no main type of that number.
        if says_nothing(text) || dashes() || text == "0" {
            return Ok(Self::Nothing);
        }
        if let Some(id) = without_dot(text) {
            return Ok(Self::WithoutDot(id));
        }
        if let Some(id) = with_comma(text) {
            return Ok(Self::Type(DptRef::Exact(id)));
        }
        match DptRef::parse_most_exact(text) {
            Ok(DptRef::Main(1000..)) => Err(DptIdError::Malformed { text: text.to_owned() }),
            Ok(listed) => Ok(Self::Type(listed)),
            Err(error) => with_words(text).or_else(|| among_words(text)).map(Self::Type).ok_or(error),
        }
    }
}

/// Whether a cell says that there is nothing to say: a dash alone, or what spreadsheets and people write for it.
#[must_use]
pub fn says_nothing(text: &str) -> bool {
    const WORDS: [&str; 8] = ["-", "–", "—", "n/a", "#N/A", "#NV", "null", "none"];
    // Nearly all cells say something, and are told by their first letter.
    text.starts_with(['-', '–', '—', 'n', 'N', '#'])
        && WORDS.iter().any(|word| word.eq_ignore_ascii_case(text))
}

/// `1001` for `1.001`: four digits and more are no main type, and the last three are a sub-type of what stands before.
fn without_dot(text: &str) -> Option<DptId> {
    let at = text.len().checked_sub(3).filter(|at| *at > 0 && text.len() > 3)?;
    let digits = text.bytes().all(|byte| byte.is_ascii_digit()) && !text.starts_with('0');
    let (main, sub) = text.split_at_checked(at).filter(|_| digits)?;
    known(main, sub)
}

/// `9,001` for `9.001`. Where the three digits could be a main type, it may be a list of two.
fn with_comma(text: &str) -> Option<DptId> {
    let (main, sub) = text.split_once(',').filter(|(_, sub)| sub.len() == 3)?;
    let digits = main.bytes().chain(sub.bytes()).all(|byte| byte.is_ascii_digit());
    let is_main_type = !sub.starts_with('0') && sub.parse().is_ok_and(|sub| dpt::main_type(sub).is_some());
    known(main, sub).filter(|_| digits && !is_main_type)
}

fn known(main: &str, sub: &str) -> Option<DptId> {
    let id = DptId { main: main.parse().ok()?, sub: sub.parse().ok()? };
    dpt::find(id).map(|_| id)
}

/// A type with words behind it: `1.001 switch`, `DPST-9-1 temperature (°C)`, `5.xxx 8-bit`. A bare number is no type
/// here, as in `1 bit`, and with another type among the words it is not known which one is meant.
fn with_words(text: &str) -> Option<DptRef> {
    let bare = text.get(..3).filter(|start| start.eq_ignore_ascii_case("dpt"));
    let behind = bare.and_then(|_| text.get(3..)).filter(|rest| rest.starts_with(char::is_whitespace));
    let mut words = behind.unwrap_or(text).split(|letter: char| letter.is_whitespace() || letter == '(');
    let first = words.find(|word| !word.is_empty())?.trim_end_matches([',', ';', ':']);
    let found: DptRef = first.parse().ok().filter(|found| match found {
        DptRef::Exact(_) => true,
        DptRef::Main(_) => {
            first.contains('.') || first.starts_with(|letter: char| letter.is_ascii_alphabetic())
        }
    })?;
    let other = |word: &str| {
        let word = word.trim_matches(|letter: char| !letter.is_alphanumeric());
        matches!(word.parse(), Ok(DptRef::Exact(other)) if DptRef::Exact(other) != found)
    };
    (!words.any(other)).then_some(found)
}

/// The one type that stands behind words or between them: `switch 1.001`, `1 bit (1.001)`. A type that the standard does not
/// have, and another one, leave it in doubt.
fn among_words(text: &str) -> Option<DptRef> {
    let mut found = None;
    for word in text.split(|letter: char| !letter.is_alphanumeric() && !matches!(letter, '.' | '-')) {
        let Ok(DptRef::Exact(id)) = word.trim_matches(['.', '-']).parse() else { continue };
        dpt::find(id).filter(|_| found.is_none_or(|found| found == id))?;
        found = Some(id);
    }
    found.map(DptRef::Exact)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(input: &str, expected: &str) {
        let found = match DptCell::read(input) {
            Ok(DptCell::Nothing) => "nothing".to_owned(),
            Ok(DptCell::Type(found)) => found.to_string(),
            Ok(DptCell::WithoutDot(found)) => format!("{found} without dot"),
            Err(_) => "?".to_owned(),
        };
        assert_eq!(found, expected, "{input}");
    }

    #[test]
    fn words_behind_a_type_are_no_matter() {
        check("1.001 switch", "1.001");
        check("5.001 %", "5.001");
        check("5.001 percentage (0..100%)", "5.001");
        check("DPST-9-1 temperature (°C)", "9.001");
        check("DPST-1-1, Schalten", "1.001");
        check("DPT 9.001 temperature, 2 bytes", "9.001");
        check("1.008(up/down)", "1.008");
        check("5.xxx 8-bit unsigned", "5.*");
        check("DPT-1 (1 bit)", "1.*");
    }

    #[test]
    fn words_before_a_type_are_no_matter() {
        check("switch 1.001", "1.001");
        check("1 bit (1.001)", "1.001");
        check("1 bit DPT 1.001", "1.001");
        check("2 byte float: DPST-9-1", "9.001");
        check("temperature, 9.001.", "9.001");
        check("1.001 (DPST-1-1)", "1.001");
        check("switch 1.001 or 1.008", "?");
        check("switch 1.999", "?");
        check("scaling 5.1", "?");
    }

    #[test]
    fn what_may_be_several_things_is_nothing() {
        for text in [
            "",
            "1 bit",
            "2 bytes",
            "EIS 5",
            "DPT_Switch",
            "DPT",
            "switch",
            "1-1",
            "1.001 or 1.008",
            "9.1",
            "5.01 scaling",
            "1.001 / 5.001",
            "DPT 1 bit",
        ] {
            check(text, "?");
        }
    }

    #[test]
    fn marks_of_spreadsheets_are_read() {
        check("9,001", "9.001");
        check("20,102", "20.102");
        check("251,600", "251.600");
        check("1001", "1.001 without dot");
        check("20102", "20.102 without dot");
        check("1,5", "1.*");
        check("5,217", "5.*");
        check("DPT-1,DPST-1-2", "1.002");
        for text in ["-", "--", "–", "n/a", "N/A", "#NV", "0"] {
            check(text, "nothing");
        }
        check("1999", "?");
    }
}
