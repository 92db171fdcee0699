//! A conversion that loses what a person would notice.

use crate::classes::{Chosen, Class, known_losses, prove_what_shows};
use crate::convert::proof::{End, Noticeable, Way};
use crate::findings::Severity;
use crate::resolve::plan::{Appliance, Point};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use rustc_hash::FxHashMap;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "noticeable-loss",
        family: Family::Behaviour,
        severity: Severity::Note,
        otherwise: &[],
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

/// Different choices that are looked at, and glances and proofs that are made for them: a check has no time for more.
const MOST_CHOICES: usize = 256;
const MOST_GLANCES: usize = 64;
const MOST_PROOFS: usize = 8;

/// A class with what of it an appliance has.
type Choice<'a> = (&'a Class, Chosen);

fn look(context: &Context<'_>, report: &mut Report) {
    let is_own = |class: &Class| context.library.is_own(&class.name);
    let mut number: FxHashMap<(&str, Chosen), usize> = FxHashMap::default();
    let mut choices: Vec<Choice<'_>> = Vec::new();
    let mut of_appliances: Vec<(&Appliance, usize)> = Vec::new();
    for appliance in &context.plan.appliances {
        let class = &appliance.class.value;
        let as_usual =
            appliance.settings.is_empty() && appliance.points.iter().all(|point| point.range.is_none());
        if as_usual && !is_own(class) {
            continue;
        }
        let chosen = appliance.chosen();
        if plain(&chosen) == chosen && !is_own(class) {
            continue;
        }
        let key = (class.name.as_str(), chosen);
        let known = number.get(&key).copied();
        if known.is_none() && choices.len() >= MOST_CHOICES {
            continue;
        }
        let place = known.unwrap_or(choices.len());
        if known.is_none() {
            choices.push((class, key.1.clone()));
            number.insert(key, place);
        }
        of_appliances.push((appliance, place));
    }
    let lost = lost(&choices, is_own);
    for (appliance, choice) in of_appliances {
        for (point, lost) in lost.get(choice).into_iter().flatten() {
            tell(appliance, *point, lost, context, report);
        }
    }
}

/// What is lost of each point of each choice. What a built-in class loses anyhow is nobody's mistake here.
fn lost(choices: &[Choice<'_>], is_own: impl Fn(&Class) -> bool) -> Vec<Vec<(u16, Vec<Noticeable>)>> {
    let anyhow: Vec<Option<Chosen>> =
        choices.iter().map(|(class, chosen)| (!is_own(class)).then(|| plain(chosen))).collect();
    let wanted = choices.iter().zip(&anyhow).flat_map(|((class, chosen), anyhow)| {
        anyhow.iter().map(|anyhow| (*class, anyhow)).chain([(*class, chosen)])
    });
    let proven = prove_what_shows(&wanted.collect::<Vec<_>>(), [MOST_GLANCES, MOST_PROOFS]);
    let lost = choices.iter().zip(&anyhow).map(|((class, chosen), anyhow)| {
        let anyhow = anyhow.as_ref().map(|anyhow| known_losses(class, anyhow, &proven)).unwrap_or_default();
        let mut lost = known_losses(class, chosen, &proven);
        lost.retain(|loss| !anyhow.contains(loss));
        if !is_own(class) {
            lost.iter_mut().filter(|(point, _)| staged(chosen, *point)).for_each(|(_, lost)| {
                lost.retain(|one| !matches!(one, Noticeable::Coarse { .. }));
            });
        }
        lost
    });
    lost.collect()
}

/// Whether the point counts stages: a fan of two has no more, and its description says how many there are.
fn staged(chosen: &Chosen, point: u16) -> bool {
    let found = chosen.points.iter().find(|own| own.point == point && own.range.is_none());
    let types = found.into_iter().flat_map(|own| [own.command, own.feedback]).flatten();
    types.into_iter().any(|dpt| dpt.main == 5 && matches!(dpt.sub, 10 | 100))
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
    let others = if point.range.is_none() { others(first, point, appliance) } else { Vec::new() };
    report.add(
        &RULE.card,
        match others.as_slice() {
            [] => said,
            others => said.help(format!(
                "write a setting that its type can say or, where the device has it, another type: {}",
                others.join(", ")
            )),
        },
    );
}

/// The other types that the point may be commanded by, where its own does not reach as far as what is asked for.
fn others(lost: &Noticeable, point: &Point, appliance: &Appliance) -> Vec<String> {
    let (Noticeable::CutOff { way: Way::ToBus, .. }, Some(wire)) = (lost, &point.command) else {
        return Vec::new();
    };
    let end = point.spec(appliance).and_then(|spec| spec.command.as_ref());
    let types = end.into_iter().flat_map(|end| &end.dpts).filter(|dpt| **dpt != wire.dpt.id);
    types.map(|dpt| format!("`dpt: {dpt}`")).collect()
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
