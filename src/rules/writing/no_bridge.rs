//! A house without a bridge.

use crate::findings::Severity;
use crate::resolve::Problem;
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "no-bridge",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "the house describes no bridge",
        on_site: "There is nothing to build: no controller sees anything.",
        remedy: "Write `bridges:` in the root file, with a name and the capacity of the gateway.",
        source: Source::Format,
        frame: Frame::Root,
        bad: "\
housewright: 1
#^
house: { id: test-house, name: Test house }
",
        good: "\
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 10 } }
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Gives the lines to write.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    let said = Said::new("the house has no bridge", problem.place, "no `bridges:` in any file");
    report.add(&RULE.card, said.help("write `bridges: { main: { name: Heron Wharf, capacity: 100 } }`"));
}
