//! A house as the planter sees it: appliances, points and table rows, each value with its place in the texts.

use super::tree::{Entry, Node, tree};
use std::collections::{BTreeMap, HashMap};
use std::ops::Range;

/// A place in the texts: a file by its index, and bytes of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Spot {
    /// Index of the file.
    pub(crate) file: usize,
    /// Its bytes.
    pub(crate) bytes: Range<usize>,
}

/// A value and where it stands.
#[derive(Clone, Debug)]
pub(crate) struct Value {
    /// What it says.
    pub(crate) text: String,
    /// Where.
    pub(crate) spot: Spot,
}

/// A house.
#[derive(Clone, Debug)]
pub(crate) struct House {
    /// Path and text of each file.
    pub(crate) files: Vec<(String, String)>,
    /// Rooms.
    pub(crate) rooms: Vec<Room>,
    /// Appliances, room by room.
    pub(crate) appliances: Vec<Appliance>,
    /// Rows of the table of each bus, by address.
    pub(crate) tables: BTreeMap<String, Table>,
    /// Capacity of each bridge and how many appliances it has.
    pub(crate) bridges: Vec<Bridge>,
    /// First byte of each line of each file.
    pub(crate) starts: Vec<Vec<usize>>,
    /// How often a central address is heard, by bus and address.
    pub(crate) heard: HashMap<(String, String), usize>,
}

/// A bridge.
#[derive(Clone, Debug)]
pub(crate) struct Bridge {
    /// Its capacity.
    pub(crate) capacity: Value,
    /// Appliances that it shows.
    pub(crate) appliances: usize,
}

/// A room.
#[derive(Clone, Debug)]
pub(crate) struct Room {
    /// What the family calls it.
    pub(crate) name: String,
    /// Whether findings are silenced for all of it.
    pub(crate) allows: bool,
}

/// An appliance.
#[derive(Clone, Debug)]
pub(crate) struct Appliance {
    /// Its key.
    pub(crate) key: Value,
    /// Index of its room.
    pub(crate) room: usize,
    /// Its bus.
    pub(crate) bus: String,
    /// What the family calls it.
    pub(crate) name: Value,
    /// Its class.
    pub(crate) class: Value,
    /// Its points.
    pub(crate) points: Vec<Point>,
    /// All its keys and values.
    pub(crate) node: Node,
    /// Its file.
    pub(crate) file: usize,
}

/// A point.
#[derive(Clone, Debug)]
pub(crate) struct Point {
    /// Its name.
    pub(crate) name: Value,
    /// Address it is written through.
    pub(crate) command: Option<Value>,
    /// Address its status is learned from.
    pub(crate) feedback: Option<Value>,
    /// Central addresses.
    pub(crate) listens: Vec<Value>,
    /// Key and value as written.
    pub(crate) entry: Entry,
}

/// An address table.
#[derive(Clone, Debug, Default)]
pub(crate) struct Table {
    /// Its rows, as they stand.
    pub(crate) rows: Vec<Row>,
    /// Row of an address.
    pub(crate) by_address: HashMap<String, usize>,
}

/// A row of a table.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    /// The whole line, with its end.
    pub(crate) line: Spot,
    /// Its cells: address, name, datapoint type, flags.
    pub(crate) address: Value,
    /// Name.
    pub(crate) name: Value,
    /// Datapoint type.
    pub(crate) dpt: Value,
    /// Flags.
    pub(crate) flags: Value,
}

impl Table {
    /// The row of an address.
    pub(crate) fn row(&self, address: &str) -> Option<&Row> {
        self.rows.get(*self.by_address.get(address)?)
    }
}

impl Appliance {
    /// The point of this name.
    pub(crate) fn point(&self, name: &str) -> Option<&Point> {
        self.points.iter().find(|point| point.name.text == name)
    }

    /// Every address of its points, central ones left out.
    pub(crate) fn addresses(&self) -> impl Iterator<Item = &Value> {
        self.points.iter().flat_map(|point| point.command.iter().chain(&point.feedback))
    }
}

