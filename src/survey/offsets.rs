//! Habits of distance: how far apart the addresses of an appliance lie.
//!
//! Integrators number a house by a scheme: the status three middle groups above the command, the brightness one above the
//! switching. For every two kinds of wires of one appliance the distances are counted; one that nearly all keep is
//! a habit. Source: common practice.

use super::wires::{Kind, Wired, Wires};
use crate::knx::{GroupAddress, Notation};
use rustc_hash::FxHashMap;

/// Fewer cases than this are no habit.
const FEWEST: u32 = 6;

/// A distance that so many keep is no slip.
const OFTEN: u32 = 3;

/// Of this many cases one may break a habit; two may of few.
const OF_EACH: u32 = 10;

/// A distance between two group addresses, in the parts of the house's notation.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Distance {
    main: i32,
    middle: i32,
    sub: i32,
}

impl Distance {
    /// The distance from one address to another.
    pub fn between(from: GroupAddress, to: GroupAddress, notation: Notation) -> Self {
        let (a, b) = (parts(from, notation), parts(to, notation));
        Self { main: b.0 - a.0, middle: b.1 - a.1, sub: b.2 - a.2 }
    }

    /// The address at this distance; none where the parts run over.
    pub fn from(self, start: GroupAddress, notation: Notation) -> Option<GroupAddress> {
        let (main, middle, sub) = parts(start, notation);
        let (main, middle, sub) = (main + self.main, middle + self.middle, sub + self.sub);
        let (most_main, most_middle, most_sub) = match notation {
            Notation::ThreeLevel => (31, 7, 255),
            Notation::TwoLevel => (31, 0, 2047),
            Notation::Free => (0, 0, 65535),
        };
        let fits = (0..=most_main).contains(&main)
            && (0..=most_middle).contains(&middle)
            && (0..=most_sub).contains(&sub);
        let number = main * 2048 + middle * 256 + sub;
        u16::try_from(number).ok().filter(|_| fits).and_then(GroupAddress::new)
    }

    /// Every distance within the smallest groups of a notation, the shortest first.
    pub(super) fn within_group(notation: Notation) -> impl Iterator<Item = Self> {
        let most = match notation {
            Notation::ThreeLevel => 255,
            Notation::TwoLevel => 2047,
            Notation::Free => 4095,
        };
        (1..=most).flat_map(|sub| [sub, -sub]).map(|sub| Self { main: 0, middle: 0, sub })
    }

    /// The way back.
    pub fn reversed(self) -> Self {
        Self { main: -self.main, middle: -self.middle, sub: -self.sub }
    }

    /// In words: "3 middle groups above".
    pub fn words(self, notation: Notation) -> String {
        let names = match notation {
            Notation::ThreeLevel => ["main group", "middle group", "sub group"],
            Notation::TwoLevel => ["main group", "", "sub group"],
            Notation::Free => ["", "", "number"],
        };
        let steps = [self.main, self.middle, self.sub].into_iter().zip(names);
        let words: Vec<String> = steps
            .filter(|(step, _)| *step != 0)
            .map(|(step, name)| {
                let plural = if step.abs() == 1 { "" } else { "s" };
                let side = if step > 0 { "above" } else { "below" };
                format!("{} {name}{plural} {side}", step.abs())
            })
            .collect();
        if words.is_empty() { "at the address of".to_owned() } else { words.join(" and ") }
    }
}

fn parts(address: GroupAddress, notation: Notation) -> (i32, i32, i32) {
    match notation {
        Notation::ThreeLevel => (address.main().into(), address.middle().into(), address.sub().into()),
        Notation::TwoLevel => (address.main().into(), 0, i32::from(address.number() & 0x7ff)),
        Notation::Free => (0, 0, address.number().into()),
    }
}

/// A distance that nearly all appliances with these two kinds keep.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Habit {
    /// The distance.
    pub distance: Distance,
    /// How many keep it.
    pub kept: u32,
    /// Of how many.
    pub of: u32,
    /// The class of all that keep it, by number, where it is one. How room thermostats are numbered says nothing of the one
    /// water heater.
    only: Option<u32>,
}

impl Habit {
    /// Whether it says something of appliances of a class.
    fn is_for(&self, class: u32) -> bool {
        self.only.is_none_or(|only| only == class)
    }
}

/// How many keep a distance, and their class, where it is one.
#[derive(Clone, Copy, Debug)]
struct Count {
    count: u32,
    only: Option<u32>,
}

impl Count {
    fn add(&mut self, class: u32) {
        self.count += 1;
        self.only = self.only.filter(|only| *only == class);
    }
}

/// What a habit says of the distance between two wires of an appliance.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Verdict {
    /// It is kept.
    Kept,
    /// It is broken; the habits that could have been meant, the commonest first.
    Broken(Vec<Habit>),
    /// There is none.
    Silent,
}

/// In what a distance is counted: a house that was built in stages, or has a block for each room, has several habits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
enum Within {
    /// The whole house.
    House,
    /// Appliances of one class, by number.
    Class(u32),
    /// Those whose first address of the two lies in this main group.
    Main(u8),
}

type Key = (u32, Kind, Kind, Within);

/// The habits of a house, by bus and the two kinds.
#[derive(Debug, Default)]
pub(super) struct Offsets {
    habits: FxHashMap<Key, Vec<Habit>>,
    notation: Notation,
}

