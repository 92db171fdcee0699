//! From a checked plan and the ledger to bridges.

use super::definition::{
    BridgeDefinition, BridgeRef, Cluster, DeviceTypeRef, Endpoint, FORMAT, HouseRef, Link, MatterRef, VERSION,
};
use super::stencil::{Head, Stencil, addresses};
use crate::classes::{
    Class, ENDPOINT_ABOVE, Shape, ShapedCluster, ShapedLink, ShapedPart, THIS_ENDPOINT, Target,
};
use crate::ledger::{
    Allocation, Applicant, DeviceTypes, EndpointNumber, Exhausted, Ledger, Part, UniqueId, allocate,
};
use crate::matter;
use crate::pieces;
use crate::resolve::Plan;
use crate::resolve::plan::{Appliance, Room};
use crate::rules::Checked;
use rustc_hash::FxHashMap;
use serde_json::Value;
use std::borrow::Cow;
use std::io;
use std::sync::Arc;

/// The aggregator's endpoint number: every top endpoint is below it.
const AGGREGATOR: u16 = 1;

/// All bridges of a house, each endpoint with its number and wires, not yet written out.
#[derive(Debug)]
pub struct Lowered<'p> {
    plan: &'p Plan,
    /// The bridges, in the order of the description.
    bridges: Vec<Vec<Place<'p>>>,
    /// What endpoints share.
    stencils: Vec<Stencil>,
    /// The next ledger.
    pub ledger: Ledger,
}

/// One endpoint, by reference to what it is made from.
#[derive(Debug)]
struct Place<'p> {
    number: EndpointNumber,
    unique_id: UniqueId,
    parent: u16,
    appliance: u32,
    part: u32,
    shape: &'p Shape,
    /// Index of its stencil; no such index where no other endpoint would use it.
    stencil: u32,
}

/// Gives every appliance its endpoints.
///
/// # Errors
/// [`Exhausted`] when a bridge has no endpoint number left; everything else was proven by the checks.
pub fn lower<'p>(checked: &'p Checked, ledger: &Ledger) -> Result<Lowered<'p>, Exhausted> {
    let plan = checked.plan();
    let applicants: Vec<Applicant<'_>> = pieces::some(plan.appliances.len(), pieces::LIGHT, |appliance| {
        Some(applicant(plan, plan.appliances.get(appliance)?))
    });
    let allocation = allocate(ledger, &applicants)?;
    let (_, (bridges, stencils)) = rayon::join(|| drop(applicants), || places(plan, &allocation));
    Ok(Lowered { plan, bridges, stencils, ledger: allocation.next })
}

/// What an appliance becomes; nothing where it is not shown. The rules have proven that the shape can be made.
fn shape(appliance: &Appliance) -> Option<&Arc<Shape>> {
    appliance.shape().ok().filter(|_| appliance.bridged)
}

/// Those of the device types of an endpoint that say what it is.
pub fn identifying(ids: impl IntoIterator<Item = u32>) -> DeviceTypes {
    DeviceTypes::new(ids.into_iter().filter(|id| matter::is_identifying(*id)))
}

fn applicant<'a>(plan: &'a Plan, appliance: &'a Appliance) -> Applicant<'a> {
    let parts = shape(appliance).into_iter().flat_map(|shape| &shape.parts).map(|part| {
        let ids = part.device_types.iter().map(|device_type| device_type.id);
        Part { name: &part.name, device_types: identifying(ids) }
    });
    Applicant {
        key: &appliance.key.value,
        bridge: plan.bridges.get(appliance.bridge).map_or("", |bridge| bridge.key.value.as_str()),
        formerly: appliance.formerly.as_ref().map(|formerly| formerly.value.as_str()),
        parts: parts.collect(),
    }
}

