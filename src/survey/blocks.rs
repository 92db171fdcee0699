//! Which room has which main and middle groups, in a house that is numbered by rooms, and whose addresses lie elsewhere.

use super::strays::{Astray, OF_EACH, OTHERS, Own, nearly_all};
use super::wires::{Wired, narrow};
use rustc_hash::FxHashMap;

/// A room has a block from so many appliances on.
const BLOCK: u32 = 3;

/// So many middle groups has a main group.
const MIDDLES: usize = 8;

/// So many main groups has a bus.
const MAINS: usize = 32;

/// The numbers of an address's middle group and main group, among those of all buses.
fn blocks_of(wired: &Wired) -> [usize; 2] {
    let before = wired.bus as usize * (MIDDLES + 1) * MAINS;
    let [main, middle] = [wired.address.main(), wired.address.middle()].map(usize::from);
    [before + main * MIDDLES + middle, before + MAINS * MIDDLES + main]
}

/// The room that most appliances of a block are in, while they are counted room by room.
#[derive(Clone, Copy, Default)]
struct Most {
    best: (u32, u32),
    last: (u32, u32),
    all: u32,
}

impl Most {
    fn add(&mut self, room: u32) {
        self.all += 1;
        self.last = if self.last.0 == room { (room, self.last.1 + 1) } else { (room, 1) };
        if self.last.1 > self.best.1 {
            self.best = self.last;
        }
    }

    /// That room, where it has nearly all, and how many.
    fn owner(self) -> Option<(u32, u32)> {
        nearly_all(self.best.1, self.all, BLOCK).then_some(self.best)
    }
}

/// Which room has which block, on the buses that are numbered by rooms.
pub(super) struct Blocks {
    /// The room of each middle group and main group of each bus, and how many appliances are there.
    owner: FxHashMap<usize, (u32, u32)>,
    /// For each appliance the room among whose addresses all of its own lie, with how many are there.
    home: Vec<Option<(u32, u32)>>,
    /// For each room how many appliances lie among its own.
    kept: FxHashMap<u32, u32>,
}

impl Blocks {
    pub(super) fn of(own: &Own<'_>) -> Self {
        let mut most: FxHashMap<usize, Most> = FxHashMap::default();
        let mut all: Vec<usize> = Vec::new();
        for appliance in 0..own.count() {
            let Some(room) = own.room(appliance) else { continue };
            all.clear();
            all.extend(own.wires(appliance).flat_map(blocks_of));
            all.sort_unstable();
            all.dedup();
            all.iter().for_each(|block| most.entry(*block).or_default().add(room));
        }
        let owner = most.into_iter().filter_map(|(block, most)| Some((block, most.owner()?))).collect();
        let mut blocks = Self { owner, home: Vec::new(), kept: FxHashMap::default() };
        blocks.home = (0..own.count()).map(|appliance| blocks.home_of(own, appliance)).collect();
        blocks.forget_other_schemes(own);
        for (appliance, home) in blocks.home.iter().enumerate() {
            if let (Some((home, _)), Some(room)) = (home, own.room(appliance))
                && *home == room
            {
                *blocks.kept.entry(room).or_default() += 1;
            }
        }
        blocks
    }

    fn home_of(&self, own: &Own<'_>, appliance: usize) -> Option<(u32, u32)> {
        let owner = |wired: &Wired| blocks_of(wired).iter().find_map(|block| self.owner.get(block)).copied();
        let mut owners = own.wires(appliance).map(owner);
        let first = owners.next()??;
        owners.all(|owner| owner.is_some_and(|(room, _)| room == first.0)).then_some(first)
    }

    /// On a bus that is numbered by something else than rooms a block says nothing.
    fn forget_other_schemes(&mut self, own: &Own<'_>) {
        let judge = own.judge;
        let mut counts = vec![(0_u32, 0_u32, 0_u32); judge.plan.buses.len()];
        for ((home, appliance), index) in self.home.iter().zip(&judge.plan.appliances).zip(0..) {
            let Some((all, kept, other)) = counts.get_mut(appliance.bus) else { continue };
            *all += u32::from(!own.wires.of(index).is_empty());
            let is_own = home.map(|(room, _)| room == narrow(appliance.room));
            *kept += u32::from(is_own == Some(true));
            *other += u32::from(is_own == Some(false));
        }
        let by_rooms = |(all, kept, other): &(u32, u32, u32)| kept * 3 >= all * 2 && *other <= kept / OF_EACH;
        for (home, appliance) in self.home.iter_mut().zip(&judge.plan.appliances) {
            if !counts.get(appliance.bus).is_some_and(by_rooms) {
                *home = None;
            }
        }
    }

    pub(super) fn astray(&self, own: &Own<'_>, appliance: usize) -> Option<Astray> {
        let (home, there) = self.home.get(appliance).copied().flatten()?;
        let room = own.room(appliance)?;
        let here = self.kept.get(&room).copied().unwrap_or(0);
        let stray = home != room && here >= OTHERS && !own.may_be_here(appliance, home);
        stray.then_some(Astray::Block { room: home, there, here })
    }
}
