//! The plan: every point has its class role, datapoint type, bus and address.

use super::tables::ReadBy;
use super::words::WordList;
use crate::classes::{
    Chosen, ChosenPoint, Class, Number, PointSpec, SettingSpec, SettingValue, Shape, ShapeFault,
};
use crate::house::is_fit_key;
use crate::knx::{AddressIndex, Dpt, DptRef, Flags, GroupAddress, Notation};
use crate::source::{FileId, Place, Spanned};
use rustc_hash::FxHashSet;
use std::sync::{Arc, OnceLock};

pub use super::role::Role;

/// Everything the rules look at. What could not be understood is left out of it, and told as [problems](super::Problem).
#[derive(Debug, Default)]
pub struct Plan {
    /// The house.
    pub house: HouseFacts,
    /// The buses, in the order written.
    pub buses: Vec<Bus>,
    /// The bridges, in the order written.
    pub bridges: Vec<Bridge>,
    /// The rooms, in the order of files and of writing.
    pub rooms: Vec<Room>,
    /// The appliances, in the order of files and of writing.
    pub appliances: Vec<Appliance>,
    /// Rules silenced in the whole house.
    pub allows: Vec<Allow>,
    /// Words that the house adds to those of the trade.
    pub words: Vec<WordList>,
}

impl Plan {
    /// The address table of a bus, where it has one.
    pub fn table(&self, bus: usize) -> Option<&AddressTable> {
        self.buses.get(bus)?.table.as_deref()
    }
}

/// The house as a whole.
#[derive(Debug, Default)]
pub struct HouseFacts {
    /// Its id, which seeds the unique ids.
    pub id: String,
    /// Where its id stands.
    pub id_place: Option<Place>,
    /// Its name.
    pub name: String,
    /// Where its name stands.
    pub name_place: Option<Place>,
    /// How group addresses are written.
    pub notation: Notation,
    /// Whether a file could not be read: what is missing may stand there.
    pub unread: bool,
    /// Where the house is described, or the start of the root file.
    pub place: Option<Place>,
}

impl HouseFacts {
    /// Its id, where one could be read that can be kept.
    pub fn known_id(&self) -> Option<&str> {
        Some(self.id.as_str()).filter(|id| is_fit_key(id))
    }
}

/// A KNX bus.
#[derive(Debug)]
pub struct Bus {
    /// Its key.
    pub key: String,
    /// Its address table, if it has one that could be read.
    pub table: Option<Arc<AddressTable>>,
}

/// The list of group addresses of a bus.
#[derive(Debug)]
pub struct AddressTable {
    /// The file.
    pub file: FileId,
    /// Its rows, in order.
    pub rows: Vec<Row>,
    /// Rows that name a range of addresses, such as a main group, in order.
    pub ranges: Vec<RangeRow>,
    /// First row of each address.
    pub by_address: AddressIndex,
    /// Addresses that rows may have had whose cells a spreadsheet turned into dates.
    pub lost: FxHashSet<GroupAddress>,
    /// Whether the table has a column of datapoint types, of flags, of rooms.
    pub columns: TableColumns,
    /// The heading of the column that has the names, where the one that was taken for them has few.
    pub better_names: Option<Box<str>>,
    /// Further columns with addresses, which are not read: their headings, and the first of their addresses.
    pub other_addresses: Vec<(Box<str>, Vec<GroupAddress>)>,
    /// How it was read, if nothing was wrong with it: the same text is the same table then.
    pub(super) read_by: Option<ReadBy>,
}

impl AddressTable {
    /// The first row of an address.
    pub fn row(&self, address: GroupAddress) -> Option<&Row> {
        self.by_address.get(address).and_then(|row| self.rows.get(row as usize))
    }
}

/// Which columns a table has.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct TableColumns {
    /// Names: where their heading stands.
    pub name: Option<Place>,
    /// Datapoint types.
    pub dpt: bool,
    /// Communication flags.
    pub flags: bool,
    /// Rooms.
    pub room: bool,
}

/// A row that names a range of addresses: `1/-/-` or `1/2/-`.
#[derive(Debug)]
pub struct RangeRow {
    /// The main group.
    pub main: u8,
    /// The middle group; none where the row names a whole main group.
    pub middle: Option<u8>,
    /// The name, or where the row has none an empty text at its address.
    pub name: Spanned<Box<str>>,
    /// Where its address stands.
    pub place: Place,
}

impl RangeRow {
    /// Whether an address lies in the range.
    pub fn holds(&self, address: GroupAddress) -> bool {
        address.main() == self.main && self.middle.is_none_or(|middle| address.middle() == middle)
    }
}

