//! Points that a class has, that an appliance does not describe, and for which the table has a row of its, called as those that
//! other appliances have there.

use super::{Context, suspicion};
use crate::classes::{Condition, Need};
use crate::knx::GroupAddress;
use crate::resolve::plan::{Appliance, Role};

/// An end of a point, and the row that it would have.
pub(super) struct Undescribed {
    point: u16,
    role: Role,
    pub(super) address: GroupAddress,
}

impl Undescribed {
    /// In words: "the command of `dimming`".
    pub(super) fn words(&self, appliance: &Appliance) -> String {
        let spec = appliance.class.value.points.get(usize::from(self.point));
        format!("the {} of `{}`", self.role.noun(), spec.map_or("", |spec| spec.name.as_str()))
    }
}

/// All of them.
pub(super) fn ends(appliance: &Appliance, context: &Context<'_>) -> Vec<Undescribed> {
    let points = (0u16..).zip(&appliance.class.value.points).map(|(point, _)| point);
    of_points(points, appliance, context)
}

/// Those of the points that the class recommends.
pub(super) fn wanted(appliance: &Appliance, context: &Context<'_>) -> Vec<Undescribed> {
    let class = &appliance.class.value;
    let chosen = appliance.chosen();
    let unmet = class.unmet(&chosen).filter(|asked| asked.need == Need::Recommended);
    let mut wanted: Vec<u16> = unmet.flat_map(|asked| asked.any.iter().flat_map(points_of)).collect();
    wanted.sort_unstable();
    wanted.dedup();
    of_points(wanted.into_iter(), appliance, context)
}

/// The points that a condition speaks of.
fn points_of(condition: &Condition) -> Vec<u16> {
    match condition {
        Condition::Point(point) | Condition::Address(point, _) => vec![*point],
        Condition::Any(any) => any.iter().flat_map(points_of).collect(),
        Condition::Given(_) | Condition::Set(..) | Condition::Typed(..) => Vec::new(),
    }
}

fn of_points(
    points: impl Iterator<Item = u16>,
    appliance: &Appliance,
    context: &Context<'_>,
) -> Vec<Undescribed> {
    points
        .flat_map(|point| [Role::Command, Role::Feedback].map(|role| (point, role)))
        .filter_map(|(point, role)| end(point, role, appliance, context))
        .collect()
}

fn end(point: u16, role: Role, appliance: &Appliance, context: &Context<'_>) -> Option<Undescribed> {
    let class = &appliance.class.value;
    let spec = class.points.get(usize::from(point)).filter(|spec| spec.end(role.end()).is_some())?;
    if appliance.has(point) {
        return None;
    }
    let address =
        context.survey.proposal(context.plan, suspicion::index_of(appliance, context)?, point, role)?;
    let (plan, survey) = (context.plan, context.survey);
    let is_free = survey.uses.of_address(appliance.bus, address).next().is_none();
    let is_usual = || survey.is_usual(plan, appliance.bus, address, &spec.name, role);
    (is_free && is_usual()).then_some(Undescribed { point, role, address })
}
