//! Random houses, and the edits that an integrator makes in one: pairs of builds that differ as houses do.

use super::house::{bridge, dimmer, lamp, meter, shutter, thermostat};
use housewright::bridge::definition::{BridgeDefinition, Endpoint, Joint};
use housewright::convert::Step;
use proptest::prelude::*;
use serde_json::json;

/// One edit; the numbers choose appliances, rooms and addresses, whatever the house's size.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Edit {
    /// Another key, and `formerly` forgotten.
    Rename(usize),
    /// Another key, with `formerly`.
    Rekey(usize),
    Swap(usize, usize),
    /// All but the first addresses move by some main groups.
    Renumber(u16),
    Split(usize),
    Merge(usize, usize),
    /// One takes over the wires of another one.
    Absorb(usize, usize),
    Class(usize),
    Room(usize, usize),
    Label(usize),
    Limits(usize),
    Timing(usize),
    Joint(usize),
    Conversion(usize),
    Rewire(usize, u16),
    Feedback(usize),
    Central(usize),
    Uncentral(usize),
    /// A command loses its wires.
    Unwire(usize),
    Remove(usize),
    Add(u16),
    AddPart(usize),
    RemovePart(usize),
    /// Behind another bridge.
    Bridge(usize),
    AddBridge,
    RemoveBridge,
    /// The house and its bridges have other names.
    Names,
    Notation,
}

/// A house that is being edited.
#[derive(Clone, Debug)]
pub(crate) struct Site {
    pub(crate) bridges: Vec<BridgeDefinition>,
    /// The next endpoint number, address and unique id.
    next: u16,
}

const ROOMS: [(&str, &str); 4] =
    [("Kitchen", "ground"), ("Boat workshop", "ground"), ("Hall", "ground"), ("Lantern room", "first")];

impl Site {
    /// A house of so many appliances of all sorts.
    pub(crate) fn new(size: usize) -> Self {
        let mut site = Self {
            bridges: vec![bridge("wharf", "Wharf", Vec::new()), bridge("yard", "Yard", Vec::new())],
            next: 2,
        };
        for at in 0..size {
            site.add(at % 5, at % ROOMS.len());
        }
        site
    }

    fn add(&mut self, sort: usize, room: usize) {
        let number = self.number();
        let (key, label) = (format!("thing-{number}"), format!("Thing {number}"));
        let (room, floor) = ROOMS[room];
        let name = (number, key.as_str(), label.as_str(), room, floor);
        let (high, low) = (number / 200, number % 200 + 1);
        let at = |main: u16, middle: u16| format!("{}/{middle}/{low}", main + 8 * high % 24);
        let mut made = match sort {
            0 | 1 => lamp(name, &at(1, 1), &at(1, 4)),
            2 => dimmer(name, [&at(1, 1), &at(1, 4), &at(1, 2), &at(1, 5)]),
            3 => shutter(name, &at(2, 1), &at(2, 2), &at(2, 3)),
            _ => thermostat(name, &at(3, 1), &at(3, 2), &at(3, 3)),
        };
        if number.is_multiple_of(3) {
            add_central(&mut made);
        }
        let further = (sort == 1).then(|| meter(self.number(), &made, &at(1, 6)));
        let bridge = usize::from(number.is_multiple_of(7)).min(self.bridges.len() - 1);
        let bridge = &mut self.bridges[bridge];
        bridge.endpoints.push(made);
        bridge.endpoints.extend(further);
    }

    /// The next number; none is given again.
    fn number(&mut self) -> u16 {
        self.next += 1;
        self.next - 1
    }

    /// Bridge and place of the appliances' first endpoints.
    fn appliances(&self) -> Vec<(usize, usize)> {
        let all = self.bridges.iter().enumerate().flat_map(|(bridge, definition)| {
            definition.endpoints.iter().enumerate().map(move |(at, endpoint)| (bridge, at, endpoint))
        });
        all.filter(|(_, _, one)| !one.key.contains('/')).map(|(bridge, at, _)| (bridge, at)).collect()
    }

