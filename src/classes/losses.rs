//! What the links of an endpoint lose on the way between the bus and the controller, proven.
//!
//! Links are put together in pairs: the one that shows an attribute and the one that asks for it, over the same point and
//! datapoint type. A colour is proven as a whole, with its hue, saturation and level at once.

use super::class::{Class, End};
use super::shape::{Chosen, Direction, ShapedLink, ShapedPart, Target};
use super::shaping::{misfit, on_the_bus};
use crate::convert::attribute::{self, asked_by_commands};
use crate::convert::proof::{
    AttributeSide, DptSide, Input, Key, Noticeable, Proof, ProofCache, Sense, Shown, Subject, ToBus,
};
use crate::convert::{Fields, Range, Value};
use crate::knx::DptId;
use crate::knx::dpt::{self, Shape};
use crate::matter;
use crate::sort;
use rayon::prelude::*;
use rustc_hash::FxHashSet;
use std::sync::Arc;

/// What a pair of links loses, or a link that has no other.
#[derive(Clone, Debug)]
pub struct Loss {
    /// Index of the point in [`Class::points`](super::Class::points).
    pub point: u16,
    /// Datapoint type at the bus end.
    pub dpt: DptId,
    /// The attributes, `Cluster.Attribute`.
    pub attributes: Vec<String>,
    /// What is lost.
    pub proof: Arc<Proof>,
}

/// The proofs of everything that the built-in classes can become: the made file `schema/proofs.json`.
///
/// A colour takes a million runs of a dozen steps, which a check of a house has no time for. What a house overrides
/// (Kelvin limits, a range) is proven when it is first asked for, and once for all appliances that override the same.
pub fn known_proofs() -> &'static ProofCache {
    static KNOWN: std::sync::LazyLock<ProofCache> =
        std::sync::LazyLock::new(|| ProofCache::knowing(include!(concat!(env!("OUT_DIR"), "/proofs.rs"))));
    &KNOWN
}

/// What the links of an endpoint lose. `chosen` is what the endpoint's shape was made from.
pub fn losses(part: &ShapedPart, chosen: &Chosen, cache: &ProofCache) -> Vec<Loss> {
    let mut out = Vec::new();
    each_subject(part, chosen, &mut |wires, subject| {
        out.push(Loss {
            point: wires.link.point,
            dpt: wires.link.dpt,
            attributes: wires.attributes.clone(),
            proof: cache.prove(subject),
        });
    });
    out
}

/// Makes the proofs of what appliances lose, where they are not known yet and a glance shows that something is lost, and
/// gives their keys. Looks at so many and proves so many at most, the first ones, whatever other houses of the run had
/// proven; and none of a bus value of more than 16 bits, since a colour takes seconds.
pub fn prove_what_shows(wanted: &[(&Class, &Chosen)], [glances, proofs]: [usize; 2]) -> FxHashSet<Key> {
    let cache = known_proofs();
    let shapes = wanted.iter().filter_map(|(class, chosen)| Some((class.shape(chosen).ok()?, *chosen)));
    let shapes: Vec<_> = shapes.collect();
    let parts = shapes.iter().flat_map(|(shape, chosen)| shape.parts.iter().map(move |part| (part, *chosen)));
    let parts: Vec<(&ShapedPart, &Chosen)> = parts.collect();
    let (mut seen, mut fresh) = (FxHashSet::default(), Vec::new());
    for (part, (shaped, chosen)) in parts.iter().enumerate() {
        let mut nth = 0;
        each_subject(shaped, chosen, &mut |_, subject| {
            if subject.bus.bits() <= 16 && fresh.len() < glances {
                let key = Key::of(subject);
                if !cache.knows(&key) && seen.insert(key) {
                    fresh.push((part, nth));
                }
            }
            nth += 1;
        });
    }
    let with = |&(part, wanted): &(usize, usize), give: &mut dyn FnMut(&Subject<'_>)| {
        let mut nth = 0;
        if let Some((shaped, chosen)) = parts.get(part) {
            each_subject(shaped, chosen, &mut |_, subject| {
                if nth == wanted {
                    give(subject);
                }
                nth += 1;
            });
        }
    };
    let lossy = fresh.into_par_iter().filter(|place| {
        let mut shows = false;
        with(place, &mut |subject| shows = cache.shows_loss(subject));
        shows
    });
    let lossy: Vec<(usize, usize)> = lossy.collect();
    let proven = lossy.into_par_iter().take(proofs).filter_map(|place| {
        let mut key = None;
        with(&place, &mut |subject| {
            cache.prove(subject);
            key = Some(Key::of(subject));
        });
        key
    });
    proven.collect()
}

