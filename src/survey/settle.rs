//! What happened: finds exchanges among the wires that something speaks against, and keeps what is heavy enough.

use super::marks::Judge;
use super::offsets::Verdict;
use super::suspects::{Charge, Evidence, Slip, Suspect};
use super::wires::{Wired, narrow};
use crate::knx::GroupAddress;
use crate::resolve::plan::Role;
use crate::sort;
use rustc_hash::{FxHashMap, FxHashSet};

/// From this weight on a wire is suspect.
const ENOUGH: f64 = 1.2;

/// Two halves of an exchange confirm each other.
const ENOUGH_TOGETHER: f64 = 1.2;

/// An address that more wires have was not exchanged.
const MOST_HOLDERS: usize = 16;

/// From so many on it was the names of the table that moved.
const NAMES: usize = 3;

/// From so many appliances on it was the rooms that were exchanged.
const ROOMS: usize = 3;

struct Settling<'a> {
    judge: Judge<'a>,
    charges: &'a [Charge],
    by_wire: FxHashMap<u32, usize>,
    told: FxHashSet<u32>,
    /// Where wires that were told will lie.
    moved: FxHashMap<u32, GroupAddress>,
    /// By the two appliances of an exchange, which suspect tells it.
    pairs: FxHashMap<(u32, u32, bool), usize>,
    /// By an appliance whose rows all name another, which suspect tells it.
    displaced: FxHashMap<u32, usize>,
    suspects: Vec<Suspect>,
}

pub(super) fn settle(judge: Judge<'_>, charges: Vec<Charge>) -> Vec<Suspect> {
    let by_wire = charges.iter().enumerate().map(|(index, charge)| (charge.wire, index)).collect();
    // The heaviest first: of two wires that may be wrong the one with more against it; feedbacks before commands, since a
    // wrong command is noticed on the first day.
    let mut order: Vec<&Charge> = charges.iter().collect();
    let role = |charge: &Charge| judge.wires.all.get(charge.wire as usize).map(|wired| wired.role);
    sort::by(&mut order, |a, b| {
        b.weight.total_cmp(&a.weight).then(role(b).cmp(&role(a))).then(a.wire.cmp(&b.wire))
    });
    let mut settling = Settling {
        judge,
        charges: &charges,
        by_wire,
        told: FxHashSet::default(),
        moved: FxHashMap::default(),
        pairs: FxHashMap::default(),
        displaced: FxHashMap::default(),
        suspects: Vec::new(),
    };
    for charge in &order {
        settling.exchanged(charge);
    }
    settling.names_slipped();
    for charge in &order {
        settling.alone(charge);
    }
    settling.take_back();
    settling.rooms();
    let mut suspects = settling.suspects;
    sort::by_key(&mut suspects, |suspect| suspect.wire);
    suspects
}

