//! The differences of a change as phrases that stand after the name of what it happens to.

use super::asked::Asked;
use super::attributes;
use super::capital;
use super::effects::{Beside, Told};
use super::modes;
use super::phrases::{Wires, of_difference};
use super::states;
use crate::bridge::definition::Link;
use crate::classes::Direction;
use crate::knx::dpt::{self, Size};
use crate::review::change::{Change, Kind};
use crate::review::difference::{Difference, LinkField, What, Wire, bounds};
use rustc_hash::FxHashSet;
use serde_json::Value as Json;
use std::collections::BTreeMap;

/// The phrases of a change, each once, in the order of the differences. Whole endpoints have none.
pub(super) fn phrases(change: &Change) -> Vec<String> {
    phrases_but(change, |_| false)
}

/// The phrases of a change but for differences that are told otherwise.
pub(super) fn phrases_but(change: &Change, is_told: impl Fn(&Difference) -> bool) -> Vec<String> {
    // Only a change of order tells of the order of links; elsewhere it only says where they stand.
    let told =
        |one: &&Difference| change.kind == Kind::TelegramOrder || !matches!(one.what, What::LinkOrder { .. });
    let differences = change.differences.iter().filter(told).filter(|one| !is_told(one));
    Phrases::of(differences.collect(), change.kind).told()
}

/// The phrases of a change of several appliances, each after the name of its appliance.
pub(super) fn by_member(change: &Change) -> Vec<String> {
    let mut by_endpoint: BTreeMap<(&str, Option<u16>), Vec<&Difference>> = BTreeMap::new();
    for difference in &change.differences {
        by_endpoint.entry((&difference.bridge, difference.endpoint)).or_default().push(difference);
    }
    let mut details = Vec::new();
    for member in change.members() {
        for number in &member.endpoints {
            let differences = by_endpoint.remove(&(member.bridge.as_str(), Some(*number)));
            let phrases = Phrases::of(differences.unwrap_or_default(), change.kind).told();
            details.extend(phrases.into_iter().map(|phrase| format!("{} {phrase}", member.label)));
        }
    }
    details
}

/// Differences that are told together.
struct Phrases<'d> {
    kind: Kind,
    wires: Wires<'d>,
    asked: Asked<'d>,
    beside: Beside<'d>,
    /// Whether wires from the bus say what their attribute shows, and whether any wire does.
    shown: (bool, bool),
    /// Whether a limit is told.
    limits: bool,
    /// What is shown otherwise through wires that took the place of others.
    source: Option<String>,
    differences: Vec<&'d Difference>,
}

impl<'d> Phrases<'d> {
    fn of(differences: Vec<&'d Difference>, kind: Kind) -> Self {
        let says = |difference: &&Difference, wanted: Option<Direction>| match &difference.what {
            What::LinkField { field: LinkField::Shown, wire, .. } => {
                wanted.is_none_or(|wanted| wire.direction == wanted)
            }
            _ => false,
        };
        let any = |wanted| differences.iter().any(|difference| says(difference, wanted));
        let (wires, asked) = (Wires::of(&differences), Asked::of(&differences, kind));
        let source = asked.source();
        let shown = (source.is_some() || any(Some(Direction::FromBus)), any(None));
        let limits = differences.iter().any(|difference| is_limit(difference));
        Self { kind, wires, asked, beside: Beside::of(&differences), shown, limits, source, differences }
    }

    /// Each phrase once.
    fn told(&self) -> Vec<String> {
        let (mut all, mut seen) = (Vec::new(), FxHashSet::default());
        let mut examples = FxHashSet::default();
        for difference in self.differences.iter().filter(|difference| !self.is_idle(difference)) {
            let phrases = match modes::phrases(&difference.what) {
                Some(modes) => modes,
                None => self.phrase(difference, &mut examples).into_iter().collect(),
            };
            // What is so whatever else is so needs no telling of one case.
            let is_case = |phrase: &str, seen: &FxHashSet<String>| {
                phrase.rsplit_once(" while ").is_some_and(|(always, _)| seen.contains(always))
            };
            for phrase in phrases {
                if !is_case(&phrase, &seen) && seen.insert(phrase.clone()) {
                    all.push(phrase);
                }
            }
        }
        all.extend(self.source.iter().filter(|source| !seen.contains(*source)).cloned());
        all
    }

    fn phrase(&self, difference: &'d Difference, examples: &mut FxHashSet<Place<'d>>) -> Option<String> {
        let phrase = self.asked.phrase(difference).or_else(|| match self.otherwise(difference) {
            Some(told) if !told.is_example || examples.insert(wire(difference)) => Some(told.text),
            Some(_) => None,
            None => match self.first(difference) {
                Some(told) if !told.is_example || examples.insert(wire(difference)) => Some(told.text),
                Some(_) => None,
                None if self.kind != Kind::ConversionChanged && self.beside.is_more(difference) => {
                    more(difference)
                }
                None => of_difference(difference, &self.wires),
            },
        });
        let phrase = phrase.map(|phrase| phrase + self.echo(difference) + &self.sizes(difference))?;
        Some(phrase + &self.states(difference).unwrap_or_default())
    }

    /// What another conversion does, unless that comes to the same for what people can ask for.
    fn otherwise(&self, difference: &Difference) -> Option<Told> {
        if self.kind == Kind::ConversionChanged { None } else { self.beside.phrase(difference) }
    }

    /// What is sent or shown where nothing was, if that is what counts.
    fn first(&self, difference: &Difference) -> Option<Told> {
        let counts = matches!(self.kind, Kind::OtherEffect | Kind::ShownOtherwise);
        if counts { self.beside.first(difference) } else { None }
    }

