//! Bytes that are not text.

use crate::findings::Severity;
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::Problem;
use crate::source::TextFault;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "not-text",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a file holds bytes that are not text",
        on_site: "Of a description nothing is built; of a table only what can be read is checked.",
        remedy: "Save the file as UTF-8 text.",
        source: Source::Format,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 10 } }
include: rooms.yaml
--- rooms.yaml
rooms: {} #\u{1}
#          ^
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

/// Says what the bytes are.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    if let Problem::NotText { place, fault } = problem {
        let message = match fault {
            TextFault::Utf8 => "a byte here is not UTF-8",
            TextFault::Utf16 => "this is not UTF-16 throughout",
            TextFault::Zero => "a zero byte stands here: this is no text file",
            TextFault::Control => "a control character stands here",
            TextFault::Archive => {
                "this is an archive, as a spreadsheet program saves its own files, and no text"
            }
        };
        let said = Said::new(message, *place, "not text");
        report.add(
            &RULE.card,
            if *fault == TextFault::Archive {
                said.help("open it there and export it as text with commas or semicolons (CSV)")
            } else {
                said
            },
        );
    }
}
