//! How the rules on one address of several appliances tell it.

use super::suspicion::{propose, standing};
use super::{Card, Context, Report, Said};
use crate::classes::SettingValue;
use crate::knx::GroupAddress;
use crate::resolve::Plan;
use crate::resolve::plan::{Appliance, Role, Wire};
use crate::sort;
use crate::survey::Use;
use rustc_hash::FxHashMap;

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
        sort::by(&mut ranked, |(a, _), (b, _)| b.total_cmp(a));
        users = ranked.into_iter().map(|(_, used)| used).collect();
    }
    users
}

/// Whether an address is for many scenes, told apart by the number that it carries (KNX 3/7/2 §3.18, §3.19).
fn carries_scenes(wire: &Wire) -> bool {
    matches!(wire.dpt.id.main, 17 | 18)
}

/// The users of an address for many scenes, those together that do the same through it.
fn twins(users: &[Use], plan: &Plan) -> Vec<Vec<Use>> {
    let mut groups: Vec<Vec<Use>> = Vec::new();
    let mut known = FxHashMap::default();
    for used in users {
        let Some(appliance) = plan.appliances.get(used.appliance as usize) else { continue };
        let group = *known.entry(what_it_does(appliance)).or_insert(groups.len());
        match groups.get_mut(group) {
            Some(group) => group.push(*used),
            None => groups.push(vec![*used]),
        }
    }
    groups
}

/// The class and all settings of an appliance: for a scene, which one it is.
fn what_it_does(appliance: &Appliance) -> (&str, Vec<Option<SettingValue>>) {
    let (class, chosen) = (&appliance.class.value, appliance.chosen());
    let settings = (0..).zip(&class.settings).map(|(index, _)| chosen.setting(class, index).cloned());
    (&class.name, settings.collect())
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
        let scenes =
            first.and_then(|first| first.look_up(plan)).is_some_and(|(.., wire)| carries_scenes(wire));
        for group in if scenes { twins(&users, plan) } else { vec![users] } {
            tell(card, role, [verb, one, several], &group, address, context, report);
        }
    }
}

/// Tells one address of some appliances.
fn tell(
    card: &Card,
    role: Role,
    [verb, one, several]: [&str; 3],
    users: &[Use],
    address: GroupAddress,
    context: &Context<'_>,
    report: &mut Report,
) {
    let plan = context.plan;
    let [first, rest @ ..] = users else { return };
    let Some((owner, _, owned)) = first.look_up(plan) else { return };
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
        report.add(
            card,
            if carries_scenes(wire) {
                said.help("give each scene its own number: the address carries those of many")
            } else {
                propose(said, context, appliance, (point.spec, role))
            },
        );
    }
}