fn places<'p>(plan: &'p Plan, allocation: &Allocation) -> (Vec<Vec<Place<'p>>>, Vec<Stencil>) {
    let mut bridges: Vec<Vec<Place<'_>>> = plan.bridges.iter().map(|_| Vec::new()).collect();
    let mut stencils = Vec::new();
    // By the shape, which appliances with equal choices share, and the part.
    let mut known: FxHashMap<(*const Shape, u32), u32> = FxHashMap::default();
    for (position, appliance) in plan.appliances.iter().enumerate() {
        let Some(shape) = shape(appliance) else { continue };
        let given = allocation.of(position);
        let Some(bridge) = bridges.get_mut(appliance.bridge) else { continue };
        for (part, given) in (0u32..).zip(given.iter().take(shape.parts.len())) {
            // Held by this appliance and by its class: no other endpoint would use the text.
            let is_alone = Arc::strong_count(shape) <= 2;
            let stencil = if is_alone {
                u32::MAX
            } else {
                *known.entry((Arc::as_ptr(shape), part)).or_insert_with(|| {
                    stencils.extend(shape.parts.get(part as usize).map(|part| stencil(appliance, part)));
                    u32::try_from(stencils.len()).map_or(u32::MAX, |count| count - 1)
                })
            };
            let top = allocation.of(position).first().map_or(AGGREGATOR, |top| top.number.get());
            bridge.push(Place {
                number: given.number,
                unique_id: given.unique_id,
                parent: if part == 0 { AGGREGATOR } else { top },
                appliance: u32::try_from(position).unwrap_or(u32::MAX),
                part,
                shape,
                stencil,
            });
        }
    }
    for bridge in &mut bridges {
        bridge.sort_by_key(|place| place.number);
    }
    (bridges, stencils)
}

fn stencil(appliance: &Appliance, part: &ShapedPart) -> Stencil {
    let clusters: Vec<Cluster> = part.clusters().map(cluster).collect();
    let link = |shaped: &ShapedLink| {
        (shaped.point, shaped.end, link(shaped, &appliance.class.value, "", String::new()))
    };
    Stencil::new(&device_types(part), &clusters, part.links().map(link).collect())
        .expect("these types have a JSON form, and memory takes it")
}

impl Lowered<'_> {
    /// How many bridges there are.
    pub fn len(&self) -> usize {
        self.bridges.len()
    }

    /// Whether there is no bridge.
    pub fn is_empty(&self) -> bool {
        self.bridges.is_empty()
    }

    /// The key of a bridge.
    pub fn key(&self, bridge: usize) -> &str {
        self.plan.bridges.get(bridge).map_or("", |bridge| bridge.key.value.as_str())
    }

    /// How many endpoints a bridge has.
    pub fn endpoints(&self, bridge: usize) -> usize {
        self.bridges.get(bridge).map_or(0, Vec::len)
    }

    /// A bridge without its endpoints.
    pub fn head(&self, bridge: usize) -> BridgeDefinition {
        let house = HouseRef { id: self.plan.house.id.clone(), name: self.plan.house.name.clone() };
        let name = self.plan.bridges.get(bridge).map(|bridge| bridge.name.value.clone()).unwrap_or_default();
        BridgeDefinition {
            format: FORMAT.to_owned(),
            version: VERSION,
            house,
            bridge: BridgeRef { key: self.key(bridge).to_owned(), name },
            matter: MatterRef {
                specification: matter::edition().specification.clone(),
                data_model_revision: matter::edition().data_model_revision,
            },
            endpoints: Vec::new(),
        }
    }

    /// Writes the JSON of one endpoint of a bridge, by its place in the order of numbers; the same as that of
    /// [`Lowered::endpoint`], but most of it is made once for all that are alike.
    ///
    /// # Errors
    /// None that memory does not give.
    pub fn write_endpoint(&self, bridge: usize, index: usize, out: &mut Vec<u8>) -> io::Result<()> {
        let place = self.bridges.get(bridge).and_then(|places| places.get(index));
        let Some(place) = place else { return Ok(()) };
        let Some((appliance, part, room)) = self.whereabouts(place) else { return Ok(()) };
        let head = Head {
            number: place.number.get(),
            parent: place.parent,
            key: &key(place, appliance, part),
            unique_id: &place.unique_id.to_string(),
            node_label: &appliance.name.value,
            room: &room.name.value,
            floor: room.floor.as_ref().map(|floor| floor.value.as_str()),
        };
        let once;
        let stencil = match self.stencils.get(place.stencil as usize) {
            Some(shared) => shared,
            None => {
                once = stencil(appliance, part);
                &once
            }
        };
        stencil.write(out, &head, &appliance.points, self.bus(appliance), self.plan.house.notation)
    }

    /// The appliance, part and room of an endpoint.
    fn whereabouts<'a>(&'a self, place: &'a Place<'_>) -> Option<(&'a Appliance, &'a ShapedPart, &'a Room)> {
        let plan: &Plan = self.plan;
        let appliance = plan.appliances.get(place.appliance as usize)?;
        let part = place.shape.parts.get(place.part as usize)?;
        Some((appliance, part, plan.rooms.get(appliance.room)?))
    }

    fn bus(&self, appliance: &Appliance) -> &str {
        self.plan.buses.get(appliance.bus).map_or("main", |bus| bus.key.as_str())
    }

    /// One endpoint of a bridge, by its place in the order of numbers.
    pub fn endpoint(&self, bridge: usize, index: usize) -> Option<Endpoint> {
        let place = self.bridges.get(bridge)?.get(index)?;
        let (appliance, part, room) = self.whereabouts(place)?;
        Some(Endpoint {
            number: place.number.get(),
            parent: place.parent,
            key: key(place, appliance, part).into_owned(),
            node_label: appliance.name.value.clone(),
            room: room.name.value.clone(),
            floor: room.floor.as_ref().map(|floor| floor.value.clone()),
            device_types: device_types(part),
            clusters: part.clusters().map(|shaped| numbered(cluster(shaped), place)).collect(),
            links: self.links(appliance, part),
            unique_id: place.unique_id.to_string(),
        })
    }

    /// A whole bridge. For large houses take [`head`](Self::head) and [`endpoint`](Self::endpoint) instead.
    pub fn definition(&self, bridge: usize) -> BridgeDefinition {
        let endpoints =
            (0..self.endpoints(bridge)).filter_map(|index| self.endpoint(bridge, index)).collect();
        BridgeDefinition { endpoints, ..self.head(bridge) }
    }

    fn links(&self, appliance: &Appliance, part: &ShapedPart) -> Vec<Link> {
        let bus = self.bus(appliance);
        let mut links = Vec::new();
        for shaped in part.links() {
            let Some(point) = appliance.points.iter().find(|point| point.spec == shaped.point) else {
                continue;
            };
            for address in addresses(point, shaped.end) {
                let group = address.display(self.plan.house.notation).to_string();
                links.push(link(shaped, &appliance.class.value, bus, group));
            }
        }
        links
    }
}

