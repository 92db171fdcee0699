//! Another house's ledger.

use crate::findings::Severity;
use crate::ledger::Problem;
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "ledger-of-another-house",
        family: Family::Identity,
        severity: Severity::Error,
        summary: "the ledger belongs to another house",
        on_site: "Its numbers and ids would be given a second time: two houses would claim the same endpoints.",
        remedy: "Take the ledger of another house out of this folder; a copied house begins without one.",
        source: Source::Format,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 10 } }
--- ledger.yaml
housewright-ledger: 1
house: other-house
#      ^^^^^^^^^^^
",
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

/// Says whose it is.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    if let Problem::OtherHouse { place, found } = problem {
        let message = format!("this is the ledger of the house `{found}`");
        report.add(&RULE.card, Said::new(message, *place, "another house"));
    }
}
