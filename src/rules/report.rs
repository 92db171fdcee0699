//! How a rule says what it found.

use crate::findings::{Addition, Certainty, Edit, Finding, Label, Severity, brief};
use crate::pieces::Quota;
use crate::resolve::plan::Appliance;
use crate::resolve::{self, Plan};
use crate::source::Place;
use std::sync::Arc;

use super::Card;

/// Collects the findings of one rule.
#[derive(Debug, Default)]
pub struct Report {
    findings: Vec<Finding>,
    /// How many findings all pieces of the work may give, and which piece this one is.
    quota: Option<(Arc<Quota>, usize)>,
}

impl Report {
    /// One for a piece of the work, which takes findings as long as they are among the first of all.
    pub(super) fn of_piece(quota: &Arc<Quota>, piece: usize) -> Self {
        Self { findings: Vec::new(), quota: Some((Arc::clone(quota), piece)) }
    }

    /// Whether it takes no more findings, so that looking for them is of no use.
    pub(super) fn is_full(&self) -> bool {
        self.quota.as_ref().is_some_and(|(quota, piece)| quota.is_used_up(*piece))
    }

    /// Adds a finding of the rule on `card`.
    pub fn add(&mut self, card: &Card, said: Said) {
        if self.quota.as_ref().is_some_and(|(quota, piece)| !quota.take(*piece)) {
            return;
        }
        let Said {
            message,
            primary,
            related,
            others,
            help,
            edit,
            severity,
            evidence,
            on_site,
            appliance,
            room,
        } = said;
        let label = |Label { place, text }| Label { place, text: brief(text) };
        self.findings.push(Finding {
            rule: card.name,
            severity: severity.unwrap_or(card.severity),
            message: brief(message),
            primary: label(primary),
            related: related.into_iter().map(label).collect(),
            others,
            evidence: evidence.map(brief),
            on_site: Some(on_site.map_or_else(|| card.on_site.to_owned(), brief)),
            help: Some(help.map_or_else(|| card.remedy.to_owned(), brief)),
            appliance,
            room,
            edit,
        });
    }

    /// How many findings were added.
    pub(super) fn count(&self) -> usize {
        self.findings.len()
    }

    /// All that was added, in order.
    pub fn into_findings(self) -> Vec<Finding> {
        self.findings
    }
}

/// What is said, with long values in it cut.
fn brief(text: String) -> String {
    brief::text(text, brief::VALUE)
}

/// A text as a scalar of YAML, in a block or between braces: bare where it is words, else in quotes.
pub(super) fn written(text: &str) -> String {
    let is_word = |letter: char| {
        letter.is_alphanumeric() || matches!(letter, '-' | '_' | '/' | '.' | '(' | ')' | '+' | '&')
    };
    let words = text.split(' ').all(|word| !word.is_empty() && word.chars().all(is_word));
    let first = text.chars().next().is_some_and(char::is_alphanumeric);
    let nothing = text.eq_ignore_ascii_case("null");
    if words && first && !nothing {
        return text.to_owned();
    }
    if text.chars().any(char::is_control) {
        // Only double quotes can say them, and JSON writes what YAML reads.
        return serde_json::Value::from(text).to_string();
    }
    format!("'{}'", text.replace('\'', "''"))
}

/// A finding in the making: a message and a place first, the rest as it is known.
#[derive(Debug)]
pub struct Said {
    message: String,
    primary: Label,
    related: Vec<Label>,
    others: Vec<Place>,
    help: Option<String>,
    edit: Option<Edit>,
    severity: Option<Severity>,
    evidence: Option<String>,
    on_site: Option<String>,
    appliance: Option<String>,
    room: Option<String>,
}

impl Said {
    /// Begins a finding: what is wrong, and the smallest place that shows it, with the few words beside it.
    pub fn new(message: impl Into<String>, place: Place, label: impl Into<String>) -> Self {
        Self {
            message: message.into(),
            primary: Label { place, text: label.into() },
            related: Vec::new(),
            others: Vec::new(),
            help: None,
            edit: None,
            severity: None,
            evidence: None,
            on_site: None,
            appliance: None,
            room: None,
        }
    }

    /// Names the appliance it is about, and its room.
    #[must_use]
    pub fn about(mut self, appliance: &Appliance, plan: &Plan) -> Self {
        self.appliance = Some(appliance.key.value.clone());
        self.room = plan.rooms.get(appliance.room).map(|room| room.key.value.clone());
        self
    }

