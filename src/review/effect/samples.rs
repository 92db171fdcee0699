//! The values that conversions are run on: what people say first, so that an example is one of theirs, then what the
//! steps name, then some of all there is.

use crate::convert::attribute::{asked_by_commands, person};
use crate::convert::bus::value_to_bus;
use crate::convert::proof::{BusSide, DptSide};
use crate::convert::{Chain, Fields, Step, Value};
use crate::knx::{Dpt, Payload, codec};
use crate::matter::{self, Attribute, Cluster, Datatype, Kind};
use crate::sort;

/// Numbers of people, in the unit that they read.
const SAID: [f64; 17] = [
    40.0, 21.0, 20.0, 60.0, 1.0, 4000.0, 2700.0, 100.0, 0.0, 5.0, 10.0, 30.0, 50.0, 80.0, 240.0, 1000.0,
    10_000.0,
];
/// What people ask of a heating before all else, in °C.
const WARM: f64 = 21.0;
/// Where in a range the samples lie.
const PARTS: [f64; 17] =
    [0.4, 0.2, 0.6, 0.8, 1.0, 0.1, 0.5, 0.0, 0.05, 0.25, 0.3, 0.7, 0.75, 0.9, 0.95, 0.01, 0.99];
/// The first of what is numbered.
const FIRST: [f64; 8] = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0];
/// Ranges of so many whole numbers are tried as a whole.
const WHOLE: f64 = 256.0;
/// So many telegrams of a longer type are tried, beside those that are said or named.
const SPREAD: u64 = 97;

/// In so many ways the attributes that conversions look at are made to stand together.
const TOGETHER: usize = 256;

/// The attributes that conversions look at, each with values to stand at.
pub(super) struct Around(Vec<(String, Vec<Value>)>);

impl Around {
    /// Those of some conversions.
    pub(super) fn of(chains: &[&Chain]) -> Self {
        let mut names: Vec<&str> = chains.iter().flat_map(|chain| chain.attributes()).collect();
        names.sort_unstable();
        names.dedup();
        let values = |name: &str| {
            let (cluster, attribute) = name.split_once('.')?;
            let cluster = matter::cluster(cluster)?;
            Some(of_attribute(cluster, cluster.attribute(attribute)?, chains))
        };
        Self(names.into_iter().map(|name| (name.to_owned(), values(name).unwrap_or_default())).collect())
    }

    /// Each with its values.
    pub(super) fn values(&self) -> impl Iterator<Item = (&str, &[Value])> {
        self.0.iter().map(|(name, values)| (name.as_str(), values.as_slice()))
    }

    /// Leaves of an attribute's values those that are so, if any is.
    pub(super) fn keep(&mut self, name: &str, is_so: impl Fn(&Value) -> bool) {
        let Some((_, values)) = self.0.iter_mut().find(|(one, _)| one == name) else { return };
        if values.iter().any(&is_so) {
            values.retain(is_so);
        }
    }

    /// Every way in which they can stand together; of very many only those of the values that come first.
    pub(super) fn every(&self) -> Vec<Fields> {
        let mut counts: Vec<usize> = self.0.iter().map(|(_, values)| values.len().max(1)).collect();
        while counts
            .iter()
            .try_fold(1_usize, |all, count| all.checked_mul(*count))
            .is_none_or(|all| all > TOGETHER)
        {
            let Some(most) = counts.iter_mut().max() else { break };
            *most = (*most / 2).max(1);
        }
        let all: usize = counts.iter().product();
        let stand = |mut at: usize| -> Fields {
            let of = |((name, values), count): (&(String, Vec<Value>), &usize)| {
                let value = values.get(at % count).cloned().unwrap_or(Value::Null);
                at /= count;
                (name.clone(), value)
            };
            self.0.iter().zip(&counts).map(of).collect()
        };
        (0..all).map(stand).collect()
    }