/// A row of an address table.
#[derive(Debug)]
pub struct Row {
    /// The address.
    pub address: Spanned<GroupAddress>,
    /// The name; empty where the row has none.
    pub name: Spanned<Box<str>>,
    /// The datapoint type, where the row has one that could be read.
    pub dpt: Option<Spanned<DptRef>>,
    /// The flags, where the row has some that could be read.
    pub flags: Option<Spanned<Flags>>,
    /// The room, where the row has one.
    pub room: Option<Spanned<Box<str>>>,
    /// The description, where the row has one.
    pub description: Option<Spanned<Box<str>>>,
}

/// A Matter bridge.
#[derive(Debug)]
pub struct Bridge {
    /// Its key.
    pub key: Spanned<String>,
    /// Its NodeLabel.
    pub name: Spanned<String>,
    /// How many bridged endpoints its gateway carries.
    pub capacity: Option<Spanned<u32>>,
}

/// A room.
#[derive(Debug)]
pub struct Room {
    /// Its key.
    pub key: Spanned<String>,
    /// Its name; the key where it has none.
    pub name: Spanned<String>,
    /// Its floor.
    pub floor: Option<Spanned<String>>,
    /// Rules silenced here.
    pub allows: Vec<Allow>,
    /// The bus that it names.
    pub bus: Option<Spanned<String>>,
    /// The bridge that it names.
    pub bridge: Option<Spanned<String>>,
    /// How many appliances are described here, also those that could not be understood.
    pub described: usize,
}

/// A rule's name and the reason for silencing it.
#[derive(Debug)]
pub struct Allow {
    /// The rule.
    pub rule: Spanned<String>,
    /// The reason.
    pub reason: Spanned<String>,
}

/// An appliance whose class is known.
#[derive(Debug)]
pub struct Appliance {
    /// Its key.
    pub key: Spanned<String>,
    /// What the family sees.
    pub name: Spanned<String>,
    /// Its class.
    pub class: Spanned<Arc<Class>>,
    /// Index of its room in [`Plan::rooms`].
    pub room: usize,
    /// Index of its bus in [`Plan::buses`]; [`UNKNOWN`](Self::UNKNOWN) where that could not be looked up.
    pub bus: usize,
    /// Index of its bridge in [`Plan::bridges`], or [`UNKNOWN`](Self::UNKNOWN).
    pub bridge: usize,
    /// Its points, in the order written.
    pub points: Vec<Point>,
    /// Its settings, in the order written.
    pub settings: Vec<Setting>,
    /// The key it had before.
    pub formerly: Option<Spanned<String>>,
    /// Whether controllers see it, by the description and the class.
    pub bridged: bool,
    /// Where the description says that they shall.
    pub asked_for: Option<Place>,
    /// Who confirmed its local safety device.
    pub confirmed: Option<Box<Spanned<Confirmed>>>,
    /// Whether that is there and could not be read.
    pub confirmed_unread: bool,
    /// Rules silenced for it.
    pub allows: Vec<Allow>,
    /// True where a part of it could not be understood: what is missing from it may only be unread.
    pub incomplete: bool,
    /// Its endpoints, once somebody asks.
    pub(super) shape: OnceLock<Result<Arc<Shape>, Box<[ShapeFault]>>>,
}

impl Appliance {
    /// The bus or bridge of an appliance that does not say which, or names none that there is.
    pub const UNKNOWN: usize = usize::MAX;

    /// The point of that name.
    pub fn point(&self, name: &str) -> Option<&Point> {
        let (spec, _) = self.class.value.point(name)?;
        self.points.iter().find(|point| point.spec == spec)
    }

    /// Whether it has a point, by its index in those of its class.
    pub fn has(&self, spec: u16) -> bool {
        self.points.iter().any(|point| point.spec == spec)
    }

    /// The setting of that name, where the description gives it.
    pub fn setting(&self, name: &str) -> Option<&Setting> {
        let (spec, _) = self.class.value.setting(name)?;
        self.settings.iter().find(|setting| setting.spec == spec)
    }

    /// A number setting: the given value, else the class's default.
    pub fn number(&self, name: &str) -> Option<f64> {
        let (_, class_setting) = self.class.value.setting(name)?;
        let given = self.setting(name).map(|setting| &setting.value.value);
        match given.or(class_setting.default.as_ref())? {
            SettingValue::Number(number) => Some(number.get()),
            SettingValue::Text(_) | SettingValue::Flag(_) => None,
        }
    }

    /// Its endpoints, as its class makes them of what it has.
    ///
    /// # Errors
    /// Settings that do not go together.
    pub fn shape(&self) -> Result<&Arc<Shape>, &[ShapeFault]> {
        let made = || self.class.value.shape(&self.chosen()).map_err(Vec::into_boxed_slice);
        self.shape.get_or_init(made).as_ref().map_err(|faults| &**faults)
    }

