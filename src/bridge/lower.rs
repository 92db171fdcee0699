//! From a checked plan and the ledger to bridges.

use super::definition::{
    BridgeDefinition, BridgeRef, Cluster, DeviceTypeRef, Endpoint, FORMAT, HouseRef, Link, MatterRef, VERSION,
};
use crate::classes::{Class, End, Shape, ShapedCluster, ShapedLink, ShapedPart, Target};
use crate::knx::GroupAddress;
use crate::ledger::{
    Allocation, Applicant, DeviceTypes, EndpointNumber, Exhausted, Ledger, Part, UniqueId, allocate,
};
use crate::matter;
use crate::resolve::Plan;
use crate::resolve::plan::{Appliance, Point};
use crate::rules::Checked;
use rayon::prelude::*;
use std::sync::Arc;

/// The aggregator's endpoint number: every top endpoint is below it.
const AGGREGATOR: u16 = 1;

/// Bridged Node and Power Source say nothing of what a device is: they do not count for its identity.
const NOT_IDENTIFYING: [u32; 2] = [0x0013, 0x0011];

/// All bridges of a house, each endpoint with its number and wires, not yet written out.
#[derive(Debug)]
pub struct Lowered<'p> {
    plan: &'p Plan,
    /// The bridges, in the order of the description.
    bridges: Vec<Vec<Place>>,
    /// The next ledger.
    pub ledger: Ledger,
}

/// One endpoint, by reference to what it is made from.
#[derive(Debug)]
struct Place {
    number: EndpointNumber,
    unique_id: UniqueId,
    parent: u16,
    appliance: u32,
    part: u32,
    shape: Arc<Shape>,
}

/// Gives every appliance its endpoints.
///
/// # Errors
/// [`Exhausted`] when a bridge has no endpoint number left; everything else was proven by the checks.
pub fn lower<'p>(checked: &'p Checked, ledger: &Ledger) -> Result<Lowered<'p>, Exhausted> {
    let plan = checked.plan();
    let shapes: Vec<Arc<Shape>> = plan.appliances.par_iter().map(shape).collect();
    let applicants: Vec<Applicant<'_>> = plan
        .appliances
        .iter()
        .zip(&shapes)
        .map(|(appliance, shape)| applicant(plan, appliance, shape))
        .collect();
    let allocation = allocate(ledger, &applicants)?;
    drop(applicants);
    let bridges = places(plan, shapes, &allocation);
    Ok(Lowered { plan, bridges, ledger: allocation.next })
}

fn shape(appliance: &Appliance) -> Arc<Shape> {
    if !appliance.bridged {
        return Arc::default();
    }
    // The rules have proven that the shape can be made.
    appliance.class.value.shape(&appliance.chosen()).unwrap_or_default()
}

fn applicant<'a>(plan: &'a Plan, appliance: &'a Appliance, shape: &'a Shape) -> Applicant<'a> {
    let parts = shape.parts.iter().map(|part| {
        let ids = part.device_types.iter().map(|device_type| device_type.id);
        Part {
            name: &part.name,
            device_types: DeviceTypes::new(ids.filter(|id| !NOT_IDENTIFYING.contains(id))),
        }
    });
    Applicant {
        key: &appliance.key.value,
        bridge: plan.bridges.get(appliance.bridge).map_or("", |bridge| bridge.key.value.as_str()),
        formerly: appliance.formerly.as_ref().map(|formerly| formerly.value.as_str()),
        parts: parts.collect(),
    }
}

fn places(plan: &Plan, shapes: Vec<Arc<Shape>>, allocation: &Allocation) -> Vec<Vec<Place>> {
    let mut bridges: Vec<Vec<Place>> = plan.bridges.iter().map(|_| Vec::new()).collect();
    for (position, (appliance, shape)) in plan.appliances.iter().zip(shapes).enumerate() {
        let given = allocation.of(position);
        let Some(bridge) = bridges.get_mut(appliance.bridge) else { continue };
        for (part, given) in (0u32..).zip(given.iter().take(shape.parts.len())) {
            let top = allocation.of(position).first().map_or(AGGREGATOR, |top| top.number.get());
            bridge.push(Place {
                number: given.number,
                unique_id: given.unique_id,
                parent: if part == 0 { AGGREGATOR } else { top },
                appliance: u32::try_from(position).unwrap_or(u32::MAX),
                part,
                shape: Arc::clone(&shape),
            });
        }
    }
    for bridge in &mut bridges {
        bridge.sort_by_key(|place| place.number);
    }
    bridges
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

    /// One endpoint of a bridge, by its place in the order of numbers.
    pub fn endpoint(&self, bridge: usize, index: usize) -> Option<Endpoint> {
        let place = self.bridges.get(bridge)?.get(index)?;
        let appliance = self.plan.appliances.get(place.appliance as usize)?;
        let part = place.shape.parts.get(place.part as usize)?;
        let room = self.plan.rooms.get(appliance.room)?;
        let key = match place.part {
            0 => appliance.key.value.clone(),
            _ => format!("{}/{}", appliance.key.value, part.name),
        };
        Some(Endpoint {
            number: place.number.get(),
            parent: place.parent,
            key,
            node_label: appliance.name.value.clone(),
            room: room.name.value.clone(),
            floor: room.floor.as_ref().map(|floor| floor.value.clone()),
            device_types: device_types(part),
            clusters: part.clusters.iter().map(cluster).collect(),
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
        let bus = self.plan.buses.get(appliance.bus).map_or("main", |bus| bus.key.as_str());
        let mut links = Vec::new();
        for shaped in &part.links {
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

fn addresses(point: &Point, end: End) -> impl Iterator<Item = GroupAddress> {
    let wires = match end {
        End::Command => point.command.as_slice(),
        End::Feedback => point.feedback.as_slice(),
        End::Listens => point.listens.as_slice(),
    };
    wires.iter().map(|wire| wire.address.value)
}

fn device_types(part: &ShapedPart) -> Vec<DeviceTypeRef> {
    let reference = |shaped: &crate::classes::ShapedDeviceType| DeviceTypeRef {
        id: shaped.id,
        name: shaped.name.clone(),
        revision: shaped.revision,
    };
    part.device_types.iter().map(reference).collect()
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
        timing: shaped.timing.clone(),
        conversion: shaped.conversion.clone(),
    }
}