    /// How they stand for the sample of this number.
    pub(super) fn at(&self, sample: usize) -> Fields {
        let pick = |(place, (name, values)): (usize, &(String, Vec<Value>))| {
            let at = sample.wrapping_mul(2 * place + 3).checked_rem(values.len()).unwrap_or(0);
            (name.clone(), values.get(at).cloned().unwrap_or(Value::Null))
        };
        self.0.iter().enumerate().map(pick).collect()
    }
}

/// Values of an attribute.
pub(super) fn of_attribute(cluster: &Cluster, attribute: &Attribute, chains: &[&Chain]) -> Vec<Value> {
    let range = matter::number_range(
        cluster,
        &attribute.datatype,
        attribute.nullable,
        attribute.constraint.as_ref(),
        &|_| None,
    );
    let person = person(cluster, attribute);
    let seen = person.steps.inverse().ok();
    let mut values = values(cluster, &attribute.datatype, (range, seen.as_ref()), chains);
    if person.unit == "°C" {
        let stands = seen.and_then(|way| way.run(&Value::Number(WARM), &()).ok());
        sort::by_key(&mut values, |value| Some(value) != stands.as_ref());
    }
    if let Some((low, high)) = let_through(chains) {
        let passes = |value: &Value| value.number().is_none_or(|number| (low..=high).contains(&number));
        sort::by_key(&mut values, |value| !passes(value));
    }
    values
}

/// What can be asked for: from the lowest to the highest number that some chain does not cut off. None where a chain cuts
/// nothing off.
fn let_through(chains: &[&Chain]) -> Option<(f64, f64)> {
    let ends = |chain: &&Chain| {
        let cuts = |step: &Step| match step {
            Step::Clamp { min, max } => Some((*min, *max)),
            _ => None,
        };
        let (at, (min, max)) =
            chain.steps.iter().enumerate().find_map(|(at, step)| Some((at, cuts(step)?)))?;
        let before = chain.steps.get(..at)?;
        let (min, max) = (came_in(before, min)?, came_in(before, max)?);
        Some((min.min(max), min.max(max)))
    };
    let ends = chains.iter().map(ends).collect::<Option<Vec<_>>>()?;
    ends.into_iter().reduce(|one, two| (one.0.min(two.0), one.1.max(two.1)))
}

/// Fields of a command, all of them filled in.
pub(super) fn of_command((cluster, command): (&str, &str), chains: &[&Chain]) -> Vec<Value> {
    let facts = matter::cluster(cluster);
    let fields = facts
        .and_then(|cluster| cluster.commands.iter().find(|one| one.name == command))
        .map_or(&[][..], |command| &command.fields);
    let mut lists: Vec<(&str, Vec<Value>)> = Vec::new();
    for field in fields {
        let Some(facts) = facts else { continue };
        let list = match asked(cluster, command, &field.name) {
            Some((cluster, attribute)) => of_attribute(cluster, attribute, chains),
            None => {
                let (nullable, constraint) = (field.nullable, field.constraint.as_ref());
                let range = matter::number_range(facts, &field.datatype, nullable, constraint, &|_| None);
                values(facts, &field.datatype, (range, None), chains)
            }
        };
        lists.push((&field.name, list));
    }
    let most = lists.iter().map(|(_, list)| list.len()).max().unwrap_or(1).max(1);
    // A command without fields differs by what stands around it only.
    (0..2 * most.max(PARTS.len())).map(|at| turned(&lists, most, at)).collect()
}

/// The attribute that the field of a command asks for: as the data model says, else one of the same name.
pub(in crate::review) fn asked(
    cluster: &str,
    command: &str,
    field: &str,
) -> Option<(&'static Cluster, &'static Attribute)> {
    let command = command.strip_suffix("WithOnOff").unwrap_or(command);
    let fields = asked_by_commands().get(&format!("{cluster}.{command}"));
    let said = fields.and_then(|fields| fields.get(field)).and_then(|name| name.split_once('.'));
    let (cluster, attribute) = said.unwrap_or((cluster, field));
    let cluster = matter::cluster(cluster)?;
    Some((cluster, cluster.attribute(attribute)?))
}

