//! How well an address serves a wire: its row's name, its function words, the distances to the siblings, its datapoint
//! type and who else uses it. The same marks judge the address that is written and every other that could be meant.

use super::functions::UNKNOWN;
use super::offsets::{Habit, Verdict};
use super::owners::TELLING;
use super::uses::Uses;
use super::wires::{Wired, Wires, narrow};
use super::{Learned, homes::Home};
use crate::knx::{GroupAddress, dpt};
use crate::pieces;
use crate::resolve::Plan;
use crate::resolve::plan::{AddressTable, Appliance, Point, Role, Row};

/// A row is plainly for a wire from this fit on.
const PLAINLY: f64 = 0.7;

/// What a row of another type costs.
const UNFIT_TYPE: f64 = 0.8;

/// A habit that is broken, seen from a sibling.
#[derive(Clone, Copy, Debug)]
pub(super) struct Breach {
    pub(super) habit: Habit,
    /// The sibling's index in [`Wires::all`].
    pub(super) from: u32,
}

/// The marks of one address for one wire.
#[derive(Clone, Debug, Default)]
pub(super) struct Mark {
    /// From -1 (a row of something else) to 1 (one of the appliance's own).
    pub(super) name: f64,
    /// From 0 to 1.
    pub(super) fit: f64,
    /// From -1 (no sibling's habit is kept) to 1 (all are); 0 without habits.
    pub(super) habit: f64,
    /// Minus what its datapoint type, its flags and its other users cost.
    pub(super) cost: f64,
    pub(super) breaches: Vec<Breach>,
}

impl Mark {
    pub(super) fn total(&self) -> f64 {
        self.name + 0.8 * self.fit + 1.2 * self.habit - self.cost
    }
}

/// Gives marks.
#[derive(Clone, Copy)]
pub(super) struct Judge<'a> {
    pub(super) plan: &'a Plan,
    pub(super) wires: &'a Wires,
    pub(super) uses: &'a Uses,
    pub(super) learned: &'a Learned,
    pub(super) types: Types,
}

/// Which rows have a type that an end may have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Types {
    /// Those of one that its point takes.
    Taken,
    /// Those whose telegrams are as long.
    AsLong,
}

