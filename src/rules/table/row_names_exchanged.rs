//! Rows whose names stand in each other's place.

use crate::findings::Severity;
use crate::resolve::plan::{Row, Wire};
use crate::rules::suspicion::{look_up, row};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::survey::{Slip, Suspect};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "row-names-exchanged",
        family: Family::Table,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "rows of the address table have each other's names",
        on_site: "Whoever works from the table next measures, labels and changes the wrong lamp.",
        remedy: "Give each row its own name; or each point its own address, if the table is right.",
        source: Source::CommonPractice,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 20 } }
rooms:
  hall:
    name: Hall
    appliances:
      north:
        name: North lamp
        class: on-off-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
          #                     ^^^^^
      south:
        name: South lamp
        class: on-off-light
        points:
          switching: { command: 1/1/2, feedback: 1/4/2 }
      east:
        name: East lamp
        class: on-off-light
        points:
          switching: { command: 1/1/3, feedback: 1/4/3 }
      west:
        name: West lamp
        class: on-off-light
        points:
          switching: { command: 1/1/4, feedback: 1/4/4 }
      arch:
        name: Arch lamp
        class: on-off-light
        points:
          switching: { command: 1/1/5, feedback: 1/4/5 }
      desk:
        name: Desk lamp
        class: on-off-light
        points:
          switching: { command: 1/1/6, feedback: 1/4/6 }
      shelf:
        name: Shelf lamp
        class: on-off-light
        points:
          switching: { command: 1/1/7, feedback: 1/4/7 }
      stairs:
        name: Stairs lamp
        class: on-off-light
        points:
          switching: { command: 1/1/8, feedback: 1/4/8 }
      bench:
        name: Bench lamp
        class: on-off-light
        points:
          switching: { command: 1/1/9, feedback: 1/4/9 }
      mirror:
        name: Mirror lamp
        class: on-off-light
        points:
          switching: { command: 1/1/10, feedback: 1/4/10 }
--- bus.csv
address,name
1/1/1,South lamp switch
1/4/1,North lamp status
1/1/2,North lamp switch
1/4/2,South lamp status
1/1/3,East lamp switch
1/4/3,East lamp status
1/1/4,West lamp switch
1/4/4,West lamp status
1/1/5,Arch lamp switch
1/4/5,Arch lamp status
1/1/6,Desk lamp switch
1/4/6,Desk lamp status
1/1/7,Shelf lamp switch
1/4/7,Shelf lamp status
1/1/8,Stairs lamp switch
1/4/8,Stairs lamp status
1/1/9,Bench lamp switch
1/4/9,Bench lamp status
1/1/10,Mirror lamp switch
1/4/10,Mirror lamp status
",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 20 } }
rooms:
  hall:
    name: Hall
    appliances:
      north:
        name: North lamp
        class: on-off-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
      south:
        name: South lamp
        class: on-off-light
        points:
          switching: { command: 1/1/2, feedback: 1/4/2 }
      east:
        name: East lamp
        class: on-off-light
        points:
          switching: { command: 1/1/3, feedback: 1/4/3 }
      west:
        name: West lamp
        class: on-off-light
        points:
          switching: { command: 1/1/4, feedback: 1/4/4 }
      arch:
        name: Arch lamp
        class: on-off-light
        points:
          switching: { command: 1/1/5, feedback: 1/4/5 }
      desk:
        name: Desk lamp
        class: on-off-light
        points:
          switching: { command: 1/1/6, feedback: 1/4/6 }
      shelf:
        name: Shelf lamp
        class: on-off-light
        points:
          switching: { command: 1/1/7, feedback: 1/4/7 }
      stairs:
        name: Stairs lamp
        class: on-off-light
        points:
          switching: { command: 1/1/8, feedback: 1/4/8 }
      bench:
        name: Bench lamp
        class: on-off-light
        points:
          switching: { command: 1/1/9, feedback: 1/4/9 }
      mirror:
        name: Mirror lamp
        class: on-off-light
        points:
          switching: { command: 1/1/10, feedback: 1/4/10 }
