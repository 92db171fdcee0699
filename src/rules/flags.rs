//! What the address table says of the flags of a wire, for the rules about them.

use super::Said;
use crate::knx::Flags;
use crate::resolve::Plan;
use crate::resolve::plan::{Appliance, Point, Role, Wire};
use crate::source::Spanned;

/// The flags that the table lists for the address of a wire.
pub(super) fn listed<'a>(wire: &Wire, appliance: &Appliance, plan: &'a Plan) -> Option<&'a Spanned<Flags>> {
    plan.table(appliance.bus)?.row(wire.address.value)?.flags.as_ref()
}

/// The wire of a point in a role, with its flags, where the class asks for a flag there, by its letter.
pub(super) fn where_asked<'a>(
    point: &'a Point,
    (role, letter): (Role, char),
    appliance: &Appliance,
    plan: &'a Plan,
) -> Option<(&'a Wire, &'a Spanned<Flags>)> {
    let wire = point.wire(role)?;
    let is_asked = point.spec(appliance)?.end(role.end())?.flags.contains(letter);
    listed(wire, appliance, plan).filter(|_| is_asked).map(|flags| (wire, flags))
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
