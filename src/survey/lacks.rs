//! What all others of a kind have and a single one lacks: `reversed`, the same datapoint type, a central address, the alarm that
//! all of them have in common.
//!
//! Only what was left out counts as a slip: who writes a thing that the others have not means it. An appliance that listens
//! to nothing was probably left out of all central addresses on purpose, as the lamp that stays on at night is; and one without
//! another of its kind in its room may well be of its own, as the lamp of the terrace, which goes with those of the garden, or
//! the socket of a lamp, which goes with the lights.

use super::Survey;
use super::uses::{Use, Uses};
use super::wires::{Function, Kind, Wired, Wires, narrow};
use crate::classes::Exposure;
use crate::knx::{DptId, GroupAddress};
use crate::resolve::Plan;
use crate::resolve::plan::{Appliance, Point, Role};
use crate::sort;
use rustc_hash::{FxHashMap, FxHashSet};

/// Fewer than this are no habit.
const FEWEST: usize = 6;

/// Nor are fewer than this, where nothing stands in the place of what is lacking.
const FEWEST_BESIDES: usize = 10;

/// An address is one of another kind or floor from so many uses on.
const ELSEWHERE: usize = 3;

/// So many uses of an address show whose it is.
const LOOKED_AT: usize = 64;

/// What a point lacks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lacking {
    /// `reversed`.
    Reversed,
    /// The datapoint type that the others write.
    Dpt(DptId),
    /// An address to listen to.
    Listens {
        /// The address.
        address: GroupAddress,
        /// Which of its own `listens` stands in that place, an address of another kind of appliance or another floor.
        instead: Option<u32>,
        /// Whether it is the others of the floor that have it, and not those of the whole house.
        of_floor: bool,
    },
    /// A point that the others of the class have in common, at this address.
    Common(GroupAddress),
}

/// A point that lacks what all others of its kind have.
#[derive(Clone, Copy, Debug)]
pub struct Lack {
    /// Index of the appliance in the plan.
    pub appliance: u32,
    /// Index of the point in the appliance; in its class, where it is the point that it lacks.
    pub point: u32,
    /// What it lacks.
    pub what: Lacking,
    /// How many others have it: all there are.
    pub others: usize,
}

/// A point by the indices of its appliance and its own.
type At = (u32, u32);

impl Survey {
    /// Points that lack what all others of their kind have, in the order of the plan.
    pub fn lacks(&self, plan: &Plan) -> Vec<Lack> {
        let each = points(plan, &self.wires);
        let mut lacks = reversed(&each);
        lacks.extend(types(plan, &each));
        lacks.extend(listens(plan, &each, &self.uses));
        lacks.extend(common(plan, &self.wires));
        sort::by_key(&mut lacks, |lack| (lack.appliance, lack.point));
        lacks
    }
}

/// A point with the first of its wires.
struct Each<'a> {
    appliance: &'a Appliance,
    point: &'a Point,
    wired: &'a Wired,
}

impl Each<'_> {
    fn at(&self) -> At {
        (self.wired.appliance, self.wired.point)
    }

    fn lacks(&self, what: Lacking, others: usize) -> Lack {
        let (appliance, point) = self.at();
        Lack { appliance, point, what, others }
    }
}

fn points<'a>(plan: &'a Plan, wires: &'a Wires) -> Vec<Each<'a>> {
    let mut last = None;
    let first = wires.all.iter().filter(|wired| last.replace(place(wired)) != Some(place(wired)));
    let each = first.filter_map(|wired| {
        let appliance = plan.appliances.get(wired.appliance as usize)?;
        let point = appliance.points.get(wired.point as usize)?;
        Some(Each { appliance, point, wired })
    });
    each.collect()
}

fn place(wired: &Wired) -> At {
    (wired.appliance, wired.point)
}

