//! Rows that name an appliance, and that nothing uses.

use super::Survey;
use super::stems::Stem;
use crate::resolve::Plan;
use rustc_hash::FxHashMap;

/// What an appliance leaves of the rows that are called as its own are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeftOver {
    /// Index of the appliance in the plan.
    pub appliance: u32,
    /// Indices of the rows in the table of its bus.
    pub rows: Vec<u32>,
}

/// In the order of appliances. Rows of a name that several appliances use are nobody's.
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
        Some(LeftOver { appliance, rows: rows.iter().map(|(_, row)| *row).collect() })
    });
    left.collect()
}