impl Settling<'_> {
    fn wired(&self, wire: u32) -> Option<&Wired> {
        self.judge.wires.all.get(wire as usize)
    }

    /// Tells an exchange, once for two appliances.
    fn exchanged(&mut self, charge: &Charge) {
        if self.told.contains(&charge.wire) {
            return;
        }
        if self.is_answered(charge) {
            return;
        }
        let Some((with, partner)) = self.partner(charge) else { return };
        let owner = |wire: u32| self.wired(wire).map_or(wire, |wired| wired.appliance);
        let (one, other) = (owner(charge.wire), owner(with));
        let rows = charge.misnamed && partner.is_some_and(|partner| partner.misnamed);
        if !rows && charge.weight + partner.map_or(0.0, |partner| partner.weight) < ENOUGH_TOGETHER {
            return;
        }
        self.told.insert(charge.wire);
        self.told.insert(with);
        if !rows {
            self.exchange(charge.wire, with);
        }
        let silent = if rows { Vec::new() } else { self.silent(charge.wire, with) };
        let pair = (one.min(other), one.max(other), rows);
        match self.pairs.get(&pair).and_then(|&first| self.suspects.get_mut(first)) {
            Some(first) => first.also.extend(std::iter::once((charge.wire, with)).chain(silent)),
            None => {
                self.pairs.insert(pair, self.suspects.len());
                let slip = if rows { Slip::RowsExchanged { with } } else { Slip::Exchanged { with } };
                self.suspects.push(Suspect { also: silent, ..suspect(charge, slip) });
            }
        }
    }

    /// What was exchanged with two wires of two appliances, and no row says so: ends that keep the habits of the house as they
    /// are, and would break them if these two alone were put right.
    fn silent(&mut self, one: u32, other: u32) -> Vec<(u32, u32)> {
        let (Some(&first), Some(&second)) = (self.wired(one), self.wired(other)) else { return Vec::new() };
        if first.appliance == second.appliance || first.function != second.function {
            return Vec::new();
        }
        let judge = self.judge;
        let is_free = |wired: &Wired, index: u32| {
            !wired.shared && judge.is_nameless(wired) && !self.told.contains(&index)
        };
        let right = Wired { address: second.address, ..first };
        let (start, own) = judge.wires.of_appliance(first.appliance as usize);
        let (their_start, theirs) = judge.wires.of_appliance(second.appliance as usize);
        let mut pairs = Vec::new();
        for (mine, index) in own.iter().zip(start..).map(|(wired, index)| (wired, narrow(index))) {
            let Some(at) = theirs.iter().position(|wired| wired.function == mine.function) else { continue };
            let (Some(their), their_index) = (theirs.get(at), narrow(their_start + at)) else { continue };
            if !is_free(mine, index) || !is_free(their, their_index) {
                continue;
            }
            let at = |address| judge.learned.offsets.judge(&right, mine, address);
            if matches!(at(mine.address), Verdict::Broken(_)) && at(their.address) == Verdict::Kept {
                pairs.push((index, their_index));
            }
        }
        for (mine, their) in &pairs {
            self.told.extend([*mine, *their]);
            self.exchange(*mine, *their);
        }
        pairs
    }

    /// Notes where two wires will lie.
    fn exchange(&mut self, one: u32, other: u32) {
        let address = |wire: u32| self.wired(wire).map(|wired| wired.address);
        if let (Some(first), Some(second)) = (address(one), address(other)) {
            self.moved.extend([(one, second), (other, first)]);
        }
    }

    /// Whether the habits of the house are all that speaks against a wire, and what was told already has them kept: of two
    /// statuses that were exchanged the commands are right.
    fn is_answered(&self, charge: &Charge) -> bool {
        let by_habit = charge.evidence.iter().all(|evidence| matches!(evidence, Evidence::Habit { .. }));
        by_habit
            && !charge.opponents.is_empty()
            && charge.opponents.iter().all(|opponent| {
                self.moved.contains_key(opponent) && !self.breaks(*opponent, charge.wire, None)
            })
    }

    /// Whether a wire will break a habit, seen from another of its appliance; `at` an address, or where it will lie.
    fn breaks(&self, from: u32, wire: u32, at: Option<GroupAddress>) -> bool {
        let (Some(from_wired), Some(wired)) = (self.wired(from), self.wired(wire)) else { return false };
        let will_lie = |wire: u32, wired: &Wired| self.moved.get(&wire).copied().unwrap_or(wired.address);
        let seen_from = Wired { address: will_lie(from, from_wired), ..*from_wired };
        let at = at.unwrap_or_else(|| will_lie(wire, wired));
        matches!(self.judge.learned.offsets.judge(&seen_from, wired, at), Verdict::Broken(_))
    }

    /// An exchange after which the same would be found again is none: what is left is that something is wrong.
    fn take_back(&mut self) {
        let mut suspects = std::mem::take(&mut self.suspects);
        for suspect in &mut suspects {
            let is_exchange = matches!(suspect.slip, Slip::Exchanged { .. });
            let still = suspect.evidence.iter().any(|evidence| match evidence {
                Evidence::Habit { from, .. } => self.breaks(*from, suspect.wire, None),
                Evidence::Row { .. } | Evidence::Function | Evidence::Words | Evidence::Room { .. } => false,
            });
            if is_exchange && still {
                *suspect = Suspect {
                    right: None,
                    slip: Slip::Alone,
                    also: Vec::new(),
                    with: Vec::new(),
                    ..suspect.clone()
                };
            }
        }
        self.suspects = suspects;
    }

    /// The other half of an exchange: the wire that has this one's right address, and whose right address this one has.
    fn partner(&self, charge: &Charge) -> Option<(u32, Option<&Charge>)> {
        let wired = self.wired(charge.wire)?;
        let holders = charge.right.map(|right| self.holders(wired, right)).unwrap_or_default();
        let free = |holder: u32| !self.told.contains(&holder) && holder != charge.wire;
        let charge_of = |holder: u32| self.charges.get(*self.by_wire.get(&holder)?);
        let mutual = holders.iter().copied().filter(|holder| free(*holder)).find_map(|holder| {
            let partner = charge_of(holder)?;
            (partner.right == Some(wired.address)).then_some((holder, Some(partner)))
        });
        // All rows of this appliance are another one's, and it has nobody else's: that one's names may say too little.
        let mine_alone = || self.holders(wired, wired.address).len() == 1;
        let mutual = mutual.or_else(|| {
            let holder = self.holder_of_name(charge)?;
            let partner = charge_of(holder).filter(|partner| partner.named == Some(wired.address))?;
            Some((holder, Some(partner)))
        });
        mutual.or_else(|| {
            let silent = |holder: u32| charge_of(holder).is_none_or(|partner| partner.right.is_none());
            let willing = || holders.iter().copied().filter(|holder| free(*holder) && silent(*holder));
            let same = |holder: u32| self.wired(holder).is_some_and(|other| other.function == wired.function);
            let taken = || is_displaced(charge).then(|| willing().find(|holder| same(*holder))).flatten();
            let given_back = || willing().find(|holder| self.takes_back(wired, *holder));
            mine_alone().then(|| taken().or_else(given_back)).flatten().map(|holder| (holder, None))
        })
    }

    /// The wire at whose address the name of another's row stands, where its own row is named for something else as well.
    fn holder_of_name(&self, charge: &Charge) -> Option<u32> {
        let wired = self.wired(charge.wire)?;
        let holders = self.holders(wired, charge.named?);
        let is_misnamed = |holder: &u32| {
            let holder = self.by_wire.get(holder).and_then(|index| self.charges.get(*index));
            holder.is_some_and(|holder| holder.misnamed && !self.told.contains(&holder.wire))
        };
        holders.into_iter().find(|holder| *holder != charge.wire && is_misnamed(holder))
    }

    /// Tells once that names of rows have moved along: each wire lies right, and its name stands at the next one's address.
    fn names_slipped(&mut self) {
        let free = |charge: &&Charge| charge.misnamed && !self.told.contains(&charge.wire);
        let pair = |charge: &Charge| Some((charge.wire, self.holder_of_name(charge)?));
        let mut pairs: Vec<(u32, u32)> = self.charges.iter().filter(free).filter_map(pair).collect();
        pairs.sort_unstable();
        let [(first, with), also @ ..] = pairs.as_slice() else { return };
        let charge = self.by_wire.get(first).and_then(|index| self.charges.get(*index));
        let Some(charge) = charge.filter(|_| pairs.len() >= NAMES) else { return };
        let told = suspect(charge, Slip::RowsSlipped { with: *with });
        self.suspects.push(Suspect { also: also.to_vec(), ..told });
        self.told.extend(pairs.iter().flat_map(|(wire, with)| [*wire, *with]));
    }

    /// Whether a wire, which has the right address of another, would have its own in the one that the other has: by the rest of
    /// its appliance's rows, or, where it is all that the appliance has, since that row says as much of it as the one it has.
    fn takes_back(&self, wired: &Wired, holder: u32) -> bool {
        let Some(other) = self.wired(holder) else { return false };
        let learned = self.judge.learned;
        let stem = |wired: &Wired| wired.row.and_then(|row| learned.stems.stem(wired.bus, row));
        let (Some(given), Some(held)) = (stem(wired), stem(other)) else { return false };
        let like =
            |stem| learned.owners.likeness(stem, other.appliance as usize, &learned.stems, &learned.tokens);
        let is_home = self.judge.home(other).is_some_and(|home| home.stem == given);
        let (_, own) = self.judge.wires.of_appliance(other.appliance as usize);
        let is_all = own.iter().filter(|wired| !wired.shared).count() == 1;
        (other.bus, other.function) == (wired.bus, wired.function)
            && given != held
            && (is_home || (is_all && like(given) >= like(held)))
            && self.judge.can_be(other, wired.address)
    }

    /// The commands and feedbacks that have an address, as far as they can be halves of an exchange.
    fn holders(&self, wired: &Wired, address: GroupAddress) -> Vec<u32> {
        let uses = self.judge.uses.of_address(wired.bus as usize, address);
        uses.filter(|used| used.role != Role::Listens)
            .take(MOST_HOLDERS)
            .filter_map(|used| {
                let (start, own) = self.judge.wires.of_appliance(used.appliance as usize);
                let at = own.iter().position(|other| other.point == used.point && other.role == used.role)?;
                Some(narrow(start + at))
            })
            .collect()
    }

    fn alone(&mut self, charge: &Charge) {
        if self.told.contains(&charge.wire) || charge.weight < ENOUGH || charge.misnamed {
            return;
        }
        let by_habit = charge.evidence.iter().all(|evidence| matches!(evidence, Evidence::Habit { .. }));
        let answered = !charge.opponents.is_empty()
            && charge.opponents.iter().all(|opponent| self.told.contains(opponent));
        if by_habit && answered {
            return;
        }
        let right = charge.right.filter(|right| !self.has_already(charge.wire, *right));
        if right != charge.right && charge.weight_alone < ENOUGH {
            return;
        }
        self.told.insert(charge.wire);
        self.moved.extend(right.map(|right| (charge.wire, right)));
        let displaced = is_displaced(charge);
        let owner = self.wired(charge.wire).map(|wired| wired.appliance);
        let first = owner.filter(|_| displaced).and_then(|owner| self.displaced.get(&owner).copied());
        match (first.and_then(|first| self.suspects.get_mut(first)), right) {
            (Some(first), Some(right)) => first.with.push((charge.wire, right)),
            (Some(_) | None, _) => {
                if let Some(owner) = owner.filter(|_| displaced) {
                    self.displaced.insert(owner, self.suspects.len());
                }
                self.suspects.push(Suspect { right, ..suspect(charge, Slip::Alone) });
            }
        }
    }

    /// Whether the appliance of a wire has an address at another end, which nothing speaks against.
    fn has_already(&self, wire: u32, address: GroupAddress) -> bool {
        let Some(wired) = self.wired(wire) else { return false };
        let (start, own) = self.judge.wires.of_appliance(wired.appliance as usize);
        let sound = |index: usize| !self.by_wire.contains_key(&narrow(index));
        own.iter().zip(start..).any(|(other, index)| other.address == address && sound(index))
    }

    /// Appliances of two rooms that were all exchanged are one mistake.
    fn rooms(&mut self) {
        let room = |wire: u32| {
            let appliance = self.judge.wires.all.get(wire as usize)?.appliance;
            self.judge.plan.appliances.get(appliance as usize).map(|appliance| appliance.room)
        };
        let mut by_rooms: FxHashMap<(usize, usize), Vec<usize>> = FxHashMap::default();
        for (index, suspect) in self.suspects.iter().enumerate() {
            let whole = suspect.evidence.contains(&Evidence::Row { siblings: 0 });
            if let (Slip::Exchanged { with }, true) = (suspect.slip, whole)
                && let (Some(one), Some(other)) = (room(suspect.wire), room(with))
                && one != other
            {
                by_rooms.entry((one.min(other), one.max(other))).or_default().push(index);
            }
        }
        let mut gone: FxHashSet<usize> = FxHashSet::default();
        let mut by_rooms: Vec<Vec<usize>> = by_rooms.into_values().collect();
        by_rooms.sort_unstable();
        for indices in by_rooms.into_iter().filter(|indices| indices.len() >= ROOMS) {
            let Some((&first, rest)) = indices.split_first() else { continue };
            for &index in rest {
                let Some(other) = self.suspects.get(index).cloned() else { continue };
                let Slip::Exchanged { with } = other.slip else { continue };
                if let Some(first) = self.suspects.get_mut(first) {
                    first.also.push((other.wire, with));
                    first.also.extend(other.also);
                }
                gone.insert(index);
            }
        }
        let mut index = 0;
        self.suspects.retain(|_| {
            index += 1;
            !gone.contains(&(index - 1))
        });
    }
}

/// Whether all rows of the wire's appliance name another one.
fn is_displaced(charge: &Charge) -> bool {
    charge.evidence.contains(&Evidence::Row { siblings: 0 })
}

fn suspect(charge: &Charge, slip: Slip) -> Suspect {
    let evidence = charge.evidence.clone();
    Suspect { wire: charge.wire, right: charge.right, slip, also: Vec::new(), with: Vec::new(), evidence }
}