/// What a person would notice of what an appliance loses, by point, as far as the proofs are known or among those that were
/// `proven` for the house.
pub fn known_losses(class: &Class, chosen: &Chosen, proven: &FxHashSet<Key>) -> Vec<(u16, Vec<Noticeable>)> {
    let cache = known_proofs();
    let mut out: Vec<(u16, Vec<Noticeable>)> = Vec::new();
    let Ok(shape) = class.shape(chosen) else { return out };
    for part in &shape.parts {
        each_subject(part, chosen, &mut |wires, subject| {
            let key = Key::of(subject);
            if !cache.knows(&key) && !proven.contains(&key) {
                return;
            }
            let lost = cache.prove(subject).noticeable();
            // What does not fit at all has been told of its class.
            let unfit = |link: &ShapedLink| {
                link.point == wires.link.point && misfit(link, &part.clusters, true, true).is_some()
            };
            if !lost.is_empty() && !part.links().any(unfit) {
                out.push((wires.link.point, lost));
            }
        });
    }
    out
}

/// Calls `with` for each subject of a proof that an endpoint has.
#[doc(hidden)]
pub fn each_subject(part: &ShapedPart, chosen: &Chosen, with: &mut dyn FnMut(&Wires<'_>, &Subject<'_>)) {
    for wires in pairs(part) {
        wires.subject(part, chosen, with);
    }
}

/// A bus value and the attributes that it stands for.
#[doc(hidden)]
#[derive(Debug)]
pub struct Wires<'a> {
    attributes: Vec<String>,
    /// What goes to the bus, and by which link.
    asks: Option<(Input, &'a ShapedLink)>,
    /// A link of them: its point and type are those of all.
    link: &'a ShapedLink,
}

impl Wires<'_> {
    /// The number of the point.
    pub(super) fn point(&self) -> u16 {
        self.link.point
    }

    /// The attributes, `Cluster.Attribute`.
    pub(super) fn attributes(&self) -> &[String] {
        &self.attributes
    }
}

/// The endpoint's links, put together.
fn pairs(part: &ShapedPart) -> Vec<Wires<'_>> {
    let mut wires: Vec<Wires<'_>> = Vec::new();
    let mut asked: Vec<_> = asked_by_commands().iter().collect();
    // A command for several attributes says more than one for each of them.
    sort::by_key(&mut asked, |(_, fields)| std::cmp::Reverse(fields.len()));
    for (command, fields) in asked {
        // What moves on from the value that is shown has no value of its own to prove.
        let asks = |link: &&ShapedLink| {
            let seen = link.conversion.attributes();
            is_command(link, command)
                && !fields.values().any(|own| seen.contains(&own.as_str()))
                && !is_shared(part, link, command)
        };
        for link in part.links().filter(asks) {
            let mut attributes: Vec<String> = fields.values().cloned().collect();
            let input = Input::Fields(fields.keys().cloned().zip(0..).collect());
            add_level(part, link, &mut attributes);
            add(&mut wires, Wires { attributes, asks: Some((input, link)), link });
        }
    }
    for link in part.links() {
        if let (Direction::ToBus, Target::Attribute(name)) = (link.direction, &link.target) {
            let attributes = vec![format!("{}.{name}", link.cluster)];
            add(&mut wires, Wires { attributes, asks: Some((Input::Attribute(0), link)), link });
        }
    }
    for link in part.links() {
        if let (Direction::FromBus, Target::Attribute(name)) = (link.direction, &link.target) {
            let attribute = format!("{}.{name}", link.cluster);
            if !link.conversion.attributes().contains(&attribute.as_str()) {
                add(&mut wires, Wires { attributes: vec![attribute], asks: None, link });
            }
        }
    }
    wires
}

/// Adds wires, unless they are part of what is there.
fn add<'a>(wires: &mut Vec<Wires<'a>>, new: Wires<'a>) {
    let has = |old: &Wires<'_>| {
        (old.link.point, old.link.dpt) == (new.link.point, new.link.dpt)
            && new.attributes.iter().all(|attribute| old.attributes.contains(attribute))
    };
    if !wires.iter().any(has) {
        wires.push(new);
    }
}