/// The one of a group that has not what all the others have.
fn odd<'a, 'b>(group: &[&'a Each<'b>], has: impl Fn(&Each<'b>) -> bool) -> Option<(&'a Each<'b>, usize)> {
    let mut without = group.iter().filter(|each| !has(each));
    let (odd, others) = (without.next()?, group.len() - 1);
    without.next().is_none().then_some((*odd, others))
}

/// Points of one class and datapoint type of which all but one are reversed.
fn reversed(each: &[Each<'_>]) -> Vec<Lack> {
    let dpt = |each: &Each<'_>| each.point.wire(each.wired.role).map(|wire| wire.dpt.id);
    let key = |each: &Each<'_>| (each.wired.class, each.wired.kind, dpt(each));
    let is_reversed = |each: &Each<'_>| each.point.reversed.is_some();
    let groups = alike(each, key, is_reversed);
    let odd = groups.iter().filter_map(|group| odd(group, is_reversed));
    odd.map(|(odd, others)| odd.lacks(Lacking::Reversed, others)).collect()
}

/// Points of one function of which all but one have the same type written, and nothing says which that one has.
fn types(plan: &Plan, each: &[Each<'_>]) -> Vec<Lack> {
    let written = |each: &Each<'_>| each.point.dpt.as_ref().map(|dpt| dpt.value.id);
    let key = |each: &Each<'_>| (each.wired.function, each.wired.bus);
    let groups: Vec<Vec<&Each<'_>>> = alike::<(Function, u32)>(each, key, |each| written(each).is_some());
    let odd = groups.iter().filter_map(|group| {
        let usual = group.iter().find_map(|each| written(each))?;
        let (odd, others) = odd(group, |each| written(each) == Some(usual))?;
        let row = plan.table(odd.appliance.bus).zip(odd.wired.row);
        let row = row.and_then(|(table, row)| table.rows.get(row as usize));
        let end = odd.point.spec(odd.appliance).and_then(|spec| spec.end(odd.wired.role.end()))?;
        let is_open =
            written(odd).is_none() && !odd.point.dpt_unread && row.is_none_or(|row| row.dpt.is_none());
        let differs = odd.point.wire(odd.wired.role).is_some_and(|wire| wire.dpt.id != usual);
        let lacks = is_open && differs && end.dpts.contains(&usual);
        lacks.then(|| odd.lacks(Lacking::Dpt(usual), others))
    });
    odd.collect()
}

/// The points of each key that so many have something of, all of them: those without it too.
fn alike<'a, 'b, K: Copy + Eq + std::hash::Hash>(
    each: &'a [Each<'b>],
    key: impl Fn(&Each<'b>) -> K,
    has: impl Fn(&Each<'b>) -> bool,
) -> Vec<Vec<&'a Each<'b>>> {
    let mut counts: FxHashMap<K, (usize, Vec<&Each<'b>>)> = FxHashMap::default();
    for with in each.iter().filter(|each| has(each)) {
        counts.entry(key(with)).or_default().0 += 1;
    }
    counts.retain(|_, (count, _)| *count >= FEWEST);
    if counts.is_empty() {
        return Vec::new();
    }
    for one in each {
        if let Some((_, all)) = counts.get_mut(&key(one)) {
            all.push(one);
        }
    }
    counts.into_values().map(|(_, all)| all).collect()
}

/// Appliances of a class of which all but one have a point in common, at one address of their bus. One that has no other of them
/// with the same settings in its room may well be elsewhere: the blind in the porch, which no wind reaches.
fn common(plan: &Plan, wires: &Wires) -> Vec<Lack> {
    // By bus, class and point of the class.
    let mut groups: FxHashMap<(u32, u32, u16), Common> = FxHashMap::default();
    for wired in wires.all.iter().filter(|wired| wired.shared && wired.role == Role::Feedback) {
        let appliance = plan.appliances.get(wired.appliance as usize);
        let point = appliance.and_then(|appliance| appliance.points.get(wired.point as usize));
        let Some(spec) = point.map(|point| point.spec) else { continue };
        let none = Common { address: Some(wired.address), others: 0, without: Vec::new() };
        groups.entry((wired.bus, wired.class, spec)).or_insert(none).add(wired.address);
    }
    groups.retain(|_, common| common.address.is_some() && common.others >= FEWEST_BESIDES);
    if groups.is_empty() {
        return Vec::new();
    }
    for (appliance, index) in plan.appliances.iter().zip(0usize..) {
        let Some(first) = wires.of_appliance(index).1.first() else { continue };
        let points = (0u16..).zip(&appliance.class.value.points);
        for (spec, _) in points.filter(|(spec, point)| point.shared && !appliance.has(*spec)) {
            let common = groups.get_mut(&(first.bus, first.class, spec));
            common.into_iter().for_each(|common| common.add_without(index));
        }
    }
    let lack = |(&(.., spec), common): (&(u32, u32, u16), &Common)| {
        let &[odd] = common.without.as_slice() else { return None };
        let appliance = plan.appliances.get(odd).filter(|appliance| !appliance.incomplete)?;
        let of_room = |from: usize| plan.appliances.get(from).filter(|other| other.room == appliance.room);
        let before = (0..odd).rev().map_while(of_room);
        let mut mates = before.chain((odd + 1..).map_while(of_room));
        let is_mate = |other: &Appliance| {
            std::ptr::eq(&*other.class.value, &*appliance.class.value)
                && other.has(spec)
                && other.chosen().settings == appliance.chosen().settings
        };
        let (appliance, point) = (narrow(odd), u32::from(spec));
        let what = Lacking::Common(common.address?);
        mates.any(is_mate).then_some(Lack { appliance, point, what, others: common.others })
    };
    groups.iter().filter_map(lack).collect()
}

/// A point that appliances of a class have in common.
struct Common {
    /// The address, where all have the same.
    address: Option<GroupAddress>,
    /// How many have it.
    others: usize,
    /// Who has it not, up to two.
    without: Vec<usize>,
}

impl Common {
    fn add(&mut self, address: GroupAddress) {
        self.others += 1;
        self.address = self.address.filter(|own| *own == address);
    }

    fn add_without(&mut self, appliance: usize) {
        if self.without.len() < 2 {
            self.without.push(appliance);
        }
    }
}

/// Points of one kind on one bus and, where a floor is given, of one floor.
type Among<'a> = (u32, Kind, Option<&'a str>);

/// Points that listen, of which all but one listen to an address.
fn listens(plan: &Plan, each: &[Each<'_>], uses: &Uses) -> Vec<Lack> {
    let floor = |each: &Each<'_>| {
        let room = plan.rooms.get(each.appliance.room);
        room.and_then(|room| room.floor.as_ref()).map(|floor| floor.value.trim())
    };
    let mut groups: FxHashMap<Among<'_>, Vec<&Each<'_>>> = FxHashMap::default();
    for one in each.iter().filter(|each| !each.point.listens.is_empty()) {
        let (bus, kind) = (one.wired.bus, one.wired.kind);
        groups.entry((bus, kind, None)).or_default().push(one);
        if let Some(floor) = floor(one) {
            groups.entry((bus, kind, Some(floor))).or_default().push(one);
        }
    }
    let mut groups: Vec<(Among<'_>, Vec<&Each<'_>>)> =
        groups.into_iter().filter(|(_, group)| group.len() > FEWEST).collect();
    // The floor before the house: what it says is nearer.
    sort::by_key(&mut groups, |((bus, kind, floor), _)| (std::cmp::Reverse(*floor), *bus, *kind));
    let lacks = groups.iter().flat_map(|((.., floor), group)| of_group(plan, group, floor.is_some(), uses));
    let mut told: FxHashSet<(At, GroupAddress)> = FxHashSet::default();
    let mut is_new = |lack: &Lack| match lack.what {
        Lacking::Listens { address, .. } => told.insert(((lack.appliance, lack.point), address)),
        Lacking::Reversed | Lacking::Dpt(_) | Lacking::Common(_) => true,
    };
    lacks.filter(|lack| is_new(lack)).collect()
}

/// Those of one group.
fn of_group(plan: &Plan, group: &[&Each<'_>], of_floor: bool, uses: &Uses) -> Vec<Lack> {
    let others = group.len() - 1;
    let heard = Heard::by(group);
    let habits = heard.by_all_but_one(others);
    let mut found: FxHashMap<usize, Stranger> = FxHashMap::default();
    let lack = |(address, odd): (GroupAddress, usize)| {
        let each = group.get(odd)?;
        let stranger = *found.entry(odd).or_insert_with(|| Stranger::of(plan, group, each, &heard, uses));
        let is_habit = stranger.instead.is_some() || (others >= FEWEST_BESIDES && stranger.is_plain);
        let what = Lacking::Listens { address, instead: stranger.instead, of_floor };
        is_habit.then(|| each.lacks(what, others))
    };
    habits.into_iter().filter_map(lack).collect()
}

/// Which addresses the points of a group have.
struct Heard {
    /// How many listen to each.
    listeners: FxHashMap<GroupAddress, usize>,
    /// How many have each at any end, and the sum of their numbers: of all but one that have it the sum says which has not.
    any: FxHashMap<GroupAddress, (usize, usize)>,
}

impl Heard {
    fn by(group: &[&Each<'_>]) -> Self {
        let (mut listeners, mut any) = (FxHashMap::default(), FxHashMap::default());
        for (number, each) in group.iter().enumerate() {
            for wire in &each.point.listens {
                *listeners.entry(wire.address.value).or_default() += 1;
            }
            let mut own: Vec<GroupAddress> = each.point.wires().map(|(_, wire)| wire.address.value).collect();
            own.sort_unstable();
            own.dedup();
            for address in own {
                let (count, sum): &mut (usize, usize) = any.entry(address).or_default();
                (*count, *sum) = (*count + 1, *sum + number);
            }
        }
        Self { listeners, any }
    }

    /// The addresses that all but one have, in order, each with the number of the one that has it not.
    fn by_all_but_one(&self, others: usize) -> Vec<(GroupAddress, usize)> {
        let habits =
            self.listeners.iter().filter(|(_, count)| **count == others).filter_map(|(address, _)| {
                let (count, sum) = self.any.get(address)?;
                (*count == others).then_some((*address, others * (others + 1) / 2 - sum))
            });
        let mut habits: Vec<_> = habits.collect();
        habits.sort_unstable();
        habits
    }

    fn is_alone(&self, address: GroupAddress) -> bool {
        self.listeners.get(&address) == Some(&1)
    }
}

/// What a point of a group listens to that no other of it does.
#[derive(Clone, Copy)]
struct Stranger {
    /// Which of its `listens` is an address of another kind of appliance or another floor.
    instead: Option<u32>,
    /// Whether it listens to nothing of its own, and has another of the group in its room: then nothing is known to stand in the
    /// place of what it lacks.
    is_plain: bool,
}

impl Stranger {
    fn of(plan: &Plan, group: &[&Each<'_>], odd: &Each<'_>, heard: &Heard, uses: &Uses) -> Self {
        let alone = || {
            let own = odd.point.listens.iter().map(|wire| wire.address.value).zip(0u32..);
            own.filter(|(address, _)| heard.is_alone(*address))
        };
        let mut mates = group.iter().filter(|each| each.appliance.room == odd.appliance.room);
        let has_mate = mates.nth(1).is_some();
        let is_foreign = |address| match Elsewhere::of(plan, odd, address, uses) {
            Elsewhere::SameKind => has_mate,
            Elsewhere::OtherFunction | Elsewhere::OtherCommand => true,
            Elsewhere::Unknown => false,
        };
        let instead = alone().find(|(address, _)| is_foreign(*address)).map(|(_, place)| place);
        Self { instead, is_plain: has_mate && alone().next().is_none() }
    }
}

/// Whose an address is that a point listens to as no other of its group.
enum Elsewhere {
    /// That of several others of its kind.
    SameKind,
    /// That of several others, of which none does the same: lights, where it is a blind.
    OtherFunction,
    /// The command of one other, in another room, that nothing else listens to.
    OtherCommand,
    /// Nobody knows.
    Unknown,
}

impl Elsewhere {
    fn of(plan: &Plan, odd: &Each<'_>, heard: GroupAddress, uses: &Uses) -> Self {
        let is_other = |used: &Use| used.role == Role::Listens && used.appliance != odd.wired.appliance;
        let others = uses.of_address(odd.appliance.bus, heard).filter(is_other).take(LOOKED_AT);
        let others: Vec<(&Appliance, &Point)> = others
            .filter_map(|used| used.look_up(plan))
            .map(|(appliance, point, _)| (appliance, point))
            .collect();
        let (group, name) = (odd.appliance.class.value.group, odd.point.name(odd.appliance));
        let alike = || others.iter().filter(|(appliance, point)| point.name(appliance) == name);
        let of_kind = alike().filter(|(appliance, _)| appliance.class.value.group == group).count();
        match (of_kind, alike().count()) {
            (ELSEWHERE.., _) => Self::SameKind,
            (_, 0) if others.len() >= ELSEWHERE => Self::OtherFunction,
            _ if others.is_empty() && Self::is_command_of_one(plan, odd, heard, uses) => Self::OtherCommand,
            _ => Self::Unknown,
        }
    }

    fn is_command_of_one(plan: &Plan, odd: &Each<'_>, heard: GroupAddress, uses: &Uses) -> bool {
        let is_own = |used: &Use| used.appliance == odd.wired.appliance;
        let mut others = uses.of_address(odd.appliance.bus, heard).filter(|used| !is_own(used));
        let one = others.next().filter(|used| used.role == Role::Command);
        let other = one.and_then(|used| plan.appliances.get(used.appliance as usize));
        // What is never shown moves others: a central function.
        let is_elsewhere = |other: &Appliance| {
            matches!(other.class.value.exposure, Exposure::Bridged) && other.room != odd.appliance.room
        };
        others.next().is_none() && other.is_some_and(is_elsewhere)
    }
}
