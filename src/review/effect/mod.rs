//! What another conversion does to people: both are run on the same values, and what comes of them is compared.
//!
//! In: links before and after, as [`Conversions`]. Out: an [`Effect`], with an example that people can try. A difference
//! that nobody notices (a rounding, a step that does nothing) is none. Controllers and the bus know nothing of steps: only
//! what is shown and what is sent counts.

mod covered;
mod noticed;
mod run;
mod samples;
mod types;

pub(super) use covered::{covers, shown_by};
pub(super) use samples::asked;

use crate::bridge::definition::{Direction, Link};
use crate::convert::attribute::asked_by;
use crate::convert::{Chain, Value};
use crate::knx::dpt;
use crate::review::address::address;
use crate::review::difference::link_end;
use rustc_hash::FxHashMap;
use serde_json::{Value as Json, json};
use std::cell::RefCell;
use types::{Types, is_number};

/// So many pairs of conversions are kept in mind; a house has a hundred at most.
const KEPT: usize = 1024;

/// The conversions of one thing at one address before and after, with what they stand between.
pub(super) struct Conversions<'a> {
    pub(super) direction: Direction,
    pub(super) cluster: &'a str,
    /// The attribute, command or event.
    pub(super) end: &'a str,
    /// The datapoint type, before and after.
    pub(super) dpts: [&'a str; 2],
    /// The steps of each link, before and after: of several links the last that gives anything counts.
    pub(super) steps: [Vec<&'a Json>; 2],
    /// Whether the wire is at another address too: then other devices may speak another type with the same meaning.
    pub(super) moved: bool,
    /// The modes that controllers choose from, where they do: nobody asks for another one.
    pub(super) offered: Option<&'a [u64]>,
}

/// What another conversion does.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Effect {
    /// Nothing that anybody notices.
    None,
    /// What gave nothing now gives something, and all else is as it was.
    More(Box<Example>),
    /// Something else is sent or shown.
    Other(Box<Example>),
    /// Telegrams of another size at the same address, which are the device's to say; and what comes of their values.
    OtherSize {
        /// What the values do, in the units of people.
        beside: Box<Effect>,
        /// Whether they are the other way round.
        turned: bool,
    },
}

impl Effect {
    /// A value for which something else comes out, whatever the size of telegrams.
    pub(super) fn other(&self) -> Option<&Example> {
        match self {
            Self::Other(example) => Some(example),
            Self::OtherSize { beside, .. } => beside.other(),
            Self::None | Self::More(_) => None,
        }
    }
}

/// A value for which something else comes out.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Example {
    /// What goes in: the value of the bus, the fields of a command, the value of an attribute.
    pub(super) input: Value,
    /// The attributes without whose values nothing would be different, each with its value.
    pub(super) standing: Vec<(String, Value)>,
    /// What came out; null where nothing did.
    pub(super) before: Value,
    /// What comes out; null where nothing does. What is sent is told as the old type reads it.
    pub(super) after: Value,
    /// What comes out, as the new type reads what is sent.
    pub(super) now: Value,
}

thread_local! {
    // Most appliances of a house are alike, and so is what changes in them.
    static KNOWN: RefCell<FxHashMap<String, Effect>> = RefCell::new(FxHashMap::default());
    static COVERED: RefCell<FxHashMap<String, bool>> = RefCell::new(FxHashMap::default());
    static GRADED: RefCell<FxHashMap<String, bool>> = RefCell::new(FxHashMap::default());
}

/// What the thread knows of it, or finds out.
fn known<T: Clone>(known: &RefCell<FxHashMap<String, T>>, key: String, find: impl FnOnce() -> T) -> T {
    if let Some(found) = known.borrow().get(&key) {
        return found.clone();
    }
    let found = find();
    let mut known = known.borrow_mut();
    if known.len() >= KEPT {
        known.clear();
    }
    known.insert(key, found.clone());
    found
}

