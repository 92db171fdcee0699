//! How a rule says what it found.

use crate::findings::{Certainty, Edit, Finding, Label, Severity};
use crate::resolve::plan::Appliance;
use crate::resolve::{self, Plan};
use crate::source::Place;

use super::Card;

/// Collects the findings of one rule.
#[derive(Debug, Default)]
pub struct Report {
    findings: Vec<Finding>,
}

impl Report {
    /// Adds a finding of the rule on `card`.
    pub fn add(&mut self, card: &Card, said: Said) {
        let Said { message, primary, related, help, edit, severity, evidence, appliance, room } = said;
        self.findings.push(Finding {
            rule: card.name,
            severity: severity.unwrap_or(card.severity),
            message,
            primary,
            related,
            evidence,
            on_site: Some(card.on_site.to_owned()),
            help: help.or_else(|| Some(card.remedy.to_owned())),
            appliance,
            room,
            edit,
        });
    }

    /// All that was added, in order.
    pub fn into_findings(self) -> Vec<Finding> {
        self.findings
    }
}

/// A finding in the making: a message and a place first, the rest as it is known.
#[derive(Debug)]
pub struct Said {
    message: String,
    primary: Label,
    related: Vec<Label>,
    help: Option<String>,
    edit: Option<Edit>,
    severity: Option<Severity>,
    evidence: Option<String>,
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
            help: None,
            edit: None,
            severity: None,
            evidence: None,
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

    /// Gives the evidence, in front of what happens on site.
    #[must_use]
    pub fn because(mut self, evidence: &str) -> Self {
        self.evidence = Some(evidence.to_owned());
        self
    }

    /// Offers an edit.
    #[must_use]
    pub fn edit(mut self, replacements: Vec<(Place, String)>, certainty: Certainty) -> Self {
        self.edit = Some(Edit { certainty, replacements });
        self
    }

    /// Weighs this finding otherwise than the card does.
    #[must_use]
    pub fn weighing(mut self, severity: Severity) -> Self {
        self.severity = Some(severity);
        self
    }
}
