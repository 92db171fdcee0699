//! What the checks came to: findings, and the plan as `Checked` when none of them is an error.

use super::run;
use super::{Context, Problems, identity, writing};
use crate::classes::ClassLibrary;
use crate::findings::{Finding, Findings, Severity, Summary};
use crate::ledger::Ledger;
use crate::resolve::Plan;
use crate::source::{FileKind, Sources};
use crate::survey::Survey;

/// A plan without an error. Only [`check`] makes one, so nothing unchecked can be lowered.
#[derive(Debug)]
pub struct Checked(Plan);

impl Checked {
    /// The plan.
    pub fn plan(&self) -> &Plan {
        &self.0
    }
}

/// What the checks came to.
#[derive(Debug)]
pub struct Judged {
    /// What there is to say.
    pub findings: Findings,
    /// The numbers of it.
    pub summary: Summary,
    /// The plan, when no finding is an error.
    pub checked: Option<Checked>,
    /// The plan, when one is: to tell of, not to build from.
    refused: Option<Plan>,
}

impl Judged {
    /// Whether the system would not read a file, so that nothing can be said of it.
    pub fn lacks_a_file(&self) -> bool {
        self.findings.iter().any(|finding| finding.rule == writing::unreadable_file::RULE.card.name)
    }

    /// Whether something is wrong with the ledger itself, so that it cannot be held against anything.
    pub fn doubts_ledger(&self, sources: &Sources) -> bool {
        let rules = [
            &identity::ledger_of_another_house::RULE,
            &identity::ledger_unmerged::RULE,
            &identity::ledger_unreadable::RULE,
            &identity::number_given_twice::RULE,
            &identity::unique_id_given_twice::RULE,
        ];
        // Whatever keeps it from being read stands there as an error.
        let is_unread = |finding: &Finding| {
            finding.severity == Severity::Error
                && sources.kind(finding.primary.place.file) == FileKind::Ledger
        };
        self.findings
            .iter()
            .any(|finding| is_unread(finding) || rules.iter().any(|rule| rule.card.name == finding.rule))
    }

    /// The plan that was looked at, whatever was found.
    pub fn plan(&self) -> Option<&Plan> {
        self.checked.as_ref().map(Checked::plan).or(self.refused.as_ref())
    }
}

/// Looks at a plan with every rule.
pub fn check(plan: Plan, problems: &Problems, library: &ClassLibrary, ledger: &Ledger) -> Judged {
    let survey = Survey::of(&plan);
    let (findings, summary) = run::run(&Context { plan: &plan, survey: &survey, library, ledger }, problems);
    let (checked, refused) =
        if summary.errors == 0 { (Some(Checked(plan)), None) } else { (None, Some(plan)) };
    Judged { findings, summary, checked, refused }
}
