//! A key of the root file in an included file.

use crate::findings::Severity;
use crate::house::{Problem, ProblemKind};
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "misplaced-key",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a key of the root file stands in an included file",
        on_site: "It counts for nothing where it stands, and the house has one head only.",
        remedy: "Move it to the root file, or take it out.",
        source: Source::Format,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 10 } }
include: rooms.yaml
--- rooms.yaml
house: { id: other-house, name: Other house }
#      ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 10 } }
include: rooms.yaml
--- rooms.yaml
rooms: {}
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Says where it belongs.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    if let ProblemKind::OnlyInRoot { key } = &problem.kind {
        let message = format!("`{key}` belongs into the root file only");
        report.add(&RULE.card, Said::new(message, problem.place, "left out here"));
    }
}