    fn at(&mut self, which: usize) -> Option<&mut Endpoint> {
        let all = self.appliances();
        let (bridge, at) = *all.get(which % all.len().max(1))?;
        self.bridges[bridge].endpoints.get_mut(at)
    }

    /// Takes an appliance out with its parts.
    fn take(&mut self, which: usize) -> Option<(usize, Endpoint)> {
        let all = self.appliances();
        let (bridge, at) = *all.get(which % all.len().max(1))?;
        let endpoints = &mut self.bridges[bridge].endpoints;
        let taken = endpoints.remove(at);
        endpoints.retain(|one| !one.key.starts_with(&format!("{}/", taken.key)));
        Some((bridge, taken))
    }

    /// Puts an endpoint in as a new one.
    fn put(&mut self, bridge: usize, mut endpoint: Endpoint) {
        endpoint.number = self.number();
        endpoint.unique_id = format!("uid-{}", endpoint.number);
        self.bridges[bridge].endpoints.push(endpoint);
    }

    /// Makes an edit; one that the house gives no occasion for does nothing.
    pub(crate) fn edit(&mut self, edit: Edit) {
        self.try_edit(edit);
    }

    #[allow(clippy::cognitive_complexity, reason = "a list of edits")]
    fn try_edit(&mut self, edit: Edit) -> Option<()> {
        match edit {
            Edit::Rename(which) => {
                let (bridge, mut taken) = self.take(which)?;
                taken.key = format!("{}-again", taken.key);
                self.put(bridge, taken);
            }
            Edit::Rekey(which) => {
                let old = self.at(which)?.key.clone();
                for one in self.bridges.iter_mut().flat_map(|bridge| &mut bridge.endpoints) {
                    if one.key == old || one.key.starts_with(&format!("{old}/")) {
                        one.key = one.key.replacen(&old, &format!("{old}-new"), 1);
                    }
                }
            }
            Edit::Swap(a, b) => {
                let (one, other) = (self.at(a)?.links.clone(), self.at(b)?.links.clone());
                let types = self.at(a)?.device_types.clone();
                if types == self.at(b)?.device_types {
                    self.at(a)?.links = other;
                    self.at(b)?.links = one;
                }
            }
            Edit::Renumber(to) => self.regroup(|parts| [parts[0] + 8 + to % 6, parts[1], parts[2]], 3),
            Edit::Split(which) => {
                let (bridge, taken) = self.take(which)?;
                for (part, links) in taken.links.chunks(taken.links.len().div_ceil(2).max(1)).enumerate() {
                    let key = format!("{}-{part}", taken.key);
                    let label = format!("{} {part}", taken.node_label);
                    self.put(
                        bridge,
                        Endpoint { key, node_label: label, links: links.to_vec(), ..taken.clone() },
                    );
                }
            }
            Edit::Merge(a, b) => {
                let (bridge, mut one) = self.take(a)?;
                let (_, other) = self.take(b)?;
                one.key = format!("{}-and-{}", one.key, other.key);
                one.node_label = format!("Both {}", one.number);
                one.links.extend(other.links);
                one.device_types.extend(other.device_types);
                one.device_types.dedup();
                one.device_types.sort_by_key(|one| one.id);
                one.device_types.dedup_by_key(|one| one.id);
                self.put(bridge, one);
            }
            Edit::Absorb(a, b) => {
                let keeper = self.at(a)?.key.clone();
                if keeper != self.at(b)?.key {
                    let (_, other) = self.take(b)?;
                    let mut all = self.bridges.iter_mut().flat_map(|bridge| &mut bridge.endpoints);
                    all.find(|one| one.key == keeper)?.links.extend(other.links);
                }
            }
            Edit::Class(which) => {
                let (bridge, taken) = self.take(which)?;
                let addresses: Vec<String> = taken.links.iter().map(|link| link.group.clone()).collect();
                let at = |index: usize| {
                    addresses.get(index % addresses.len().max(1)).map_or("31/1/1", |one| one.as_str())
                };
                let name = (
                    0,
                    taken.key.as_str(),
                    taken.node_label.as_str(),
                    taken.room.as_str(),
                    taken.floor.as_deref()?,
                );
                let is_dimmer = taken.device_types.iter().any(|one| one.id == 257);
                let made = if is_dimmer {
                    lamp(name, at(0), at(1))
                } else {
                    dimmer(name, [at(0), at(1), at(2), at(3)])
                };
                self.put(bridge, made);
            }
            Edit::Room(which, to) => {
                let (room, floor) = ROOMS[to % ROOMS.len()];
                let one = self.at(which)?;
                (one.room, one.floor) = (room.to_owned(), Some(floor.to_owned()));
            }
            Edit::Label(which) => {
                let one = self.at(which)?;
                one.node_label = format!("New {}", one.node_label);
            }
            Edit::Limits(which) => {
                for cluster in &mut self.at(which)?.clusters {
                    for (_, value) in
                        cluster.attributes.iter_mut().filter(|(name, _)| name.starts_with("Min"))
                    {
                        *value = json!(value.as_i64().unwrap_or_default() + 1);
                    }
                }
            }
            Edit::Timing(which) => {
                for link in &mut self.at(which)?.links {
                    link.timing.insert("travelTime".to_owned(), json!(25000));
                }
            }
            Edit::Joint(which) => {
                let link = self.at(which)?.links.first_mut()?;
                link.joint = match link.joint {
                    None => Some(Joint::FirstOf(vec![json!(3), json!(0)])),
                    Some(_) => None,
                };
            }
            Edit::Conversion(which) => {
                let link = self.at(which)?.links.first_mut()?;
                link.conversion.steps.extend([Step::Not, Step::Not]);
            }
            Edit::Rewire(which, to) => {
                let link = self.at(which)?.links.first_mut()?;
                link.group = format!("20/{}/{}", to % 8, to % 250 + 1);
            }
            Edit::Feedback(which) => {
                let one = self.at(which)?;
                one.links.retain(|link| !link.read);
            }
            Edit::Central(which) => {
                add_central(self.at(which)?)?;
            }
            Edit::Uncentral(which) => {
                self.at(which)?.links.retain(|link| link.group != "0/1/1");
            }
            Edit::Unwire(which) => {
                let one = self.at(which)?;
                let command = one.links.iter().find_map(|link| link.command.clone())?;
                one.links.retain(|link| link.command.as_ref() != Some(&command));
            }
            Edit::Remove(which) => {
                self.take(which)?;
            }
            Edit::Add(sort) => self.add(usize::from(sort) % 5, usize::from(sort) % ROOMS.len()),
            Edit::AddPart(which) => {
                let all = self.appliances();
                let (bridge, at) = *all.get(which % all.len().max(1))?;
                let top = self.bridges[bridge].endpoints[at].clone();
                let key = format!("{}/meter", top.key);
                if !self.bridges[bridge].endpoints.iter().any(|one| one.key == key) {
                    let made = meter(self.number(), &top, "25/1/1");
                    self.bridges[bridge].endpoints.push(made);
                }
            }
            Edit::RemovePart(which) => {
                let key = format!("{}/meter", self.at(which)?.key);
                for bridge in &mut self.bridges {
                    bridge.endpoints.retain(|one| one.key != key);
                }
            }
            Edit::Bridge(which) => {
                let (bridge, taken) = self.take(which)?;
                let to = (bridge + 1) % self.bridges.len();
                self.put(to, taken);
            }
            Edit::AddBridge => {
                let key = format!("annex-{}", self.number());
                let number = self.number();
                let one = lamp((number, &key, "Annex lamp", "Hall", "ground"), "21/1/1", "21/4/1");
                self.bridges.push(bridge(&key, "Annex", vec![one]));
            }
            Edit::RemoveBridge if self.bridges.len() > 1 => {
                self.bridges.pop();
            }
            Edit::RemoveBridge => {}
            Edit::Names => {
                for bridge in &mut self.bridges {
                    bridge.bridge.name.push('!');
                    bridge.house.name.push('!');
                }
            }
            Edit::Notation => {
                for link in
                    self.bridges.iter_mut().flat_map(|one| &mut one.endpoints).flat_map(|one| &mut one.links)
                {
                    let parts: Vec<u16> =
                        link.group.split('/').filter_map(|part| part.parse().ok()).collect();
                    if let [main, middle, sub] = parts.as_slice() {
                        link.group = format!("{main}/{}", middle * 256 + sub);
                    }
                }
            }
        }
        Some(())
    }

