//! Ends of one appliance whose rows are each called what the other end is: the status at the command, "Störung" at the
//! smoke.
//!
//! The words of the trade are asked, for where a whole house has two ends exchanged its habits and its names were learned
//! from the mistake. Of two rows only those words count that tell them apart, and both rows have to speak against their
//! ends; a house that is right has no such pair, whatever it calls its rows.

use super::owners::Owners;
use super::said::{Said, Speech};
use super::stems::Stems;
use super::suspects::Suspect;
use super::tokens::{Tokens, Word};
use super::wires::{Function, Wired, Wires, narrow};
use crate::pieces;
use crate::resolve::Plan;
use crate::resolve::plan::{Role, Row};
use crate::sort;
use rustc_hash::{FxHashMap, FxHashSet};

/// Of so many appliances one has to be crossed, so that the habits of the house are not to be trusted.
const OF_EACH: usize = 4;

/// Two functions whose ends lie in each other's rows.
#[derive(Clone, Debug, Default)]
pub struct Crossing {
    /// How many appliances have both.
    pub of: usize,
    /// The ends by their index in [`Wires::all`](super::Wires::all), those of an appliance side by side.
    pub pairs: Vec<(u32, u32)>,
    /// Whether it is so much the habit of the house that nothing can be learned from the wires as they are.
    pub(super) is_habit: bool,
}

impl Crossing {
    /// How many appliances it is in.
    pub fn appliances(&self, wires: &Wires) -> usize {
        let appliance = |pair: &(u32, u32)| wires.all.get(pair.0 as usize).map(|wired| wired.appliance);
        self.pairs.chunk_by(|a, b| appliance(a) == appliance(b)).count()
    }

    fn wires(&self) -> impl Iterator<Item = u32> {
        self.pairs.iter().flat_map(|(one, other)| [*one, *other])
    }
}

/// All wires of crossings.
pub(super) fn all_wires(crossings: &[Crossing]) -> FxHashSet<u32> {
    crossings.iter().flat_map(Crossing::wires).collect()
}

/// Leaves out the pairs of which a wire is told otherwise.
pub(super) fn leave_out(crossings: &mut [Crossing], is_told: impl Fn(u32) -> bool) {
    for crossing in crossings {
        crossing.pairs.retain(|(one, other)| !is_told(*one) && !is_told(*other));
    }
}

/// Has each crossing told once: those that are no habit only where the suspects do not tell them, one of a single appliance
/// as a suspect, and nothing else of the wires of the others.
pub(super) fn settle(crossings: &mut Vec<Crossing>, suspects: &mut Vec<Suspect>, wires: &Wires) {
    let told: FxHashSet<u32> = suspects.iter().flat_map(Suspect::told).collect();
    for crossing in crossings.iter_mut().filter(|crossing| !crossing.is_habit) {
        crossing.pairs.retain(|(one, other)| !told.contains(one) && !told.contains(other));
    }
    let crossed = all_wires(crossings);
    suspects.retain(|suspect| !suspect.told().any(|wire| crossed.contains(&wire)));
    crossings.retain(|crossing| {
        let several = crossing.appliances(wires) > 1;
        if let (false, [first, also @ ..]) = (several, crossing.pairs.as_slice()) {
            suspects.push(Suspect::crossed(*first, also));
        }
        several
    });
    sort::by_key(suspects, |suspect| suspect.wire);
}

/// What the rows of a plan are asked with.
pub(super) struct Looking<'a> {
    pub(super) plan: &'a Plan,
    pub(super) wires: &'a Wires,
    pub(super) stems: &'a Stems,
    pub(super) owners: &'a Owners,
    pub(super) tokens: &'a Tokens,
}

/// An end with what its row says.
struct End<'a> {
    index: u32,
    wired: &'a Wired,
    words: &'a [Word],
    /// Its point.
    point: u128,
    said: Said,
}

/// The crossings of a plan, in the order of their first wires.
pub(super) fn find(looking: &Looking<'_>, speech: &Speech) -> Vec<Crossing> {
    let found = pieces::flat(looking.plan.appliances.len(), pieces::LIGHT, |range, found| {
        let mut ends = Vec::new();
        range.for_each(|appliance| looking.of_appliance(appliance, speech, &mut ends, found));
    });
    looking.grouped(&found)
}

/// The wires as they would be without crossings; none where there are none.
pub(super) fn mended<'a>(wires: &Wires, crossings: impl Iterator<Item = &'a Crossing>) -> Option<Wires> {
    let mut pairs = crossings.flat_map(|crossing| &crossing.pairs).peekable();
    pairs.peek()?;
    let mut mended = wires.clone();
    for &(one, other) in pairs {
        let [first, second] =
            [one, other].map(|wire| wires.all.get(wire as usize).map(|wired| (wired.address, wired.row)));
        for (wire, end) in [(one, second), (other, first)] {
            if let (Some(wired), Some((address, row))) = (mended.all.get_mut(wire as usize), end) {
                (wired.address, wired.row) = (address, row);
            }
        }
    }
    Some(mended)
}

