//! Differences of the links of two endpoints: which link is which, and what is different about it.

use super::faces::{Faces, SEVERAL};
use super::modes::offered;
use super::order::start;
use super::reversal::is_turned_round;
use super::{Inside, LinkField, What, Wire, link_end};
use crate::bridge::definition::Link;
use crate::classes::Direction;
use crate::review::address::{Address, address};
use crate::review::change::Kind;
use crate::review::effect::{Effect, at_one_address, effect_among};
use rustc_hash::FxHashMap;
use serde::Serialize;
use serde_json::json;
use std::collections::VecDeque;
use std::hash::{Hash, Hasher};

/// What a link does, wherever it is wired to.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
struct Slot<'a> {
    point: &'a str,
    direction: Direction,
    cluster: &'a str,
    attribute: Option<&'a str>,
    command: Option<&'a str>,
    event: Option<&'a str>,
}

fn slot(link: &Link) -> Slot<'_> {
    Slot {
        point: &link.point,
        direction: link.direction,
        cluster: &link.cluster,
        attribute: link.attribute.as_deref(),
        command: link.command.as_deref(),
        event: link.event.as_deref(),
    }
}

/// What a link does, by which datapoint type, on which bus and at which address.
type Task<'a> = (Slot<'a>, &'a str, &'a str, Address<'a>);

fn task(link: &Link) -> Task<'_> {
    (slot(link), &link.dpt, &link.bus, address(&link.group))
}

/// A whole link as a key, with or without the name of its point.
struct Whole<'a> {
    link: &'a Link,
    point: bool,
}

impl Whole<'_> {
    /// The fields that tell most links apart, and are quick to hash.
    fn outline(&self) -> (&str, Direction, &str, &str, &str, &str) {
        let point = if self.point { self.link.point.as_str() } else { "" };
        let link = self.link;
        (point, link.direction, &link.cluster, link_end(link), &link.group, &link.dpt)
    }
}

impl Hash for Whole<'_> {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.outline().hash(state);
    }
}

impl PartialEq for Whole<'_> {
    fn eq(&self, other: &Self) -> bool {
        let (a, b) = (self.link, other.link);
        let rest = |link: &Link| {
            (link.attribute.is_some(), link.command.is_some(), link.event.is_some(), link.read, link.shown)
        };
        self.outline() == other.outline()
            && rest(a) == rest(b)
            && a.bus == b.bus
            && a.timing == b.timing
            && a.conversion == b.conversion
    }
}

impl Eq for Whole<'_> {}

/// Which old link is which new one; `None` for a link without its like.
struct Pairing {
    new_of_old: Vec<Option<usize>>,
    old_of_new: Vec<Option<usize>>,
}

/// The differences of the two endpoints' links, each with its kind.
pub(super) fn link_differences(old: Inside, new: Inside) -> Vec<(Kind, What)> {
    let mut out = Vec::new();
    if old.links == new.links {
        return out;
    }
    let pairing = pair_links(old.links, new.links);
    let (faces, came) = (Faces::of(old, new), pairing.came(new.links));
    for (index, (link, paired)) in (0u32..).zip(old.links.iter().zip(&pairing.new_of_old)) {
        match paired.and_then(|at| new.links.get(at)) {
            Some(after) => {
                if link != after {
                    let (reduced, echoes) = (faces.does_less(link, after), faces.echoes(link, after));
                    let further = came.get(&task(after)).filter(|_| at_one_address(link, after));
                    let further = further.cloned().unwrap_or_default();
                    let modes = faces.cluster_now(after).and_then(offered);
                    fields(&Kept { index, old: link, new: after, further, reduced, echoes, modes }, &mut out);
                }
            }
            None => {
                out.push((
                    faces.kind_of_removed(link),
                    What::LinkRemoved { index, link: Box::new(link.clone()) },
                ));
            }
        }
    }
    for (at, (link, paired)) in (0u32..).zip(new.links.iter().zip(&pairing.old_of_new)) {
        if paired.is_none() {
            out.push((faces.kind_of_added(link), What::LinkAdded { at, link: Box::new(link.clone()) }));
        }
    }
    order(new.links, &pairing, &mut out);
    out
}

