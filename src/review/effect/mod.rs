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
use crate::convert::{Chain, Value};
use crate::knx::{self, Dpt, dpt};
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

/// Whether a command, or an attribute that is written, sends more than two things, each by what it is asked for: what only
/// switches, steps or moves sends one or two.
pub(super) fn is_graded(link: &Link) -> bool {
    const DECIDED: usize = 2;
    let key = format!("{}.{} {} {}", link.cluster, link_end(link), link.dpt, json!(link.conversion));
    GRADED.with(|graded| {
        known(graded, key, || {
            let Ok(dpt) = dpt::lookup(&link.dpt) else { return false };
            run::telegrams((&link.cluster, link_end(link)), dpt, &link.conversion).len() > DECIDED
        })
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
    let differ = |before: &Value, after: &Value| match (before, after) {
        (Value::Null, _) => false,
        (_, Value::Null) => true,
        _ => place.tells_apart(before, after),
    };
    let mut effect = Effect::None;
    for (sample, example) in runs.examples()? {
        if differ(&example.before, &example.after) {
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
    use knx::dpt::Shape;
    matches!(dpt.shape, Shape::Integer | Shape::Decimal) && !dpt.unit().is_empty()
}
