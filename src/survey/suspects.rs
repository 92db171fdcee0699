//! Wires that break what the rest of the house keeps, and the address that would keep it.
//!
//! Each wire is weighed by its siblings in the appliance: those whose habitual distance to it is kept speak for it,
//! those whose is not speak against it. The names in the table are a second voice: a row that names another
//! appliance than its siblings' rows do. Only where a voice is strong, or two agree, a wire is suspect; the address
//! that would be right must exist in the table and be free, or be used by the other half of an exchange.

use super::names::heard;
use super::offsets::{Habit, Offsets};
use super::stems::{Stem, Stems};
use super::uses::Uses;
use super::wires::{Wired, Wires, narrow};
use crate::knx::{GroupAddress, Notation};
use crate::resolve::Plan;
use crate::resolve::plan::Role;
use rustc_hash::{FxHashMap, FxHashSet};

/// What speaks against a wire.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Evidence {
    /// It does not lie where nearly all others of its kind do.
    Habit {
        /// The habit.
        habit: Habit,
        /// Index in [`Wires::all`] of the sibling from which the distance counts.
        from: u32,
    },
    /// Its row in the table names another appliance than its siblings' rows do.
    Row {
        /// How many siblings have the other name.
        siblings: u32,
    },
}

/// What seems to have happened.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slip {
    /// One address is wrong.
    Alone,
    /// It was exchanged with the wire at this index in [`Wires::all`].
    Exchanged {
        /// The other half.
        with: u32,
    },
}

/// A wire that is probably wrong.
#[derive(Clone, Debug)]
pub struct Suspect {
    /// Index in [`Wires::all`].
    pub wire: u32,
    /// The address that would be right, if one is known.
    pub right: Option<GroupAddress>,
    /// What seems to have happened.
    pub slip: Slip,
    /// Why, the strongest first.
    pub evidence: Vec<Evidence>,
}

/// The suspects of a plan, in its order.
pub(super) fn find(
    plan: &Plan,
    wires: &Wires,
    offsets: &Offsets,
    stems: &Stems,
    uses: &Uses,
) -> Vec<Suspect> {
    let search = Search {
        plan,
        wires,
        offsets,
        stems,
        uses,
        notation: plan.house.notation,
        owners: owners(plan, wires, stems),
    };
    let mut charges: Vec<Charge> = Vec::new();
    for appliance in 0..plan.appliances.len() {
        search.charge(appliance, &mut charges);
    }
    search.settle(charges)
}

/// Which appliance most rows of a stem belong to.
fn owners(plan: &Plan, wires: &Wires, stems: &Stems) -> FxHashMap<(u32, Stem), u32> {
    let mut counts: FxHashMap<(u32, Stem), Vec<(u32, u32)>> = FxHashMap::default();
    for appliance in 0..plan.appliances.len() {
        for wired in wires.of_appliance(appliance).1 {
            let Some(stem) = wired.row.and_then(|row| stems.stem(wired.bus, row)) else { continue };
            let of_stem = counts.entry((wired.bus, stem)).or_default();
            match of_stem.last_mut().filter(|(owner, _)| *owner == wired.appliance) {
                Some((_, count)) => *count += 1,
                None => of_stem.push((wired.appliance, 1)),
            }
        }
    }
    let most = |owners: &[(u32, u32)]| {
        let best = owners.iter().map(|(_, count)| *count).max()?;
        let mut best = owners.iter().filter(|(_, count)| *count == best);
        let (owner, _) = best.next()?;
        best.next().is_none().then_some(*owner)
    };
    counts.into_iter().filter_map(|(key, owners)| Some((key, most(&owners)?))).collect()
}

/// A wire that something speaks against, before it is known what happened.
struct Charge {
    wire: u32,
    right: Option<GroupAddress>,
    weight: f64,
    evidence: Vec<Evidence>,
}

struct Search<'a> {
    plan: &'a Plan,
    wires: &'a Wires,
    offsets: &'a Offsets,
    stems: &'a Stems,
    uses: &'a Uses,
    notation: Notation,
    owners: FxHashMap<(u32, Stem), u32>,
}

/// From this weight on a wire is suspect.
const ENOUGH: f64 = 1.0;

