//! Rows that name an appliance and that it leaves unused.

use crate::classes::Need;
use crate::findings::Severity;
use crate::knx::GroupAddress;
use crate::pieces;
use crate::resolve::plan::{Appliance, Role, Row};
use crate::rules::looks::APPLIANCES_AT_ONCE;
use crate::rules::table_wording::named_row;
use crate::rules::undescribed;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::survey::Named;
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::BTreeMap;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "rows-left-over",
        family: Family::Table,
        severity: Severity::Note,
        otherwise: &[],
        summary: "rows of the table name an appliance, and it does not use them",
        on_site: "The appliance can do more on the bus than controllers offer.",
        remedy: "Describe these points too, with another class where this one has none; or say why not under `allow:`.",
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
      #^^^
        name: Lamp
        class: on-off-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
--- bus.csv
address,name
1/1/1,Hall lamp switch
1/4/1,Hall lamp status
1/2/1,Hall lamp brightness
1/5/1,Hall lamp brightness status
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
        class: dimmable-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
          brightness: { command: 1/2/1, feedback: 1/5/1 }
--- bus.csv
address,name
1/1/1,Hall lamp switch
1/4/1,Hall lamp status
1/2/1,Hall lamp brightness
1/5/1,Hall lamp brightness status
",
        folds: &[],
    },
    look: Look::Whole(look),
};

/// So many appliances of a class that leave the same are no oversight of each, but one decision.
const MANY: usize = 4;

/// An appliance with its rows.
type Left<'a> = (&'a Appliance, Vec<u32>);

fn look(context: &Context<'_>, report: &mut Report) {
    let mut alike: BTreeMap<(&str, Vec<usize>), Vec<Left<'_>>> = BTreeMap::new();
    for (appliance, rows) in told(context) {
        let named = rows.iter().filter_map(|row| context.survey.named(appliance.bus, *row as usize));
        let mut functions: Vec<usize> = named.map(Named::function).collect();
        functions.sort_unstable();
        let class = appliance.class.value.name.as_str();
        alike.entry((class, functions)).or_default().push((appliance, rows));
    }
    for ((class, _), left) in alike {
        // One that is allowed to is told by itself, so that the `allow` is seen to work.
        let (own, together): (Vec<Left<'_>>, Vec<Left<'_>>) =
            left.into_iter().partition(|(appliance, _)| context.allows(&RULE, appliance));
        if together.len() < MANY {
            together.iter().chain(&own).for_each(|left| tell(left, context, report));
            continue;
        }
        own.iter().for_each(|left| tell(left, context, report));
        let Some(((first, rows), others)) = together.split_first() else { continue };
        let message = format!(
            "{} appliances of class `{class}` leave rows of the table unused that name them",
            together.len()
        );
        let said = Said::new(message, first.key.place, "the first of them")
            .others(others.iter().map(|(appliance, _)| appliance.key.place))
            .help(help(first, rows, context));
        report.add(&RULE.card, said);
    }
}

fn tell((appliance, rows): &Left<'_>, context: &Context<'_>, report: &mut Report) {
    let (count, verb) = if rows.len() == 1 { ("a row", "names") } else { ("rows", "name") };
    let message = format!("`{}` leaves {count} of the table unused that {verb} it", appliance.key.value);
    let said = Said::new(message, appliance.key.place, appliance.class.value.title.to_lowercase())
        .about(appliance, context.plan)
        .help(help(appliance, rows, context));
    report.add(&RULE.card, said);
}

fn help(appliance: &Appliance, rows: &[u32], context: &Context<'_>) -> String {
    const NAMED: usize = 12;
    let table = context.plan.table(appliance.bus);
    let found: Vec<&Row> = rows.iter().filter_map(|row| table?.rows.get(*row as usize)).collect();
    let ends = undescribed::ends(appliance, context);
    let for_end = |row: &&Row| ends.iter().find(|end| end.address == row.address.value);
    let name = |row: &&Row| {
        let name = named_row(row, context.plan.house.notation);
        for_end(row).map_or_else(|| name.clone(), |end| format!("{name} as {}", end.words(appliance)))
    };
    let names: Vec<String> = found.iter().take(NAMED).map(name).collect();
    let more = if rows.len() > NAMED { " …" } else { "" };
    let all_known = found.iter().all(|row| for_end(row).is_some());
    let class = if all_known { "" } else { ", with another class if this one has no such points" };
    format!("describe {}{more} too{class}", names.join(", "))
}

/// Appliances with the rows that are told of them: not those that another finding names, as what an end that is described
/// was meant to have or as what would be worth adding; nor those for a point that hardly anything in the house has, unless its
/// class recommends it and it is the only one without.
pub(in crate::rules) fn told<'a>(context: &Context<'a>) -> Vec<Left<'a>> {
    let plan = context.plan;
    let left_over = context.survey.left_over(plan);
    if left_over.is_empty() {
        return Vec::new();
    }
    let lacking = Lacking::of(context);
    pieces::some(left_over.len(), APPLIANCES_AT_ONCE, |at| {
        let left = left_over.get(at)?;
        let index = left.appliance as usize;
        let appliance = plan.appliances.get(index).filter(|appliance| !appliance.incomplete)?;
        let known = known(index, appliance, &lacking, context);
        let address = |row: &u32| Some(plan.table(appliance.bus)?.rows.get(*row as usize)?.address.value);
        let is_told = |row: &&u32| address(row).is_some_and(|address| !known.contains(&address));
        let rows: Vec<u32> = left.rows.iter().filter(is_told).copied().collect();
        (!rows.is_empty()).then_some((appliance, rows))
    })
}

/// What the ends of the appliance may have been meant to have, but for those that are told here.
fn known(
    index: usize,
    appliance: &Appliance,
    lacking: &Lacking<'_>,
    context: &Context<'_>,
) -> FxHashSet<GroupAddress> {
    let points = (0u16..).zip(&appliance.class.value.points);
    let may_be_known = points.filter(|(point, _)| !lacking.is_alone(appliance, *point));
    let ends = may_be_known.flat_map(|(point, _)| [Role::Command, Role::Feedback].map(|role| (point, role)));
    let mut known: FxHashSet<GroupAddress> = ends
        .filter_map(|(point, role)| context.survey.alternative(context.plan, index, point, role))
        .collect();
    for end in undescribed::ends(appliance, context) {
        known.remove(&end.address);
    }
    known.extend(undescribed::wanted(appliance, context).into_iter().map(|end| end.address));
    known
}

/// How many appliances of a class have not what it recommends, by class and point.
struct Lacking<'a>(FxHashMap<(&'a str, u16), u32>);

impl<'a> Lacking<'a> {
    fn of(context: &Context<'a>) -> Self {
        let mut lacking: FxHashMap<(&str, u16), u32> = FxHashMap::default();
        for appliance in &context.plan.appliances {
            let class = &appliance.class.value;
            let points = (0u16..).zip(&class.points).filter(|(_, spec)| spec.need == Need::Recommended);
            for (point, _) in points.filter(|(point, _)| !appliance.has(*point)) {
                *lacking.entry((class.name.as_str(), point)).or_default() += 1;
            }
        }
        Self(lacking)
    }

    /// Whether an appliance is the only one of its class without a point that this recommends.
    fn is_alone(&self, appliance: &Appliance, point: u16) -> bool {
        let count = self.0.get(&(appliance.class.value.name.as_str(), point));
        count == Some(&1) && !appliance.has(point)
    }
}
