//! All findings of a run, in one order, and how many there are.

use super::{Finding, Severity};
use crate::sort;
use crate::source::Sources;

/// The findings of a run.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Findings {
    all: Vec<Finding>,
}

impl Findings {
    /// No findings yet.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a finding.
    pub fn push(&mut self, finding: Finding) {
        self.all.push(finding);
    }

    /// Puts them in order: by file and place, then by weight, then by rule and message. Of two that are the same
    /// one is left: a value that is written once and used twice, by an alias, is found twice.
    pub fn sort(&mut self) {
        sort::by(&mut self.all, |a, b| {
            let key = |finding: &Finding| {
                (finding.primary.place, std::cmp::Reverse(finding.severity), finding.rule)
            };
            key(a).cmp(&key(b)).then_with(|| a.message.cmp(&b.message))
        });
        self.all.dedup();
    }

    /// Finds the places of what is to be added, in the texts; a correction that has none is no longer offered.
    pub fn settle(&mut self, sources: &Sources) {
        for finding in &mut self.all {
            if finding.edit.as_mut().is_some_and(|edit| !edit.settle(sources)) {
                finding.edit = None;
            }
        }
    }

    /// In the order of the last [`sort`](Self::sort).
    pub fn iter(&self) -> std::slice::Iter<'_, Finding> {
        self.all.iter()
    }

    /// How many.
    #[must_use]
    pub fn len(&self) -> usize {
        self.all.len()
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.all.is_empty()
    }

    /// How many weigh so much.
    #[must_use]
    pub fn count(&self, severity: Severity) -> usize {
        self.all.iter().filter(|finding| finding.severity == severity).count()
    }

    /// How many errors.
    #[must_use]
    pub fn errors(&self) -> usize {
        self.count(Severity::Error)
    }

    /// How many warnings.
    #[must_use]
    pub fn warnings(&self) -> usize {
        self.count(Severity::Warning)
    }

    /// How many notes.
    #[must_use]
    pub fn notes(&self) -> usize {
        self.count(Severity::Note)
    }

    /// The heaviest weight among them.
    #[must_use]
    pub fn worst(&self) -> Option<Severity> {
        self.all.iter().map(|finding| finding.severity).max()
    }

    /// Lets go of those that `keep` does not want.
    pub fn retain(&mut self, keep: impl FnMut(&Finding) -> bool) {
        self.all.retain(keep);
    }
}

impl Extend<Finding> for Findings {
    fn extend<I: IntoIterator<Item = Finding>>(&mut self, findings: I) {
        self.all.extend(findings);
    }
}

impl FromIterator<Finding> for Findings {
    fn from_iter<I: IntoIterator<Item = Finding>>(findings: I) -> Self {
        Self { all: findings.into_iter().collect() }
    }
}

impl IntoIterator for Findings {
    type Item = Finding;
    type IntoIter = std::vec::IntoIter<Finding>;

    fn into_iter(self) -> Self::IntoIter {
        self.all.into_iter()
    }
}

impl<'a> IntoIterator for &'a Findings {
    type Item = &'a Finding;
    type IntoIter = std::slice::Iter<'a, Finding>;

    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

/// The numbers of a run.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Summary {
    /// Errors found.
    pub errors: usize,
    /// Warnings found.
    pub warnings: usize,
    /// Notes found.
    pub notes: usize,
    /// Findings that an `allow:` silenced.
    pub allowed: usize,
    /// Appliances of the house.
    pub appliances: usize,
    /// Points of the appliances.
    pub points: usize,
}

impl Summary {
    /// The numbers of these findings in a house of this size.
    #[must_use]
    pub fn new(findings: &Findings, allowed: usize, appliances: usize, points: usize) -> Self {
        Self {
            errors: findings.errors(),
            warnings: findings.warnings(),
            notes: findings.notes(),
            allowed,
            appliances,
            points,
        }
    }

    /// Adds the numbers of another house.
    pub fn add(&mut self, other: &Self) {
        self.errors += other.errors;
        self.warnings += other.warnings;
        self.notes += other.notes;
        self.allowed += other.allowed;
        self.appliances += other.appliances;
        self.points += other.points;
    }

    /// The size of the house: "84 appliances with 212 points".
    pub fn size(&self) -> String {
        format!("{} with {}", counted(self.appliances, "appliance"), counted(self.points, "point"))
    }

    /// In one line: "2 errors, 1 note in 84 appliances with 212 points; 3 findings allowed".
    #[must_use]
    pub fn line(&self) -> String {
        let counts = [(self.errors, "error"), (self.warnings, "warning"), (self.notes, "note")];
        let told: Vec<String> = counts
            .iter()
            .filter(|(count, _)| *count > 0)
            .map(|(count, word)| counted(*count, word))
            .collect();
        let told = if told.is_empty() { "no findings".to_owned() } else { told.join(", ") };
        let size = self.size();
        let allowed = match self.allowed {
            0 => String::new(),
            allowed => format!("; {} allowed", counted(allowed, "finding")),
        };
        format!("{told} in {size}{allowed}")
    }
}

/// "1 point", "2 points".
fn counted(count: usize, word: &str) -> String {
    let plural = if count == 1 { "" } else { "s" };
    format!("{count} {word}{plural}")
}

/// What an output form says of a rule besides its findings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RuleFacts {
    /// Its name, as written after `allow:`.
    pub name: &'static str,
    /// How much it weighs where nothing else is said.
    pub severity: Severity,
    /// What it finds.
    pub summary: &'static str,
    /// What happens on site.
    pub on_site: &'static str,
    /// What to do.
    pub remedy: &'static str,
}
