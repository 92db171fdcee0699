//! Wires that break what the rest of the house keeps, and the address that would keep it.
//!
//! For each wire the address that is written is marked, and so is every address that could be meant: by the habitual
//! distance from a sibling, or by a row that is named like the appliance's others. Where another address is plainly
//! better the wire is suspect; two suspects that have each other's address were exchanged.

use super::marks::{Breach, Judge, Mark};
use super::offsets::{Habit, Verdict};
use super::wires::{Wired, narrow};
use super::{displaced, elsewhere, settle};
use crate::knx::GroupAddress;
use crate::pieces;
use crate::sort;

/// What speaks against a wire.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Evidence {
    /// It does not lie where nearly all others of its kind do.
    Habit {
        /// The habit.
        habit: Habit,
        /// Index in [`Wires::all`](super::Wires::all) of the sibling from which the distance counts.
        from: u32,
    },
    /// Its row in the table names another appliance than its siblings' rows do.
    Row {
        /// How many siblings have the other name; 0 where all rows name another appliance.
        siblings: u32,
    },
    /// Its row in the table has the function words of another kind of wire.
    Function,
    /// By the words of the trade its row is called what the one that it was exchanged with is, and the other way round.
    Words,
    /// All rows of the appliance name one other room, unlike those of its room's other appliances.
    Room {
        /// The index of the room that they name.
        said: u32,
        /// How many others of the appliance's own room have rows that name it.
        others: u32,
    },
}

/// What seems to have happened.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slip {
    /// One address is wrong.
    Alone,
    /// It was exchanged with the wire at this index in [`Wires::all`](super::Wires::all).
    Exchanged {
        /// The other half.
        with: u32,
    },
    /// Both addresses lie where they should; the names of their rows were exchanged.
    RowsExchanged {
        /// The other half.
        with: u32,
    },
    /// The address lies where it should, and so do others; the names of their rows stand at each other's.
    RowsSlipped {
        /// The wire at whose address its name stands.
        with: u32,
    },
}

/// A wire that is probably wrong.
#[derive(Clone, Debug)]
pub struct Suspect {
    /// Index in [`Wires::all`](super::Wires::all).
    pub wire: u32,
    /// The address that would be right, if one is known.
    pub right: Option<GroupAddress>,
    /// What seems to have happened.
    pub slip: Slip,
    /// Further pairs of wires that were exchanged with it: an appliance has several, and a room has several appliances.
    pub also: Vec<(u32, u32)>,
    /// Further wires of the appliance that are wrong with it, with the addresses that would be right.
    pub with: Vec<(u32, GroupAddress)>,
    /// Why, the strongest first.
    pub evidence: Vec<Evidence>,
}

impl Suspect {
    /// Two ends of one appliance that lie in each other's rows.
    pub(super) fn crossed((wire, with): (u32, u32), also: &[(u32, u32)]) -> Self {
        Self {
            wire,
            right: None,
            slip: Slip::Exchanged { with },
            also: also.to_vec(),
            with: Vec::new(),
            evidence: vec![Evidence::Words],
        }
    }

    /// All wires that something is said of.
    pub fn told(&self) -> impl Iterator<Item = u32> {
        let also = self.also.iter().flat_map(|(one, other)| [*one, *other]);
        self.wires().chain(also).chain(self.with.iter().map(|(wire, _)| *wire))
    }

    /// The wire, and what it was exchanged with.
    pub(super) fn wires(&self) -> impl Iterator<Item = u32> {
        let with = match self.slip {
            Slip::Exchanged { with } | Slip::RowsExchanged { with } | Slip::RowsSlipped { with } => {
                Some(with)
            }
            Slip::Alone => None,
        };
        std::iter::once(self.wire).chain(with)
    }
}

/// A wire that something speaks against, before it is known what happened.
#[derive(Debug)]
pub(super) struct Charge {
    pub(super) wire: u32,
    pub(super) right: Option<GroupAddress>,
    pub(super) weight: f64,
    /// What speaks against it when nothing better is known.
    pub(super) weight_alone: f64,
    pub(super) evidence: Vec<Evidence>,
    /// The siblings whose habits are broken.
    pub(super) opponents: Vec<u32>,
    /// The address lies right, only the row is named for something else.
    pub(super) misnamed: bool,
    /// Then the address whose row is named for this, of whatever type it is.
    pub(super) named: Option<GroupAddress>,
}

/// From this weight on a wire may be half of an exchange.
const SOME: f64 = 0.35;

/// What half of an exchange weighs that the habits alone show: not enough by itself.
const EXCHANGED: f64 = 0.7;

/// A row names an appliance by itself from this likeness on.
const NAMED: f64 = 0.75;

/// The suspects of a plan.
pub(super) fn find(judge: Judge<'_>, said: &[Option<u32>]) -> Vec<Suspect> {
    let charges = pieces::flat(judge.plan.appliances.len(), pieces::LIGHT, |range, charges| {
        for appliance in range {
            let (start, own) = judge.wires.of_appliance(appliance);
            let is_displaced =
                own.first().and_then(|first| judge.home(first)).is_some_and(|home| home.wires == 0);
            if is_displaced {
                charges.extend(displaced::charges(judge, start, own));
            } else {
                charges
                    .extend(own.iter().zip(start..).filter_map(|(wired, index)| charge(judge, wired, index)));
            }
        }
    });
    let elsewhere = elsewhere::find(judge, &charges, said);
    let mut suspects = settle::settle(judge, charges);
    suspects.extend(elsewhere);
    sort::by_key(&mut suspects, |suspect| suspect.wire);
    suspects
}

