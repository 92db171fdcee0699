//! Something that can hurt somebody, and nobody who looked.

use crate::classes::Precaution;
use crate::findings::Severity;
use crate::resolve::plan::Appliance;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unconfirmed-safety",
        family: Family::Safety,
        severity: Severity::Warning,
        summary: "an appliance that can hurt somebody, without a word on its local safety device",
        on_site: "Moved from afar, a blind, gate or heater can crush, trap or burn when its local safety device is missing or was never tested.",
        remedy: "Have a competent person test the local safety device, keep to local codes, and write `confirmed: { by: who, checked: what }`.",
        source: Source::CommonPractice,
        frame: Frame::Appliances,
        bad: "\
blind:
#^^^^
  name: Blind
  class: roller-shutter
  points:
    move: { command: 2/0/1 }
    step-stop: { command: 2/1/1 }
    position: { command: 2/2/1, feedback: 2/3/1 }
",
        good: "\
blind:
  name: Blind
  class: roller-shutter
  points:
    move: { command: 2/0/1 }
    step-stop: { command: 2/1/1 }
    position: { command: 2/2/1, feedback: 2/3/1 }
  confirmed: { by: M. Quill, checked: stops at an obstacle }
",
        folds: &[],
    },
    look: Look::Appliance(look),
};

fn look(appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let class = &appliance.class.value;
    let Some(caution) = &class.caution else { return };
    let severity = match caution.confirm {
        Precaution::Told => return,
        Precaution::Warning => Severity::Warning,
        Precaution::Error => Severity::Error,
    };
    if appliance.confirmed_unread {
        return;
    }
    let confirmed = appliance.confirmed.as_ref();
    if confirmed
        .is_some_and(|confirmed| !confirmed.by.trim().is_empty() && !confirmed.checked.trim().is_empty())
    {
        return;
    }
    let message = match confirmed {
        Some(_) => {
            format!("`confirmed` of `{}` does not say who looked and what was checked", appliance.key.value)
        }
        None => format!("nobody has confirmed the local safety device of `{}`", appliance.key.value),
    };
    let place = confirmed.map_or(appliance.key.place, |confirmed| confirmed.place);
    let help =
        format!("{} Write `confirmed: {{ by: who, checked: what }}` once it was tested.", caution.text);
    let said = Said::new(message, place, class.title.to_lowercase())
        .about(appliance, context.plan)
        .help(help)
        .weighing(severity);
    report.add(&RULE.card, said);
}
