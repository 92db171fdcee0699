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

/// What it means that the ledger cannot be read.
pub(super) const WITHOUT_LEDGER: &str =
    "The numbers and names of all endpoints are unknown: each would be a new one.";

/// What is to be done then.
pub(super) const LEDGER_BACK: &str =
    "put the file of the last build back in its place, from version control or a copy";

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
        Problem::NotAFile { place, path } if path == FILE_NAME => {
            Said::new(format!("`{path}` is a folder or a pipe, and no file"), *place, "the house of it")
                .on_site(WITHOUT_LEDGER)
                .help(LEDGER_BACK)
        }
        Problem::NotAFile { place, path } => Said::new(format!("`{path}` is no file"), *place, "not read")
            .help("name a file; for all files of a folder write `folder/*.yaml`"),
        _ => return,
    };
    report.add(&RULE.card, said);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::{FileId, Place};

    #[test]
    fn a_ledger_that_is_no_file_is_to_be_put_back() {
        let place = Place { file: FileId(0), start: 0, end: 0 };
        let mut report = Report::default();
        tell(&Problem::NotAFile { place, path: FILE_NAME.to_owned() }, &mut report);
        let help = report.into_findings().into_iter().find_map(|finding| finding.help).unwrap_or_default();
        assert!(help.contains("put the file of the last build back"), "{help}");
    }
}