    /// Changes the addresses of every appliance from one on.
    fn regroup(&mut self, to: impl Fn([u16; 3]) -> [u16; 3], from: usize) {
        let all = self.bridges.iter_mut().flat_map(|bridge| &mut bridge.endpoints).skip(from);
        for link in all.flat_map(|endpoint| &mut endpoint.links) {
            let parts: Vec<u16> = link.group.split('/').filter_map(|part| part.parse().ok()).collect();
            if let [main, middle, sub] = parts.as_slice() {
                let [main, middle, sub] = to([*main, *middle, *sub]);
                link.group = format!("{main}/{middle}/{sub}");
            }
        }
    }

    /// The build, with its endpoints in the order of their numbers, as a build has them.
    pub(crate) fn built(mut self) -> Vec<BridgeDefinition> {
        for bridge in &mut self.bridges {
            bridge.endpoints.sort_by_key(|endpoint| endpoint.number);
        }
        self.bridges.sort_by(|a, b| a.bridge.key.cmp(&b.bridge.key));
        self.bridges
    }
}

/// A central address that an appliance also follows.
fn add_central(endpoint: &mut Endpoint) -> Option<()> {
    let mut central = endpoint.links.last()?.clone();
    (central.group, central.read) = ("0/1/1".to_owned(), false);
    endpoint.links.push(central);
    Some(())
}