/// Pairs links: equal ones first, then those that do the same, at the same address if there is one, else in order.
fn pair_links(old: &[Link], new: &[Link]) -> Pairing {
    let mut pairing = Pairing { new_of_old: vec![None; old.len()], old_of_new: vec![None; new.len()] };
    // Equal ends first: pairing the n-th of some equal links with the n-th keeps their order.
    let head = old.iter().zip(new).take_while(|(before, after)| before == after).count();
    let most = old.len().min(new.len()) - head;
    let tail = old
        .iter()
        .rev()
        .zip(new.iter().rev())
        .take(most)
        .take_while(|(before, after)| before == after)
        .count();
    (0..head).for_each(|at| pairing.put(at, at));
    (1..=tail).for_each(|back| pairing.put(old.len() - back, new.len() - back));
    pairing.by(old, new, |link| Whole { link, point: true });
    pairing.by(old, new, |link| (slot(link), link.bus.as_str(), address(&link.group)));
    pairing.by(old, new, |link| (slot(link), link.read, link.dpt.as_str()));
    pairing.by(old, new, |link| (slot(link), link.read));
    pairing.by(old, new, slot);
    // A point that only has another name keeps its links.
    pairing.by(old, new, |link| Whole { link, point: false });
    pairing
}

impl Pairing {
    fn put(&mut self, old: usize, new: usize) {
        if let (Some(to), Some(from)) = (self.new_of_old.get_mut(old), self.old_of_new.get_mut(new)) {
            (*to, *from) = (Some(new), Some(old));
        }
    }

    /// Links that came, by what they are for; of each so many at most.
    fn came<'a>(&self, links: &'a [Link]) -> FxHashMap<Task<'a>, Vec<&'a Link>> {
        let mut came: FxHashMap<Task, Vec<&Link>> = FxHashMap::default();
        for (link, _) in links.iter().zip(&self.old_of_new).filter(|(_, old)| old.is_none()) {
            let alike = came.entry(task(link)).or_default();
            if alike.len() < SEVERAL {
                alike.push(link);
            }
        }
        came
    }

    /// Pairs the links that are still alone and have the same key, in order.
    fn by<'a, K: Eq + Hash>(&mut self, old: &'a [Link], new: &'a [Link], key: impl Fn(&'a Link) -> K) {
        let alone = |paired: &[Option<usize>]| -> Vec<usize> {
            paired.iter().enumerate().filter(|(_, paired)| paired.is_none()).map(|(at, _)| at).collect()
        };
        let (lone_old, lone_new) = (alone(&self.new_of_old), alone(&self.old_of_new));
        if lone_old.is_empty() || lone_new.is_empty() {
            return;
        }
        let mut waiting: FxHashMap<K, VecDeque<usize>> = FxHashMap::default();
        for at in lone_new {
            if let Some(link) = new.get(at) {
                waiting.entry(key(link)).or_default().push_back(at);
            }
        }
        for index in lone_old {
            let found = old.get(index).and_then(|link| waiting.get_mut(&key(link)));
            if let Some(at) = found.and_then(VecDeque::pop_front) {
                self.put(index, at);
            }
        }
    }
}

/// Two links that are the same link.
struct Kept<'a> {
    /// Position of the old one.
    index: u32,
    old: &'a Link,
    new: &'a Link,
    /// Links that came and do a part of it.
    further: Vec<&'a Link>,
    /// Whether the command it is for did more than it does.
    reduced: bool,
    /// Whether one of them, and not the other, learns its status from its own command.
    echoes: bool,
    /// The modes that controllers choose from.
    modes: Option<Vec<u64>>,
}