impl<'a> Judge<'a> {
    pub(super) fn table(&self, wired: &Wired) -> Option<&'a AddressTable> {
        self.plan.table(wired.bus as usize)
    }

    /// The appliance of a wire, by its index in [`Wires::all`].
    pub(super) fn appliance(&self, wire: u32) -> Option<&'a Appliance> {
        self.plan.appliances.get(self.wires.all.get(wire as usize)?.appliance as usize)
    }

    pub(super) fn home(&self, wired: &Wired) -> Option<Home> {
        self.learned.homes.get(wired.appliance as usize).copied().flatten()
    }

    /// The marks of an address for a wire; `written` when it is the one that stands there.
    pub(super) fn mark(&self, wired: &Wired, address: GroupAddress, written: bool) -> Mark {
        let row = self.table(wired).and_then(|table| table.by_address.get(address));
        let (habit, breaches) = self.habits(wired, address);
        let own = written.then_some(wired);
        Mark {
            name: row.map_or(0.0, |row| self.name(wired, row)),
            fit: row.map_or(UNKNOWN, |row| self.fit(wired, row, own)),
            habit,
            cost: self.cost(wired, address, row),
            breaches,
        }
    }

    fn name(&self, wired: &Wired, row: u32) -> f64 {
        let learned = self.learned;
        let (Some(home), Some(stem)) = (self.home(wired), learned.stems.stem(wired.bus, row)) else {
            return 0.0;
        };
        if stem == home.stem {
            return 1.0;
        }
        if wired.shared {
            return 0.0;
        }
        let appliance = wired.appliance as usize;
        let likeness = learned.owners.likeness(stem, appliance, &learned.stems, &learned.tokens);
        let owner = learned.owners.owner(wired.bus, stem).filter(|owner| *owner != wired.appliance);
        match owner {
            Some(owner) => {
                let theirs = learned.owners.likeness(stem, owner as usize, &learned.stems, &learned.tokens);
                if theirs >= likeness || likeness < 0.5 { -1.0 } else { 0.0 }
            }
            None if learned.owners.is_kin(stem, home.stem, &learned.stems, &learned.tokens) => 0.8,
            None if likeness >= 0.6 => 0.5,
            None if likeness >= 0.35 && likeness + 0.3 >= home.likeness => 0.0,
            None if home.wires > 1 || home.likeness >= 0.5 => -1.0,
            None => -0.5,
        }
    }

    pub(super) fn fit(&self, wired: &Wired, row: u32, own: Option<&Wired>) -> f64 {
        let call = self.learned.stems.call(wired.bus, row);
        call.map_or(UNKNOWN, |call| self.learned.functions.fit(call, wired.function, own))
    }

    /// The share of siblings whose habitual distance is kept less that of those whose is broken.
    fn habits(&self, wired: &Wired, address: GroupAddress) -> (f64, Vec<Breach>) {
        let (start, own) = self.wires.of_appliance(wired.appliance as usize);
        let (mut kept, mut breaches) = (0u32, Vec::new());
        for (other, index) in own.iter().zip(start..) {
            if (other.point, other.role) == (wired.point, wired.role) || self.learned.doubtful(index) {
                continue;
            }
            match self.learned.offsets.judge(other, wired, address) {
                Verdict::Kept => kept += 1,
                Verdict::Broken(habits) => {
                    let first = habits.first().map(|&habit| Breach { habit, from: narrow(index) });
                    breaches.extend(first);
                }
                Verdict::Silent => {}
            }
        }
        let broken = narrow(breaches.len());
        let all = f64::from((kept + broken).max(1));
        ((f64::from(kept) - f64::from(broken)) / all, breaches)
    }

    /// Whether a wire's own row speaks against it, so that it is no witness for its siblings.
    pub(super) fn is_doubtful(&self, wired: &Wired) -> bool {
        wired.row.is_some_and(|row| self.fit(wired, row, Some(wired)) < 0.1 || self.name(wired, row) <= -1.0)
    }

    fn cost(&self, wired: &Wired, address: GroupAddress, row: Option<u32>) -> f64 {
        let table = self.table(wired);
        let row = table.zip(row).and_then(|(table, row)| table.rows.get(row as usize));
        let mut cost = if table.is_some() && row.is_none() { 1.0 } else { 0.0 };
        if let Some(row) = row {
            cost += flags_cost(wired, row) + self.type_cost(wired, row);
        }
        if wired.shared {
            return cost;
        }
        let mut users = self.uses.of_address(wired.bus as usize, address);
        let me = |used: &super::Use| used.appliance == wired.appliance;
        if users.any(|used| !me(&used) || (used.point, used.role) != (wired.point, wired.role)) {
            cost += 0.3;
        }
        if self.uses.is_central(wired.bus as usize, address) {
            cost += 0.8;
        }
        cost
    }

    /// Whether no row says whose a wire's address is.
    pub(super) fn is_nameless(&self, wired: &Wired) -> bool {
        wired.row.is_none_or(|row| self.learned.stems.stem(wired.bus, row).is_none())
    }

    fn fits_type(&self, wired: &Wired, row: &Row) -> Option<bool> {
        match self.types {
            Types::Taken => takes_type(self.plan, wired, row),
            Types::AsLong => is_as_long(self.plan, wired, row),
        }
    }

    fn type_cost(&self, wired: &Wired, row: &Row) -> f64 {
        if self.fits_type(wired, row) == Some(false) { UNFIT_TYPE } else { 0.0 }
    }

    /// The addresses that could be meant for a wire: those that a habit leads to, and the appliance's own rows that are
    /// for such a wire.
    pub(super) fn candidates(&self, wired: &Wired) -> Vec<GroupAddress> {
        let (_, own) = self.wires.of_appliance(wired.appliance as usize);
        let mut candidates: Vec<GroupAddress> = Vec::new();
        for other in own.iter().filter(|other| (other.point, other.role) != (wired.point, wired.role)) {
            let meant = self.learned.offsets.meant(other, wired).into_iter();
            candidates.extend(
                meant.filter_map(|habit| habit.distance.from(other.address, self.plan.house.notation)),
            );
        }
        if let (Some(home), Some(table)) = (self.home(wired), self.table(wired)) {
            let rows = self.learned.stems.rows_of(wired.bus, home.stem);
            // What a row of another appliance is called, its own one is called too.
            let stems = &self.learned.stems;
            let elsewhere = wired.row.filter(|row| stems.stem(wired.bus, *row) != Some(home.stem));
            let written = elsewhere.and_then(|row| stems.call(wired.bus, row));
            let fits = rows.filter(|row| {
                let call = stems.call(wired.bus, *row);
                let is_called = |call| self.learned.functions.is_called(call, wired.function, 0.3);
                call.is_none_or(|call| written == Some(call) || is_called(call))
            });
            candidates
                .extend(fits.filter_map(|row| table.rows.get(row as usize)).map(|row| row.address.value));
        }
        candidates.sort_unstable();
        candidates.dedup();
        candidates
    }

    /// Whether a wire can be given an address: the row is of a type that the point takes, or of the one that its row has
    /// already, and no status where the wire is a command.
    pub(super) fn can_be(&self, wired: &Wired, address: GroupAddress) -> bool {
        let row = |address: GroupAddress| self.table(wired)?.row(address);
        let Some(listed) = row(address) else { return true };
        let dpt = |row: &Row| row.dpt.as_ref().map(|dpt| dpt.value);
        let as_now = || row(wired.address).is_some_and(|now| dpt(now) == dpt(listed));
        (self.fits_type(wired, listed) != Some(false) || as_now())
            && !self.is_status_for_command(wired, address)
    }

    /// Whether an address has the row that names a wire plainly and that nobody uses, where the table lacks the one that is
    /// written: a row that was given another number breaks the habits of the house.
    pub(super) fn is_own_row(
        &self,
        wired: &Wired,
        written: Option<GroupAddress>,
        address: GroupAddress,
        mark: &Mark,
    ) -> bool {
        let is_absent = written
            .is_some_and(|written| self.table(wired).is_some_and(|table| table.row(written).is_none()));
        let mut users = self.uses.of_address(wired.bus as usize, address);
        is_absent && mark.name >= 1.0 && mark.fit > 0.5 && users.next().is_none()
    }

    /// Whether a wire is a command, and the row of an address is called a status as no such command of the house is.
    fn is_status_for_command(&self, wired: &Wired, address: GroupAddress) -> bool {
        let learned = self.learned;
        let row = self.table(wired).and_then(|table| table.by_address.get(address));
        let call = row.and_then(|row| learned.stems.call(wired.bus, row));
        wired.role == Role::Command
            && call.is_some_and(|call| {
                let functions = &learned.functions;
                functions.is_status(call) && functions.fit(call, wired.function, None) < UNKNOWN
            })
    }

    /// Whether the row of an address plainly names another appliance than a wire's.
    pub(super) fn names_another(&self, wired: &Wired, address: GroupAddress) -> bool {
        let learned = self.learned;
        let row = self.table(wired).and_then(|table| table.by_address.get(address));
        let stem = row.and_then(|row| learned.stems.stem(wired.bus, row));
        let owner = stem.and_then(|stem| Some((stem, learned.owners.owner(wired.bus, stem)?)));
        owner.is_some_and(|(stem, owner)| {
            let like = |appliance| learned.owners.likeness(stem, appliance, &learned.stems, &learned.tokens);
            like(owner as usize) > like(wired.appliance as usize) + TELLING
        })
    }

    /// The best address for a wire but the one that is written, its marks, and whether nothing else comes near.
    ///
    /// Where the written one has a type that the point takes, none that has not comes near; and none whose row names
    /// another appliance, wherever the habits lead, or is called a status where it is to be a command.
    pub(super) fn best(&self, wired: &Wired, but: Option<GroupAddress>) -> Option<(GroupAddress, Mark)> {
        let row = |address: GroupAddress| self.table(wired)?.row(address);
        let fits = |address: GroupAddress| row(address).and_then(|row| self.fits_type(wired, row));
        let written_fits = but.and_then(fits) == Some(true);
        let mut marked: Vec<(f64, GroupAddress, Mark)> = self
            .candidates(wired)
            .into_iter()
            .filter(|address| Some(*address) != but)
            .filter(|address| self.table(wired).is_none() || row(*address).is_some())
            .filter(|address| !written_fits || fits(*address) != Some(false))
            .filter(|address| !self.is_status_for_command(wired, *address))
            .map(|address| {
                let mark = self.mark(wired, address, false);
                (mark.total(), address, mark)
            })
            .filter(|(_, address, mark)| mark.name > -1.0 || !self.names_another(wired, *address))
            .collect();
        marked.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let next = marked.get(1).map(|(total, ..)| *total);
        let (total, address, mark) = marked.into_iter().next()?;
        next.is_none_or(|next| total - next > 0.05).then_some((address, mark))
    }
}

