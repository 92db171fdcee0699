//! Main groups that a table has under another number than the description.

use super::Context;
use crate::knx::{GroupAddress, Notation};
use crate::resolve::plan::{AddressTable, Appliance, Role, Row, Wire};
use rustc_hash::FxHashMap;

/// An address in use that its table does not have.
#[derive(Clone, Copy)]
pub(super) struct Missing<'a> {
    pub(super) appliance: &'a Appliance,
    pub(super) point: u16,
    pub(super) role: Role,
    pub(super) wire: &'a Wire,
}

impl Missing<'_> {
    fn main(&self) -> u8 {
        self.wire.address.value.main()
    }

    /// The address in another main group.
    pub(super) fn within(&self, main: u8) -> Option<GroupAddress> {
        GroupAddress::new(u16::from(main) << 11 | self.wire.address.value.number() & 0x7ff)
    }
}

/// Fewer addresses than this are no renumbered main group.
const FEWEST: usize = 8;

/// The addresses in use that the table of a bus does not have.
pub(super) fn missing<'a>(bus: usize, context: &Context<'a>) -> Vec<Missing<'a>> {
    let Some(table) = context.plan.table(bus) else {
        return Vec::new();
    };
    let mut found = Vec::new();
    let on_it = context.plan.appliances.iter().filter(|appliance| appliance.bus == bus);
    for appliance in on_it.filter(|appliance| !context.survey.is_misplaced(appliance)) {
        for point in &appliance.points {
            for (role, wire) in point.wires() {
                let address = wire.address.value;
                // Its row may be one that a spreadsheet broke, and that was told.
                if table.row(address).is_none() && !table.lost.contains(&address) {
                    found.push(Missing { appliance, point: point.spec, role, wire });
                }
            }
        }
    }
    found
}

/// The main groups of a bus whose addresses its table lacks and has under another number, each with that number: nearly
/// all are missing, nearly all have a row there that nothing else uses, and most of these rows name what they are for.
pub(super) fn renumbered(bus: usize, missing: &[Missing<'_>], context: &Context<'_>) -> Vec<(u8, u8)> {
    let table = context.plan.table(bus);
    let Some(table) = table.filter(|_| context.plan.house.notation != Notation::Free) else {
        return Vec::new();
    };
    let mut of_main: FxHashMap<u8, Vec<Missing<'_>>> = FxHashMap::default();
    for missing in missing {
        of_main.entry(missing.main()).or_default().push(*missing);
    }
    let mut found: Vec<(u8, u8)> = Vec::new();
    for (main, missing) in of_main.iter().filter(|(_, missing)| missing.len() >= FEWEST) {
        let used = |row: &&Row| {
            row.address.value.main() == *main
                && context.survey.uses.of_address(bus, row.address.value).next().is_some()
        };
        if table.rows.iter().filter(used).count() * 10 > missing.len() {
            continue;
        }
        let mut others = (0..32).filter(|other| other != main && fits(missing, *other, bus, table, context));
        if let (Some(only), None) = (others.next(), others.next()) {
            found.push((*main, only));
        }
    }
    found.sort_unstable();
    found
}

/// The row that a missing address has in another main group, if nothing uses it.
pub(super) fn row_within<'t>(
    missing: &Missing<'_>,
    main: u8,
    bus: usize,
    table: &'t AddressTable,
    context: &Context<'_>,
) -> Option<&'t Row> {
    let row = table.row(missing.within(main)?)?;
    context.survey.uses.of_address(bus, row.address.value).next().is_none().then_some(row)
}

fn fits(missing: &[Missing<'_>], main: u8, bus: usize, table: &AddressTable, context: &Context<'_>) -> bool {
    let (mut rows, mut named) = (0, 0);
    for missing in missing {
        let Some(row) = row_within(missing, main, bus, table, context) else { continue };
        rows += 1;
        let room = context.plan.rooms.get(missing.appliance.room);
        let appliance = [&missing.appliance.key.value, &missing.appliance.name.value];
        let names = room.into_iter().flat_map(|room| [&room.key.value, &room.name.value]).chain(appliance);
        let said: Vec<String> = names.flat_map(|name| words(name)).collect();
        named += usize::from(words(&row.name.value).any(|word| said.contains(&word)));
    }
    rows * 10 >= missing.len() * 9 && named * 2 > rows
}

/// The words of a name that say something.
fn words(name: &str) -> impl Iterator<Item = String> {
    let parts = name.split(|letter: char| !letter.is_alphanumeric());
    parts.filter(|part| part.chars().count() > 1).map(str::to_lowercase)
}
