//! Words that stand where somebody has still to write who looked and what was checked: a table, `schema/placeholders.yaml`,
//! read when it is first asked for.

use crate::survey::names;
use serde::Deserialize;
use std::sync::LazyLock;

static WORDS: LazyLock<Placeholders> = LazyLock::new(|| {
    serde_json::from_str(include_str!(concat!(env!("OUT_DIR"), "/placeholders.json")))
        .expect("embedded when the program was built, and read by a test")
});

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Placeholders {
    /// Instead of who looked or what was checked.
    either: Vec<String>,
    /// Instead of who looked.
    by: Vec<String>,
    /// Instead of what was checked.
    checked: Vec<String>,
}

/// Whether a text says who looked.
pub(super) fn says_who(text: &str) -> bool {
    says(text, &WORDS.by)
}

/// Whether a text says what was checked.
pub(super) fn says_what(text: &str) -> bool {
    says(text, &WORDS.checked)
}

fn says(text: &str, placeholders: &[String]) -> bool {
    // None of them is as long, and a text may be.
    if text.len() > 64 {
        return true;
    }
    let heard = names::heard(text);
    !heard.is_empty() && !WORDS.either.iter().chain(placeholders).any(|word| *word == heard)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_written_as_it_is_heard() {
        for word in WORDS.either.iter().chain(&WORDS.by).chain(&WORDS.checked) {
            assert_eq!(names::heard(word), *word);
            assert!(word.len() <= 64, "{word}");
        }
    }

    #[test]
    fn what_nobody_has_filled_in_says_nothing() {
        let texts = [
            "TODO", "tbd", "TBD", "?", "-", "...", "XXX", "FIXME", "pending", "unknown", "none", "NAME",
            "à faire",
        ];
        for text in texts {
            assert!(!says_who(text) && !says_what(text), "{text}");
        }
        for text in ["x", "nobody", "YOUR NAME", "Niemand", "quelqu'un"] {
            assert!(!says_who(text), "{text}");
        }
        for text in ["not yet", "nothing", "no", "Noch nicht", "nicht geprüft"] {
            assert!(!says_what(text), "{text}");
        }
        for text in ["M. Quill", "the installer", "Nic Ohm", "NN Electric"] {
            assert!(says_who(text), "{text}");
        }
        for text in ["x", "obstacle stop", "nothing can be caught", "open by hand", "opens without power"] {
            assert!(says_what(text), "{text}");
        }
    }
}
