//! A datapoint type that could not be read, where the address table says which one it is.

use super::Context;
use crate::knx::{DptId, DptIdError, DptRef};
use crate::resolve::plan::{Appliance, Point};
use crate::resolve::{Problem, ProblemKind};

/// What to write, if all rows of the point have one type, and what is written may be that: one of its zeros is gone
/// (`5.1`), or the main type is right, or nothing of it can be read and the class takes the table's.
pub(super) fn meant(problem: &Problem, context: &Context<'_>) -> Option<DptId> {
    let appliance = context.survey.appliance(context.plan, problem.appliance.as_deref()?)?;
    let point = point(problem, appliance)?;
    let id = of_rows(point, appliance, context)?;
    let may_be = match &problem.kind {
        ProblemKind::MalformedDpt { error: DptIdError::ShortSub { main, sub, .. }, .. } => {
            [format!("{main}.{sub:0>3}"), format!("{main}.{sub:0<3}")].contains(&id.to_string())
        }
        ProblemKind::MalformedDpt { .. } => takes(point, appliance, id),
        ProblemKind::UnknownDpt { text, .. } => {
            let main = text.split('.').next().and_then(|main| main.parse().ok());
            main == Some(id.main) && takes(point, appliance, id)
        }
        _ => false,
    };
    may_be.then_some(id)
}

/// Those of some types that the class takes where one could not be read; all of them where that is not known, or none is taken.
pub(super) fn taken<'t>(types: &'t [String], problem: &Problem, context: &Context<'_>) -> Vec<&'t str> {
    let all = || types.iter().map(String::as_str);
    let key = problem.appliance.as_deref();
    let appliance = key.and_then(|key| context.survey.appliance(context.plan, key));
    let Some((appliance, point)) = appliance.and_then(|it| Some((it, point(problem, it)?))) else {
        return all().collect();
    };
    let ends: Vec<_> = point
        .wires()
        .filter_map(|(role, _)| point.spec(appliance).and_then(|spec| spec.end(role.end())))
        .collect();
    let is_taken = |text: &&str| ends.iter().any(|end| end.dpts.iter().any(|id| id.to_string() == **text));
    let taken: Vec<&str> = all().filter(is_taken).collect();
    if taken.is_empty() { all().collect() } else { taken }
}

/// The point that the problem stands in: the last one that begins before it.
fn point<'a>(problem: &Problem, appliance: &'a Appliance) -> Option<&'a Point> {
    let before =
        |point: &&Point| point.key.file == problem.place.file && point.key.start < problem.place.start;
    appliance.points.iter().filter(before).max_by_key(|point| point.key.start)
}

/// Whether the class takes a type at an end of the point that is wired.
fn takes(point: &Point, appliance: &Appliance, id: DptId) -> bool {
    let takes =
        |end| point.spec(appliance).and_then(|spec| spec.end(end)).is_some_and(|end| end.dpts.contains(&id));
    point.wires().any(|(role, _)| takes(role.end()))
}

/// The one type that the rows of a point have.
fn of_rows(point: &Point, appliance: &Appliance, context: &Context<'_>) -> Option<DptId> {
    let table = context.plan.table(appliance.bus)?;
    let rows = point.wires().filter_map(|(_, wire)| table.row(wire.address.value));
    let mut types = rows.filter_map(|row| match row.dpt?.value {
        DptRef::Exact(id) => Some(id),
        DptRef::Main(_) => None,
    });
    let first = types.next()?;
    types.all(|other| other == first).then_some(first)
}
