//! Points that would make an appliance work better.

use crate::classes::{Condition, End, Need};
use crate::findings::Severity;
use crate::resolve::plan::{Appliance, Point, Role};
use crate::rules::suspicion;
use crate::rules::wording;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "points-worth-adding",
        family: Family::Feedback,
        severity: Severity::Note,
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
    look: Look::Appliance(look),
};

fn look(appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    if appliance.incomplete {
        return;
    }
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
    if let Some(advice) = wording::advice(unmet, class) {
        let message = format!("`{}` would work better with more points", appliance.key.value);
        let said = Said::new(message, appliance.key.place, "see below").about(appliance, context.plan);
        report.add(&RULE.card, said.help(advice));
    }
}
