//! How ends that lie in each other's rows in several appliances are told: once, with the corrections of all.

use super::{Context, Said, suspicion};
use crate::findings::Certainty;
use crate::resolve::plan::{Appliance, Point, Role};
use crate::survey::Crossing;

/// Appliances that are named.
const NAMED: usize = 3;

/// The finding, at the first of the appliances.
pub(super) fn tell(crossing: &Crossing, context: &Context<'_>) -> Option<Said> {
    let (one, other) = *crossing.pairs.first()?;
    let (wired, appliance, point, wire) = suspicion::look_up(one, context)?;
    let (other_wired, _, other_point, other_wire) = suspicion::look_up(other, context)?;
    let name = |point: &Point| format!("`{}`", point.name(appliance));
    let count = crossing.appliances(&context.survey.wires);
    let end = |role: Role, point: &Point| format!("the {} of {}", role.noun(), name(point));
    let ends = if wired.point == other_wired.point {
        format!("command and feedback of {}", name(point))
    } else if count < crossing.pairs.len() {
        format!("{} and {}", name(point), name(other_point))
    } else {
        format!("{} and {}", end(wired.role, point), end(other_wired.role, other_point))
    };
    let of = match crossing.of {
        of if of > count => format!("{count} of {of} appliances that have both"),
        2 => "both appliances that have them".to_owned(),
        _ => format!("all {count} appliances that have both"),
    };
    let message = format!("{ends} lie in each other's rows in {of}");
    let label = |wired| {
        let row = suspicion::row(wired, context);
        row.map_or_else(String::new, |row| format!("in the table \"{}\"", row.name.value.trim()))
    };
    let notation = context.plan.house.notation;
    let (mine, theirs) = (wired.address.display(notation), other_wired.address.display(notation));
    let more = match crossing.pairs.len() {
        2 => "other pair".to_owned(),
        pairs => format!("other {} pairs", pairs - 1),
    };
    let help = format!(
        "write `{theirs}` here and `{mine}` there, and exchange the {more} too; or correct the table, if it is the names \
         there that are exchanged"
    );
    let wires = crossing.pairs.iter().filter_map(|(one, _)| suspicion::wire_of(*one, context));
    let mut appliances: Vec<&Appliance> = wires.map(|(appliance, _)| appliance).collect();
    appliances.dedup_by_key(|appliance| appliance.key.place);
    let evidence = format!(
        "each of the two rows is called what the other address is for, in {}",
        names(appliances.into_iter(), count)
    );
    let said = Said::new(message, wire.address.place, label(wired))
        .with(other_wire.address.place, label(other_wired))
        .about(appliance, context.plan)
        .because(&evidence)
        .help(help)
        .edit(suspicion::exchange(crossing.pairs.iter().copied(), context), Certainty::ToBeLookedAt);
    Some(said)
}

/// The first of some appliances, and how many more there are: "`a`, `b`, `c` and 9 more".
pub(super) fn names<'a>(appliances: impl Iterator<Item = &'a Appliance>, count: usize) -> String {
    let named = if count <= NAMED + 1 { count } else { NAMED };
    let mut names: Vec<String> =
        appliances.take(named).map(|appliance| format!("`{}`", appliance.key.value)).collect();
    let last = if count > named { Some(format!("{} more", count - named)) } else { names.pop() };
    match last {
        Some(last) if names.is_empty() => last,
        Some(last) => format!("{} and {last}", names.join(", ")),
        None => String::new(),
    }
}