    /// Names what a problem of looking things up is about.
    #[must_use]
    pub fn keyed(mut self, problem: &resolve::Problem) -> Self {
        self.appliance.clone_from(&problem.appliance);
        self.room.clone_from(&problem.room);
        self
    }

    /// Names what a problem of the description as written is about.
    #[must_use]
    pub fn about_keys(mut self, room: Option<&str>, appliance: Option<&str>) -> Self {
        self.room = room.map(str::to_owned);
        self.appliance = appliance.map(str::to_owned);
        self
    }

    /// Names the room it is about.
    #[must_use]
    pub fn about_room(mut self, key: &str) -> Self {
        self.room = Some(key.to_owned());
        self
    }

    /// Points at the other half.
    #[must_use]
    pub fn with(mut self, place: Place, label: impl Into<String>) -> Self {
        self.related.push(Label { place, text: label.into() });
        self
    }

    /// Lists the further places of a fault that many have.
    #[must_use]
    pub fn others(mut self, places: impl IntoIterator<Item = Place>) -> Self {
        self.others.extend(places);
        self
    }

    /// Says what to write instead, in place of the card's remedy.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// Says what to write at the primary place instead, and offers it as an edit.
    #[must_use]
    pub fn replace(self, text: impl Into<String>, certainty: Certainty) -> Self {
        let place = self.primary.place;
        self.edit(vec![(place, text.into())], certainty)
    }

    /// Says which text of a person's to write at the primary place, quoted where YAML would take it for more than text.
    #[must_use]
    pub fn rename(self, text: &str, certainty: Certainty) -> Self {
        self.help(format!("write `{text}`")).replace(written(text), certainty)
    }

    /// The same for a text that is right but has no quotes: they are said to be written too.
    #[must_use]
    pub fn quote(self, text: &str, certainty: Certainty) -> Self {
        let place = self.primary.place;
        self.quote_at(place, text, certainty)
    }

    /// The same at another place.
    #[must_use]
    pub fn quote_at(self, place: Place, text: &str, certainty: Certainty) -> Self {
        let quoted = written(text);
        self.help(format!("write `{quoted}`")).edit(vec![(place, quoted)], certainty)
    }

    /// Gives the evidence, in front of what happens on site.
    #[must_use]
    pub fn because(mut self, evidence: &str) -> Self {
        self.evidence = Some(evidence.to_owned());
        self
    }

    /// Says what happens on site, in place of what the card says.
    #[must_use]
    pub fn on_site(mut self, on_site: impl Into<String>) -> Self {
        self.on_site = Some(on_site.into());
        self
    }

    /// Offers an edit.
    #[must_use]
    pub fn edit(mut self, replacements: Vec<(Place, String)>, certainty: Certainty) -> Self {
        self.edit = Some(Edit { certainty, replacements, additions: Vec::new() });
        self
    }

    /// Offers a member of a mapping to be written.
    #[must_use]
    pub fn addition(mut self, addition: Addition, certainty: Certainty) -> Self {
        self.edit = Some(Edit { certainty, replacements: Vec::new(), additions: vec![addition] });
        self
    }

    /// Weighs this finding otherwise than the card does.
    #[must_use]
    pub fn weighing(mut self, severity: Severity) -> Self {
        self.severity = Some(severity);
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is written reads as the text again, in a block and between braces.
    fn check(text: &str, expected: &str) {
        assert_eq!(written(text), expected);
        for line in [format!("name: {}", written(text)), format!("{{ name: {}, class: x }}", written(text))] {
            let read: serde_yaml::Value = serde_yaml::from_str(&line).expect("it is YAML");
            assert_eq!(read.get("name").and_then(serde_yaml::Value::as_str), Some(text), "{line}");
        }
    }

    #[test]
    fn names_are_quoted_where_they_must_be() {
        check("Lantern by the gate", "Lantern by the gate");
        check("Küche (Süd) 2", "Küche (Süd) 2");
        check("Lamp: left", "'Lamp: left'");
        check("Lamp # 3", "'Lamp # 3'");
        check("Lamp, small", "'Lamp, small'");
        check("Anna's lamp", "'Anna''s lamp'");
        check("- lamp", "'- lamp'");
        check("Null", "'Null'");
        check("a\tb", "\"a\\tb\"");
    }
}