    /// What it has of what its class offers: the points in the class's order. A `reversed` or `range` that a point does not
    /// take is left out.
    pub fn chosen(&self) -> Chosen {
        let mut points: Vec<ChosenPoint> = self.points.iter().map(|point| point.chosen(self)).collect();
        points.sort_by_key(|point| point.point);
        let mut settings: Vec<(u16, SettingValue)> =
            self.settings.iter().map(|setting| (setting.spec, setting.value.value.clone())).collect();
        settings.sort_by_key(|(spec, _)| *spec);
        Chosen { points, settings }
    }
}

/// Who confirmed a local safety device.
#[derive(Debug)]
pub struct Confirmed {
    /// Who looked; empty where not said.
    pub by: String,
    /// What was checked; empty where not said.
    pub checked: String,
    /// When, where that is said.
    pub on: Option<Spanned<String>>,
}

/// A setting with its value.
#[derive(Debug)]
pub struct Setting {
    /// Index in the class's settings.
    pub spec: u16,
    /// Where its name stands.
    pub key: Place,
    /// Its value, as the class wants it.
    pub value: Spanned<SettingValue>,
}

/// A point of an appliance.
#[derive(Debug)]
pub struct Point {
    /// Index in the class's points.
    pub spec: u16,
    /// Where its name stands.
    pub key: Place,
    /// The address it is written through.
    pub command: Option<Wire>,
    /// The address its status is learned from.
    pub feedback: Option<Wire>,
    /// Further addresses that move it.
    pub listens: Vec<Wire>,
    /// The datapoint type as written, where it is.
    pub dpt: Option<Spanned<&'static Dpt>>,
    /// The datapoint type of the feedback as written, where it is.
    pub feedback_dpt: Option<Spanned<&'static Dpt>>,
    /// Whether a datapoint type is written that could not be read; the wires have the class's usual one.
    pub dpt_unread: bool,
    /// Where it says that its values mean the opposite.
    pub reversed: Option<Place>,
    /// Lowest and highest value it takes, in the unit of its datapoint type.
    pub range: Option<Spanned<[f64; 2]>>,
}

impl Setting {
    /// What the class says of it.
    pub fn spec<'a>(&self, appliance: &'a Appliance) -> Option<&'a SettingSpec> {
        appliance.class.value.settings.get(usize::from(self.spec))
    }
}

impl Point {
    /// What the class says of it.
    pub fn spec<'a>(&self, appliance: &'a Appliance) -> Option<&'a PointSpec> {
        appliance.class.value.points.get(usize::from(self.spec))
    }

    /// The point's name in its class.
    pub fn name<'a>(&self, appliance: &'a Appliance) -> &'a str {
        self.spec(appliance).map_or("", |spec| spec.name.as_str())
    }

    /// Whether several appliances have it by nature in common.
    pub fn is_shared(&self, appliance: &Appliance) -> bool {
        self.spec(appliance).is_some_and(|spec| spec.shared)
    }

    /// The wire for a role, where there is one.
    pub fn wire(&self, role: Role) -> Option<&Wire> {
        match role {
            Role::Command => self.command.as_ref(),
            Role::Feedback => self.feedback.as_ref(),
            Role::Listens => self.listens.first(),
        }
    }

    fn chosen(&self, appliance: &Appliance) -> ChosenPoint {
        let dpt = |wire: &Wire| wire.dpt.id;
        let spec = self.spec(appliance);
        let range = self.range.as_ref().filter(|_| spec.is_some_and(|spec| spec.range.is_some()));
        let range = range.and_then(|range| {
            let [low, high] = range.value;
            Some([Number::new(low)?, Number::new(high)?])
        });
        ChosenPoint {
            point: self.spec,
            command: self.command.as_ref().map(dpt),
            feedback: self.feedback.as_ref().map(dpt),
            listens: self.listens.first().map(dpt),
            reversed: self.reversed.is_some() && spec.is_some_and(|spec| spec.reversible),
            range,
        }
    }

    /// Its wires, each with what it is for.
    pub fn wires(&self) -> impl Iterator<Item = (Role, &Wire)> {
        self.command
            .iter()
            .map(|wire| (Role::Command, wire))
            .chain(self.feedback.iter().map(|wire| (Role::Feedback, wire)))
            .chain(self.listens.iter().map(|wire| (Role::Listens, wire)))
    }
}

/// A group address a point is wired to.
#[derive(Clone, Copy, Debug)]
pub struct Wire {
    /// The address, where it stands.
    pub address: Spanned<GroupAddress>,
    /// The datapoint type that travels on it: as written, or the class's usual one.
    pub dpt: &'static Dpt,
}
