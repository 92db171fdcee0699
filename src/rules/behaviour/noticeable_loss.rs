//! A conversion that loses what a person would notice.

use crate::classes::{Chosen, fresh_losses};
use crate::convert::proof::{End, Noticeable, Way};
use crate::findings::Severity;
use crate::resolve::plan::Appliance;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use rustc_hash::FxHashMap;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "noticeable-loss",
        family: Family::Behaviour,
        severity: Severity::Note,
        summary: "a range, a setting or an own class loses what the family would notice",
        on_site: "What should glide jumps, an end is never reached, or controllers show another value than there is.",
        remedy: "Look the range or setting up: a `range` is in the unit of the bus, not in volts.",
        source: Source::CommonPractice,
        frame: Frame::Points { class: "dimmable-light" },
        bad: "\
switching: { command: 1/1/1, feedback: 1/4/1 }
brightness: { command: 1/2/1, feedback: 1/5/1, range: [0, 5] }
#                                                     ^^^^^^
",
        good: "\
switching: { command: 1/1/1, feedback: 1/4/1 }
brightness: { command: 1/2/1, feedback: 1/5/1, range: [0, 90] }
",
        folds: &[],
    },
    look: Look::Whole(look),
};

/// Different choices that are looked at, and proofs that are made for them: a check has no time for more.
const MOST_CHOICES: usize = 256;
const MOST_PROOFS: usize = 16;

/// What is lost of each point.
type Lost = Vec<(u16, Vec<Noticeable>)>;

fn look(context: &Context<'_>, report: &mut Report) {
    let mut known: FxHashMap<(&str, Chosen), Lost> = FxHashMap::default();
    let mut proofs = MOST_PROOFS;
    for appliance in &context.plan.appliances {
        let class = &appliance.class.value;
        let own = context.library.is_own(&class.name);
        let chosen = appliance.chosen();
        let plain = plain(&chosen);
        if plain == chosen && !own {
            continue;
        }
        let key = (class.name.as_str(), chosen);
        if !known.contains_key(&key) {
            if known.len() >= MOST_CHOICES {
                continue;
            }
            // What the class loses anyhow is nobody's mistake here.
            let anyhow = if own { Vec::new() } else { fresh_losses(class, &plain, &mut proofs) };
            let mut lost = fresh_losses(class, &key.1, &mut proofs);
            lost.retain(|loss| !anyhow.contains(loss));
            known.insert(key.clone(), lost);
        }
        for (point, lost) in known.get(&key).into_iter().flatten() {
            tell(appliance, *point, lost, context, report);
        }
    }
}

/// The choice without what the description sets.
fn plain(chosen: &Chosen) -> Chosen {
    let mut plain = chosen.clone();
    plain.settings.clear();
    plain.points.iter_mut().for_each(|point| point.range = None);
    plain
}

fn tell(appliance: &Appliance, point: u16, lost: &[Noticeable], context: &Context<'_>, report: &mut Report) {
    let Some(point) = appliance.points.iter().find(|own| own.spec == point) else { return };
    let Some(first) = lost.first() else { return };
    let place = point.range.as_ref().map_or(point.key, |range| range.place);
    let message = format!("`{}` of `{}` {}", point.name(appliance), appliance.key.value, words(first));
    let said = Said::new(message, place, "loses too much").about(appliance, context.plan);
    report.add(&RULE.card, said);
}

fn words(lost: &Noticeable) -> String {
    let end = |end: &End| if *end == End::Low { "down" } else { "up" };
    match lost {
        Noticeable::OutOfReach { end: which, reached, whole, unit } => {
            let (reached, whole) = (figure(*reached, unit), figure(*whole, unit));
            format!("comes from a controller only {} to {reached}, not to {whole}", end(which))
        }
        Noticeable::CutOff { way, values, unit, .. } => {
            let (from, to) = (figure(values.from, unit), figure(values.to, unit));
            match way {
                Way::FromBus => format!("is shown alike from {from} to {to}"),
                Way::ToBus => format!("does the same for everything asked for from {from} to {to}"),
            }
        }
        Noticeable::Coarse { step, unit, .. } => {
            format!("moves in steps of {} in controllers", figure(*step, unit))
        }
        Noticeable::ComesBackChanged { asked, shown, unit, .. } => {
            format!("comes back as {} when {} was asked for", figure(*shown, unit), figure(*asked, unit))
        }
        Noticeable::Refused { count, of, first, why, .. } => {
            format!("passes {count} of {of} values on to nobody, such as {first}: {why}")
        }
        Noticeable::NothingArrives { way: Way::FromBus } => "shows nothing at all".to_owned(),
        Noticeable::NothingArrives { way: Way::ToBus } => "carries nothing to the bus".to_owned(),
    }
}

/// A number with at most two decimals, and its unit.
fn figure(number: f64, unit: &str) -> String {
    let text = format!("{number:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    format!("{text} {unit}").trim_end().to_owned()
}
