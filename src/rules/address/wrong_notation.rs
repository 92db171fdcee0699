//! A `notation` that the addresses of the house are not written in.

use crate::findings::{Certainty, Severity};
use crate::knx::Notation;
use crate::resolve::{Problem, ProblemKind};
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "wrong-notation",
        family: Family::Address,
        severity: Severity::Error,
        otherwise: &[],
        summary: "`notation` is not the one that the addresses are written in",
        on_site: "Read in the wrong notation an address is another one, or none: nothing is built.",
        remedy: "Write the notation of the addresses: `three-level` (1/2/3), `two-level` (1/515) or `free` (2563).",
        source: Source::Standard("KNX 3/3/2 and 3/5/1 (from memory)"),
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house, notation: two-level }
#                                                    ^^^^^^^^^
bridges: { main: { name: Test, capacity: 10 } }
rooms:
  hall:
    name: Hall
    appliances:
      lamp:
        name: Lamp
        class: on-off-light
        points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
      spot:
        name: Spot
        class: on-off-light
        points: { switching: { command: 1/1/2, feedback: 1/4/2 } }
",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house, notation: three-level }
bridges: { main: { name: Test, capacity: 10 } }
rooms:
  hall:
    name: Hall
    appliances:
      lamp:
        name: Lamp
        class: on-off-light
        points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
      spot:
        name: Spot
        class: on-off-light
        points: { switching: { command: 1/1/2, feedback: 1/4/2 } }
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Says which one they are written in.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    let ProblemKind::WrongNotation { written, seen, count, of } = &problem.kind else { return };
    let right = word(*seen);
    let most = if count == of { format!("all {of}") } else { format!("{count} of {of}") };
    let said = match written {
        Some(written) => {
            let message =
                format!("`notation` is `{}`, and {most} addresses are written in `{right}`", word(*written));
            Said::new(message, problem.place, "another notation")
                .help(format!("write `{right}`"))
                .replace(right, Certainty::ToBeLookedAt)
        }
        None => {
            let message = format!("{most} addresses are written in `{right}`, and the house does not say so");
            Said::new(message, problem.place, "no notation").help(format!("write `notation: {right}` here"))
        }
    };
    report.add(&RULE.card, said);
}

fn word(notation: Notation) -> &'static str {
    match notation {
        Notation::ThreeLevel => "three-level",
        Notation::TwoLevel => "two-level",
        Notation::Free => "free",
    }
}