/// Values of a datatype, given its range and the way from what people say to it.
fn values(
    cluster: &Cluster,
    datatype: &str,
    (range, from_said): (Option<(f64, f64)>, Option<&Chain>),
    chains: &[&Chain],
) -> Vec<Value> {
    let numbers = |range: Option<(f64, f64)>| {
        let Some((low, high)) = range else { return Vec::new() };
        let mut found: Vec<f64> = Vec::new();
        if let Some(way) = from_said {
            let stands = |said: &f64| way.run(&Value::Number(*said), &()).ok()?.number().map(f64::round);
            found.extend(SAID.iter().filter_map(stands));
        }
        let named = named(chains);
        // What nobody has a unit for is a number of something: people begin at one.
        let small = if from_said.is_some() { &[][..] } else { &FIRST };
        found.extend(small.iter().filter(|one| named.contains(one)));
        found.extend(small);
        let parts = PARTS.iter().map(|part| (low + (high - low) * part).round());
        // Nor does anybody ask for a part of what a number can be before what the steps speak of.
        if from_said.is_some() {
            found.extend(parts.chain(named));
        } else {
            found.extend(named.into_iter().chain(parts));
        }
        if high - low < WHOLE {
            let mut number = low.ceil();
            while number <= high {
                found.push(number);
                number += 1.0;
            }
        }
        distinct(found.into_iter().filter(|number| (low..=high).contains(number)).map(Value::Number))
    };
    match matter::kind(cluster, datatype) {
        Some(Kind::Bool) => vec![Value::Bool(true), Value::Bool(false)],
        Some(Kind::Enumeration(Some(members))) => {
            distinct(members.values.iter().map(|member| Value::Number(f64::from(member.value))))
        }
        Some(
            Kind::Unsigned(_) | Kind::Signed(_) | Kind::Float | Kind::Bitmap(..) | Kind::Enumeration(None),
        ) => numbers(range),
        Some(Kind::Structure(structure)) => of_structure(cluster, structure, chains),
        Some(Kind::Text | Kind::Octets | Kind::List(_)) | None => Vec::new(),
    }
}

/// Structures of a datatype: of the fields that steps look at, all there are otherwise.
fn of_structure(cluster: &Cluster, structure: &Datatype, chains: &[&Chain]) -> Vec<Value> {
    let mut looked_at = Vec::new();
    chains.iter().for_each(|chain| fields(chain, &mut looked_at));
    let is_seen = |name: &str| looked_at.contains(&name);
    let none_is_seen = !structure.fields.iter().any(|field| is_seen(&field.name));
    let all = structure.fields.iter().filter(|field| none_is_seen || is_seen(&field.name));
    let lists = all.map(|field| {
        let (nullable, constraint) = (field.nullable, field.constraint.as_ref());
        let range = matter::number_range(cluster, &field.datatype, nullable, constraint, &|_| None);
        (field.name.as_str(), values(cluster, &field.datatype, (range, None), chains))
    });
    let lists: Vec<(&str, Vec<Value>)> = lists.collect();
    let most = lists.iter().map(|(_, list)| list.len()).max().unwrap_or_default();
    distinct((0..2 * most).map(|at| turned(&lists, most, at)))
}

/// The structure of this number out of values for each field: each value of the longest list twice, beside other values of
/// the others.
fn turned(lists: &[(&str, Vec<Value>)], most: usize, at: usize) -> Value {
    let pick = |(name, list): &(&str, Vec<Value>)| {
        let turn = if list.len() == most { at } else { at + at / most };
        let value = turn.checked_rem(list.len()).and_then(|at| list.get(at));
        ((*name).to_owned(), value.cloned().unwrap_or(Value::Null))
    };
    Value::Structure(lists.iter().map(pick).collect())
}

/// The fields of structures that steps look at.
fn fields<'c>(chain: &'c Chain, found: &mut Vec<&'c str>) {
    for step in &chain.steps {
        if let Step::Field { name } = step {
            found.push(name);
        } else if let Step::Within { steps, .. } = step {
            fields(steps, found);
        }
    }
}

