//! Two names of one room that differ by a letter.

use crate::findings::Severity;
use crate::matter::NodeLabel;
use crate::pieces;
use crate::resolve::plan::Appliance;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::survey::names;
use rustc_hash::FxHashMap;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "name-easily-confused",
        family: Family::Naming,
        severity: Severity::Note,
        otherwise: &[],
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

/// Longer names are told as such, and each letter of a name is looked at once for every other letter.
const LONGEST: usize = NodeLabel::LONGEST;

fn look(context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    let rooms: Vec<&[Appliance]> = plan.appliances.chunk_by(|one, other| one.room == other.room).collect();
    let found = pieces::flat(rooms.len(), pieces::HEAVY, |range, found| {
        found.extend(rooms.get(range).unwrap_or_default().iter().flat_map(|room| confused(room)));
    });
    for (appliance, other) in found {
        let message = format!("`{}` and `{}` are easily confused", other.name.value, appliance.name.value);
        let said = Said::new(message, appliance.name.place, "one letter apart")
            .with(other.name.place, format!("in `{}`", other.key.value))
            .about(appliance, plan);
        report.add(&RULE.card, said);
    }
}

/// Appliances of a room, each with an earlier one of a name that is easily taken for its own.
fn confused(room: &[Appliance]) -> Vec<(&Appliance, &Appliance)> {
    // Two names that differ by one letter agree in all but one of their parts: each name is looked up by what is left
    // when one of its letters is taken out, so that a room of any size costs its letters only.
    let mut seen: FxHashMap<u64, usize> = FxHashMap::default();
    let mut found = Vec::new();
    let is_looked_at = |appliance: &Appliance| appliance.bridged && appliance.name.value.len() <= LONGEST;
    let heard = |appliance: &Appliance| is_looked_at(appliance).then(|| names::heard(&appliance.name.value));
    let heard: Vec<Option<String>> = room.iter().map(heard).collect();
    for (index, (appliance, own)) in room.iter().zip(&heard).enumerate() {
        let Some(own) = own.as_ref().filter(|own| own.chars().count() >= SHORTEST) else { continue };
        let (mut other, mut compared) = (None, None);
        for shorter in names::shortened(own) {
            let first = *seen.entry(shorter).or_insert(index);
            if other.is_some() || first == index || compared.replace(first) == Some(first) {
                continue;
            }
            let earlier = heard.get(first).and_then(Option::as_ref);
            if earlier.is_some_and(|earlier| names::is_one_letter_apart(earlier, own)) {
                other = room.get(first);
            }
        }
        found.extend(other.map(|other| (appliance, other)));
    }
    found
}