impl Judge<'_> {
    /// The address of the one row that is named for a wire, whatever its type and its flags are.
    pub(super) fn named(&self, wired: &Wired) -> Option<GroupAddress> {
        let (home, table) = (self.home(wired)?, self.table(wired)?);
        let rows = self.learned.stems.rows_of(wired.bus, home.stem);
        let mut named = rows.filter(|row| self.fit(wired, *row, None) > PLAINLY);
        let row = named.next().filter(|_| named.next().is_none())?;
        Some(table.rows.get(row as usize)?.address.value)
    }
}

/// What the flags and the type of a row cost a wire.
pub(super) fn row_cost(plan: &Plan, wired: &Wired, row: &Row) -> f64 {
    let of_type = if takes_type(plan, wired, row) == Some(false) { UNFIT_TYPE } else { 0.0 };
    flags_cost(wired, row) + of_type
}

fn flags_cost(wired: &Wired, row: &Row) -> f64 {
    let flags = row.flags.as_ref().map(|flags| flags.value);
    let unfit = flags.is_some_and(|flags| match wired.role {
        Role::Command => !flags.write,
        Role::Feedback => !flags.read && !flags.transmit,
        Role::Listens => false,
    });
    if unfit { 0.4 } else { 0.0 }
}

/// Whether an end of the wire's point can be of the type that a row has; none where one of them is not known.
fn takes_type(plan: &Plan, wired: &Wired, row: &Row) -> Option<bool> {
    let appliance = plan.appliances.get(wired.appliance as usize)?;
    let point = appliance.points.get(wired.point as usize)?;
    can_take(appliance, point, wired.role, row)
}

