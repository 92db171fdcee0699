//! What another conversion does to people: both are run on the same values, and what comes of them is compared.
//!
//! In: links before and after, as [`Conversions`]. Out: an [`Effect`], with an example that people can try. A difference
//! that nobody notices (a rounding, a step that does nothing) is none. Controllers and the bus know nothing of steps: only
//! what is shown and what is sent counts.

mod noticed;
mod run;
mod samples;

pub(super) use samples::asked;

use crate::bridge::definition::{Direction, Link};
use crate::convert::attribute::asked_by;
use crate::convert::{Chain, Value};
use crate::knx::dpt::Shape;
use crate::knx::{Dpt, dpt};
use crate::review::address::address;
use crate::review::difference::link_end;
use rustc_hash::FxHashMap;
use serde_json::{Value as Json, json};
use std::cell::RefCell;

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
}

/// What another conversion does.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Effect {
    /// Nothing that anybody notices.
    None,
    /// What gave nothing now gives something, and all else is as it was.
    More,
    /// Something else is sent or shown.
    Other(Box<Example>),
    /// Telegrams of another size at the same address: what comes of them is the device's to say.
    OtherSize,
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
    /// What comes out; null where nothing does.
    pub(super) after: Value,
}

thread_local! {
    // Most appliances of a house are alike, and so is what changes in them.
    static KNOWN: RefCell<FxHashMap<String, Effect>> = RefCell::new(FxHashMap::default());
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
    let Conversions { direction, cluster, end, dpts: [old, new], steps, moved } = conversions;
    let [before, after] = steps.each_ref().map(|chains| json!(chains));
    let key = format!("{direction:?} {cluster}.{end} {old} {new} {moved} {before} {after}");
    KNOWN.with(|effects| known(effects, key, || found(conversions).unwrap_or(Effect::None)))
}

/// What other conversions or another type do, of links that are for the same thing: those before, and those after.
pub(super) fn effect_of(old: &[&Link], new: &[&Link]) -> Effect {
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

/// `None` where a type or a conversion cannot be read: nothing can be said of it.
fn found(conversions: &Conversions) -> Option<Effect> {
    let read = |steps: &Vec<&Json>| -> Option<Vec<Chain>> {
        steps.iter().map(|steps| serde_json::from_value((*steps).clone()).ok()).collect()
    };
    let [before, after] = conversions.steps.each_ref().map(read);
    let (before, after) = (before?, after?);
    let [old, new] = conversions.dpts.map(|dpt| dpt::lookup(dpt).ok());
    let types = Types { old: old?, new: new?, moved: conversions.moved };
    if !types.moved && types.old.size != types.new.size {
        return Some(Effect::OtherSize);
    }
    let end = (conversions.cluster, conversions.end);
    let runs = run::Runs { direction: conversions.direction, end, types, chains: [&before, &after] };
    let place = noticed::Place::of(conversions.direction, end, runs.types.old);
    // Where the bus tells nothing, what is shown stays.
    let differ = |before: &Value, after: &Value, stands: Option<&Value>| match (before, after) {
        (Value::Null, _) => false,
        (_, Value::Null) => stands != Some(before),
        _ => place.tells_apart(before, after),
    };
    let mut effect = Effect::None;
    for (sample, example) in runs.examples()? {
        if differ(&example.before, &example.after, runs.stands(&sample)) {
            let standing = runs.decisive(&sample, differ);
            return Some(Effect::Other(Box::new(Example { standing, ..example })));
        }
        if example.before == Value::Null && example.after != Value::Null {
            effect = Effect::More;
        }
    }
    Some(effect)
}

/// The datapoint types of a link, before and after.
struct Types {
    old: &'static Dpt,
    new: &'static Dpt,
    moved: bool,
}

impl Types {
    /// Whether what one of them sends is a telegram of the other, and the same devices get it.
    fn share_telegrams(&self) -> bool {
        self.old.id == self.new.id || !self.moved && self.old.size == self.new.size
    }

    /// Whether a value of one is the same value of the other, whatever its telegram is.
    fn share_values(&self) -> bool {
        self.old.unit() == self.new.unit() && knx_shape(self.old) == knx_shape(self.new)
    }
}

/// Whether its values are numbers with a unit.
fn knx_shape(dpt: &Dpt) -> bool {
    is_number(dpt) && !dpt.unit().is_empty()
}

fn is_number(dpt: &Dpt) -> bool {
    matches!(dpt.shape, Shape::Integer | Shape::Decimal)
}
