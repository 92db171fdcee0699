//! An address that the bus's table does not have.

use crate::findings::{Certainty, Severity};
use crate::knx::GroupAddress;
use crate::resolve::plan::{Appliance, Role};
use crate::rules::absent::{elsewhere, tell_absent};
use crate::rules::renumbered::{Missing, missing, renumbered, row_within};
use crate::rules::suspicion;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::Place;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "address-not-in-table",
        family: Family::Address,
        severity: Severity::Error,
        otherwise: &[],
        summary: "an address that the bus's address table does not have",
        on_site: "Nothing on the bus listens to it: the lamp does not react, or its status never comes.",
        remedy: "Write an address that the table has, or, if the table is out of date, add the row to it.",
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
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    for bus in 0..context.plan.buses.len() {
        let missing = missing(bus, context);
        let is_of_column = elsewhere(bus, &missing, context).is_some();
        let renumbered = if is_of_column { Vec::new() } else { renumbered(bus, &missing, context) };
        let mut alone = missing;
        for main in renumbered {
            alone = tell_renumbered(bus, main, alone, context, report);
        }
        for missing in tell_absent(bus, alone, context, report) {
            tell(missing, context, report);
        }
    }
}

fn tell(missing: Missing<'_>, context: &Context<'_>, report: &mut Report) {
    let Missing { appliance, point, role, wire } = missing;
    let written = wire.address.value.display(context.plan.house.notation).to_string();
    let message =
        format!("`{written}`, the {} of `{}`, is not in the address table", role.noun(), appliance.key.value);
    let said = Said::new(message, wire.address.place, "no such row").about(appliance, context.plan);
    let said = match central(&missing, context) {
        Some(central) => {
            let right = central.display(context.plan.house.notation).to_string();
            let help = format!(
                "write `{right}`, which others listen to; or add the row of `{written}` to the table"
            );
            said.help(help).replace(right, Certainty::ToBeLookedAt)
        }
        None => propose(said, context, appliance, (point, role), &written),
    };
    report.add(&RULE.card, said);
}

/// Tells once that the table has a whole main group under another number; gives back what that does not explain.
fn tell_renumbered<'a>(
    bus: usize,
    (from, to): (u8, u8),
    missing: Vec<Missing<'a>>,
    context: &Context<'_>,
    report: &mut Report,
) -> Vec<Missing<'a>> {
    let Some(table) = context.plan.table(bus) else { return missing };
    let (of_it, others): (Vec<_>, Vec<_>) = missing.into_iter().partition(|missing| {
        missing.wire.address.value.main() == from && row_within(missing, to, bus, table, context).is_some()
    });
    let notation = context.plan.house.notation;
    let right = |missing: &Missing<'_>| {
        Some((missing.wire.address.place, missing.within(to)?.display(notation).to_string()))
    };
    let edits: Vec<(Place, String)> = of_it.iter().filter_map(right).collect();
    let Some((place, first)) = edits.first().cloned() else { return others };
    let message = format!("the table has {} addresses of main group {from} in main group {to}", edits.len());
    let said = Said::new(message, place, format!("the first of them; in the table `{first}`"))
        .help(format!(
            "write `{to}/…` for `{from}/…` in all of them; or give the rows their old numbers, if the table is wrong"
        ))
        .edit(edits, Certainty::ToBeLookedAt);
    report.add(&RULE.card, said);
    others
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

/// So many listeners of a central address are looked at for the point that they listen with: others are like them.
const LISTENERS: usize = 64;

/// The one address, a slip away from what an appliance listens to, that several others listen to with the same point.
fn central(missing: &Missing<'_>, context: &Context<'_>) -> Option<GroupAddress> {
    if missing.role != Role::Listens {
        return None;
    }
    let (notation, bus) = (context.plan.house.notation, missing.appliance.bus);
    let point = missing.appliance.class.value.points.get(usize::from(missing.point))?;
    let table = context.plan.table(bus)?;
    let is_heard = |address: GroupAddress| {
        let mut ends = context.survey.uses.of_address(bus, address).take(LISTENERS);
        table.row(address).is_some()
            && context.survey.uses.is_central(bus, address)
            && ends.any(|used| {
                let heard = used.look_up(context.plan).filter(|_| used.role == Role::Listens);
                let spec = heard
                    .and_then(|(appliance, own, _)| appliance.class.value.points.get(usize::from(own.spec)));
                spec.is_some_and(|spec| spec.name == point.name)
            })
    };
    let written = missing.wire.address.value.display(notation).to_string();
    let near = slips(&written).into_iter().filter_map(|text| GroupAddress::parse(&text, notation).ok());
    let mut near: Vec<GroupAddress> = near.filter(|address| is_heard(*address)).collect();
    near.sort_unstable();
    near.dedup();
    let [only] = near.as_slice() else { return None };
    Some(*only)
}

/// All texts that are a slip in a digit away from this one.
fn slips(text: &str) -> Vec<String> {
    let letters: Vec<char> = text.chars().collect();
    let mut found = Vec::new();
    let mut add = |before: &[char], between: &[char], behind: &[char]| {
        found.push([before, between, behind].concat().into_iter().collect());
    };
    for at in 0..=letters.len() {
        let (before, behind) = letters.split_at(at);
        ('0'..='9').for_each(|digit| add(before, &[digit], behind));
        let [here, rest @ ..] = behind else { continue };
        if !here.is_ascii_digit() {
            continue;
        }
        add(before, &[], rest);
        ('0'..='9').for_each(|digit| add(before, &[digit], rest));
        if let [next, rest @ ..] = rest {
            add(before, &[*next, *here], rest);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    #[test]
    fn a_slip_is_in_one_digit_or_exchanges_two_letters() {
        let slips = super::slips("1/20");
        for near in ["11/20", "2/20", "/20", "1/2", "1/02", "1/200", "1/25"] {
            assert!(slips.iter().any(|slip| slip == near), "{near}");
        }
        for far in ["120", "1//20", "2/21", "1/2/0"] {
            assert!(!slips.iter().any(|slip| slip == far), "{far}");
        }
    }
}