/// Whether an end of a point can be of the type that a row has; none where the row has none.
pub(super) fn can_take(appliance: &Appliance, point: &Point, role: Role, row: &Row) -> Option<bool> {
    let listed = row.dpt.as_ref()?.value;
    let written = point.wire(role).is_some_and(|wire| listed.covers(wire.dpt.id));
    let takes = || {
        let end = point.spec(appliance).and_then(|spec| spec.end(role.end()));
        end.is_some_and(|end| end.dpts.iter().any(|id| listed.covers(*id)))
    };
    Some(written || takes())
}

/// Whether the telegrams of a row are of the length that the wire's are; none where one of them is not known.
fn is_as_long(plan: &Plan, wired: &Wired, row: &Row) -> Option<bool> {
    let appliance = plan.appliances.get(wired.appliance as usize)?;
    let point = appliance.points.get(wired.point as usize)?;
    let typed = point.wire(wired.role).or_else(|| point.wires().next().map(|(_, wire)| wire))?.dpt;
    let listed = dpt::of_main(row.dpt.as_ref()?.value.main()).first()?;
    Some(listed.size == typed.size)
}

/// For each wire whether its own row speaks against it.
pub(super) fn doubtful(judge: Judge<'_>) -> Vec<bool> {
    let wires = &judge.wires.all;
    let is_doubtful = |wire: usize| wires.get(wire).is_some_and(|wired| judge.is_doubtful(wired));
    pieces::each(wires.len(), pieces::LIGHT, is_doubtful)
}
