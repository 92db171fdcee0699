//! A point that the class needs and the appliance does not have.

use crate::classes::Need;
use crate::findings::Severity;
use crate::resolve::plan::Appliance;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "missing-point",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a point that the class needs is missing",
        on_site: "The appliance cannot do what its class promises to controllers.",
        remedy: "Wire the point, or choose a class that does without it.",
        source: Source::Format,
        frame: Frame::Appliances,
        bad: "\
thermometer:
#^^^^^^^^^^
  name: Thermometer
  class: temperature-sensor
  points: {}
",
        good: "\
thermometer:
  name: Thermometer
  class: temperature-sensor
  points:
    temperature: { feedback: 4/1/1 }
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
    for (spec, index) in class.points.iter().zip(0u16..) {
        if spec.need == Need::Required && !appliance.has(index) {
            let message = format!(
                "`{}` is of the class `{}`, but its `{}` is not wired",
                appliance.key.value, class.name, spec.name
            );
            let said = Said::new(message, appliance.key.place, format!("no `{}`", spec.name))
                .about(appliance, context.plan)
                .with(appliance.class.place, "the class needs it")
                .help(format!("write `{}` under `points:`: {}", spec.name, spec.title));
            report.add(&RULE.card, said);
        }
    }
}
