//! A house with rooms, appliances and addresses, made from an order. Nothing here knows how it is written down.

use super::names::{Hand, Label, slug};
use super::random::Random;
use super::scheme::{Allocator, Scheme};
use super::trade::{CLASSES, Class, FUNCTIONS, Trade};
use super::words::{Language, Pair, Words, words};
use std::collections::HashMap;

/// What somebody wants a house to be.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Order {
    /// How many appliances, exactly.
    pub(crate) appliances: usize,
    /// How its addresses are given.
    pub(crate) scheme: Scheme,
    /// Which of all such houses.
    pub(crate) seed: u64,
    /// What its things are called in.
    pub(crate) language: Language,
    /// How many room files; 0 for one for every twelve rooms.
    pub(crate) files: usize,
}

/// The house.
#[derive(Clone, Debug)]
pub(crate) struct House {
    /// What was ordered.
    pub(crate) order: Order,
    /// Buses, each with a bridge of its own.
    pub(crate) buses: Vec<Bus>,
    /// Rooms, bus by bus and floor by floor.
    pub(crate) rooms: Vec<Room>,
}

/// A bus: its address table.
#[derive(Clone, Debug, Default)]
pub(crate) struct Bus {
    /// Rows, in the order they were made.
    pub(crate) rows: Vec<Row>,
    /// Appliances that hang on it.
    pub(crate) appliances: usize,
}

/// A row of an address table.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    /// The address.
    pub(crate) address: u16,
    /// What it is called.
    pub(crate) name: String,
    /// Its datapoint type.
    pub(crate) dpt: &'static str,
    /// Flags of the group object behind it: it is read and reports, or it is written to.
    pub(crate) reports: bool,
    /// A remark.
    pub(crate) description: String,
}

/// A room.
#[derive(Clone, Debug)]
pub(crate) struct Room {
    /// Its key.
    pub(crate) key: String,
    /// What the family calls it.
    pub(crate) name: String,
    /// Key of its floor.
    pub(crate) floor: &'static str,
    /// Index of its bus.
    pub(crate) bus: usize,
    /// What is in it.
    pub(crate) appliances: Vec<Appliance>,
}

/// An appliance.
#[derive(Clone, Debug)]
pub(crate) struct Appliance {
    /// Its key.
    pub(crate) key: String,
    /// What the family calls it.
    pub(crate) name: &'static str,
    /// Its class.
    pub(crate) class: &'static Class,
    /// Its points.
    pub(crate) points: Vec<Point>,
    /// Warmest and coldest colour temperature, in kelvin.
    pub(crate) kelvin: Option<(u16, u16)>,
}

impl Appliance {
    /// Whether its main point has no status.
    pub(crate) fn without_status(&self) -> bool {
        self.class.trade == Trade::Light && self.points.first().is_some_and(|point| point.feedback.is_none())
    }
}

/// A point.
#[derive(Clone, Debug)]
pub(crate) struct Point {
    /// Its name.
    pub(crate) name: &'static str,
    /// Address it is written through.
    pub(crate) command: Option<u16>,
    /// Address its status is learned from.
    pub(crate) feedback: Option<u16>,
    /// Central addresses that move it too.
    pub(crate) listens: Vec<u16>,
}

/// Builds what was ordered.
pub(crate) fn house(order: Order) -> House {
    let style = Scheme::ALL.iter().position(|scheme| *scheme == order.scheme).unwrap_or(0);
    let mut random = Random::new(order.seed.wrapping_mul(8) + u64::try_from(style).unwrap_or(0));
    let hand = Hand::of(order, &mut random);
    let mut room_names = words(order.language).rooms.to_vec();
    random.shuffle(&mut room_names);
    let mut builder = Builder {
        words: words(order.language),
        hand,
        random,
        keys: HashMap::new(),
        room_names,
        rooms: 0,
        channels: HashMap::new(),
        house: House { order, buses: Vec::new(), rooms: Vec::new() },
    };
    let mut left = order.appliances;
    while left > 0 {
        let share = left.div_ceil(left.div_ceil(order.scheme.appliances_per_bus()));
        let placed = builder.bus(share);
        left -= placed.min(left);
    }
    builder.house
}

struct Builder {
    words: &'static Words,
    hand: Hand,
    random: Random,
    /// How often an appliance key was given.
    keys: HashMap<String, usize>,
    /// Room names, in the order in which this house uses them, and how many it has used.
    room_names: Vec<Pair>,
    rooms: usize,
    /// Channels given so far, by the first device of a trade.
    channels: HashMap<usize, usize>,
    house: House,
}

