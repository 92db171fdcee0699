//! A file that includes itself.

use crate::findings::Severity;
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::Problem;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "include-loop",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a file includes itself, directly or through others",
        on_site: "The file is read once all the same; the loop shows that one include is not meant.",
        remedy: "Take one include of the loop out.",
        source: Source::Format,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 10 } }
include: rooms.yaml
--- rooms.yaml
include: house.yaml
#        ^^^^^^^^^^
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

/// Points at the include that closes the loop.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    if let Problem::IncludeLoop { place, path } = problem {
        report.add(&RULE.card, Said::new(format!("`{path}` is being read already"), *place, "closes a loop"));
    }
}
