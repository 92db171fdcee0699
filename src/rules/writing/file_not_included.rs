//! A file with rooms that nothing includes.

use crate::findings::{Severity, some};
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::Problem;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "file-not-included",
        family: Family::Writing,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "a file with rooms lies in the house's folder, and no `include` reaches it",
        on_site: "Its appliances are built nowhere: the family loses those that it had, with their rooms and automations.",
        remedy: "Write its path under `include:`; a file that is no part of the house goes elsewhere, or gets another ending than `.yaml` and `.yml`.",
        source: Source::Format,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 10 } }
include: [rooms/*.yaml]
#         ^^^^^^^^^^^^
--- rooms/attic.yaml
rooms:
  attic:
    name: Attic
    appliances:
      spot: { name: Spot, class: on-off-light, points: { switching: { command: 1/1/2, feedback: 1/4/2 } } }
--- rooms/hall.yml
rooms:
  hall:
    name: Hall
    appliances:
      lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 10 } }
include: [rooms/*.yaml, rooms/*.yml]
--- rooms/attic.yaml
rooms:
  attic:
    name: Attic
    appliances:
      spot: { name: Spot, class: on-off-light, points: { switching: { command: 1/1/2, feedback: 1/4/2 } } }
--- rooms/hall.yml
rooms:
  hall:
    name: Hall
    appliances:
      lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
",
        folds: &[],
    },
    look: Look::Problem,
};

/// How many includes are told one by one.
const MOST_NAMED: usize = 6;

/// Names the files, and what to write.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    let Problem::NotIncluded { place, paths, includes, beside_others } = problem else { return };
    let message = match paths.as_slice() {
        [path] => format!("`{path}` has rooms, and nothing includes it"),
        paths => format!("{} files have rooms, and nothing includes them: {}", paths.len(), some(paths)),
    };
    let label = if *beside_others { "does not reach it" } else { "includes nothing" };
    let label = if paths.len() > 1 && *beside_others { "does not reach them" } else { label };
    let written = if includes.len() > MOST_NAMED {
        "a pattern for each folder such as `rooms/*.yaml`".to_owned()
    } else {
        some(includes)
    };
    let help = if *beside_others {
        format!("write {written} under `include:` too")
    } else {
        let all = includes.iter().take(MOST_NAMED).map(String::as_str).collect::<Vec<_>>().join(", ");
        let all = if includes.len() > MOST_NAMED { "rooms/*.yaml".to_owned() } else { all };
        format!("write `include: [{all}]`")
    };
    let help = format!("{help}; what is no part of the house gets another ending than `.yaml` and `.yml`");
    report.add(&RULE.card, Said::new(message, *place, label).help(help));
}
