//! From a plan and its ledger to what is described, not shown to controllers, and keeps its place.

use crate::classes::Exposure;
use crate::ledger::{DeviceTypes, EndpointNumber, Identity, Ledger, Owner, UniqueId};
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