impl Offsets {
    /// Counts the distances of a plan's wires.
    pub(super) fn of(wires: &Wires, appliances: usize, notation: Notation) -> Self {
        let mut counts: FxHashMap<Key, FxHashMap<Distance, Count>> = FxHashMap::default();
        for appliance in 0..appliances {
            let (_, own) = wires.of_appliance(appliance);
            for (index, one) in own.iter().enumerate() {
                for other in own.iter().skip(index + 1) {
                    let (from, to) = ordered(one, other);
                    let distance = Distance::between(from.address, to.address, notation);
                    for within in contexts(from) {
                        let key = (from.bus, from.kind, to.kind, within);
                        let none = Count { count: 0, only: Some(from.class) };
                        counts.entry(key).or_default().entry(distance).or_insert(none).add(from.class);
                    }
                }
            }
        }
        let sorted = |counts: FxHashMap<Distance, Count>| {
            let mut counts: Vec<_> = counts.into_iter().collect();
            // The order of the table must not matter: of two equal counts the smaller distance.
            counts.sort_unstable_by_key(|(distance, count)| (std::cmp::Reverse(count.count), *distance));
            counts
        };
        let habits = counts.into_iter().map(|(key, counts)| (key, habits(&sorted(counts))));
        Self { habits: habits.filter(|(_, habits)| !habits.is_empty()).collect(), notation }
    }

    /// What the habits say of the second wire at an address, seen from the first.
    pub(super) fn judge(&self, one: &Wired, other: &Wired, at: GroupAddress) -> Verdict {
        let turned = other.kind < one.kind;
        let moved = Wired { address: at, ..*other };
        let (from, to) = if turned { (&moved, one) } else { (one, &moved) };
        let distance = Distance::between(from.address, to.address, self.notation);
        let mut meant: Vec<Habit> = Vec::new();
        for within in contexts(from).into_iter().rev() {
            let key = (from.bus, from.kind, to.kind, within);
            let Some(habits) = self.habits.get(&key) else { continue };
            if habits.iter().any(|habit| habit.distance == distance) {
                return if meant.is_empty() { Verdict::Kept } else { Verdict::Broken(turn(meant, turned)) };
            }
            add(&mut meant, habits, from.class);
        }
        if meant.is_empty() { Verdict::Silent } else { Verdict::Broken(turn(meant, turned)) }
    }

    /// The habits that say where the second wire lies, seen from the first, whatever its address is now.
    pub(super) fn meant(&self, one: &Wired, other: &Wired) -> Vec<Habit> {
        let turned = other.kind < one.kind;
        let (from, to) = if turned { (other, one) } else { (one, other) };
        let mut meant: Vec<Habit> = Vec::new();
        for within in contexts(from).into_iter().rev() {
            let known_by_address = matches!(within, Within::Main(_)) && turned;
            let habits = self.habits.get(&(from.bus, from.kind, to.kind, within));
            let habits = habits.filter(|_| !known_by_address).map_or(&[][..], Vec::as_slice);
            add(&mut meant, habits, from.class);
        }
        turn(meant, turned)
    }
}

/// Adds habits of a class with a distance that is not known yet.
fn add(meant: &mut Vec<Habit>, habits: &[Habit], class: u32) {
    for &habit in habits.iter().filter(|habit| habit.is_for(class)) {
        if meant.iter().all(|known| known.distance != habit.distance) {
            meant.push(habit);
        }
    }
}

fn turn(habits: Vec<Habit>, turned: bool) -> Vec<Habit> {
    let turn = |habit: Habit| Habit {
        distance: if turned { habit.distance.reversed() } else { habit.distance },
        ..habit
    };
    habits.into_iter().map(turn).collect()
}

fn contexts(from: &Wired) -> [Within; 3] {
    [Within::House, Within::Class(from.class), Within::Main(from.address.main())]
}

fn ordered<'a>(one: &'a Wired, other: &'a Wired) -> (&'a Wired, &'a Wired) {
    if one.kind <= other.kind { (one, other) } else { (other, one) }
}

/// The distances that are kept: one that nearly all keep, or several of which each is kept often, if together they leave
/// only few that are kept by nobody else.
fn habits(counts: &[(Distance, Count)]) -> Vec<Habit> {
    let of: u32 = counts.iter().map(|(_, count)| count.count).sum();
    let often = |count: &Count| count.count >= OFTEN;
    let kept: u32 = counts.iter().filter(|(_, count)| often(count)).map(|(_, count)| count.count).sum();
    if kept < FEWEST || of - kept > (of / OF_EACH).max(2) {
        return Vec::new();
    }
    let kept = counts.iter().filter(|(_, count)| often(count));
    kept.map(|&(distance, Count { count, only })| Habit { distance, kept: count, of, only }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn address(text: &str) -> GroupAddress {
        GroupAddress::parse(text, Notation::ThreeLevel).unwrap()
    }

    fn check(from: &str, to: &str, expected: &str) {
        let distance = Distance::between(address(from), address(to), Notation::ThreeLevel);
        assert_eq!(distance.words(Notation::ThreeLevel), expected);
        assert_eq!(distance.from(address(from), Notation::ThreeLevel), Some(address(to)));
        assert_eq!(distance.reversed().from(address(to), Notation::ThreeLevel), Some(address(from)));
    }

    #[test]
    fn distances_are_told_in_the_parts_of_an_address() {
        check("1/1/10", "1/4/10", "3 middle groups above");
        check("1/1/10", "2/0/11", "1 main group above and 1 middle group below and 1 sub group above");
    }

    #[test]
    fn a_distance_that_runs_over_leads_nowhere() {
        let distance = Distance::between(address("1/1/10"), address("1/4/10"), Notation::ThreeLevel);
        assert_eq!(distance.from(address("1/6/1"), Notation::ThreeLevel), None);
    }
}
