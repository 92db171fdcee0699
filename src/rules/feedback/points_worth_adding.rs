//! Points that would make an appliance work better.

use crate::classes::{Condition, End, Need, Precaution};
use crate::findings::Severity;
use crate::resolve::plan::{Appliance, Point, Role};
use crate::rules::suspicion;
use crate::rules::table_wording::named_row;
use crate::rules::undescribed::{self, Undescribed};
use crate::rules::wording;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use std::collections::BTreeMap;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "points-worth-adding",
        family: Family::Feedback,
        severity: Severity::Note,
        otherwise: &[(Severity::Warning, "for a lock, a gate or a garage door")],
        summary: "an appliance lacks points that would make it work better",
        on_site: "Controllers show less than there is to see, or cannot do what the wall button can.",
        remedy: "Wire the points where the device has them; where it has not, say so under `allow:`.",
        source: Source::Format,
        frame: Frame::Appliances,
        bad: "\
blind:
#^^^^
  name: Blind
  class: roller-shutter
  points:
    move: { command: 2/0/1 }
    position: { command: 2/2/1, feedback: 2/3/1 }
  confirmed: { by: a colleague, checked: obstacle stop }
",
        good: "\
blind:
  name: Blind
  class: roller-shutter
  points:
    move: { command: 2/0/1 }
    step-stop: { command: 2/1/1 }
    position: { command: 2/2/1, feedback: 2/3/1 }
  confirmed: { by: a colleague, checked: obstacle stop }
",
        folds: &[],
    },
    look: Look::Whole(look),
};

/// From so many appliances of one class on, what they lack is told once.
const MANY: usize = 4;

fn look(context: &Context<'_>, report: &mut Report) {
    let mut lacking: BTreeMap<(&str, String), Vec<&Appliance>> = BTreeMap::new();
    for appliance in context.plan.appliances.iter().filter(|appliance| !appliance.incomplete) {
        if let Some(advice) = advice(appliance, context) {
            lacking.entry((appliance.class.value.name.as_str(), advice)).or_default().push(appliance);
        }
    }
    for ((class, advice), appliances) in lacking {
        // One that is allowed to lack them is told by itself, so that the `allow` is seen to work.
        let (own, together): (Vec<&Appliance>, Vec<&Appliance>) =
            appliances.into_iter().partition(|appliance| context.allows(&RULE, appliance));
        if let [first, _, ..] = together.as_slice()
            && together.len() >= MANY
        {
            let of_class =
                context.plan.appliances.iter().filter(|other| other.class.value.name == class).count();
            let message = format!(
                "{} of {of_class} appliances of class `{class}` would work better with more points",
                together.len()
            );
            let said = Said::new(message, first.key.place, "the first of them").weighing(weight(first));
            report.add(&RULE.card, said.help(advice.clone()));
        } else {
            tell(&together, &advice, context, report);
        }
        tell(&own, &advice, context, report);
    }
}

fn tell(appliances: &[&Appliance], advice: &str, context: &Context<'_>, report: &mut Report) {
    for appliance in appliances {
        let message = format!("`{}` would work better with more points", appliance.key.value);
        let said = Said::new(message, appliance.key.place, "see below").about(appliance, context.plan);
        let rows = rows(appliance, context);
        report.add(&RULE.card, said.help(format!("{advice}{rows}")).weighing(weight(appliance)));
    }
}

/// The rows of the table that the appliance has for what it lacks.
fn rows(appliance: &Appliance, context: &Context<'_>) -> String {
    let table = context.plan.table(appliance.bus);
    let row = |end: &Undescribed| {
        let row = table?.row(end.address)?;
        Some(format!("{} as {}", named_row(row, context.plan.house.notation), end.words(appliance)))
    };
    let rows: Vec<String> = undescribed::wanted(appliance, context).iter().filter_map(row).collect();
    if rows.is_empty() { String::new() } else { format!(" (the table has {})", rows.join(", ")) }
}

/// What a gate or a lock lacks is more than a convenience.
fn weight(appliance: &Appliance) -> Severity {
    let caution = appliance.class.value.caution.as_ref();
    if caution.is_some_and(|caution| caution.confirm == Precaution::Error) {
        Severity::Warning
    } else {
        RULE.card.severity
    }
}

/// What the appliance lacks and why, in one line; none where it lacks nothing.
fn advice(appliance: &Appliance, context: &Context<'_>) -> Option<String> {
    let class = &appliance.class.value;
    let chosen = appliance.chosen();
    let unmet = class.unmet(&chosen).filter(|combination| combination.need == Need::Recommended);
    // Where the address of a missing status is known, `missing-feedback` names it.
    let named = |point: &Point| {
        point.feedback.is_none()
            && point.command.is_some()
            && suspicion::proposed(context, appliance, (point.spec, Role::Feedback)).is_some()
    };
    let unmet = unmet.filter(|combination| {
        !appliance.points.iter().any(|point| {
            combination.any.contains(&Condition::Address(point.spec, End::Feedback)) && named(point)
        })
    });
    wording::advice(unmet, class)
}