fn key<'a>(place: &Place<'_>, appliance: &'a Appliance, part: &ShapedPart) -> Cow<'a, str> {
    match place.part {
        0 => Cow::Borrowed(&appliance.key.value),
        _ => Cow::Owned(format!("{}/{}", appliance.key.value, part.name)),
    }
}

fn device_types(part: &ShapedPart) -> Vec<DeviceTypeRef> {
    let reference = |shaped: &crate::classes::ShapedDeviceType| DeviceTypeRef {
        id: shaped.id,
        name: shaped.name.clone(),
        revision: shaped.revision,
    };
    part.device_types.iter().map(reference).collect()
}

/// The cluster with the numbers of this endpoint and of the one above in its lists of endpoints.
fn numbered(mut cluster: Cluster, place: &Place<'_>) -> Cluster {
    for name in lists_of_endpoints(&cluster) {
        for entry in cluster.attributes.get_mut(&name).and_then(Value::as_array_mut).into_iter().flatten() {
            if *entry == THIS_ENDPOINT {
                *entry = place.number.get().into();
            } else if *entry == ENDPOINT_ABOVE {
                *entry = place.parent.into();
            }
        }
    }
    cluster
}

/// The attributes of a cluster that are lists of endpoints.
pub(super) fn lists_of_endpoints(cluster: &Cluster) -> Vec<String> {
    let model = matter::cluster(&cluster.name);
    let is_list = |name: &&String| {
        let attribute = model.and_then(|model| model.attribute(name));
        attribute.is_some_and(|attribute| attribute.datatype == "list<endpoint-no>")
    };
    cluster.attributes.keys().filter(is_list).cloned().collect()
}

/// NodeLabel and UniqueID of the bridged node are the endpoint's own fields, and stand nowhere else.
fn cluster(shaped: &ShapedCluster) -> Cluster {
    Cluster {
        id: shaped.id,
        name: shaped.name.clone(),
        revision: shaped.revision,
        features: shaped.features.clone(),
        attributes: shaped.attributes.clone(),
        commands: shaped.commands.clone(),
    }
}

fn link(shaped: &ShapedLink, class: &Class, bus: &str, group: String) -> Link {
    let point =
        class.points.get(usize::from(shaped.point)).map(|point| point.name.clone()).unwrap_or_default();
    let (attribute, command, event) = match &shaped.target {
        Target::Attribute(name) => (Some(name.clone()), None, None),
        Target::Command(name) => (None, Some(name.clone()), None),
        Target::Event(name) => (None, None, Some(name.clone())),
    };
    Link {
        point,
        cluster: shaped.cluster.clone(),
        attribute,
        command,
        event,
        direction: shaped.direction,
        bus: bus.to_owned(),
        group,
        dpt: shaped.dpt.to_string(),
        read: shaped.read,
        shown: shaped.shown,
        joint: shaped.joint.clone(),
        timing: shaped.timing.clone(),
        conversion: shaped.conversion.clone(),
    }
}