impl House {
    /// Finds its way in the texts of a house; none when a text cannot be read.
    pub(crate) fn read(files: Vec<(String, String)>) -> Option<Self> {
        let mut house = Self {
            starts: files.iter().map(|(_, text)| line_starts(text)).collect(),
            files,
            rooms: Vec::new(),
            appliances: Vec::new(),
            tables: BTreeMap::new(),
            bridges: Vec::new(),
            heard: HashMap::new(),
        };
        let described = |path: &str| path.ends_with(".yaml") && !path.ends_with("ledger.yaml");
        let trees: Vec<(usize, Node)> = (0..)
            .zip(&house.files)
            .filter(|(_, (path, _))| described(path))
            .map(|(file, (_, text))| Some((file, tree(text)?)))
            .collect::<Option<_>>()?;
        let (root_file, root) = trees.iter().find(|(_, tree)| tree.get("housewright").is_some())?;
        let buses = root.get("buses")?.entries();
        let bridges = root.get("bridges")?.entries();
        let only = |entries: &[Entry]| entries.first().and_then(|entry| entry.key.text()).map(str::to_owned);
        let (bus, bridge) = (only(buses)?, only(bridges)?);
        for entry in buses {
            let path = entry.value.get("table")?.text()?;
            let file = house.files.iter().position(|(other, _)| other == path)?;
            let table = read_table(file, &house.files.get(file)?.1);
            house.tables.insert(entry.key.text()?.to_owned(), table);
        }
        let mut counts: HashMap<String, usize> = HashMap::new();
        for (file, tree) in &trees {
            for room in tree.get("rooms").map_or(&[][..], Node::entries) {
                let before = house.appliances.len();
                house.room(*file, room, &bus)?;
                let own = room.value.get("bridge").and_then(Node::text).unwrap_or(&bridge);
                *counts.entry(own.to_owned()).or_default() += house.appliances.len() - before;
            }
        }
        for entry in bridges {
            let capacity = value(*root_file, entry.value.get("capacity")?)?;
            let appliances = counts.get(entry.key.text()?).copied().unwrap_or(0);
            house.bridges.push(Bridge { capacity, appliances });
        }
        Some(house)
    }

    fn room(&mut self, file: usize, entry: &Entry, bus: &str) -> Option<()> {
        let room = self.rooms.len();
        let name = entry.value.get("name")?.text()?.to_owned();
        self.rooms.push(Room { name, allows: entry.value.get("allow").is_some() });
        let bus = entry.value.get("bus").and_then(Node::text).unwrap_or(bus);
        for entry in entry.value.get("appliances")?.entries() {
            let points = entry.value.get("points")?.entries().iter().map(|entry| point(file, entry));
            let appliance = Appliance {
                key: value(file, &entry.key)?,
                room,
                bus: entry.value.get("bus").and_then(Node::text).unwrap_or(bus).to_owned(),
                name: value(file, entry.value.get("name")?)?,
                class: value(file, entry.value.get("class")?)?,
                points: points.collect::<Option<_>>()?,
                node: entry.value.clone(),
                file,
            };
            for heard in appliance.points.iter().flat_map(|point| &point.listens) {
                *self.heard.entry((appliance.bus.clone(), heard.text.clone())).or_default() += 1;
            }
            self.appliances.push(appliance);
        }
        Some(())
    }

    /// The row of an address that this appliance uses.
    pub(crate) fn row(&self, appliance: &Appliance, address: &str) -> Option<&Row> {
        self.tables.get(&appliance.bus)?.row(address)
    }

    /// The text of a file.
    pub(crate) fn text(&self, file: usize) -> &str {
        self.files.get(file).map_or("", |(_, text)| text)
    }
}

fn point(file: usize, entry: &Entry) -> Option<Point> {
    let at = |key: &str| entry.value.get(key).and_then(|node| value(file, node));
    let listens = entry.value.get("listens").map_or(&[][..], Node::items);
    Some(Point {
        name: value(file, &entry.key)?,
        command: at("command"),
        feedback: at("feedback"),
        listens: listens.iter().filter_map(|item| value(file, item)).collect(),
        entry: entry.clone(),
    })
}

fn value(file: usize, node: &Node) -> Option<Value> {
    Some(Value { text: node.text()?.to_owned(), spot: Spot { file, bytes: node.bytes.clone() } })
}

/// The first byte of each line.
pub(crate) fn line_starts(text: &str) -> Vec<usize> {
    [0].into_iter().chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect()
}

/// Reads a table: the first line tells the delimiter, the columns stand in the order of the examples and of the
/// generator, and no quoted cell holds a line end.
fn read_table(file: usize, text: &str) -> Table {
    let mut table = Table::default();
    let heading = text.lines().next().unwrap_or_default();
    let delimiter =
        [',', ';', '\t'].into_iter().max_by_key(|mark| heading.matches(*mark).count()).unwrap_or(',');
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let end = start + line.len();
        let spot = Spot { file, bytes: start..end };
        if let Some(row) =
            read_row(line.trim_end_matches(['\n', '\r']), spot, delimiter).filter(|_| start > 0)
        {
            table.by_address.insert(row.address.text.clone(), table.rows.len());
            table.rows.push(row);
        }
        start = end;
    }
    table
}

fn read_row(line: &str, spot: Spot, delimiter: char) -> Option<Row> {
    let mut cells = Vec::new();
    let (mut from, mut quoted) = (0, false);
    for (at, mark) in line.char_indices().chain([(line.len(), delimiter)]) {
        if mark == '"' {
            quoted = !quoted;
        } else if mark == delimiter && !quoted {
            let bytes = spot.bytes.start + from..spot.bytes.start + at;
            let text = line.get(from..at)?.trim_matches('"').to_owned();
            cells.push(Value { text, spot: Spot { file: spot.file, bytes } });
            from = at + mark.len_utf8();
        }
    }
    let mut cells = cells.into_iter();
    Some(Row {
        address: cells.next()?,
        name: cells.next()?,
        dpt: cells.next()?,
        flags: cells.next()?,
        line: spot,
    })
}