--- bus.csv
address,name
1/1/1,North lamp switch
1/4/1,North lamp status
1/1/2,South lamp switch
1/4/2,South lamp status
1/1/3,East lamp switch
1/4/3,East lamp status
1/1/4,West lamp switch
1/4/4,West lamp status
1/1/5,Arch lamp switch
1/4/5,Arch lamp status
1/1/6,Desk lamp switch
1/4/6,Desk lamp status
1/1/7,Shelf lamp switch
1/4/7,Shelf lamp status
1/1/8,Stairs lamp switch
1/4/8,Stairs lamp status
1/1/9,Bench lamp switch
1/4/9,Bench lamp status
1/1/10,Mirror lamp switch
1/4/10,Mirror lamp status
",
        folds: &[
            "shared-feedback",
            "shared-command",
            "table-room-differs",
            "type-differs-from-table",
            "command-is-others-feedback",
            "address-read-two-ways",
            "feedback-not-readable",
            "feedback-not-sent",
            "command-not-writable",
        ],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    for suspect in &context.survey.suspects {
        let told = match suspect.slip {
            Slip::RowsExchanged { with } => tell_rows(suspect, with, context)
                .map(|said| said.because("both addresses lie where the rest of the house has them")),
            Slip::RowsSlipped { with } => tell_slipped(suspect, with, context)
                .map(|said| said.because("the addresses lie where the rest of the house has them")),
            Slip::Alone | Slip::Exchanged { .. } => None,
        };
        told.into_iter().for_each(|told| report.add(&RULE.card, told));
    }
}

/// A finding on two rows whose names stand in each other's place.
fn tell_rows(suspect: &Suspect, with: u32, context: &Context<'_>) -> Option<Said> {
    let (wired, appliance, point, wire) = look_up(suspect.wire, context)?;
    let (other_wired, other, other_point, other_wire) = look_up(with, context)?;
    let (mine, theirs) = (row(wired, context)?, row(other_wired, context)?);
    let notation = context.plan.house.notation;
    let (mine_words, their_words) = (mine.name.value.trim(), theirs.name.value.trim());
    let same = wired.appliance == other_wired.appliance;
    let message = if same {
        format!(
            "the table calls the {} of `{}` in `{}` \"{mine_words}\" and the {} of `{}` \"{their_words}\"",
            wired.role.noun(),
            point.name(appliance),
            appliance.key.value,
            other_wired.role.noun(),
            other_point.name(other),
        )
    } else {
        format!(
            "the table calls an address of `{}` \"{mine_words}\" and one of `{}` \"{their_words}\"",
            appliance.key.value, other.key.value
        )
    };
    let there = if same { other_point.name(other) } else { other.key.value.as_str() };
    let said = Said::new(message, wire.address.place, "lies where it should")
        .with(mine.name.place, "this name")
        .with(theirs.name.place, "and this one")
        .about(appliance, context.plan)
        .help(if fits(wire, theirs) && fits(other_wire, mine) {
            format!(
                "exchange the names of the two rows; or, if the table is right, write `{}` here and `{}` in `{}`",
                other_wired.address.display(notation),
                wired.address.display(notation),
                there
            )
        } else {
            "exchange the names of the two rows: their types are right as they stand".to_owned()
        });
    Some(said)
}

/// Whether a row has the type that a wire is read as, or none.
fn fits(wire: &Wire, row: &Row) -> bool {
    row.dpt.as_ref().is_none_or(|dpt| dpt.value.covers(wire.dpt.id))
}

/// A finding on rows whose names have moved along.
fn tell_slipped(suspect: &Suspect, with: u32, context: &Context<'_>) -> Option<Said> {
    let pairs: Vec<(u32, u32)> =
        std::iter::once((suspect.wire, with)).chain(suspect.also.iter().copied()).collect();
    let rows = |(wire, with): &(u32, u32)| {
        let [(wired, ..), (other, ..)] = [look_up(*wire, context)?, look_up(*with, context)?];
        Some((wired.row?, other.row?, row(wired, context)?, row(other, context)?))
    };
    let rows: Vec<_> = pairs.iter().filter_map(rows).collect();
    let &(at, there, mine, theirs) = rows.first()?;
    let (_, appliance, _, wire) = look_up(suspect.wire, context)?;
    let is_one_on =
        |by: i64| rows.iter().filter(|(at, there, ..)| i64::from(*there) - i64::from(*at) == by).count();
    let by = i64::from(there) - i64::from(at);
    let distance = match by {
        _ if is_one_on(by) * 2 < rows.len() => String::new(),
        1 => ", most of them one row too low".to_owned(),
        -1 => ", most of them one row too high".to_owned(),
        2.. => format!(", most of them {by} rows too low"),
        _ => format!(", most of them {} rows too high", by.abs()),
    };
    let notation = context.plan.house.notation;
    let message = format!(
        "the names of {} rows of the address table stand at each other's addresses{distance}",
        rows.len()
    );
    let said = Said::new(message, wire.address.place, "lies where it should")
        .with(mine.name.place, "this name")
        .with(theirs.name.place, "should be this one")
        .others(rows.iter().skip(1).map(|(_, _, mine, _)| mine.name.place))
        .about(appliance, context.plan)
        .help(format!(
            "give the row of `{}` the name \"{}\", and so on: very probably the column of names moved when the table was \
             edited; export it again",
            mine.address.value.display(notation),
            theirs.name.value.trim()
        ));
    Some(said)
}
