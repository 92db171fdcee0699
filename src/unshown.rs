//! From a plan and its ledger to what is described, not shown to controllers, and keeps its place.

use crate::build::{Against, Judged, Order};
use crate::classes::Exposure;
use crate::findings::some;
use crate::ledger::{DeviceTypes, EndpointNumber, Identity, Ledger, Owner, UniqueId};
use crate::recall::Doubt;
use crate::resolve::Plan;
use crate::resolve::plan::Appliance;
use crate::review::{KeptPlace, Unshown};

/// The appliances that are not shown, in the order of the description, with what the ledger that a build leaves keeps for
/// them. Those of a class that is never shown only where something is kept.
pub(crate) fn unshown(plan: &Plan, ledger: &Ledger) -> Vec<Unshown> {
    let hidden = plan.appliances.iter().filter(|appliance| {
        let is_of_shown = matches!(appliance.class.value.exposure, Exposure::Bridged);
        !appliance.bridged && (is_of_shown || ledger.of(&appliance.key.value).next().is_some())
    });
    let told = |appliance: &Appliance| {
        let room = plan.rooms.get(appliance.room);
        Unshown {
            key: appliance.key.value.clone(),
            name: appliance.name.value.clone(),
            room: room.map(|room| room.name.value.clone()).unwrap_or_default(),
            floor: room.and_then(|room| room.floor.as_ref()).map(|floor| floor.value.clone()),
            kept: ledger.of(&appliance.key.value).map(|(part, identity)| place(part, identity)).collect(),
        }
    };
    hidden.map(told).collect()
}

/// What is to say where a build is to stop and is held against its ledger alone: that keeps the place of what is not shown,
/// and knows nothing of whether the family had it until now.
pub(crate) fn hidden_since_when(unshown: &[Unshown], judged: &[Judged], order: &Order<'_>) -> Option<Doubt> {
    let by_ledger = judged.first().is_some_and(|judged| judged.against == Against::Ledger);
    let kept = unshown.iter().filter(|one| by_ledger && order.stop_at.is_some() && !one.kept.is_empty());
    let keys: Vec<String> = kept.map(|one| one.key.clone()).collect();
    let (verb, was) = if keys.len() == 1 { ("is", "it was") } else { ("are", "they were") };
    (!keys.is_empty()).then(|| Doubt {
        message: format!(
            "{} {verb} not shown, and without the last build nobody sees whether {was} until now",
            some(&keys)
        ),
        help: "keep the last build in the output folder, or look with `housewright review --since`"
            .to_owned(),
    })
}

fn place(part: &str, identity: &Identity) -> KeptPlace {
    KeptPlace {
        part: part.to_owned(),
        bridge: identity.bridge.to_string(),
        endpoint: identity.number.get(),
        unique_id: identity.unique_id.to_string(),
        device_types: identity.device_types.ids().to_vec(),
    }
}

/// Whose the kept places are, and what they are known by, as a build noted them.
pub(crate) fn identities(unshown: &[Unshown]) -> impl Iterator<Item = (Owner, Identity)> {
    let places = unshown.iter().flat_map(|one| one.kept.iter().map(move |place| (one, place)));
    places.filter_map(|(one, place)| {
        let identity = Identity {
            bridge: place.bridge.as_str().into(),
            number: EndpointNumber::new(place.endpoint)?,
            device_types: DeviceTypes::new(place.device_types.iter().copied()),
            unique_id: UniqueId::parse(&place.unique_id)?,
        };
        Some((Owner { key: one.key.clone(), part: place.part.clone() }, identity))
    })
}
