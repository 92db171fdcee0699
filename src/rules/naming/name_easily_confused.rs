//! Two names of one room that differ by a letter.

use crate::findings::Severity;
use crate::resolve::plan::Appliance;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::survey::names;
use rustc_hash::FxHashMap;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "name-easily-confused",
        family: Family::Naming,
        severity: Severity::Note,
        summary: "two names of a room differ by a single letter",
        on_site: "Voice control hears one for the other.",
        remedy: "Choose names that sound different.",
        source: Source::CommonPractice,
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: Reading lamp
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
spot:
  name: Reeding lamp
  #     ^^^^^^^^^^^^
  class: on-off-light
  points: { switching: { command: 1/1/2, feedback: 1/4/2 } }
",
        good: "\
lamp:
  name: Lamp
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
spot:
  name: Spot
  class: on-off-light
  points: { switching: { command: 1/1/2, feedback: 1/4/2 } }
",
        folds: &[],
    },
    look: Look::Whole(look),
};

/// Shorter names differ by a letter without sounding alike.
const SHORTEST: usize = 5;

fn look(context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    // Two names that differ by one letter agree in all but one of their parts: each name is looked up by what is left
    // when one of its letters is taken out, so that a room of any size costs its letters only.
    let mut seen: FxHashMap<(usize, String), usize> = FxHashMap::default();
    for (index, appliance) in plan.appliances.iter().enumerate().filter(|(_, appliance)| appliance.bridged) {
        let heard = names::heard(&appliance.name.value);
        if heard.chars().count() < SHORTEST {
            continue;
        }
        let mut other = None;
        for shorter in names::without_one_letter(&heard) {
            let first = *seen.entry((appliance.room, shorter)).or_insert(index);
            let alike =
                |other: &Appliance| names::is_one_letter_apart(&names::heard(&other.name.value), &heard);
            if first != index && plan.appliances.get(first).is_some_and(alike) {
                other = other.or(Some(first));
            }
        }
        if let Some(other) = other.and_then(|other| plan.appliances.get(other)) {
            let message =
                format!("`{}` and `{}` are easily confused", other.name.value, appliance.name.value);
            let said = Said::new(message, appliance.name.place, "one letter apart")
                .with(other.name.place, format!("in `{}`", other.key.value))
                .about(appliance, plan);
            report.add(&RULE.card, said);
        }
    }
}
