//! One endpoint number for two appliances.

use crate::findings::Severity;
use crate::ledger::Problem;
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "number-given-twice",
        family: Family::Identity,
        severity: Severity::Error,
        otherwise: &[],
        summary: "the ledger gives one endpoint number twice",
        on_site: "Two appliances at one endpoint: controllers show one of them, and switch the other.",
        remedy: "If two branches took the same number, run `housewright ledger resolve`: who is in the last build keeps it; if the gateways have another build, name its folder with `--out`. If it was changed by hand, take `ledger.yaml` back from version control.",
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
    if let Problem::SameNumber { place, first, bridge, number } = problem {
        let message = format!("endpoint {number} of the bridge `{bridge}` was given twice");
        report.add(&RULE.card, Said::new(message, *place, "again here").with(*first, "first here"));
    }
}