    /// What nobody learns any more, or people learn now, of an attribute that several wires make together.
    fn states(&self, difference: &Difference) -> Option<String> {
        match (&difference.what, self.kind) {
            (What::LinkRemoved { link, .. }, Kind::FunctionUnwired) => states::gone(link),
            (What::LinkAdded { link, .. }, Kind::FunctionWired) => states::came(link),
            _ => None,
        }
    }

    /// The sizes of telegrams, where they are what counts.
    fn sizes(&self, difference: &Difference) -> String {
        match &difference.what {
            What::LinkField { field: LinkField::Dpt, before, after, .. }
                if matches!(self.kind, Kind::TelegramSize | Kind::OtherEffect) =>
            {
                let (after, before) = (size(after), size(before));
                if after == before { String::new() } else { format!(", {after} instead of {before}") }
            }
            _ => String::new(),
        }
    }

    /// Whether a difference has nothing to say of its own.
    fn is_idle(&self, difference: &Difference) -> bool {
        if follows(difference) {
            return !self.differences.iter().all(|one| follows(one));
        }
        let (wire, field, [before, after]) = match &difference.what {
            What::LinkField { wire, field, before, after, .. } => (wire, field, [before, after]),
            What::LinkAdded { link, .. } | What::LinkRemoved { link, .. } => {
                return self.asked.tells(difference) || self.is_part(difference, link);
            }
            _ => return false,
        };
        match (field, self.kind) {
            // The wires of commands show what their attribute shows.
            (LinkField::Shown, Kind::StatusSource) => self.shown.0 && wire.direction == Direction::ToBus,
            (LinkField::Shown, _) => wire.direction == Direction::ToBus,
            (LinkField::Conversion, Kind::ConversionChanged | Kind::FunctionReduced) => false,
            // What a limit changes in a conversion is said by the limit.
            (LinkField::Conversion, Kind::LimitsChanged) => true,
            (LinkField::Conversion, _) if self.limits && bounds(before, after) => true,
            // What comes to the same needs no words beside others.
            (LinkField::Conversion, _) => {
                self.beside.phrase(difference).is_none() && self.first(difference).is_none()
            }
            _ => false,
        }
    }

    /// Whether a link that came or went does a part of what another one does that tells it.
    fn is_part(&self, difference: &Difference, link: &Link) -> bool {
        let removed = matches!(difference.what, What::LinkRemoved { .. });
        if removed && self.kind != Kind::FunctionReduced {
            return false;
        }
        let part = Wire::of(link);
        self.differences.iter().any(|other| match &other.what {
            What::LinkField { wire, field: LinkField::Conversion, .. } => {
                other.endpoint == difference.endpoint
                    && other.bridge == difference.bridge
                    && (&wire.end, &wire.group, wire.direction) == (&part.end, &part.group, part.direction)
            }
            _ => false,
        })
    }

    /// Why a status is another one that is not said to be: one of its two addresses is a command of the appliance.
    fn echo(&self, difference: &Difference) -> &'static str {
        match &difference.what {
            What::LinkField { field: LinkField::Group, wire, .. }
                if self.kind == Kind::StatusSource
                    && !self.shown.1
                    && wire.direction == Direction::FromBus =>
            {
                ", of which one is its own command and tells what was asked for, not what happened"
            }
            _ => "",
        }
    }
}

/// Addresses that are taken for a type of another size, each once.
pub(super) fn of_types(differences: &[&Difference]) -> Vec<String> {
    let wires = Wires::of(differences);
    let mut told = Vec::new();
    for difference in differences {
        let What::LinkField { field: LinkField::Dpt, before, after, .. } = &difference.what else { continue };
        let (was, is) = (size(before), size(after));
        let phrase = of_difference(difference, &wires).filter(|_| was != is);
        let line = phrase.map(|phrase| capital(&format!("{phrase}, {is} instead of {was}")));
        told.extend(line.filter(|line| !told.contains(line)));
    }
    told
}

/// How long the telegrams of a datapoint type are.
fn size(dpt: &Json) -> String {
    let plural = |count: u8| if count == 1 { "" } else { "s" };
    match dpt.as_str().and_then(|dpt| dpt::lookup(dpt).ok()).map(|dpt| dpt.size) {
        Some(Size::Bits(count)) => format!("{count} bit{}", plural(count)),
        Some(Size::Bytes(count)) => format!("{count} byte{}", plural(count)),
        Some(Size::Variable) | None => "a text".to_owned(),
    }
}

/// Whether a difference is another limit.
fn is_limit(difference: &Difference) -> bool {
    match &difference.what {
        What::Attribute { attribute, before: Some(_), after: Some(_), .. } => attribute.contains("Limit"),
        _ => false,
    }
}

/// Whether a difference only follows from others.
fn follows(difference: &Difference) -> bool {
    match &difference.what {
        What::Attribute { name, attribute, .. } => attributes::follows(name, attribute),
        _ => false,
    }
}

/// What a conversion does that passes on more values than it did.
fn more(difference: &Difference) -> Option<String> {
    let What::LinkField { wire, .. } = &difference.what else { return None };
    let way = if wire.direction == Direction::ToBus { "to" } else { "from" };
    Some(format!("now passes on more values of `{}` {way} {}", wire.point, wire.group))
}

/// A wire, by its endpoint and address.
type Place<'d> = (Option<u16>, &'d str);

/// The wire of a link that stays.
fn wire(difference: &Difference) -> Place<'_> {
    match &difference.what {
        What::LinkField { wire, .. } => (difference.endpoint, &wire.group),
        _ => (difference.endpoint, ""),
    }
}
