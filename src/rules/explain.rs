//! A rule's card as text for people: `explain`, `list`, the docs page.

use super::{Card, Family, RULES};
use crate::findings::{RuleFacts, Severity};
use std::fmt::Write as _;

/// The word for a severity.
fn word(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Note => "note",
    }
}

/// All that a card says, for a terminal.
pub fn explain(card: &Card) -> String {
    let mut text = String::new();
    let _ = writeln!(text, "{} ({}, {})\n", card.name, word(card.severity), card.family.word());
    let _ = writeln!(text, "Finds:    {}", card.summary);
    let _ = writeln!(text, "On site:  {}", card.on_site);
    let _ = writeln!(text, "Remedy:   {}", card.remedy);
    let _ = writeln!(text, "Source:   {}", card.source);
    for (title, example) in [("Found in:", card.bad), ("Not in:", card.good)] {
        if !example.is_empty() {
            let _ = writeln!(text, "\n{title}\n");
            for line in example.lines() {
                let _ = writeln!(text, "    {line}");
            }
        }
    }
    let silence = match card.severity {
        Severity::Error => "An error cannot be silenced.".to_owned(),
        Severity::Warning | Severity::Note => {
            format!(
                "To silence it for an appliance, a room or the house: `allow: {{ {}: the reason }}`.",
                card.name
            )
        }
    };
    let _ = writeln!(text, "\n{silence}");
    text
}

/// The rules, one a line; only those of a family or with a text in name or summary, where asked for.
pub fn list(family: Option<Family>, text: Option<&str>) -> String {
    let wanted = text.map(str::to_lowercase);
    let shown: Vec<&Card> = RULES
        .iter()
        .map(|rule| &rule.card)
        .filter(|card| family.is_none_or(|family| card.family == family))
        .filter(|card| {
            wanted.as_deref().is_none_or(|wanted| {
                card.name.contains(wanted) || card.summary.to_lowercase().contains(wanted)
            })
        })
        .collect();
    let widest = shown.iter().map(|card| card.name.len()).max().unwrap_or(0);
    let mut lines = String::new();
    for card in shown {
        let _ = writeln!(lines, "{:widest$}  {:7}  {}", card.name, word(card.severity), card.summary);
    }
    lines
}

/// What output forms need to know of the rules.
pub fn facts() -> Vec<RuleFacts> {
    let facts = |card: &Card| RuleFacts {
        name: card.name,
        summary: card.summary,
        on_site: card.on_site,
        remedy: card.remedy,
    };
    RULES.iter().map(|rule| facts(&rule.card)).collect()
}
