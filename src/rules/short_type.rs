//! A datapoint type that lost zeros, where the address table says which one it was.

use super::{Context, Said};
use crate::findings::Certainty;
use crate::knx::{DptId, DptIdError, DptRef};
use crate::resolve::plan::{Appliance, Point};
use crate::resolve::{Problem, ProblemKind};

/// What to write for `5.1`, if all rows of the point agree on one of the types that it may have been.
pub(super) fn said(problem: &Problem, context: &Context<'_>) -> Option<Said> {
    let ProblemKind::MalformedDpt { text, error: DptIdError::ShortSub { main, sub, .. } } = &problem.kind
    else {
        return None;
    };
    let appliance = context.survey.appliance(context.plan, problem.appliance.as_deref()?)?;
    let id = of_rows(point(problem, appliance)?, appliance, context)?;
    let meant = id.to_string();
    let may_be = [format!("{main}.{sub:0>3}"), format!("{main}.{sub:0<3}")].contains(&meant);
    may_be.then(|| {
        Said::new(format!("`{text}` is no datapoint type"), problem.place, "not a datapoint type")
            .keyed(problem)
            .help(format!("write `{meant}`, as the table has it: the sub-type has three digits"))
            .replace(meant, Certainty::ToBeLookedAt)
    })
}

/// The point that the problem stands in: the last one that begins before it.
fn point<'a>(problem: &Problem, appliance: &'a Appliance) -> Option<&'a Point> {
    let before =
        |point: &&Point| point.key.file == problem.place.file && point.key.start < problem.place.start;
    appliance.points.iter().filter(before).max_by_key(|point| point.key.start)
}

/// The one type that the rows of a point have.
fn of_rows(point: &Point, appliance: &Appliance, context: &Context<'_>) -> Option<DptId> {
    let table = context.plan.buses.get(appliance.bus)?.table.as_ref()?;
    let rows = point.wires().filter_map(|(_, wire)| table.row(wire.address.value));
    let mut types = rows.filter_map(|row| match row.dpt?.value {
        DptRef::Exact(id) => Some(id),
        DptRef::Main(_) => None,
    });
    let first = types.next()?;
    types.all(|other| other == first).then_some(first)
}