/// Whether several values carry the command together, such as the channels of a colour: one of them alone says nothing of what
/// is lost. A switch or a step beside a value is no part of it.
fn is_shared(part: &ShapedPart, link: &ShapedLink, command: &str) -> bool {
    let is_value = |other: &ShapedLink| !matches!(other.dpt.main, 1 | 3);
    part.links().any(|other| other.point != link.point && is_value(other) && is_command(other, command))
}

fn is_command(link: &ShapedLink, command: &str) -> bool {
    let Target::Command(name) = &link.target else { return false };
    command.split_once('.').is_some_and(|(cluster, own)| cluster == link.cluster && own == name)
}

/// A colour that is written with the level in it is proven with the level.
fn add_level(part: &ShapedPart, link: &ShapedLink, attributes: &mut Vec<String>) {
    let level = "LevelControl.CurrentLevel";
    let shows = || shown_by(part, link, level).is_some();
    if !attributes.iter().any(|own| own == level) && link.conversion.attributes().contains(&level) && shows()
    {
        attributes.push(level.to_owned());
    }
}

/// The link that shows an attribute from the same point and datapoint type; a feedback before others. One that moves on
/// from what the attribute shows has no value of its own to prove.
fn shown_by<'a>(part: &'a ShapedPart, link: &ShapedLink, attribute: &str) -> Option<&'a ShapedLink> {
    let shows = part.links().filter(|other| {
        let Target::Attribute(name) = &other.target else { return false };
        let named =
            attribute.split_once('.').is_some_and(|(cluster, own)| cluster == other.cluster && own == name);
        named
            && other.direction == Direction::FromBus
            && (other.point, other.dpt) == (link.point, link.dpt)
            && !other.conversion.attributes().contains(&attribute)
    });
    shows.min_by_key(|other| other.end != End::Feedback)
}

impl Wires<'_> {
    fn subject(&self, part: &ShapedPart, chosen: &Chosen, with: &mut dyn FnMut(&Wires<'_>, &Subject<'_>)) {
        let Some(dpt) = dpt::find(self.link.dpt) else { return };
        let sides = self.attributes.iter().map(|attribute| side(part, attribute));
        let Some(sides) = sides.collect::<Option<Vec<AttributeSide>>>() else { return };
        // Up, down, stop and relative steps are no values; what is shown of them is an estimate by running times.
        let moves = matches!(dpt.shape, Shape::Bool | Shape::Step);
        if moves && sides.iter().any(|side| side.person.sense != Sense::Code) {
            return;
        }
        let Some(bus) = DptSide::new(dpt) else { return };
        let shown: Vec<Shown<'_>> = sides
            .iter()
            .map(|side| Shown {
                side,
                from_bus: shown_by(part, self.link, &side.name).map(|link| &link.conversion),
            })
            .collect();
        let to_bus = self.asks.as_ref().map(|(input, link)| ToBus { input, chain: &link.conversion });
        let chains = shown.iter().filter_map(|shown| shown.from_bus).chain(to_bus.map(|way| way.chain));
        let beside = chains
            .flat_map(|chain| chain.attributes())
            .filter(|of| !self.attributes.iter().any(|own| own == of));
        let around: Fields = beside.filter_map(|of| Some((of.to_owned(), standing(part, of)?))).collect();
        let point = chosen.points.iter().find(|point| point.point == self.link.point);
        let range = point.and_then(|point| point.range).map(|ends| on_the_bus(ends, self.link.dpt));
        let range = range.map(|[low, high]| Range::between(low, high));
        with(self, &Subject { bus: &bus, shown: &shown, to_bus, around: &around, bus_range: range });
    }
}

/// The attribute as a side of a proof.
fn side(part: &ShapedPart, attribute: &str) -> Option<AttributeSide> {
    let (cluster, name) = attribute.split_once('.')?;
    let shaped = part.cluster(cluster)?;
    let facts = matter::cluster(cluster)?;
    let attribute = facts.attributes.iter().find(|attribute| attribute.name == name)?;
    attribute::side(facts, attribute, &|name| shaped.number(name))
}

/// What an attribute beside those proven is taken to be: its first value, or where that is not known its highest, as
/// with a lamp that is fully on.
fn standing(part: &ShapedPart, of: &str) -> Option<Value> {
    let (cluster, name) = of.split_once('.')?;
    let first = Value::from_json(part.cluster(cluster)?.attributes.get(name)?).ok()?;
    if first == Value::Null { Some(side(part, of)?.values.highest()) } else { Some(first) }
}