/// Telegrams of a type: those of what people say, of what the steps name, and some of all there are.
pub(super) fn of_bus(dpt: &'static Dpt, chains: &[&Chain]) -> Vec<Payload> {
    let said = SAID.iter().copied().chain(named(chains)).map(Value::Number);
    let truths = [Value::Bool(true), Value::Bool(false)];
    let encoded = |value: Value| {
        let value = value_to_bus(dpt, &value).ok().flatten()?;
        codec::encode(dpt, &value).ok()
    };
    let mut payloads: Vec<Payload> = Vec::new();
    let mut put = |payload: Payload| {
        if !payloads.contains(&payload) {
            payloads.push(payload);
        }
    };
    truths.into_iter().chain(said).filter_map(encoded).for_each(&mut put);
    if let Some(side) = DptSide::new(dpt) {
        let all = 1_u128 << side.bits().min(64);
        let count = if all <= 256 { all } else { u128::from(SPREAD) };
        for at in 0..count {
            let raw = u64::try_from(at * (all - 1) / (count - 1).max(1)).unwrap_or(u64::MAX);
            let value = side.decode(raw);
            value.and_then(encoded).into_iter().for_each(&mut put);
        }
    }
    payloads
}

/// The numbers that steps name as what comes in, and what lies beside or between them: as they stand there, and as they
/// come into the first step.
fn named(chains: &[&Chain]) -> Vec<f64> {
    const MOST: usize = 96;
    let mut found: Vec<f64> = Vec::new();
    for chain in chains {
        for (at, step) in chain.steps.iter().enumerate() {
            let mut here = Vec::new();
            collect(step, &mut here);
            let before = chain.steps.get(..at).unwrap_or_default();
            let first = here.iter().filter_map(|number| came_in(before, *number)).map(f64::round);
            for number in here.iter().copied().chain(first) {
                if found.len() < MOST && !found.contains(&number) {
                    found.push(number);
                }
            }
        }
    }
    found
}

/// What lies between the ends of a clamp, as parts of the way.
const BETWEEN: [f64; 4] = [0.5, 0.25, 0.75, 0.1];
/// Of ends so far from each other, whole numbers are taken.
const WIDE: f64 = 8.0;

#[allow(clippy::wildcard_enum_match_arm, reason = "the other steps name no number that comes in")]
fn collect(step: &Step, found: &mut Vec<f64>) {
    match step {
        Step::Scale { from, .. } => found.extend(from),
        Step::Clamp { min, max } => {
            let whole = |number: f64| if max - min > WIDE { number.round() } else { number };
            let between = BETWEEN.iter().map(|part| whole(min + (max - min) * part));
            found.extend([*min, *max].into_iter().chain(between));
        }
        Step::Above { limit } => found.extend([*limit, limit + 1.0]),
        Step::Table { pairs, .. } => found.extend(pairs.iter().filter_map(|(input, _)| input.as_f64())),
        Step::Bands { rows } => found.extend(rows.iter().map(|(from, _)| *from)),
        Step::Ignore { values } => found.extend(values.iter().filter_map(serde_json::Value::as_f64)),
        Step::Within { steps, .. } => steps.steps.iter().for_each(|step| collect(step, found)),
        _ => {}
    }
}

/// The number that comes into the first of some steps where this one comes out of the last; none where they have no way
/// back. What is taken out of a structure comes in as its field.
fn came_in(steps: &[Step], number: f64) -> Option<f64> {
    let mut number = number;
    for step in steps.iter().rev() {
        if matches!(step, Step::Field { .. }) {
            return Some(number);
        }
        let back = Chain { steps: vec![step.clone()] }.inverse().ok()?;
        number = back.run(&Value::Number(number), &()).ok()?.number()?;
    }
    Some(number)
}

fn distinct(values: impl Iterator<Item = Value>) -> Vec<Value> {
    let mut all = Vec::new();
    for value in values {
        if !all.contains(&value) {
            all.push(value);
        }
    }
    all
}