impl<'a> Looking<'a> {
    fn of_appliance(
        &self,
        appliance: usize,
        speech: &Speech,
        ends: &mut Vec<End<'a>>,
        found: &mut Vec<(u32, u32)>,
    ) {
        ends.clear();
        let (start, own) = self.wires.of_appliance(appliance);
        for (wired, index) in own.iter().zip(start..) {
            let Some(row) = wired.row else { continue };
            let words = self.stems.row(wired.bus, row);
            let (point, said) = (speech.point(wired.function), speech.said(words));
            ends.push(End { index: narrow(index), wired, words, point, said });
        }
        let mut crossed: Vec<(bool, u32, u32)> = Vec::new();
        for (place, one) in ends.iter().enumerate() {
            for other in ends.iter().skip(place + 1) {
                if may_be_crossed(one, other) && self.are_crossed(one, other, speech) {
                    crossed.push((!fits_ends(one, other), one.index, other.index));
                }
            }
        }
        // Of several pairs of one end that after which the rows of a status are those of feedbacks.
        crossed.sort_unstable();
        let from = found.len();
        for (_, one, other) in crossed {
            let has = |(a, b): &(u32, u32)| [*a, *b].iter().any(|end| [one, other].contains(end));
            if !found.iter().skip(from).any(has) {
                found.push((one, other));
            }
        }
    }

    fn are_crossed(&self, one: &End<'_>, other: &End<'_>, speech: &Speech) -> bool {
        let told = speech.apart([one.words, other.words], [one.point, other.point], |word| {
            let is_own = self.owners.is_own(word, one.wired.appliance as usize, self.tokens);
            (is_own, self.stems.is_function(word))
        });
        let by_words = if one.wired.point == other.wired.point {
            told.ends_crossed(one.wired.role == Role::Command, one.point)
        } else {
            told.points_crossed(one.point, other.point)
        };
        by_words && !self.would_cost(one.wired, other.wired)
    }

    /// Whether the types and flags of the two rows speak for the ends as they are.
    fn would_cost(&self, one: &Wired, other: &Wired) -> bool {
        let table = self.plan.table(one.bus as usize);
        let row = |wired: &Wired| table?.rows.get(wired.row? as usize);
        let (Some(first), Some(second)) = (row(one), row(other)) else { return true };
        let cost = |wired: &Wired, row: &Row| super::marks::row_cost(self.plan, wired, row);
        cost(one, second) + cost(other, first) > cost(one, first) + cost(other, second)
    }

    /// Pairs of the same two functions together, and whatever ends two points have exchanged.
    fn grouped(&self, found: &[(u32, u32)]) -> Vec<Crossing> {
        if found.is_empty() {
            return Vec::new();
        }
        let points = self.points();
        let mut crossings: Vec<Crossing> = Vec::new();
        let mut known: FxHashMap<(bool, [Function; 2]), usize> = FxHashMap::default();
        for &(one, other) in found {
            let wired = |wire: u32| self.wires.all.get(wire as usize);
            let (Some(first), Some(second)) = (wired(one), wired(other)) else { continue };
            let (key, turned) = key(first, second, &points);
            let group = *known.entry(key).or_insert_with(|| {
                crossings.push(Crossing::default());
                crossings.len() - 1
            });
            let pair = if turned { (other, one) } else { (one, other) };
            crossings.get_mut(group).into_iter().for_each(|crossing| crossing.pairs.push(pair));
        }
        let mut both: Vec<usize> = Vec::new();
        for appliance in 0..self.plan.appliances.len() {
            let (_, own) = self.wires.of_appliance(appliance);
            let pairs = own
                .iter()
                .enumerate()
                .flat_map(|(place, one)| own.iter().skip(place + 1).map(move |other| (one, other)));
            both.extend(pairs.filter_map(|(one, other)| known.get(&key(one, other, &points).0)));
            both.sort_unstable();
            both.dedup();
            for group in both.drain(..) {
                crossings.get_mut(group).into_iter().for_each(|crossing| crossing.of += 1);
            }
        }
        for crossing in &mut crossings {
            crossing.is_habit = crossing.appliances(self.wires) * OF_EACH >= crossing.of;
        }
        crossings
    }

    /// For each function the first that is of the same point.
    fn points(&self) -> FxHashMap<Function, Function> {
        let first = |name: &str| self.wires.functions().find(|(_, point, _)| *point == name);
        let functions = self.wires.functions();
        functions.filter_map(|(function, point, _)| Some((function, first(point)?.0))).collect()
    }
}

/// What two ends of an appliance are told as: their functions, or those that stand for their points where these are two;
/// and whether the second comes first.
fn key(one: &Wired, other: &Wired, points: &FxHashMap<Function, Function>) -> ((bool, [Function; 2]), bool) {
    let whole = one.point != other.point;
    let of = |wired: &Wired| {
        let point = points.get(&wired.function).filter(|_| whole);
        point.copied().unwrap_or(wired.function)
    };
    let (first, second) = (of(one), of(other));
    ((whole, [first.min(second), first.max(second)]), first > second)
}

/// What is seen at a glance: each row says what the other end is, or that of a command that it is a status.
fn may_be_crossed(one: &End<'_>, other: &End<'_>) -> bool {
    if one.wired.address == other.wired.address {
        return false;
    }
    if one.wired.point == other.wired.point {
        let command = if one.wired.role == Role::Command { one } else { other };
        return command.said.is_status();
    }
    one.said.names(other.point) && other.said.names(one.point)
}

/// Whether exchanged the row of a status would be a feedback's, and none a command's.
fn fits_ends(one: &End<'_>, other: &End<'_>) -> bool {
    let fits = |end: &End<'_>, row: &End<'_>| row.said.is_status() == (end.wired.role == Role::Feedback);
    fits(one, other) && fits(other, one)
}
