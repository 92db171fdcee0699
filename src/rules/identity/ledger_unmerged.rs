//! A ledger that a merge left in pieces.

use crate::findings::Severity;
use crate::ledger::Problem;
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "ledger-unmerged",
        family: Family::Identity,
        severity: Severity::Error,
        otherwise: &[],
        summary: "the ledger holds the marks of an unfinished merge",
        on_site: "Read by guesswork, an appliance could lose its endpoint and with it every automation.",
        remedy: "Run `housewright ledger resolve`, or finish the merge by hand, and commit the result.",
        source: Source::Format,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 10 } }
--- ledger.yaml
housewright-ledger: 1
house: test-house
<<<<<<< ours
#^^^^^^^^^^^
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

/// Points at the mark.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    if let Problem::Unmerged { place } = problem {
        report.add(&RULE.card, Said::new("the ledger was not merged to the end", *place, "left by a merge"));
    }
}
