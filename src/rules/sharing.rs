//! How the rules on one address of several appliances tell it.

use super::suspicion::{propose, standing};
use super::{Card, Context, Report, Said};
use crate::resolve::plan::Role;
use crate::survey::Use;

/// The appliances that have an address at an end of their own, the one that it serves best first.
pub(super) fn users(uses: impl Iterator<Item = Use>, role: Role, context: &Context<'_>) -> Vec<Use> {
    let own = |used: &Use| used.role == role && context.survey.is_own(context.plan, *used);
    let mut users: Vec<Use> = uses.filter(own).collect();
    users.dedup_by_key(|used| used.appliance);
    if users.len() > 1 {
        let standing = |used: &Use| {
            let appliance = context.plan.appliances.get(used.appliance as usize)?;
            standing(context, appliance, (used.point as usize, role))
        };
        let mut ranked: Vec<(f64, Use)> =
            users.iter().map(|used| (standing(used).unwrap_or(0.0), *used)).collect();
        ranked.sort_by(|(a, _), (b, _)| b.total_cmp(a));
        users = ranked.into_iter().map(|(_, used)| used).collect();
    }
    users
}

/// From so many appliances on with one address they are told together.
const MANY: usize = 4;

/// Tells each address that is a command, or a feedback, of several appliances, at those that it serves worse than the
/// best. `words` are what they do with it, and how that is said of one other and of several.
pub(super) fn tell_shared(
    card: &Card,
    role: Role,
    [verb, one, several]: [&str; 3],
    context: &Context<'_>,
    report: &mut Report,
) {
    let plan = context.plan;
    for (_, address, uses) in context.survey.uses.all() {
        // Nearly every address is one appliance's; of the others it is looked up what they use it for.
        let mut ends = uses.clone().filter(|used| used.role == role);
        let first = ends.next();
        if !first.is_some_and(|first| ends.any(|used| used.appliance != first.appliance)) {
            continue;
        }
        let users = users(uses, role, context);
        let [first, rest @ ..] = users.as_slice() else { continue };
        let Some((owner, _, owned)) = first.look_up(plan) else { continue };
        let (written, owner) = (address.display(plan.house.notation), &owner.key.value);
        let others = match users.len() {
            count if count >= MANY => format!("`{owner}` and {} more appliances {several}", count - 2),
            _ => format!("`{owner}` {one}"),
        };
        for used in rest.iter().take(if users.len() >= MANY { 1 } else { MANY }) {
            let Some((appliance, point, wire)) = used.look_up(plan) else { continue };
            let message = format!("`{}` {verb} `{written}`, as {others}", appliance.key.value);
            let said = Said::new(message, wire.address.place, format!("the same {}", role.word()))
                .with(owned.address.place, format!("in `{owner}`"))
                .about(appliance, plan);
            report.add(card, propose(said, context, appliance, (point.spec, role)));
        }
    }
}
