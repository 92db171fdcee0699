//! Rows that name an appliance, and that nothing uses.

use super::Survey;
use super::stems::Stem;
use super::wires::narrow;
use crate::classes::Class;
use crate::knx::GroupAddress;
use crate::resolve::Plan;
use crate::resolve::plan::Role;
use rustc_hash::FxHashMap;

/// So many rows show what those that are called like them are for.
const SEVERAL: f64 = 2.0;

/// What an appliance leaves of the rows that are called as its own are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeftOver {
    /// Index of the appliance in the plan.
    pub appliance: u32,
    /// Indices of the rows in the table of its bus.
    pub rows: Vec<u32>,
}

/// In the order of appliances. Rows of a name that several appliances use are nobody's; nor are rows of another room or
/// for another kind of thing an appliance's, whatever words they share with its own.
///
/// On one thread: whoever asks first does it while others wait, and a wait for other threads here could be for one of them.
pub(super) fn find(survey: &Survey, plan: &Plan) -> Vec<LeftOver> {
    let stems = &survey.learned.stems;
    let mut owners: FxHashMap<(u32, Stem), Option<u32>> = FxHashMap::default();
    for wired in &survey.wires.all {
        let stem = wired.row.and_then(|row| stems.stem(wired.bus, row));
        let Some(stem) = stem else { continue };
        let owner = owners.entry((wired.bus, stem)).or_insert(Some(wired.appliance));
        if wired.shared || *owner != Some(wired.appliance) {
            *owner = None;
        }
    }
    let left = |((bus, stem), owner): ((u32, Stem), Option<u32>)| {
        let named = owner.and_then(|owner| Some((owner, plan.table(bus as usize)?)));
        named.into_iter().flat_map(move |(owner, table)| {
            let is_unused = move |row: &u32| {
                let address = table.rows.get(*row as usize).map(|row| row.address.value);
                address.is_some_and(|address| survey.uses.of_address(bus as usize, address).next().is_none())
            };
            stems.rows_of(bus, stem).filter(is_unused).map(move |row| (owner, row))
        })
    };
    let mut found: Vec<(u32, u32)> = owners.into_iter().flat_map(left).collect();
    found.sort_unstable();
    let of_one = found.chunk_by(|(one, _), (other, _)| one == other);
    let left = of_one.filter_map(|rows| {
        let (appliance, _) = *rows.first()?;
        let own = Own::of(survey, plan, appliance)?;
        let rows = rows.iter().map(|(_, row)| *row);
        // What is for another kind of thing has brought along what both have.
        let rows: Vec<u32> = rows.map(|row| own.is_of_kind(row).then_some(row)).collect::<Option<_>>()?;
        let rows: Vec<u32> = rows.into_iter().filter(|row| !own.name_room || own.names_room(*row)).collect();
        (!rows.is_empty()).then_some(LeftOver { appliance, rows })
    });
    left.collect()
}

impl Survey {
    /// Whether several rows that are called like that of an address are for an end of a point.
    pub fn is_usual(&self, plan: &Plan, bus: usize, address: GroupAddress, point: &str, role: Role) -> bool {
        let row = plan.table(bus).and_then(|table| table.by_address.get(address));
        let call = row.and_then(|row| self.learned.stems.call(narrow(bus), row));
        let function = self.wires.function_named(point, role);
        call.is_some_and(|call| self.learned.functions.seen(call, function) >= SEVERAL)
    }
}

/// What the rows of an appliance are like.
struct Own<'a> {
    survey: &'a Survey,
    class: &'a Class,
    appliance: usize,
    bus: u32,
    /// Whether all that it uses name its room.
    name_room: bool,
}

impl<'a> Own<'a> {
    fn of(survey: &'a Survey, plan: &'a Plan, appliance: u32) -> Option<Self> {
        let appliance = appliance as usize;
        let described = plan.appliances.get(appliance)?;
        let (_, wires) = survey.wires.of_appliance(appliance);
        let (class, bus) = (&*described.class.value, narrow(described.bus));
        let mut own = Self { survey, class, appliance, bus, name_room: false };
        let mut rows = wires.iter().filter(|wired| !wired.shared).filter_map(|wired| wired.row);
        own.name_room = rows.all(|row| own.names_room(row));
        Some(own)
    }

    fn names_room(&self, row: u32) -> bool {
        let learned = &self.survey.learned;
        learned.owners.say_own_room(learned.stems.row(self.bus, row), self.appliance, &learned.tokens)
    }

    /// Whether a row is for something that such things do.
    fn is_of_kind(&self, row: u32) -> bool {
        let learned = &self.survey.learned;
        let is_such = |function| self.survey.wires.may_have(self.class, function);
        let call = learned.stems.call(self.bus, row);
        call.is_none_or(|call| learned.functions.may_be(call, is_such))
    }
}
