//! What the address table says of the flags of a wire, for the rules about them.

use super::{Context, Said};
use crate::knx::Flags;
use crate::resolve::Plan;
use crate::resolve::plan::{Appliance, Point, Role, Wire};
use crate::source::Spanned;

/// The flags that the table lists for the address of a wire; on a bus that the appliance is not wired to they say nothing.
pub(super) fn listed<'a>(
    wire: &Wire,
    appliance: &Appliance,
    context: &Context<'a>,
) -> Option<&'a Spanned<Flags>> {
    let bus = Some(appliance.bus).filter(|_| !context.survey.is_misplaced(appliance));
    context.plan.table(bus?)?.row(wire.address.value)?.flags.as_ref()
}

/// The wire of a point in a role, with its flags, where the class asks for a flag there, by its letter.
pub(super) fn where_asked<'a>(
    point: &'a Point,
    (role, letter): (Role, char),
    appliance: &Appliance,
    context: &Context<'a>,
) -> Option<(&'a Wire, &'a Spanned<Flags>)> {
    let wire = point.wire(role)?;
    let is_asked = point.spec(appliance)?.end(role.end())?.flags.contains(letter);
    listed(wire, appliance, context).filter(|_| is_asked).map(|flags| (wire, flags))
}

/// A finding at a wire: what is wrong with it, and which flag is why.
pub(super) fn said(
    (role, wire): (Role, &Wire),
    flags: &Spanned<Flags>,
    (what, flag): (&str, &str),
    appliance: &Appliance,
    plan: &Plan,
) -> Said {
    let written = wire.address.value.display(plan.house.notation);
    let message = format!("`{written}`, the {} of `{}`, {what}", role.noun(), appliance.key.value);
    Said::new(message, wire.address.place, flag).with(flags.place, "its flags").about(appliance, plan)
}
