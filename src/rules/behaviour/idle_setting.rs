//! A setting that changes nothing.

use crate::findings::Severity;
use crate::resolve::plan::{Appliance, Setting};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "idle-setting",
        family: Family::Behaviour,
        severity: Severity::Note,
        otherwise: &[],
        summary: "a setting changes nothing, with the points that the appliance has",
        on_site: "Nothing happens; whoever changes it later changes nothing.",
        remedy: "Take it out, or look at what the class says of it: `housewright explain` with its name.",
        source: Source::Format,
        frame: Frame::Appliances,
        bad: "\
shutter:
  name: Shutter
  class: roller-shutter
  confirmed: { by: M. Quill, checked: end stops }
  points:
    move: { command: 2/1/1 }
    step-stop: { command: 2/2/1 }
    position: { command: 2/3/1, feedback: 2/4/1 }
  settings: { travel-time: 40 }
  #                        ^^
",
        good: "\
shutter:
  name: Shutter
  class: roller-shutter
  confirmed: { by: M. Quill, checked: end stops }
  points:
    move: { command: 2/1/1 }
    step-stop: { command: 2/2/1 }
  settings: { travel-time: 40 }
",
        folds: &[],
    },
    look: Look::Appliance(look),
};

fn look(appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    if appliance.incomplete || appliance.settings.is_empty() {
        return;
    }
    let class = &appliance.class.value;
    let Ok(shape) = appliance.shape() else { return };
    // A setting that has a default may say it once more.
    let default = |setting: &Setting| setting.spec(appliance).and_then(|spec| spec.default.as_ref());
    let given = |setting: &&Setting| default(setting) != Some(&setting.value.value);
    for setting in appliance.settings.iter().filter(given) {
        let mut without = appliance.chosen();
        without.settings.retain(|(index, _)| *index != setting.spec);
        if class.shape(&without).is_ok_and(|other| other == *shape) {
            let name = setting.spec(appliance).map_or("", |spec| spec.name.as_str());
            let message = format!("`{name}` of `{}` changes nothing", appliance.key.value);
            let said = Said::new(message, setting.value.place, "not used").about(appliance, context.plan);
            report.add(&RULE.card, said);
        }
    }
}
