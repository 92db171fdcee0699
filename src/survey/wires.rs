//! Every wire of a plan with what it is for, in one list: what all counting goes over.

use super::uses::Use;
use crate::classes::{Class, Group};
use crate::knx::GroupAddress;
use crate::resolve::Plan;
use crate::resolve::plan::Role;
use rustc_hash::{FxHashMap, FxHashSet};
use std::sync::Arc;

/// What a wire is for: which point of which group of classes, and which of its ends. Two wires of one kind are
/// wired alike in a house that has habits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Kind(pub u32);

/// Which end of which point, of whatever class: two wires of one function are called alike in a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Function(pub u32);

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
    /// The same without the group of classes.
    pub function: Function,
    /// Its appliance's class, by a number of ours.
    pub class: u32,
    /// Index of the bus.
    pub bus: u32,
    /// The address.
    pub address: GroupAddress,
    /// Index of the address's row in the table of the bus.
    pub row: Option<u32>,
    /// Whether several appliances have the point in common: its address and its row are nobody's own.
    pub shared: bool,
}

/// All wires, those of an appliance side by side.
#[derive(Clone, Debug, Default)]
pub struct Wires {
    /// In the order of the plan.
    pub all: Vec<Wired>,
    /// For each appliance where its wires begin; one more entry than appliances.
    starts: Vec<u32>,
    kinds: Vec<(Group, String, Role)>,
    functions: Vec<(String, Role)>,
    function_of: Vec<Function>,
}

impl Wires {
    /// Collects the wires of a plan.
    pub fn of(plan: &Plan) -> Self {
        let mut wires = Self::default();
        let mut known: FxHashMap<(Group, &str, Role), Kind> = FxHashMap::default();
        // By class and point, which are a few: what is known by its name is not looked up by it each time.
        let mut of_points: FxHashMap<(u32, u16, Role), (Kind, bool)> = FxHashMap::default();
        let mut classes: FxHashMap<*const Class, u32> = FxHashMap::default();
        let points = plan.appliances.iter().map(|appliance| appliance.points.len());
        wires.all.reserve(points.sum::<usize>() * 2);
        for (appliance, index) in plan.appliances.iter().zip(0u32..) {
            let next = narrow(classes.len());
            let class = *classes.entry(Arc::as_ptr(&appliance.class.value)).or_insert(next);
            wires.starts.push(narrow(wires.all.len()));
            let table = plan.table(appliance.bus);
            for (point, place) in appliance.points.iter().zip(0u32..) {
                for (role, wire) in point.wires().filter(|(role, _)| *role != Role::Listens) {
                    let (kind, shared) = *of_points.entry((class, point.spec, role)).or_insert_with(|| {
                        let (group, name) = (appliance.class.value.group, point.name(appliance));
                        let kind = *known.entry((group, name, role)).or_insert_with(|| {
                            wires.add_kind(group, name, role);
                            Kind(narrow(wires.kinds.len() - 1))
                        });
                        (kind, point.is_shared(appliance))
                    });
                    let function = wires.function(kind);
                    let address = wire.address.value;
                    let row = table.and_then(|table| table.by_address.get(address));
                    let bus = narrow(appliance.bus);
                    wires.all.push(Wired {
                        appliance: index,
                        point: place,
                        role,
                        kind,
                        function,
                        class,
                        bus,
                        address,
                        row,
                        shared,
                    });
                }
            }
        }
        wires.starts.push(narrow(wires.all.len()));
        wires.share_contacts(plan);
        wires
    }

    fn add_kind(&mut self, group: Group, point: &str, role: Role) {
        let known = self.functions.iter().position(|(known, end)| known == point && *end == role);
        let function = known.unwrap_or_else(|| {
            self.functions.push((point.to_owned(), role));
            self.functions.len() - 1
        });
        self.kinds.push((group, point.to_owned(), role));
        self.function_of.push(Function(narrow(function)));
    }

    /// A door may have a lock, a release or a drive, and a sensor that the family sees beside it, all with one contact: that is
    /// the sensor's, and shared on purpose by the others in its room.
    fn share_contacts(&mut self, plan: &Plan) {
        let contact = self.function_named("contact", Role::Feedback);
        let place = |wired: &Wired| {
            let appliance = plan.appliances.get(wired.appliance as usize)?;
            Some((appliance.class.value.name == "contact-sensor", (appliance.room, wired.bus, wired.address)))
        };
        let contacts = self.all.iter().enumerate().filter(|(_, wired)| wired.function == contact);
        let places = contacts.filter_map(|(index, wired)| Some((index, place(wired)?)));
        let (sensors, others): (Vec<_>, Vec<_>) = places.partition(|(_, (is_sensor, _))| *is_sensor);
        let sensors: FxHashSet<_> = sensors.into_iter().map(|(_, (_, place))| place).collect();
        for (index, _) in others.into_iter().filter(|(_, (_, place))| sensors.contains(place)) {
            self.all.get_mut(index).into_iter().for_each(|wired| wired.shared = true);
        }
    }

    /// Whether an end is shared by its nature or on purpose.
    pub(super) fn is_shared(&self, used: Use) -> bool {
        let (_, own) = self.of_appliance(used.appliance as usize);
        own.iter().any(|wired| wired.shared && (wired.point, wired.role) == (used.point, used.role))
    }

    /// The function of a kind.
    pub fn function(&self, kind: Kind) -> Function {
        self.function_of.get(kind.0 as usize).copied().unwrap_or(Function(u32::MAX))
    }

    /// The function of an end of a point; one that nothing has where the house does not wire it.
    pub fn function_named(&self, point: &str, role: Role) -> Function {
        let known = self.functions().find(|(_, known, end)| *known == point && *end == role);
        known.map_or(Function(u32::MAX), |(function, ..)| function)
    }

    /// Whether a class has a point of a function's name, or others of its group are wired for the function.
    pub(super) fn may_have(&self, class: &Class, function: Function) -> bool {
        let known = self.functions.get(function.0 as usize);
        known.is_some_and(|(point, role)| {
            class.point(point).is_some() || self.kind_of(class.group, point, *role).is_some()
        })
    }

    /// Every function with its point and end.
    pub fn functions(&self) -> impl Iterator<Item = (Function, &str, Role)> {
        self.functions
            .iter()
            .zip(0u32..)
            .map(|((point, role), index)| (Function(index), point.as_str(), *role))
    }

    /// The kind of an end of a point, where the house has one wired.
    pub fn kind_of(&self, group: Group, point: &str, role: Role) -> Option<Kind> {
        let found = self.kinds.iter().position(|(a, b, c)| *a == group && b == point && *c == role);
        found.map(|index| Kind(narrow(index)))
    }

    /// The wires of an appliance, and the index of the first of them.
    pub fn of_appliance(&self, appliance: usize) -> (usize, &[Wired]) {
        let at = |index: usize| self.starts.get(index).map_or(self.all.len(), |&start| start as usize);
        let (start, end) = (at(appliance), at(appliance + 1));
        (start, self.all.get(start..end).unwrap_or_default())
    }

    /// A kind in words: "the command of `switching`".
    pub fn words(&self, kind: Kind) -> String {
        match self.kinds.get(kind.0 as usize) {
            Some((_, point, role)) => format!("the {} of `{point}`", role.noun()),
            None => "an address".to_owned(),
        }
    }
}

/// A house has fewer than four thousand million of anything.
pub(super) fn narrow(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}
