//! An address that the bus's table does not have.

use crate::findings::{Certainty, Severity};
use crate::resolve::plan::{Appliance, Point, Role};
use crate::rules::suspicion;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "address-not-in-table",
        family: Family::Address,
        severity: Severity::Error,
        summary: "an address that the bus's address table does not have",
        on_site: "Nothing on the bus listens to it: the lamp does not react, or its status never comes.",
        remedy: "Write an address that the table has, or add the row to the table if it is the table that is behind.",
        source: Source::CommonPractice,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 10 } }
rooms:
  hall:
    name: Hall
    appliances:
      lamp:
        name: Lamp
        class: on-off-light
        points:
          switching: { command: 1/1/9, feedback: 1/4/1 }
          #                     ^^^^^
--- bus.csv
address,name
1/1/1,Hall lamp switch
1/4/1,Hall lamp status
",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 10 } }
rooms:
  hall:
    name: Hall
    appliances:
      lamp:
        name: Lamp
        class: on-off-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
--- bus.csv
address,name
1/1/1,Hall lamp switch
1/4/1,Hall lamp status
",
        folds: &[],
    },
    look: Look::Point(look),
};

fn look(point: &Point, appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    if context.survey.is_misplaced(appliance) {
        return;
    }
    let Some(table) = plan.buses.get(appliance.bus).and_then(|bus| bus.table.as_ref()) else { return };
    for (role, wire) in point.wires() {
        let address = wire.address.value;
        if table.row(address).is_none() {
            let written = address.display(plan.house.notation);
            let message = format!(
                "`{written}`, the {} of `{}`, is not in the address table",
                role.word(),
                appliance.key.value
            );
            let said = Said::new(message, wire.address.place, "no such row").about(appliance, plan);
            report
                .add(&RULE.card, propose(said, context, appliance, (point.spec, role), &written.to_string()));
        }
    }
}

/// Names the row that is probably meant: the description has its address wrong, or the table has.
fn propose(
    said: Said,
    context: &Context<'_>,
    appliance: &Appliance,
    end: (u16, Role),
    written: &str,
) -> Said {
    match suspicion::proposed(context, appliance, end) {
        Some((right, help)) => said
            .help(format!("{help}; or give that row the address `{written}`, if the table is wrong"))
            .replace(right, Certainty::ToBeLookedAt),
        None => said,
    }
}
