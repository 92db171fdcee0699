//! Numbers of datapoint types, as they are written in descriptions and address tables.

use std::fmt;
use std::str::FromStr;

/// Number of a datapoint type: main type and sub-type, written `5.001`.
///
/// Order is that of the numbers. Read from `5.001`, `DPT 5.001`, `DPT5.001` and `DPST-5-1`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct DptId {
    /// Main type: what the payload looks like.
    pub main: u16,
    /// Sub-type: what it means.
    pub sub: u16,
}

impl fmt::Display for DptId {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{}.{:03}", self.main, self.sub)
    }
}

/// A datapoint type, or a whole main type where the table does not say more.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum DptRef {
    /// Any sub-type of a main type: `1.*`, `1.xxx`, `DPT-1`, `DPT 1`, `1`.
    Main(u16),
    /// One datapoint type.
    Exact(DptId),
}

impl DptRef {
    /// Main type.
    pub fn main(self) -> u16 {
        match self {
            Self::Main(main) => main,
            Self::Exact(id) => id.main,
        }
    }

    /// Whether `id` is what is meant.
    pub fn covers(self, id: DptId) -> bool {
        match self {
            Self::Main(main) => main == id.main,
            Self::Exact(exact) => exact == id,
        }
    }

    /// Reads a list, as address tables have it: `DPST-1-1, DPT-1`. The first with a sub-type counts, else the first.
    ///
    /// # Errors
    /// [`DptIdError`] of the first entry that is malformed. Empty text is an error.
    pub fn parse_most_exact(text: &str) -> Result<Self, DptIdError> {
        let (first, rest) =
            text.split_once([',', ';']).map_or((text, None), |(first, rest)| (first, Some(rest)));
        let mut best = first.parse()?;
        for listed in rest.into_iter().flat_map(|rest| rest.split([',', ';'])) {
            match (best, listed.parse()?) {
                (Self::Main(_), exact @ Self::Exact(_)) => best = exact,
                (Self::Main(_) | Self::Exact(_), Self::Main(_) | Self::Exact(_)) => {}
            }
        }
        Ok(best)
    }
}

impl fmt::Display for DptRef {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Main(main) => write!(out, "{main}.*"),
            Self::Exact(id) => id.fmt(out),
        }
    }
}

/// Why text is no datapoint type.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum DptIdError {
    /// Neither of the forms.
    #[error("`{text}` is no datapoint type: write it like `1.001`, `DPT 1.001` or `DPST-1-1`")]
    Malformed {
        /// What was written.
        text: String,
    },
    /// The sub-type has fewer than three digits, so that `5.01` and `5.1` may be a number that lost its zeros.
    #[error("`{text}` is no datapoint type: the sub-type has three digits at least, like {}", hint(*main, sub))]
    ShortSub {
        /// What was written.
        text: String,
        /// Main type.
        main: u16,
        /// The digits of the sub-type.
        sub: String,
    },
    /// A main type alone, where one datapoint type is needed.
    #[error("`{text}` names a whole main type: write one of its datapoint types, like `{main}.001`")]
    MainOnly {
        /// What was written.
        text: String,
        /// Main type.
        main: u16,
    },
}

/// What may have been meant: the digits with zeros before, or, where a number lost them, behind.
fn hint(main: u16, sub: &str) -> String {
    let behind = format!("{main}.{sub:0<3}");
    let before = format!("{main}.{sub:0>3}");
    if before == behind { format!("`{before}`") } else { format!("`{before}` or `{behind}`") }
}

impl FromStr for DptId {
    type Err = DptIdError;

    fn from_str(text: &str) -> Result<Self, DptIdError> {
        match text.parse()? {
            DptRef::Exact(id) => Ok(id),
            DptRef::Main(main) => Err(DptIdError::MainOnly { text: text.trim().to_owned(), main }),
        }
    }
}

impl FromStr for DptRef {
    type Err = DptIdError;