fn edit() -> impl Strategy<Value = Edit> {
    let which = || 0usize..40;
    prop_oneof![
        which().prop_map(Edit::Rename),
        which().prop_map(Edit::Rekey),
        (which(), which()).prop_map(|(a, b)| Edit::Swap(a, b)),
        (0u16..6).prop_map(Edit::Renumber),
        which().prop_map(Edit::Split),
        (which(), which()).prop_map(|(a, b)| Edit::Merge(a, b)),
        (which(), which()).prop_map(|(a, b)| Edit::Absorb(a, b)),
        which().prop_map(Edit::Class),
        (which(), which()).prop_map(|(a, b)| Edit::Room(a, b)),
        which().prop_map(Edit::Label),
        which().prop_map(Edit::Limits),
        prop_oneof![which().prop_map(Edit::Timing), which().prop_map(Edit::Joint)],
        which().prop_map(Edit::Conversion),
        (which(), 0u16..900).prop_map(|(a, b)| Edit::Rewire(a, b)),
        which().prop_map(Edit::Feedback),
        which().prop_map(Edit::Central),
        which().prop_map(Edit::Uncentral),
        which().prop_map(Edit::Unwire),
        which().prop_map(Edit::Remove),
        (0u16..40).prop_map(Edit::Add),
        prop_oneof![
            which().prop_map(Edit::AddPart),
            which().prop_map(Edit::RemovePart),
            which().prop_map(Edit::Bridge),
            Just(Edit::AddBridge),
            Just(Edit::RemoveBridge),
            Just(Edit::Names),
            Just(Edit::Notation)
        ],
    ]
}

/// A house before and after some edits, and the edits.
pub(crate) fn edited() -> impl Strategy<Value = (Vec<Edit>, Vec<BridgeDefinition>, Vec<BridgeDefinition>)> {
    (0usize..24, proptest::collection::vec(edit(), 0..6)).prop_map(|(size, edits)| {
        let old = Site::new(size);
        let mut new = old.clone();
        edits.iter().for_each(|edit| new.edit(*edit));
        (edits, old.built(), new.built())
    })
}
