//! A rule's card as text for people: `explain`, `list`, the docs page.

use super::{Card, Family, RULES};
use crate::findings::breaking::{beside, wrapped};
use crate::findings::{Around, RuleFacts, Severity, unified};
use std::fmt::Write as _;

/// The word for a severity.
fn word(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Note => "note",
    }
}

/// What the findings of a rule may weigh: "warning", "warning or error".
fn words(card: &Card) -> String {
    let words: Vec<&str> = card.severities().map(word).collect();
    match words.as_slice() {
        [several @ .., last] if !several.is_empty() => format!("{} or {last}", several.join(", ")),
        _ => words.concat(),
    }
}

/// Lines of an example that is shown twice, with the fault and without; of a longer one only the change is.
const SHORT: usize = 16;

/// All that a card says, for a terminal of so many columns.
pub fn explain(card: &Card, width: usize) -> String {
    let title = format!("{} ({}, {})", card.name, words(card), card.family.word());
    let mut text = wrapped(&title, width) + "\n\n";
    for (title, said) in fields(card) {
        let said = beside(&said, 10, width);
        let _ = writeln!(text, "{:10}{said}", format!("{title}:"));
    }
    for (title, example) in examples(card) {
        let _ = writeln!(text, "\n{title}:\n");
        for line in example.lines() {
            let _ = writeln!(text, "    {line}");
        }
    }
    let (sentence, key) = silence(card);
    let _ = writeln!(text, "\n{}", wrapped(sentence, width));
    if let Some(key) = key {
        let _ = writeln!(text, "\n    {key}");
    }
    text
}

/// The page of all rules, in Markdown: a list by family, then each with all that its card says.
pub fn page() -> String {
    let mut text = "<!-- Made by `SNAPSHOTS=overwrite cargo test --test it rules`; do not edit. -->\n\n\
        # The rules\n\n\
        What the checks look for. `housewright explain RULE` shows the same on the terminal. An *error* cannot work or can do\n\
        harm, and nothing is built; a *warning* very probably does not work as meant; a *note* is worth a look. Warnings and\n\
        notes are silenced by `allow:` with a reason, for an appliance, a room or the house.\n"
        .to_owned();
    let of_family = |family| RULES.iter().map(|rule| &rule.card).filter(move |card| card.family == family);
    for family in Family::ALL {
        let _ = writeln!(text, "\n- {}", family.word());
        for card in of_family(family) {
            let _ = writeln!(text, "  - [`{0}`](#{0}) ({1}): {2}", card.name, words(card), card.summary);
        }
    }
    for card in Family::ALL.into_iter().flat_map(of_family) {
        let _ = writeln!(text, "\n## {}\n\n*{}, {}*\n", card.name, words(card), card.family.word());
        for (title, said) in fields(card) {
            let _ = writeln!(text, "- **{title}**: {said}");
        }
        for (title, example) in examples(card) {
            let kind = if example.starts_with("@@") { "diff" } else { "yaml" };
            let _ = writeln!(text, "\n{title}:\n\n```{kind}\n{}\n```", example.trim_end());
        }
        let _ = match silence(card) {
            (sentence, Some(key)) => writeln!(text, "\n{sentence} `{key}`"),
            (sentence, None) => writeln!(text, "\n{sentence}"),
        };
    }
    text
}

fn fields(card: &Card) -> Vec<(&'static str, String)> {
    let mut fields = vec![("Finds", card.summary.to_owned())];
    if !card.otherwise.is_empty() {
        let article = |severity| if severity == Severity::Error { "an" } else { "a" };
        let mut weighs = format!("{} {}", article(card.severity), word(card.severity));
        for (severity, when) in card.otherwise {
            let _ = write!(weighs, "; {} {} {when}", article(*severity), word(*severity));
        }
        fields.push(("Weighs", weighs));
    }
    fields.extend([
        ("On site", card.on_site.to_owned()),
        ("Remedy", card.remedy.to_owned()),
        ("Source", card.source.to_string()),
    ]);
    fields
}

/// The example with the fault, and the one without; where they are long, what changes from one to the other.
fn examples(card: &Card) -> Vec<(&'static str, String)> {
    let mut examples = Vec::new();
    if !card.bad.is_empty() {
        examples.push(("Found in", card.bad.to_owned()));
    }
    if card.good.lines().count() > SHORT && !card.bad.is_empty() {
        let is_mark = |line: &str| {
            line.trim_start().strip_prefix('#').is_some_and(|rest| rest.trim_start().starts_with('^'))
        };
        let bad: String =
            card.bad.lines().filter(|line| !is_mark(line)).map(|line| format!("{line}\n")).collect();
        let around = Around { radius: 2, ..Around::default() };
        examples.push(("Not after this change", unified(&bad, card.good, around)));
    } else if !card.good.is_empty() {
        examples.push(("Not in", card.good.to_owned()));
    }
    examples
}

/// How to silence it, as a sentence and what to write, where it can be silenced.
fn silence(card: &Card) -> (&'static str, Option<String>) {
    let errors = card.severities().filter(|severity| *severity == Severity::Error).count();
    let sentence = match errors {
        0 => "To silence it for an appliance, a room or the house:",
        _ if errors > card.otherwise.len() => return ("An error cannot be silenced.", None),
        _ => "To silence it for an appliance, a room or the house, where it is no error:",
    };
    (sentence, Some(format!("allow: {{ {}: the reason }}", card.name)))
}

/// The rules by family, with what each finding may weigh; only those of a family or with a text in name or summary, where
/// asked for.
pub fn list(family: Option<Family>, text: Option<&str>, width: usize) -> String {
    let wanted = text.map(str::to_lowercase);
    let holds = |card: &Card| {
        wanted
            .as_deref()
            .is_none_or(|wanted| card.name.contains(wanted) || card.summary.to_lowercase().contains(wanted))
    };
    let shown: Vec<&Card> = RULES
        .iter()
        .map(|rule| &rule.card)
        .filter(|card| family.is_none_or(|family| card.family == family) && holds(card))
        .collect();
    let indent = shown.iter().map(|card| card.name.len()).max().unwrap_or(0) + 4;
    let mut lines = String::new();
    for family in Family::ALL {
        let mut members = shown.iter().filter(|card| card.family == family).peekable();
        if members.peek().is_some() {
            let between = if lines.is_empty() { "" } else { "\n" };
            let _ = writeln!(lines, "{between}{}", family.word());
        }
        for card in members {
            let said = beside(&format!("{} ({})", card.summary, words(card)), indent, width);
            let _ = writeln!(lines, "  {:before$}{said}", card.name, before = indent - 2);
        }
    }
    lines
}

/// What output forms need to know of the rules.
pub fn facts() -> Vec<RuleFacts> {
    let facts = |card: &Card| RuleFacts {
        name: card.name,
        severity: card.severity,
        summary: card.summary,
        on_site: card.on_site,
        remedy: card.remedy,
    };
    RULES.iter().map(|rule| facts(&rule.card)).collect()
}