/// A room while it is being filled.
struct Draft {
    room: Room,
    rows: Vec<Row>,
    floor: usize,
    label: Label,
}

impl Builder {
    /// Fills one bus with about `share` appliances and says how many found a place.
    fn bus(&mut self, share: usize) -> usize {
        let scheme = self.house.order.scheme;
        let floors = match share {
            0..=80 => 2,
            81..=400 => 3,
            401..=800 => 5,
            _ => 8,
        };
        let mut allocator = Allocator::new(scheme, share);
        let rows = self.shared_rows(floors);
        self.channels.clear();
        self.house.buses.push(Bus { rows, appliances: 0 });
        let mut placed = 0;
        'floors: for level in 0..floors {
            let goal = share * (level + 1) / floors;
            while placed < goal {
                let Some(draft) = self.room(&mut allocator, Self::storey(level, floors), goal - placed)
                else {
                    break 'floors; // the rest goes on to another bus
                };
                placed += draft.room.appliances.len();
                if let Some(bus) = self.house.buses.last_mut() {
                    bus.rows.extend(draft.rows);
                    bus.appliances = placed;
                }
                self.house.rooms.push(draft.room);
            }
        }
        placed
    }

    /// The storey of a level: small houses have no cellar, and the attic is always on top.
    fn storey(level: usize, floors: usize) -> usize {
        match floors {
            2 => level + 1,
            _ if level + 1 == floors => 7,
            _ => level,
        }
    }

    /// Rows that belong to no appliance.
    fn shared_rows(&mut self, floors: usize) -> Vec<Row> {
        let scheme = self.house.order.scheme;
        let written = |address, name: String, dpt, reports| Row {
            address,
            name,
            dpt,
            reports,
            description: String::new(),
        };
        let [lights, storey, shades, mode] = self.words.central;
        let mut rows = vec![written(Allocator::central(scheme, 0, 0), lights.to_owned(), "1.001", false)];
        for level in 0..floors {
            let floor = Self::storey(level, floors);
            let name = format!("{storey} {}", self.words.floors.get(floor).map_or("", |pair| pair.1));
            rows.push(written(Allocator::central(scheme, 1, floor), name, "1.001", false));
        }
        rows.push(written(Allocator::central(scheme, 2, 0), shades.to_owned(), "1.008", false));
        rows.push(written(Allocator::central(scheme, 3, 0), mode.to_owned(), "20.102", false));
        for (number, (name, dpt)) in (0..).zip(self.words.technical) {
            rows.push(written(Allocator::technical(number), (*name).to_owned(), dpt, *dpt != "17.001"));
        }
        rows
    }

    /// A room with at most `most` appliances; nothing when the bus is full.
    fn room(&mut self, allocator: &mut Allocator, floor: usize, most: usize) -> Option<Draft> {
        let (full, short) = *self.room_names.get(self.rooms % self.room_names.len())?;
        allocator.enter(floor, &mut self.random);
        let number = self.rooms / self.room_names.len() + 1;
        let numbered = |name: &str| if number == 1 { name.to_owned() } else { format!("{name} {number}") };
        let room = Room {
            key: slug(&numbered(full)),
            name: numbered(full),
            floor: self.words.floors.get(floor)?.0,
            bus: self.house.buses.len() - 1,
            appliances: Vec::new(),
        };
        let storey = self.words.floors.get(floor)?.1;
        let label = Label { full: numbered(full), short: numbered(short), storey };
        let mut draft = Draft { room, rows: Vec::new(), floor, label };
        for class in self.classes(most) {
            self.appliance(&mut draft, allocator, class)?;
        }
        if self.random.chance(25) {
            self.spare(&mut draft, allocator);
        }
        self.rooms += 1;
        Some(draft)
    }

    /// Which classes a room has.
    fn classes(&mut self, most: usize) -> Vec<usize> {
        let size = self.random.between(5, 13).min(most);
        let mut counts = [0_usize; CLASSES.len()];
        let mut chosen = Vec::with_capacity(size);
        while chosen.len() < size {
            let mut mark = self.random.below(101);
            let Some((index, class)) = CLASSES.iter().enumerate().find(|(_, class)| {
                let here = mark < class.share;
                mark = mark.saturating_sub(class.share);
                here
            }) else {
                continue;
            };
            if let Some(count) = counts.get_mut(index).filter(|count| **count < class.most) {
                *count += 1;
                chosen.push(index);
            }
        }
        chosen.sort_unstable();
        chosen
    }

    fn appliance(&mut self, draft: &mut Draft, allocator: &mut Allocator, index: usize) -> Option<()> {
        let class = CLASSES.get(index)?;
        let taken = |name: &str| draft.room.appliances.iter().any(|other| other.name == name);
        let free: Vec<&'static str> =
            self.words.names.get(index)?.iter().copied().filter(|name| !taken(name)).collect();
        let name = *self.random.pick(&free)?;
        let mut functions = class.always.to_vec();
        if self.random.chance(75) {
            functions.extend(class.often);
        }
        if self.house.order.scheme == Scheme::Irregular && index == 0 && self.random.chance(5) {
            functions.retain(|function| *function != 1);
        }
        functions.sort_unstable();
        let addresses = allocator.place(class.trade, &functions, &mut self.random)?;
        let mut appliance = Appliance { key: self.key(name), name, class, points: Vec::new(), kelvin: None };
        let short = self.random.chance(self.hand.short());
        let description = self.channel(class.trade);
        for (&function, &address) in functions.iter().zip(&addresses) {
            let fact = FUNCTIONS.get(function)?;
            let called = self.hand.called(&draft.label, name, function, short, &mut self.random);
            draft.rows.push(Row {
                address,
                name: called,
                dpt: fact.dpt,
                reports: fact.feedback,
                description: description.clone(),
            });
            Self::wire(&mut appliance, fact.point, fact.feedback, address);
        }
        if class.name == "tunable-white-light" {
            appliance.kelvin =
                self.random.pick(&[(2700, 6500), (2700, 5000), (2200, 4000), (3000, 6000)]).copied();
        }
        self.listen(&mut appliance, draft.floor);
        draft.room.appliances.push(appliance);
        Some(())
    }

    fn wire(appliance: &mut Appliance, name: &'static str, feedback: bool, address: u16) {
        let at = appliance.points.iter().position(|point| point.name == name).unwrap_or_else(|| {
            appliance.points.push(Point { name, command: None, feedback: None, listens: Vec::new() });
            appliance.points.len() - 1
        });
        if let Some(point) = appliance.points.get_mut(at) {
            *(if feedback { &mut point.feedback } else { &mut point.command }) = Some(address);
        }
    }

    /// Most lights hear the central addresses, most shades and thermostats theirs.
    fn listen(&mut self, appliance: &mut Appliance, floor: usize) {
        let scheme = self.house.order.scheme;
        for point in &mut appliance.points {
            let central = |kind| Allocator::central(scheme, kind, floor);
            match (point.name, appliance.class.trade) {
                ("switching", Trade::Light) if self.random.chance(70) => {
                    point.listens.push(central(0));
                    if self.random.chance(40) {
                        point.listens.push(central(1));
                    }
                }
                ("move", _) if self.random.chance(80) => point.listens.push(central(2)),
                ("mode", _) if self.random.chance(80) => point.listens.push(central(3)),
                _ => {}
            }
        }
    }

    /// Addresses that were laid for later.
    fn spare(&mut self, draft: &mut Draft, allocator: &mut Allocator) {
        let Some(addresses) = allocator.place(Trade::Light, &[0, 1], &mut self.random) else { return };
        for (function, address) in addresses.into_iter().enumerate() {
            let name = self.hand.called(&draft.label, self.words.reserve, function, false, &mut self.random);
            let dpt = "1.001";
            draft.rows.push(Row { address, name, dpt, reports: function == 1, description: String::new() });
        }
    }

    /// A key that nothing else in the house has.
    fn key(&mut self, name: &str) -> String {
        let slug = slug(name);
        let count = self.keys.entry(slug.clone()).or_default();
        *count += 1;
        if *count == 1 { slug } else { format!("{slug}-{count}") }
    }

    /// The device and channel behind an appliance, as far as somebody noted it.
    fn channel(&mut self, trade: Trade) -> String {
        let first = match trade {
            Trade::Light => 20,
            Trade::Socket => 90,
            Trade::Shade => 110,
            Trade::Heat => 140,
            Trade::Sensor => 170,
        };
        let number = self.channels.entry(first).or_default();
        *number += 1;
        let (device, channel) = (first + *number / 8, *number % 8);
        if device > first + 19 || self.random.chance(30) {
            return String::new();
        }
        let letter = ["A", "B", "C", "D", "E", "F", "G", "H"].get(channel).copied().unwrap_or("A");
        format!("1.1.{device} {letter}")
    }
}