impl Search<'_> {
    fn charge(&self, appliance: usize, charges: &mut Vec<Charge>) {
        let (start, own) = self.wires.of_appliance(appliance);
        let voices: Vec<Voices> = own.iter().map(|wired| self.habit_voices(wired, own, start)).collect();
        let majority = self.majority(own);
        for ((wired, voices), index) in own.iter().zip(&voices).zip(start..) {
            let against = f64::from(voices.against);
            let mut weight = if voices.against == 0 {
                0.0
            } else if voices.for_it == 0 && own.len() > 2 {
                // More than one sibling, and none speaks for it.
                against.min(2.0) * 0.6
            } else {
                (against - f64::from(voices.for_it) * 1.5).max(0.0) * 0.5
            };
            let mut evidence = voices.evidence.clone();
            let mut right = voices.right.filter(|right| self.is_there(wired, *right));
            weight += self.second_opinion(wired, own, voices.right, right);
            if weight > 0.0 && own.len() == 2 {
                weight += self.misnamed(wired, own);
            }
            if let Some((stem, siblings)) = majority
                && let Some(own_stem) = wired.row.and_then(|row| self.stems.stem(wired.bus, row))
                && own_stem != stem
                && let Some(by_name) = self.row_with(wired, stem)
            {
                let foreign =
                    self.owners.get(&(wired.bus, own_stem)).is_some_and(|owner| *owner != wired.appliance);
                weight += if foreign || siblings > 1 { 1.0 } else { 0.6 };
                evidence.push(Evidence::Row { siblings });
                right = right.filter(|right| *right == by_name).or(Some(by_name));
            } else if majority.is_some_and(|(stem, _)| {
                wired.row.and_then(|row| self.stems.stem(wired.bus, row)) == Some(stem)
            }) {
                // The name speaks for it.
                weight -= 0.4;
            }
            if weight > 0.0 && !evidence.is_empty() {
                charges.push(Charge { wire: narrow(index), right, weight, evidence });
            }
        }
    }

    /// Of two wires that are too far apart, which one is wrong? The one for which the habit leads to an address that the
    /// table has, and all the more if that row is named like the sibling's; without a table the feedback, since a
    /// wrong command is noticed on the first day.
    fn second_opinion(
        &self,
        wired: &Wired,
        own: &[Wired],
        wanted: Option<GroupAddress>,
        right: Option<GroupAddress>,
    ) -> f64 {
        let Some(wanted) = wanted.filter(|_| own.len() == 2) else { return 0.0 };
        let table = self.plan.buses.get(wired.bus as usize).and_then(|bus| bus.table.as_ref());
        let Some(table) = table else { return if wired.role == Role::Feedback { 0.5 } else { -0.3 } };
        if right.is_none() {
            return -0.3;
        }
        let stem_at = |address: GroupAddress| {
            table.by_address.get(&address).and_then(|&row| self.stems.stem(wired.bus, narrow(row)))
        };
        let sibling =
            own.iter().find(|other| other.role != wired.role).and_then(|other| stem_at(other.address));
        match (stem_at(wanted), sibling) {
            (Some(wanted), Some(sibling)) if wanted == sibling => 0.6,
            (Some(_), Some(_)) => -0.3,
            (None, _) | (_, None) => 0.1,
        }
    }

    /// How much less a wire's row is named like its appliance than the sibling's row is.
    fn misnamed(&self, wired: &Wired, own: &[Wired]) -> f64 {
        let Some(appliance) = self.plan.appliances.get(wired.appliance as usize) else { return 0.0 };
        let room = self.plan.rooms.get(appliance.room).map_or("", |room| room.name.value.as_str());
        let spoken = heard(&format!("{} {} {room}", appliance.name.value, appliance.key.value));
        let named = |wired: &Wired| wired.row.map_or(0.0, |row| self.stems.named_in(wired.bus, row, &spoken));
        let sibling = own.iter().find(|other| other.role != wired.role).map_or(0.0, named);
        (sibling - named(wired)) * 0.3
    }

    /// What the siblings say by their habitual distances.
    fn habit_voices(&self, wired: &Wired, own: &[Wired], start: usize) -> Voices {
        let mut voices = Voices::default();
        let mut said: Vec<(GroupAddress, u32)> = Vec::new();
        for (other, index) in own.iter().zip(start..) {
            if (other.point, other.role) == (wired.point, wired.role) {
                continue;
            }
            let Some(habit) = self.offsets.between(other, wired) else { continue };
            match habit.distance.from(other.address, self.notation) {
                Some(wanted) if wanted == wired.address => voices.for_it += 1,
                wanted => {
                    voices.against += 1;
                    voices.evidence.push(Evidence::Habit { habit, from: narrow(index) });
                    if let Some(wanted) = wanted {
                        match said.iter_mut().find(|(address, _)| *address == wanted) {
                            Some((_, count)) => *count += 1,
                            None => said.push((wanted, 1)),
                        }
                    }
                }
            }
        }
        voices.right = said
            .into_iter()
            .max_by_key(|(address, count)| (*count, std::cmp::Reverse(*address)))
            .map(|(address, _)| address);
        voices
    }

    /// The stem that most rows of an appliance have, and how many; none where two are as good and neither is known to be
    /// the appliance's own.
    fn majority(&self, own: &[Wired]) -> Option<(Stem, u32)> {
        let mut counts: Vec<(Stem, u32)> = Vec::new();
        for wired in own {
            let Some(stem) = wired.row.and_then(|row| self.stems.stem(wired.bus, row)) else { continue };
            match counts.iter_mut().find(|(other, _)| *other == stem) {
                Some((_, count)) => *count += 1,
                None => counts.push((stem, 1)),
            }
        }
        counts.sort_by_key(|(stem, count)| (std::cmp::Reverse(*count), *stem));
        match counts.as_slice() {
            [(stem, most), (_, next), ..] if most > next => Some((*stem, *most)),
            [(stem, most)] if *most > 1 => Some((*stem, *most)),
            _ => None,
        }
    }

    /// The row of a stem whose function words fit the wire best, if it is free or plainly better than others.
    fn row_with(&self, wired: &Wired, stem: Stem) -> Option<GroupAddress> {
        let table = self.plan.buses.get(wired.bus as usize)?.table.as_ref()?;
        let mut fits: Vec<(f64, GroupAddress)> = self
            .stems
            .rows_of(wired.bus, stem)
            .iter()
            .filter_map(|&row| {
                let address = table.rows.get(row as usize)?.address.value;
                Some((self.stems.fit(wired.bus, row, wired.kind), address))
            })
            .filter(|(fit, _)| *fit >= 0.3)
            .collect();
        fits.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        match fits.as_slice() {
            [(_, only)] => Some(*only),
            [(best, address), (next, _), ..] if best > next => Some(*address),
            _ => None,
        }
    }

    /// Whether an address is in the table; where there is no table, every address may be.
    fn is_there(&self, wired: &Wired, address: GroupAddress) -> bool {
        let table = self.plan.buses.get(wired.bus as usize).and_then(|bus| bus.table.as_ref());
        table.is_none_or(|table| table.row(address).is_some())
    }

    /// Finds exchanges, and keeps what is heavy enough.
    fn settle(&self, charges: Vec<Charge>) -> Vec<Suspect> {
        let by_wire: FxHashMap<u32, usize> =
            charges.iter().enumerate().map(|(index, charge)| (charge.wire, index)).collect();
        let mut told: Vec<bool> = vec![false; charges.len()];
        let mut suspects = Vec::new();
        // The heaviest first: of two wires that may have been exchanged the one with more against it; feedbacks before
        // commands, since a wrong command is noticed on the first day.
        let mut order: Vec<(usize, &Charge)> = charges.iter().enumerate().collect();
        let role = |charge: &Charge| self.wires.all.get(charge.wire as usize).map(|wired| wired.role);
        order.sort_by(|(_, a), (_, b)| {
            b.weight.total_cmp(&a.weight).then(role(b).cmp(&role(a))).then(a.wire.cmp(&b.wire))
        });
        let mut pairs: FxHashSet<(u32, u32)> = FxHashSet::default();
        for (index, charge) in order {
            if told.get(index).copied().unwrap_or(true) {
                continue;
            }
            let Some(wired) = self.wires.all.get(charge.wire as usize) else { continue };
            let holder = charge.right.and_then(|right| self.holder(wired, right));
            let partner =
                holder.and_then(|holder| by_wire.get(&holder)).and_then(|&at| Some((at, charges.get(at)?)));
            let exchanged = partner.filter(|(_, partner)| partner.right == Some(wired.address));
            if let Some((at, partner)) =
                exchanged.filter(|(_, partner)| charge.weight + partner.weight >= ENOUGH)
            {
                if let Some(told) = told.get_mut(at) {
                    *told = true;
                }
                let owner =
                    |wire: u32| self.wires.all.get(wire as usize).map_or(wire, |wired| wired.appliance);
                let (one, other) = (owner(charge.wire), owner(partner.wire));
                if one == other || pairs.insert((one.min(other), one.max(other))) {
                    suspects.push(self.suspect(charge, Slip::Exchanged { with: partner.wire }));
                }
            } else if charge.weight >= ENOUGH {
                suspects.push(self.suspect(charge, Slip::Alone));
            }
        }
        suspects
    }

    fn suspect(&self, charge: &Charge, slip: Slip) -> Suspect {
        Suspect { wire: charge.wire, right: charge.right, slip, evidence: charge.evidence.clone() }
    }

    /// The wire of the same role that has an address.
    fn holder(&self, wired: &Wired, address: GroupAddress) -> Option<u32> {
        let used =
            self.uses.of_address(wired.bus as usize, address).find(|used| used.role != Role::Listens)?;
        let (start, own) = self.wires.of_appliance(used.appliance as usize);
        let at = own.iter().position(|other| other.point == used.point && other.role == used.role)?;
        Some(narrow(start + at))
    }
}

/// What the siblings of a wire say.
#[derive(Default)]
struct Voices {
    for_it: u32,
    against: u32,
    right: Option<GroupAddress>,
    evidence: Vec<Evidence>,
}