/// What another conversion does, of a link that stays.
pub(super) fn effect(conversions: &Conversions) -> Effect {
    let Conversions { direction, cluster, end, dpts: [old, new], steps, moved, offered } = conversions;
    let [before, after] = steps.each_ref().map(|chains| json!(chains));
    let key = format!("{direction:?} {cluster}.{end} {old} {new} {moved} {offered:?} {before} {after}");
    KNOWN.with(|effects| known(effects, key, || found(conversions).unwrap_or(Effect::None)))
}

/// What other conversions or another type do, of links that are for the same thing: those before, and those after.
pub(super) fn effect_of(old: &[&Link], new: &[&Link]) -> Effect {
    effect_among(old, new, None)
}

/// The same, where controllers choose from some modes only.
pub(super) fn effect_among(old: &[&Link], new: &[&Link], offered: Option<&[u64]>) -> Effect {
    let ([first, ..], [now, ..]) = (old, new) else { return Effect::None };
    let chains = |links: &[&Link]| -> Vec<Json> { links.iter().map(|link| json!(link.conversion)).collect() };
    let (before, after) = (chains(old), chains(new));
    effect(&Conversions {
        direction: first.direction,
        cluster: &first.cluster,
        end: link_end(first),
        dpts: [&first.dpt, &now.dpt],
        steps: [before.iter().collect(), after.iter().collect()],
        moved: !at_one_address(first, now),
        offered,
    })
}

/// Whether two links are at the same address of the same bus.
pub(super) fn at_one_address(one: &Link, two: &Link) -> bool {
    one.bus == two.bus && address(&one.group) == address(&two.group)
}

/// Whether a command, or an attribute that is written, sends more than two things to one address, each by what it is asked
/// for: what only switches, steps or moves sends one or two. All links of the command at the address.
pub(super) fn is_graded(links: &[&Link]) -> bool {
    const DECIDED: usize = 2;
    let key =
        |link: &&Link| format!("{}.{} {} {}", link.cluster, link_end(link), link.dpt, json!(link.conversion));
    let keys: Vec<String> = links.iter().map(key).collect();
    GRADED.with(|graded| {
        known(graded, keys.join("\n"), || {
            let mut telegrams = Vec::new();
            for link in links {
                let Ok(dpt) = dpt::lookup(&link.dpt) else { return false };
                for telegram in run::telegrams((&link.cluster, link_end(link)), dpt, &link.conversion) {
                    if !telegrams.contains(&telegram) {
                        telegrams.push(telegram);
                    }
                }
            }
            telegrams.len() > DECIDED
        })
    })
}

/// Whether wires at other addresses do something else than those in whose place they came. Both are wires to the bus for the
/// same command or attribute.
///
/// What cannot be compared does the same where it only switches or moves, or takes a scale as it is. It does something else
/// where the scale is told by another measure, such as a shift in the place of a temperature, or from where it stands now,
/// such as steps in the place of a level.
pub(super) fn does_otherwise(gone: &[&Link], came: &[&Link]) -> bool {
    let ([first, ..], [now, ..]) = (gone, came) else { return false };
    let alike = |links: &[&Link], one: &Link| {
        links.iter().all(|link| link.dpt == one.dpt && at_one_address(link, one))
    };
    let one_each = alike(gone, first) && alike(came, now);
    if one_each && matches!(effect_of(gone, came), Effect::Other(_)) {
        return true;
    }
    // What moves until it is stopped in time arrives.
    let timed = came.iter().any(|link| !link.timing.is_empty());
    if timed || !is_graded(gone) {
        return false;
    }
    let [old, new] = [first, now].map(|link| dpt::lookup(&link.dpt).ok());
    let other_measure =
        old.zip(new).is_some_and(|(old, new)| is_number(old) && is_number(new) && old.unit() != new.unit());
    one_each && other_measure || !is_relative(gone) && is_relative(came)
}

/// Whether what is sent depends on how what is asked for stands now.
fn is_relative(links: &[&Link]) -> bool {
    links.iter().any(|link| {
        let seen = link.conversion.attributes();
        let end = link_end(link);
        let fields = asked_by(&link.cluster, end.strip_suffix("WithOnOff").unwrap_or(end));
        let mut asked = fields.into_iter().flatten().map(|(_, attribute)| attribute.as_str());
        asked.any(|attribute| seen.contains(&attribute))
            || link.attribute.is_some() && seen.contains(&format!("{}.{end}", link.cluster).as_str())
    })
}

