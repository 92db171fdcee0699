//! One unique id for two appliances.

use crate::findings::Severity;
use crate::ledger::Problem;
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unique-id-given-twice",
        family: Family::Identity,
        severity: Severity::Error,
        otherwise: &[],
        summary: "the ledger gives one unique id twice",
        on_site: "Controllers take the two appliances for one.",
        remedy: "If a merge of two branches left it so, run `housewright ledger resolve`. If it was changed by hand, take `ledger.yaml` back from version control.",
        source: Source::Format,
        frame: Frame::Files,
        bad: "",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 10 } }
--- ledger.yaml
housewright-ledger: 1
house: test-house
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Points at both.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    let (place, first, message) = match problem {
        Problem::SameUniqueId { place, first, unique_id } => {
            (place, first, format!("the unique id {unique_id} was given twice"))
        }
        Problem::LivingAndRetired { place, first, unique_id } => {
            (place, first, format!("the unique id {unique_id} is in use and retired at once"))
        }
        _ => return,
    };
    report.add(&RULE.card, Said::new(message, *place, "again here").with(*first, "first here"));
}