impl Kept<'_> {
    /// What another conversion or datapoint type means.
    fn conversion(&self) -> Kind {
        let (old, new) = (self.old, self.new);
        if old.dpt == new.dpt && old.conversion == new.conversion {
            return Kind::ConversionChanged;
        }
        match (self.reduced, is_turned_round(old, new)) {
            (true, _) => Kind::FunctionReduced,
            (_, true) => Kind::Reversed,
            _ => {
                let now: Vec<&Link> = std::iter::once(new).chain(self.further.iter().copied()).collect();
                kind_of_effect(&effect_among(&[old], &now, self.modes.as_deref()), old)
            }
        }
    }

    /// What other times of a movement mean.
    fn timing(&self) -> Kind {
        let of = |time: &str| [self.old, self.new].map(|link| link.timing.get(time));
        let differ = |[before, after]: [_; 2]| before != after;
        if differ(of("afterTravel")) {
            Kind::OtherEffect
        } else if differ(of("fullTravel")) && of("fullTravel").iter().all(Option::is_some) {
            Kind::ShownOtherwise
        } else {
            Kind::TimingChanged
        }
    }

    fn field<T: PartialEq + Serialize>(
        &self,
        kind: Kind,
        field: LinkField,
        of: impl Fn(&Link) -> &T,
        out: &mut Vec<(Kind, What)>,
    ) {
        let (before, after) = (of(self.old), of(self.new));
        if before != after {
            let (before, after) = (json!(before), json!(after));
            let wire = Wire::of(self.old);
            out.push((kind, What::LinkField { index: self.index, wire, field, before, after }));
        }
    }
}

/// What it means that something else comes of a link.
pub(super) fn kind_of_effect(effect: &Effect, link: &Link) -> Kind {
    match (effect, link.direction, &link.attribute) {
        (Effect::None, ..) => Kind::ConversionChanged,
        // What is sent or shown the other way round, or otherwise, is worse than that a device must be set to another size.
        (Effect::OtherSize { turned: true, .. }, ..) => Kind::Reversed,
        (Effect::OtherSize { beside, .. }, Direction::ToBus, _) if beside.other().is_some() => {
            Kind::OtherEffect
        }
        (Effect::OtherSize { .. }, ..) => Kind::TelegramSize,
        (Effect::More(_) | Effect::Other(_), Direction::FromBus, Some(_)) => Kind::ShownOtherwise,
        // A telegram or an event where there was none starts something.
        (Effect::More(_) | Effect::Other(_), ..) => Kind::OtherEffect,
    }
}

/// The fields in which two links that are the same link differ.
fn fields(kept: &Kept, out: &mut Vec<(Kind, What)>) {
    let (old, new) = (kept.old, kept.new);
    let moved = !at_one_address(old, new);
    // A status that is no longer reported, or is now, comes from elsewhere: that is one thing.
    let other_source = old.direction == Direction::FromBus && (old.shown != new.shown || kept.echoes);
    let or_source = |kind| if other_source { Kind::StatusSource } else { kind };
    let group = if moved { or_source(Kind::Rewired) } else { Kind::NotationChanged };
    let conversion = kept.conversion();
    kept.field(Kind::Wording, LinkField::Point, |link| &link.point, out);
    kept.field(or_source(Kind::Rewired), LinkField::Bus, |link| &link.bus, out);
    kept.field(group, LinkField::Group, |link| &link.group, out);
    kept.field(conversion, LinkField::Dpt, |link| &link.dpt, out);
    kept.field(or_source(Kind::TimingChanged), LinkField::Read, |link| &link.read, out);
    kept.field(Kind::StatusSource, LinkField::Shown, |link| &link.shown, out);
    kept.field(conversion, LinkField::Joint, |link| &link.joint, out);
    kept.field(kept.timing(), LinkField::Timing, |link| &link.timing, out);
    kept.field(conversion, LinkField::Conversion, |link| &link.conversion, out);
}

/// Adds the order of the links that stay, if it changes what a command sends first. Another order that means nothing
/// is told with what else is different about the links, so that these come to stand as they do, and else not at all.
fn order(new: &[Link], pairing: &Pairing, out: &mut Vec<(Kind, What)>) {
    let order: Vec<u32> =
        pairing.old_of_new.iter().filter_map(|old| old.and_then(|old| u32::try_from(old).ok())).collect();
    if order.is_sorted() {
        return;
    }
    let mut last: FxHashMap<String, u32> = FxHashMap::default();
    let mut turned = false;
    for (link, old) in new.iter().zip(&pairing.old_of_new) {
        if let (Direction::ToBus, Some(old)) = (link.direction, old.and_then(|old| u32::try_from(old).ok())) {
            let before = last.insert(start(link), old);
            turned |= before.is_some_and(|before| before > old);
        }
    }
    let kind = if turned { Some(Kind::TelegramOrder) } else { out.first().map(|(kind, _)| *kind) };
    out.extend(kind.map(|kind| (kind, What::LinkOrder { order })));
}
