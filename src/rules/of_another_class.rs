//! Appliances whose points and settings are those of another class: one mistake, told at the class.

use super::writing::{unknown_point, unknown_setting};
use super::{Context, Report, Said};
use crate::classes::Class;
use crate::findings::Certainty;
use crate::resolve::plan::Appliance;
use crate::resolve::{Problem, ProblemKind};
use rustc_hash::{FxHashMap, FxHashSet};

/// Tells each appliance with several points or settings that its class does not have and one other class has, all of
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
        if let Some(other) = class_with_all(appliance, &unknown, context) {
            tell_one(appliance, &unknown, &other, context, report);
            told.insert(key);
        }
    }
    told
}

fn tell_one(
    appliance: &Appliance,
    unknown: &[&Problem],
    other: &str,
    context: &Context<'_>,
    report: &mut Report,
) {
    let class = &appliance.class;
    let message = format!(
        "`{}` is a `{}` and has points or settings of a `{other}`",
        appliance.key.value, class.value.name
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
    let said = said
        .others(unknown.iter().skip(1).map(|problem| problem.place))
        .help(format!("write `{other}`, if that is what it is; else take them out"))
        .replace(other, Certainty::ToBeLookedAt);
    report.add(card, said);
}

/// The name of a point or setting that the class does not have.
pub(super) fn unknown(problem: &Problem) -> Option<&str> {
    match &problem.kind {
        ProblemKind::UnknownPoint { name, .. } | ProblemKind::UnknownSetting { name, .. } => Some(name),
        _ => None,
    }
}

/// The smallest class that has all points and settings of the appliance, of the same group if there is one.
fn class_with_all(appliance: &Appliance, unknown: &[&Problem], context: &Context<'_>) -> Option<String> {
    let own = &appliance.class.value;
    let has = |class: &Class| {
        unknown.iter().all(|problem| match &problem.kind {
            ProblemKind::UnknownPoint { name, .. } => class.point(name).is_some(),
            ProblemKind::UnknownSetting { name, .. } => class.setting(name).is_some(),
            _ => true,
        }) && appliance.points.iter().all(|point| class.point(point.name(appliance)).is_some())
            && appliance
                .settings
                .iter()
                .all(|setting| setting.spec(appliance).is_none_or(|spec| class.setting(&spec.name).is_some()))
    };
    let classes = context.library.names().into_iter().filter_map(|name| context.library.get(name));
    let smallest = classes
        .filter(|class| has(class))
        .min_by_key(|class| (class.group != own.group, class.points.len(), class.name.clone()))?;
    Some(smallest.name.clone())
}
