//! A path that leaves the house's folder, or is no file.

use crate::findings::Severity;
use crate::ledger::FILE_NAME;
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::Problem;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "outside-folder",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a path leaves the house's folder",
        on_site: "The build would depend on a machine's own files, and fail on the next machine.",
        remedy: "Copy the file into the house's folder and name it there.",
        source: Source::Format,
        frame: Frame::Root,
        bad: "\
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 10 } }
include: ../neighbour.yaml
#        ^^^^^^^^^^^^^^^^^
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

/// Says which path it is.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    let said = match problem {
        Problem::OutsideFolder { place, path, by_link } => {
            let what = if *by_link { "is a link that leaves" } else { "leaves" };
            let said = Said::new(format!("`{path}` {what} the house's folder"), *place, "not followed");
            if path == FILE_NAME {
                said.help("put the file itself in the place of the link: each house has a ledger of its own, in its folder")
            } else {
                said
            }
        }
        Problem::NotAFile { place, path } => Said::new(format!("`{path}` is no file"), *place, "not read")
            .help("name a file; for all files of a folder write `folder/*.yaml`"),
        _ => return,
    };
    report.add(&RULE.card, said);
}