fn charge(judge: Judge<'_>, wired: &Wired, index: usize) -> Option<Charge> {
    let table = judge.table(wired);
    if table.is_some() && wired.row.is_none() {
        // That the table does not have it is said already.
        return None;
    }
    let mark = judge.mark(wired, wired.address, true);
    let mut evidence: Vec<Evidence> = mark
        .breaches
        .iter()
        .map(|breach| Evidence::Habit { habit: breach.habit, from: breach.from })
        .collect();
    if mark.habit > -0.3 {
        evidence.clear();
    }
    if mark.name < -0.4 {
        evidence.push(Evidence::Row { siblings: judge.home(wired).map_or(0, |home| home.wires) });
    }
    if mark.fit < 0.35 {
        evidence.push(Evidence::Function);
    }
    if evidence.is_empty() {
        return None;
    }
    if let Some(charge) = exchanged_by_habit(judge, wired, index, &mark, &evidence) {
        return Some(charge);
    }
    let best = judge.best(wired, Some(wired.address));
    // The written row is an own one and plainly for this; the better one would be for something else.
    if best.as_ref().is_some_and(|(_, best)| best.name <= mark.name && best.fit + 0.3 < mark.fit) {
        return None;
    }
    // The written row names the appliance itself and what it is for, whatever lies where the habits lead: a lamp that was given
    // another number, where its old one was used again.
    let is_named = judge.home(wired).is_some_and(|home| home.likeness >= NAMED);
    let is_own = mark.name >= 1.0 && mark.fit > 0.5 && is_named;
    if is_own && best.as_ref().is_some_and(|(_, best)| best.name < mark.name) {
        return None;
    }
    // The address lies where the house has such ones, and its row is named for something else: for another appliance,
    // or, where another row of this one is named for this, for another function.
    let other_function = |best: &Mark| mark.fit < 0.1 && best.fit > 0.7 && best.name >= mark.name;
    let by_function = best.as_ref().is_some_and(|(_, best)| other_function(best));
    let misnamed = mark.habit > 0.5 && (mark.name < -0.4 || by_function);
    let named = if misnamed { judge.named(wired) } else { None };
    let weight_alone = weight_alone(judge, wired, &mark, table.is_some());
    let weight = match &best {
        // An own row that is plainly for this, where the written one is plainly for something else.
        Some((_, best)) if best.fit - mark.fit > 0.6 && best.name >= mark.name => {
            best.total() - mark.total() + 0.5
        }
        Some((_, best)) => best.total() - mark.total(),
        None => weight_alone,
    };
    let weight = if misnamed { weight.max(1.0) } else { weight };
    let right = best.map(|(address, _)| address);
    let opponents = mark.breaches.iter().map(|breach| breach.from).collect();
    let wire = narrow(index);
    let charge = Charge { wire, right, weight, weight_alone, evidence, opponents, misnamed, named };
    (weight >= SOME).then_some(charge)
}

/// Where rows have no names, the habits are all there is: two ends of an appliance that would keep them in each other's place.
fn exchanged_by_habit(
    judge: Judge<'_>,
    wired: &Wired,
    index: usize,
    mark: &Mark,
    evidence: &[Evidence],
) -> Option<Charge> {
    if mark.habit > -1.0 || mark.breaches.is_empty() {
        return None;
    }
    // Of two rows one may have a name, if that speaks for the other end.
    let may_be = |row: &Wired, end: &Wired| {
        let fits = |end: &Wired| row.row.map(|of_row| judge.fit(end, of_row, None));
        judge.is_nameless(row) || fits(end) > fits(row)
    };
    let told_by_habit = |other: &Wired| {
        let is_nameless = judge.is_nameless(wired) || judge.is_nameless(other);
        is_nameless && may_be(wired, other) && may_be(other, wired)
    };
    let takes_mine = |breach: &Breach| {
        let other = judge.wires.all.get(breach.from as usize)?;
        let moved = Wired { address: wired.address, ..*other };
        let kept = judge.learned.offsets.judge(&moved, wired, other.address) == Verdict::Kept;
        let can_be = || judge.can_be(wired, other.address) && judge.can_be(other, wired.address);
        (kept && told_by_habit(other) && can_be()).then_some(other.address)
    };
    let right = mark.breaches.iter().find_map(takes_mine)?;
    let opponents = mark.breaches.iter().map(|breach| breach.from).collect();
    Some(Charge {
        wire: narrow(index),
        right: Some(right),
        weight: EXCHANGED,
        weight_alone: 0.0,
        evidence: evidence.to_vec(),
        opponents,
        misnamed: false,
        named: None,
    })
}

/// What speaks against a wire when nothing better is known: its row is plainly another appliance's.
fn weight_alone(judge: Judge<'_>, wired: &Wired, mark: &Mark, has_table: bool) -> f64 {
    let foreign = mark.name <= -1.0 && mark.habit <= 0.0;
    let stem = wired.row.and_then(|row| judge.learned.stems.stem(wired.bus, row));
    let owned = stem
        .and_then(|stem| judge.learned.owners.owner(wired.bus, stem))
        .is_some_and(|owner| owner != wired.appliance);
    let home = judge.home(wired).map_or(0, |home| home.wires);
    if foreign && owned && home > 1 {
        return 1.5;
    }
    if !has_table && mark.habit <= -1.0 { 1.2 } else { 0.0 }
}
