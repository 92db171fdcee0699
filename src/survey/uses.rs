//! Who uses an address, and for what.

use super::numbers::Lists;
use super::wires::narrow;
use crate::knx::{AddressIndex, GroupAddress};
use crate::pieces;
use crate::resolve::Plan;
use crate::resolve::plan::{Appliance, Point, Role, Wire};

/// One use of a group address.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Use {
    /// Index of the appliance in the plan.
    pub appliance: u32,
    /// Index of the point in the appliance.
    pub point: u32,
    /// What the wire is for.
    pub role: Role,
    /// Which of the `listens`, else 0.
    pub listens: u32,
}

impl Use {
    /// The appliance, point and wire.
    pub fn look_up<'a>(&self, plan: &'a Plan) -> Option<(&'a Appliance, &'a Point, &'a Wire)> {
        let appliance = plan.appliances.get(self.appliance as usize)?;
        let point = appliance.points.get(self.point as usize)?;
        let wire = match self.role {
            Role::Command => point.command.as_ref()?,
            Role::Feedback => point.feedback.as_ref()?,
            Role::Listens => point.listens.get(self.listens as usize)?,
        };
        Some((appliance, point, wire))
    }
}

/// Appliances that are looked through as one piece.
const PIECE: usize = 4096;

/// Every use of every address, by bus and address; the uses of one address in the order of the plan.
#[derive(Debug, Default)]
pub struct Uses {
    /// For each bus, the list of each address that is used.
    lists: Vec<AddressIndex>,
    uses: Lists<Use>,
    /// Whether several appliances listen to the address of a list.
    central: Vec<bool>,
}

impl Uses {
    /// Collects the uses of a plan.
    pub fn of(plan: &Plan) -> Self {
        let found: Vec<Vec<(usize, GroupAddress, Use)>> =
            pieces::ranges(plan.appliances.len(), PIECE, |range| {
                let appliances = range.filter_map(|place| Some((place, plan.appliances.get(place)?)));
                appliances.flat_map(|(place, appliance)| of_appliance(narrow(place), appliance)).collect()
            });
        let mut lists = vec![AddressIndex::default(); plan.buses.len()];
        let mut count = 0;
        let mut numbered = Vec::with_capacity(found.iter().map(Vec::len).sum());
        for (bus, address, used) in found.into_iter().flatten() {
            let Some(of_bus) = lists.get_mut(bus) else { continue };
            let list = of_bus.get_or_insert(address, count);
            count += u32::from(list == count);
            numbered.push((list, used));
        }
        let uses = Lists::grouped(count as usize, || numbered.iter().copied());
        let is_central = |uses: &[Use]| {
            let mut heard = uses.iter().filter(|used| used.role == Role::Listens);
            let first = heard.next();
            first.is_some_and(|first| heard.any(|used| used.appliance != first.appliance))
        };
        let central = uses.iter().map(is_central).collect();
        Self { lists, uses, central }
    }

    fn list(&self, bus: usize, address: GroupAddress) -> Option<usize> {
        Some(self.lists.get(bus)?.get(address)? as usize)
    }

    /// Whether an address moves several appliances: they listen to it besides their own.
    pub fn is_central(&self, bus: usize, address: GroupAddress) -> bool {
        self.list(bus, address).and_then(|list| self.central.get(list)).copied().unwrap_or(false)
    }

    /// The uses of an address on a bus.
    pub fn of_address(&self, bus: usize, address: GroupAddress) -> impl Iterator<Item = Use> {
        self.list(bus, address).map_or(&[][..], |list| self.uses.of(list)).iter().copied()
    }

    /// Every used address with its uses, by bus and address.
    pub fn all(&self) -> impl Iterator<Item = (usize, GroupAddress, impl Iterator<Item = Use> + Clone)> {
        self.lists.iter().enumerate().flat_map(move |(bus, lists)| {
            lists
                .iter()
                .map(move |(address, list)| (bus, address, self.uses.of(list as usize).iter().copied()))
        })
    }
}

/// The uses of an appliance's wires, each with the bus and the address.
fn of_appliance(place: u32, appliance: &Appliance) -> impl Iterator<Item = (usize, GroupAddress, Use)> {
    appliance.points.iter().zip(0u32..).flat_map(move |(point, index)| {
        let before = u32::from(point.command.is_some()) + u32::from(point.feedback.is_some());
        point.wires().zip(0u32..).map(move |((role, wire), nth)| {
            let listens = if role == Role::Listens { nth - before } else { 0 };
            (appliance.bus, wire.address.value, Use { appliance: place, point: index, role, listens })
        })
    })
}
