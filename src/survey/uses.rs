//! Who uses an address, and for what.

use crate::knx::GroupAddress;
use crate::resolve::Plan;
use crate::resolve::plan::{Appliance, Point, Role, Wire};
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};

/// One use of a group address.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
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

/// Every use of every address, by bus and address; the uses of one address in the order of the plan.
#[derive(Debug, Default)]
pub struct Uses {
    by_address: FxHashMap<(u32, GroupAddress), (u32, u32)>,
    sorted: Vec<(u32, GroupAddress, Use)>,
    /// Addresses that several appliances listen to.
    central: FxHashSet<(u32, GroupAddress)>,
}

impl Uses {
    /// Collects the uses of a plan.
    pub fn of(plan: &Plan) -> Self {
        let mut sorted = Vec::new();
        for (appliance, place) in plan.appliances.iter().zip(0u32..) {
            let bus = u32::try_from(appliance.bus).unwrap_or(u32::MAX);
            for (point, index) in appliance.points.iter().zip(0u32..) {
                let mut listens = 0;
                for (role, wire) in point.wires() {
                    let nth = if role == Role::Listens { listens } else { 0 };
                    listens += u32::from(role == Role::Listens);
                    sorted.push((
                        bus,
                        wire.address.value,
                        Use { appliance: place, point: index, role, listens: nth },
                    ));
                }
            }
        }
        sorted.par_sort_unstable_by_key(|&(bus, address, used)| {
            (bus, address, used.appliance, used.point, used.role, used.listens)
        });
        let (mut by_address, mut central) = (FxHashMap::default(), FxHashSet::default());
        let mut start = 0u32;
        for group in sorted.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)) {
            let end = start + u32::try_from(group.len()).unwrap_or(u32::MAX);
            if let Some(&(bus, address, _)) = group.first() {
                by_address.insert((bus, address), (start, end));
                let mut heard =
                    group.iter().map(|(_, _, used)| used).filter(|used| used.role == Role::Listens);
                let first = heard.next();
                if first.is_some_and(|first| heard.any(|used| used.appliance != first.appliance)) {
                    central.insert((bus, address));
                }
            }
            start = end;
        }
        Self { by_address, sorted, central }
    }

    /// Whether an address moves several appliances: they listen to it besides their own.
    pub fn is_central(&self, bus: usize, address: GroupAddress) -> bool {
        self.central.contains(&(u32::try_from(bus).unwrap_or(u32::MAX), address))
    }

    /// The uses of an address on a bus.
    pub fn of_address(&self, bus: usize, address: GroupAddress) -> impl Iterator<Item = Use> {
        let key = (u32::try_from(bus).unwrap_or(u32::MAX), address);
        let (start, end) = self.by_address.get(&key).copied().unwrap_or((0, 0));
        self.sorted.get(start as usize..end as usize).unwrap_or_default().iter().map(|&(_, _, used)| used)
    }

    /// Every used address with its uses, by bus and address.
    pub fn all(&self) -> impl Iterator<Item = (usize, GroupAddress, impl Iterator<Item = Use> + Clone)> {
        self.sorted.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)).filter_map(|group| {
            group
                .first()
                .map(|&(bus, address, _)| (bus as usize, address, group.iter().map(|&(_, _, used)| used)))
        })
    }
}
