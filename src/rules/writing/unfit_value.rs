//! A value that its key does not take.

use crate::findings::Severity;
use crate::findings::{Certainty, list, nearest};
use crate::rules::syntax_wording::like_address;
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::{Problem, QUOTED, Shape, Written};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unfit-value",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a value is not what its key takes",
        on_site: "The value is left out, and what needs it is not built.",
        remedy: "Write the value as its key takes it.",
        source: Source::Format,
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: Lamp
  class: on-off-light
  bridged: maybe
  #        ^^^^^
  points:
    switching: { command: 1/1/1, feedback: 1/4/1 }
",
        good: "\
lamp:
  name: Lamp
  class: on-off-light
  bridged: false
  points:
    switching: { command: 1/1/1, feedback: 1/4/1 }
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Says what the key takes.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    let said = match problem {
        Problem::WrongShape { place, expected, found, written } => {
            let said = Said::new(
                format!("{} where {} belongs", shape(*found), shape(*expected)),
                *place,
                shape(*found),
            );
            match written.as_deref() {
                Some(written) => instead(*expected, *found, written, said),
                // In a list.
                None if *expected == Shape::Text => said.help("write one value, without brackets or braces"),
                None => said.help(format!("write {}", example(*expected, "key"))),
            }
        }
        Problem::UnknownWord { place, text, allowed } => {
            let said = Said::new(
                format!("`{text}` is none of the words that this key takes"),
                *place,
                "unknown word",
            );
            match nearest(text, allowed.iter().copied()) {
                Some(right) => said.help(format!("write `{right}`")).replace(right, Certainty::ToBeLookedAt),
                None => said.help(format!("write one of {}", list(allowed.iter().copied()))),
            }
        }
        Problem::Unfit { place, text, expected } => {
            // A list and a mapping have no text.
            let what = if text.is_empty() { "this".to_owned() } else { format!("`{text}`") };
            let said = Said::new(format!("{what} is not {expected}"), *place, "does not fit");
            match plainly(text, expected) {
                Some(meant) => said.help(format!("write `{meant}`")).replace(meant, Certainty::ToBeLookedAt),
                None => said.help(format!("write {expected}")),
            }
        }
        _ => return,
    };
    report.add(&RULE.card, said);
}

fn shape(shape: Shape) -> &'static str {
    match shape {
        Shape::Nothing => "nothing",
        Shape::Text => "a single value",
        Shape::Sequence => "a list",
        Shape::Mapping => "a mapping",
    }
}

fn example(shape: Shape, key: &str) -> String {
    match shape {
        Shape::Nothing => "nothing behind the colon".to_owned(),
        Shape::Text => format!("one value behind the colon: `{key}: value`"),
        Shape::Sequence => format!("a list: `{key}: [first, second]`"),
        Shape::Mapping => "keys with values, each on a line of its own and two spaces further in".to_owned(),
    }
}

/// What to write instead of a value of another shape, by its key and by what it holds.
fn instead(expected: Shape, found: Shape, written: &Written, said: Said) -> Said {
    let (key, texts) = (written.key.as_str(), written.texts.as_slice());
    let write = |said: Said, meant: String| {
        let said = said.help(format!("write `{key}: {meant}`"));
        match written.place {
            Some(place) => said.edit(vec![(place, meant)], Certainty::ToBeLookedAt),
            None => said,
        }
    };
    match (expected, addresses(texts).as_slice(), texts) {
        (Shape::Mapping, [one], _) => {
            let help = format!(
                "write `{key}: {{ command: {one} }}`, or `{key}: {{ feedback: {one} }}` of what only reports"
            );
            said.help(help)
        }
        (Shape::Mapping, [command, feedback], _) => {
            write(said, format!("{{ command: {command}, feedback: {feedback} }}"))
        }
        (Shape::Mapping, [_, _, ..], _) => {
            said.help("write each address behind its key: `command`, `feedback` or `listens`")
        }
        (Shape::Mapping, [], [rule, ..]) if key == "allow" => {
            said.help(format!("write `allow: {{ {rule}: the reason, in a few words }}`"))
        }
        (Shape::Mapping, [], _) if key == "confirmed" => {
            said.help("write `confirmed: { by: NAME, checked: what was tried, on: YYYY-MM-DD }`")
        }
        (Shape::Mapping, ..) if written.is_of_mappings => {
            said.help(format!("take the dashes out: below `{key}` stand keys, and no list"))
        }
        (Shape::Text, [command, others @ ..], _) if key == "command" && !others.is_empty() => {
            let others = others.join(", ");
            said.help(format!("write `command: {command}`, and what else moves it as `listens: [{others}]`"))
        }
        (Shape::Text, _, [one]) if found == Shape::Sequence => write(said, one.clone()),
        (Shape::Sequence, _, [text]) => match bounds(text) {
            Some((low, high)) => write(said, format!("[{low}, {high}]")),
            None if is_of_words(key, text) => write(said, format!("[{text}]")),
            None => said.help(format!("write {}", example(expected, key))),
        },
        _ => said.help(format!("write {}", example(expected, key))),
    }
}

/// The group addresses that some texts are, if they are nothing else.
fn addresses(texts: &[String]) -> Vec<&str> {
    let parts = texts.iter().flat_map(|text| text.split([',', ';', ' '])).filter(|part| !part.is_empty());
    let all: Option<Vec<&str>> = parts.map(|part| like_address(part).then_some(part)).collect();
    all.unwrap_or_default()
}

/// Two whole numbers with something between them that people write for "to": `0-100`, `0 to 100`, `0..100`.
fn bounds(text: &str) -> Option<(&str, &str)> {
    let is_digit = |character: char| character.is_ascii_digit();
    let low = text.split(|character| !is_digit(character)).next()?;
    let high = text.rsplit(|character| !is_digit(character)).next()?;
    let between = text.get(low.len()..text.len().checked_sub(high.len())?)?;
    let is_to = matches!(between.trim(), "-" | "–" | ".." | "..." | "to" | "bis" | ":" | "," | ";" | "/");
    (is_to && !low.is_empty() && !high.is_empty()).then_some((low, high))
}

/// What a text plainly means that does not fit: `yes`, a number with its `%` or in quotation marks.
fn plainly(text: &str, expected: &str) -> Option<String> {
    if expected == QUOTED {
        return Some(text.to_owned());
    }
    if expected == "`true` or `false`" {
        return match text.to_lowercase().as_str() {
            "yes" | "on" | "y" | "1" | "ja" | "oui" => Some("true".to_owned()),
            "no" | "off" | "n" | "0" | "nein" | "non" => Some("false".to_owned()),
            _ => None,
        };
    }
    let number = text.strip_suffix('%')?.trim_end();
    let is_number = number.starts_with(|first: char| first.is_ascii_digit()) && number.parse::<f64>().is_ok();
    (expected == "a number" && is_number).then(|| number.to_owned())
}

/// Whether a text is the one item of a list, or several that lack its brackets, and not what the items of some lists are.
fn is_of_words(key: &str, text: &str) -> bool {
    let takes_others =
        ["range", "convert", "from-bus", "to-bus", "links", "adds", "combinations"].contains(&key);
    let is_word = |letter: char| letter.is_alphanumeric() || " ,.-_/*".contains(letter);
    !takes_others && text.starts_with(char::is_alphanumeric) && text.chars().all(is_word)
}
