//! A house in which nothing is described.

use crate::findings::Severity;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::{FileId, Place};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "house-without-appliances",
        family: Family::Identity,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "no appliance is described, though the ledger has appliances or the table many rows",
        on_site: "Nothing is built: the family sees empty bridges, and loses what it had.",
        remedy: "Describe the appliances under `rooms:`, or name the files that do under `include:`.",
        source: Source::Format,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
#            ^^^^^^^^^^
bridges: { main: { name: Test, capacity: 10 } }
--- ledger.yaml
housewright-ledger: 1
house: test-house
appliances:
  lamp:
    main: main 2 0x0100 00112233445566778899aabbccddeeff
",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 10 } }
rooms:
  hall:
    name: Hall
    appliances:
      lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
--- ledger.yaml
housewright-ledger: 1
house: test-house
appliances:
  lamp:
    main: main 2 0x0100 00112233445566778899aabbccddeeff
",
        folds: &[],
    },
    look: Look::Whole(look),
};

/// A table of fewer rows is that of a house which is only begun.
const FEWEST_ROWS: usize = 10;

fn look(context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    let is_described = !plan.appliances.is_empty() || plan.rooms.iter().any(|room| room.described > 0);
    if is_described || plan.house.unread {
        return;
    }
    let built = context.ledger.living().count();
    let rows: usize =
        plan.buses.iter().filter_map(|bus| bus.table.as_ref()).map(|table| table.rows.len()).sum();
    let has = match (built, rows) {
        (0, ..FEWEST_ROWS) => return,
        (0, rows) => format!("the address table has {rows} rows"),
        (1, _) => "the ledger has one that was built".to_owned(),
        (built, _) => format!("the ledger has {built} endpoints of those that were built"),
    };
    let start = Place { file: FileId(0), start: 0, end: 0 };
    let place = plan.house.id_place.or(plan.house.place).unwrap_or(start);
    report.add(
        &RULE.card,
        Said::new(format!("no appliance is described, and {has}"), place, "has no appliance"),
    );
}
