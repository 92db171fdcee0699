//! Appliances whose points and settings are those of another class: one mistake, told at the class; and which class it is.

use super::writing::{unknown_point, unknown_setting};
use super::{Context, Report, Said};
use crate::classes::{Class, Need};
use crate::findings::Certainty;
use crate::resolve::plan::Appliance;
use crate::resolve::{Problem, ProblemKind};
use crate::sort;
use rustc_hash::{FxHashMap, FxHashSet};

/// Tells each appliance with several points or settings that its class does not have and another class has, all of
/// them. Gives back the keys of those told.
pub(super) fn tell<'p>(
    problems: &'p [Problem],
    context: &Context<'_>,
    report: &mut Report,
) -> FxHashSet<&'p str> {
    let mut by_appliance: FxHashMap<&str, Vec<&Problem>> = FxHashMap::default();
    for problem in problems.iter().filter(|problem| unknown(problem).is_some()) {
        if let Some(key) = problem.appliance.as_deref() {
            by_appliance.entry(key).or_default().push(problem);
        }
    }
    by_appliance.retain(|_, unknown| unknown.len() > 1);
    let mut of_several: Vec<(&str, Vec<&Problem>)> = by_appliance.into_iter().collect();
    of_several.sort_unstable_by_key(|(key, _)| *key);
    let mut told = FxHashSet::default();
    for (key, unknown) in of_several {
        let Some(appliance) = context.survey.appliance(context.plan, key) else { continue };
        let others = likely(appliance, &unknown, context);
        if !others.is_empty() {
            tell_one(appliance, &unknown, &others, context, report);
            told.insert(key);
        }
    }
    told
}

fn tell_one(
    appliance: &Appliance,
    unknown: &[&Problem],
    others: &[String],
    context: &Context<'_>,
    report: &mut Report,
) {
    let class = &appliance.class;
    let message = format!(
        "`{}` is a `{}` and has points or settings of {}",
        appliance.key.value,
        class.value.name,
        several(others, "or", |other| format!("a `{other}`"))
    );
    let is_point = |problem: &&&Problem| matches!(problem.kind, ProblemKind::UnknownPoint { .. });
    let card = match unknown.iter().find(is_point) {
        Some(_) => &unknown_point::RULE.card,
        None => &unknown_setting::RULE.card,
    };
    let mut said = Said::new(message, class.place, "the class").about(appliance, context.plan);
    if let Some(first) = unknown.first() {
        said = said.with(first.place, "not in this class");
    }
    let said = said.others(unknown.iter().skip(1).map(|problem| problem.place));
    let said = match others {
        [other] => said
            .help(format!("write `{other}`, if that is what it is; else take them out"))
            .replace(other, Certainty::ToBeLookedAt),
        _ => {
            let named = several(others, "or", |other| format!("`{other}`"));
            said.help(if others.len() > FEW {
                format!("write the class of the thing, such as {named}; or take them out")
            } else {
                format!("write {named}, as the thing is; or take them out")
            })
        }
    };
    report.add(card, said);
}

/// The first few of some classes in a sentence.
pub(super) fn several(classes: &[String], word: &str, said: impl Fn(&str) -> String) -> String {
    let mut named: Vec<String> = classes.iter().take(FEW).map(|class| said(class)).collect();
    match named.pop() {
        Some(last) if !named.is_empty() => format!("{} {word} {last}", named.join(", ")),
        last => last.unwrap_or_default(),
    }
}

/// So many classes are named where several may be meant.
const FEW: usize = 3;

/// The name of a point or setting that the class does not have.
pub(super) fn unknown(problem: &Problem) -> Option<&str> {
    match &problem.kind {
        ProblemKind::UnknownPoint { name, .. } | ProblemKind::UnknownSetting { name, .. } => Some(name),
        _ => None,
    }
}

/// The classes that have all points and settings of the appliance, with the addresses that they are written with. Of those
/// that lack the least of what they need the ones of its own group, and of these the ones that are called alike; the smallest
/// first.
pub(super) fn likely(appliance: &Appliance, unknown: &[&Problem], context: &Context<'_>) -> Vec<String> {
    let own = &appliance.class.value;
    let known = || appliance.points.iter().map(|point| point.name(appliance));
    let has = |class: &Class| {
        unknown.iter().all(|problem| match &problem.kind {
            ProblemKind::UnknownPoint { name, ends, .. } => {
                class.point(name).is_some_and(|(_, point)| ends.iter().all(|end| point.end(*end).is_some()))
            }
            ProblemKind::UnknownSetting { name, .. } => class.setting(name).is_some(),
            _ => true,
        }) && known().all(|name| class.point(name).is_some())
            && appliance
                .settings
                .iter()
                .all(|setting| setting.spec(appliance).is_none_or(|spec| class.setting(&spec.name).is_some()))
    };
    // What an appliance of the class would still lack: a thermostat has a temperature and a setpoint, an air conditioner
    // is switched too.
    let lacks = |class: &Class, need: Need| {
        let written = |name: &str| {
            known().any(|own| own == name)
                || unknown.iter().any(|problem| self::unknown(problem) == Some(name))
        };
        class.points.iter().filter(|point| point.need == need && !written(&point.name)).count()
    };
    let last = |name: &str| name.rsplit('-').next().map(str::to_owned);
    let rank = |class: &Class| {
        let lacking = (lacks(class, Need::Required), lacks(class, Need::Recommended));
        (lacking, class.group != own.group, last(&class.name) != last(&own.name))
    };
    let classes = context.library.names().into_iter().filter_map(|name| context.library.get(name));
    let mut ranked: Vec<_> = classes.filter(|class| has(class)).map(|class| (rank(&class), class)).collect();
    sort::by(&mut ranked, |(a, one), (b, other)| {
        let size = |class: &Class| (class.points.len(), class.name.clone());
        a.cmp(b).then_with(|| size(one).cmp(&size(other)))
    });
    let best = ranked.first().map(|(rank, _)| *rank);
    let of_best = ranked.iter().take_while(|(rank, _)| Some(*rank) == best);
    of_best.map(|(_, class)| class.name.clone()).collect()
}