    fn from_str(text: &str) -> Result<Self, DptIdError> {
        let text = text.trim();
        let malformed = || DptIdError::Malformed { text: text.to_owned() };
        if let Some(rest) = strip_prefix(text, "DPST") {
            let (main, sub) =
                rest.strip_prefix('-').and_then(|rest| rest.split_once('-')).ok_or_else(malformed)?;
            let (main, sub) = (number(main), number(sub));
            return Ok(Self::Exact(DptId {
                main: main.ok_or_else(malformed)?,
                sub: sub.ok_or_else(malformed)?,
            }));
        }
        let rest = strip_prefix(text, "DPT").map_or(text, |rest| rest.trim_start_matches(['-', ' ', '_']));
        let Some((main, sub)) = rest.split_once('.') else {
            return Ok(Self::Main(number(rest).ok_or_else(malformed)?));
        };
        let main = number(main).ok_or_else(malformed)?;
        if matches!(sub, "*" | "x" | "xxx" | "XXX") {
            return Ok(Self::Main(main));
        }
        let digits = sub.bytes().all(|byte| byte.is_ascii_digit());
        if digits && (1..=2).contains(&sub.len()) {
            return Err(DptIdError::ShortSub { text: text.to_owned(), main, sub: sub.to_owned() });
        }
        let padded = sub.len() > 3 && sub.starts_with('0');
        match sub.parse() {
            Ok(sub) if digits && !padded => Ok(Self::Exact(DptId { main, sub })),
            Ok(_) | Err(_) => Err(malformed()),
        }
    }
}

fn strip_prefix<'a>(text: &'a str, prefix: &str) -> Option<&'a str> {
    let (start, rest) = text.split_at_checked(prefix.len())?;
    start.eq_ignore_ascii_case(prefix).then_some(rest)
}

/// A number from 0 or 1 on, digits only, without leading zeros.
fn number(text: &str) -> Option<u16> {
    let digits = !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    if !digits || (text.len() > 1 && text.starts_with('0')) { None } else { text.parse().ok() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(input: &str, expected: Result<&str, &str>) {
        let found = input.parse::<DptRef>().map(|found| found.to_string()).map_err(|error| error.to_string());
        assert_eq!(found.as_deref().map_err(String::as_str), expected, "{input}");
    }

    #[test]
    fn reads_all_forms() {
        for text in ["5.001", "DPT 5.001", "DPT5.001", "dpt 5.001", "DPST-5-1", " 5.001 ", "DPT-5.001"] {
            check(text, Ok("5.001"));
        }
        check("14.1200", Ok("14.1200"));
        check("DPST-14-1200", Ok("14.1200"));
        for text in ["1.*", "1.xxx", "DPT-1", "DPT 1", "1"] {
            check(text, Ok("1.*"));
        }
    }

    #[test]
    fn of_a_list_the_most_exact_counts() {
        let check = |input: &str, expected: Option<&str>| {
            let found = DptRef::parse_most_exact(input).ok().map(|found| found.to_string());
            assert_eq!(found.as_deref(), expected, "{input}");
        };
        check("DPST-1-1", Some("1.001"));
        check("DPT-1, DPST-1-2; DPST-1-3", Some("1.002"));
        check("DPT-1,DPT-5", Some("1.*"));
        check("", None);
        check("DPST-1-1,", None);
        check("DPT-1;?", None);
    }

    #[test]
    fn refuses_what_may_be_a_number() {
        let hint = |text: &str, hint: &str| {
            check(
                text,
                Err(&format!(
                    "`{text}` is no datapoint type: the sub-type has three digits at least, like {hint}"
                )),
            );
        };
        hint("5.01", "`5.001` or `5.010`");
        hint("5.1", "`5.001` or `5.100`");
    }

    #[test]
    fn refuses_everything_else() {
        for text in [
            "",
            "DPT",
            "5.",
            ".001",
            "5.0001",
            "05.001",
            "5.001.1",
            "-5.001",
            "5,001",
            "DPST-5",
            "99999.001",
            "Ü",
        ] {
            let wanted =
                format!("`{text}` is no datapoint type: write it like `1.001`, `DPT 1.001` or `DPST-1-1`");
            check(text, Err(&wanted));
        }
    }
}
