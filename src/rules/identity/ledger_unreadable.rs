//! A ledger, or a line of it, that cannot be read.

use crate::findings::Severity;
use crate::ledger::{Problem, VERSION};
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "ledger-unreadable",
        family: Family::Identity,
        severity: Severity::Error,
        otherwise: &[],
        summary: "the ledger cannot be read",
        on_site: "A build without it would give every appliance a new endpoint: all rooms, scenes and automations would be lost.",
        remedy: "Take `ledger.yaml` back from version control: `housewright` alone writes it.",
        source: Source::Format,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 10 } }
--- ledger.yaml
housewright-ledger: 9
#                   ^
house: test-house
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

/// Says what cannot be read.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    let message = match problem {
        Problem::NoVersion { .. } => "the ledger does not say which version it is in".to_owned(),
        Problem::UnknownVersion { found, .. } => format!("version `{found}` of the ledger is not known here"),
        Problem::NoHouse { .. } => "the ledger does not say whose it is".to_owned(),
        Problem::Garbled { .. } => "the ledger is not as `housewright build` writes it".to_owned(),
        Problem::KeyTwice { key, .. } => format!("`{key}` stands in the ledger twice"),
        Problem::UnknownKey { key, .. } => format!("`{key}` is no key of a ledger"),
        Problem::WrongShape { expected, .. } => format!("{expected} belongs here"),
        Problem::Malformed { text, .. } => {
            format!("`{text}` is not bridge, number, device types and unique id")
        }
        Problem::OutOfRange { number, .. } => {
            format!("`{number}` is no endpoint number: they go from 2 to 65534")
        }
        Problem::Unmerged { .. }
        | Problem::OtherHouse { .. }
        | Problem::SameNumber { .. }
        | Problem::SameUniqueId { .. }
        | Problem::LivingAndRetired { .. } => return,
    };
    let said = Said::new(message, problem.place(), "cannot be read");
    report.add(
        &RULE.card,
        match problem {
            Problem::KeyTwice { first, .. } => said.with(*first, "first here").help(KEY_TWICE),
            Problem::UnknownVersion { found, .. }
                if found.parse::<u32>().is_ok_and(|found| found > VERSION) =>
            {
                said.help(
                    "use the version of housewright that wrote it, or a later one; do not change it by hand",
                )
            }
            _ => said,
        },
    );
}

/// Two keys alike are what a merge of lines leaves; to choose one of them is to lose an endpoint.
const KEY_TWICE: &str = "take `ledger.yaml` back from version control; where two branches wrote it, bring theirs together with \
                         `housewright ledger merge`: a line that is left out is an endpoint that is lost";