/// A value that is not only counted from the other end of a percentage, of a conversion that is turned round: where another
/// range came with it.
pub(super) fn other_range(conversions: &Conversions) -> Option<Example> {
    let [before, after] = conversions.steps.each_ref().map(read);
    let (before, after) = (before?, after?);
    let runs = runs(conversions, [&before, &after])?;
    let mut examples = runs.examples().into_iter().map(|(_, example)| example);
    examples.find(|example| runs.beside_the_turn(example))
}

fn read(steps: &Vec<&Json>) -> Option<Vec<Chain>> {
    steps.iter().map(|steps| serde_json::from_value((*steps).clone()).ok()).collect()
}

/// Both conversions on the same values; none where a type is not known, or the two have nothing in common.
fn runs<'a>(conversions: &'a Conversions, chains: [&'a [Chain]; 2]) -> Option<run::Runs<'a>> {
    let [old, new] = conversions.dpts.map(|dpt| dpt::lookup(dpt).ok());
    let types = Types { old: old?, new: new?, moved: conversions.moved };
    let end = (conversions.cluster, conversions.end);
    run::Runs::of(conversions.direction, end, types, chains, conversions.offered)
}

/// `None` where a type or a conversion cannot be read: nothing can be said of it.
fn found(conversions: &Conversions) -> Option<Effect> {
    let [before, after] = conversions.steps.each_ref().map(read);
    let (before, after) = (before?, after?);
    let [old, new] = conversions.dpts.map(|dpt| dpt::lookup(dpt).ok());
    let other_size = Types { old: old?, new: new?, moved: conversions.moved }.are_of_other_sizes();
    let runs = runs(conversions, [&before, &after]);
    let (beside, turned) = runs.map_or((Effect::None, false), |runs| compared(&runs));
    Some(if other_size { Effect::OtherSize { beside: Box::new(beside), turned } } else { beside })
}

/// What comes of the same values before and after, and whether that is the other way round.
fn compared(runs: &run::Runs) -> (Effect, bool) {
    let place = noticed::Place::of(runs.direction, runs.end, (runs.types.old, runs.types.step(runs.shared)));
    // Where the bus tells nothing, what is shown stays.
    let differ = |before: &Value, after: &Value, stands: Option<&Value>| match (before, after) {
        (Value::Null, _) => false,
        (_, Value::Null) => stands != Some(before),
        _ => place.tells_apart(before, after),
    };
    let more =
        |before: &Value, after: &Value, _: Option<&Value>| *before == Value::Null && *after != Value::Null;
    let examples = runs.examples();
    let turned = place.is_turned_round(examples.iter().map(|(_, one)| (&one.before, &one.after)));
    let others = examples.iter().filter(|(sample, one)| differ(&one.before, &one.after, runs.stands(sample)));
    let others: Vec<&(run::Sample, Example)> = others.collect();
    let worst = others.iter().find(|(_, one)| place.is_worse(&one.before, &one.after)).copied();
    let mores: Vec<&(run::Sample, Example)> =
        examples.iter().filter(|(_, one)| more(&one.before, &one.after, None)).collect();
    let told =
        |(_, example): &(run::Sample, Example), standing| Box::new(Example { standing, ..example.clone() });
    let first = runs.plainest(&mores).map(|one| told(one, runs.decisive(&one.0, more)));
    let Some(other) = worst.or_else(|| runs.plainest(&others)) else {
        return (first.map_or(Effect::None, Effect::More), turned);
    };
    let standing = runs.decisive(&other.0, differ);
    // A telegram where none was is worse than another one that only some state lets through.
    let example = first.filter(|_| runs.direction == Direction::ToBus && !standing.is_empty());
    (Effect::Other(example.unwrap_or_else(|| told(other, standing))), turned)
}
