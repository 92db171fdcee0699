//! Every wire of a plan with what it is for, in one list: what all counting goes over.

use crate::classes::Group;
use crate::knx::GroupAddress;
use crate::resolve::Plan;
use crate::resolve::plan::Role;
use rustc_hash::FxHashMap;

/// What a wire is for: which point of which group of classes, and which of its ends. Two wires of one kind are
/// wired alike in a house that has habits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Kind(pub u32);

/// A command or feedback of an appliance. What is listened to besides is shared on purpose and says nothing.
#[derive(Clone, Copy, Debug)]
pub struct Wired {
    /// Index of the appliance in the plan.
    pub appliance: u32,
    /// Index of the point in the appliance.
    pub point: u32,
    /// Command or feedback.
    pub role: Role,
    /// What it is for.
    pub kind: Kind,
    /// Index of the bus.
    pub bus: u32,
    /// The address.
    pub address: GroupAddress,
    /// Index of the address's row in the table of the bus.
    pub row: Option<u32>,
}

/// All wires, those of an appliance side by side.
#[derive(Debug, Default)]
pub struct Wires {
    /// In the order of the plan.
    pub all: Vec<Wired>,
    /// For each appliance where its wires begin; one more entry than appliances.
    starts: Vec<u32>,
    kinds: Vec<(Group, String, Role)>,
}

impl Wires {
    /// Collects the wires of a plan.
    pub fn of(plan: &Plan) -> Self {
        let mut wires = Self::default();
        let mut known: FxHashMap<(Group, &str, Role), Kind> = FxHashMap::default();
        for (appliance, index) in plan.appliances.iter().zip(0u32..) {
            wires.starts.push(narrow(wires.all.len()));
            let table = plan.buses.get(appliance.bus).and_then(|bus| bus.table.as_ref());
            for (point, place) in appliance.points.iter().zip(0u32..) {
                let name = point.name(appliance);
                for (role, wire) in point.wires().filter(|(role, _)| *role != Role::Listens) {
                    let key = (appliance.class.value.group, name, role);
                    let kind = *known.entry(key).or_insert_with(|| {
                        wires.kinds.push((key.0, name.to_owned(), role));
                        Kind(narrow(wires.kinds.len() - 1))
                    });
                    let address = wire.address.value;
                    let row = table.and_then(|table| table.by_address.get(&address)).map(|&row| narrow(row));
                    let bus = narrow(appliance.bus);
                    wires.all.push(Wired { appliance: index, point: place, role, kind, bus, address, row });
                }
            }
        }
        wires.starts.push(narrow(wires.all.len()));
        wires
    }

    /// The wires of an appliance, and the index of the first of them.
    pub fn of_appliance(&self, appliance: usize) -> (usize, &[Wired]) {
        let at = |index: usize| self.starts.get(index).map_or(self.all.len(), |&start| start as usize);
        let (start, end) = (at(appliance), at(appliance + 1));
        (start, self.all.get(start..end).unwrap_or_default())
    }

    /// How many kinds there are.
    pub fn kinds(&self) -> usize {
        self.kinds.len()
    }

    /// A kind in words: "the command of `switching`".
    pub fn words(&self, kind: Kind) -> String {
        match self.kinds.get(kind.0 as usize) {
            Some((_, point, role)) => format!("the {} of `{point}`", role.word()),
            None => "an address".to_owned(),
        }
    }
}

/// A house has fewer than four thousand million of anything.
pub(super) fn narrow(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}
