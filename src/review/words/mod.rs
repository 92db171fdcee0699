//! A change in sentences, with the house's own names.
//!
//! Sentences start with a capital letter and have no full stop, so that they stand as entries of a list.

mod asked;
mod attributes;
mod cautions;
mod crossed;
mod device_types;
mod effects;
mod endpoints;
mod facts;
mod kept;
mod modes;
mod parts;
mod phrases;
mod places;
mod points;
mod reversal;
mod states;
mod together;
mod values;

pub(super) use facts::{Row, conversion, plain, rows, unified, wire_name};

use super::change::{Change, Kind, Member, Side, Subject};
use super::difference::{BridgeField, Difference, EndpointField, LinkField, What, Wire};
use crate::bridge::definition::DeviceTypeRef;
use crate::classes::Direction;
use endpoints::{Endpoints, types};
use places::{exchanged, rekeyed, taken};
use reversal::reversed;
use serde_json::Value as Json;
use std::collections::BTreeSet;
use together::{by_member, phrases, phrases_but};

/// What a change says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Telling {
    /// One sentence.
    pub(super) headline: String,
    /// More sentences, where one does not say it all.
    pub(super) details: Vec<String>,
}

/// Puts a change into words.
pub(super) fn tell(change: &Change) -> Telling {
    match &change.subject {
        Subject::House => of_bridge("The house", change),
        Subject::Bridge { name, .. } => of_bridge(&format!("The bridge {name}"), change),
        Subject::Appliances(members) => match members.as_slice() {
            [] => Telling { headline: String::new(), details: Vec::new() },
            [only] => of_appliance(only, change),
            _ if change.kind == Kind::KeyTaken => taken(change),
            [first, ..] => of_appliances(first, members, change),
        },
    }
}

impl Telling {
    /// All of it.
    fn lines(self) -> Vec<String> {
        std::iter::once(self.headline).chain(self.details).collect()
    }
}

fn said(headline: String) -> Telling {
    Telling { headline, details: Vec::new() }
}

/// A change of a house or bridge.
fn of_bridge(name: &str, change: &Change) -> Telling {
    match change.kind {
        Kind::BridgeAdded => said(format!("{name} is new")),
        Kind::BridgeRemoved => said(format!("{name} is gone")),
        Kind::BridgeRenamed => said(match old_name(change) {
            Some(old) => {
                format!("The bridge {old} is now called {}", name.strip_prefix("The bridge ").unwrap_or(name))
            }
            None => format!("{name} has another name"),
        }),
        Kind::BridgeRekeyed => rekeyed(name, change),
        _ => {
            let mut phrases = phrases(change).into_iter();
            let first = phrases.next().unwrap_or_default();
            let details = phrases.map(|phrase| capital(&phrase)).collect();
            Telling { headline: format!("{name} {first}"), details }
        }
    }
}

fn old_name(change: &Change) -> Option<&str> {
    change.differences.iter().find_map(|difference| match &difference.what {
        What::BridgeField { field: BridgeField::BridgeName, before, .. } => before.as_str(),
        _ => None,
    })
}

/// A change of one appliance.
fn of_appliance(member: &Member, change: &Change) -> Telling {
    let name = &member.label;
    let endpoints = Endpoints::of(&change.differences);
    let key = |member: &Member| member.former_key.clone().unwrap_or_else(|| member.key.clone());
    match change.kind {
        Kind::Added => Telling { headline: format!("{name} is new"), details: endpoints.new_details() },
        Kind::Removed => {
            Telling { headline: format!("{name} is gone"), details: endpoints.details(Side::Old) }
        }
        Kind::NoLongerShown | Kind::ShownAgain | Kind::PlaceLost => kept::told(member, change, &endpoints),
        Kind::NumberReused => Telling {
            headline: format!("{name} is new and has an endpoint number that another appliance had"),
            details: endpoints.new_details(),
        },
        Kind::ProbableRename => Telling {
            headline: format!(
                "{}{} has probably only got the key `{}` instead of `{}`, but loses its place",
                endpoints.named(member),
                if member.side == Side::Old { " is no longer shown and" } else { "" },
                member.key,
                key(member)
            ),
            details: endpoints.both().into_iter().chain(endpoints.otherwise(change)).collect(),
        },
        Kind::PartAdded | Kind::PartRemoved => parts::told(name, change, &endpoints),
        Kind::ClassChanged | Kind::NewIdentity | Kind::BridgeChanged => {
            replaced(&endpoints.named(member), change, &endpoints)
        }
        Kind::Relabelled => relabelled(name, change),
        Kind::Swap => crossed::told(name, change).unwrap_or_else(|| own_swap(name, change)),
        Kind::Reversed => reversed(name, change),
        Kind::FunctionWired => {
            let mut telling = in_phrases(name, change);
            telling.details.extend(cautions::of_wires(&change.differences));
            telling
        }
        _ => in_phrases(name, change),
    }
}

/// A change of one appliance that its differences tell.
fn in_phrases(name: &str, change: &Change) -> Telling {
    let mut phrases = phrases(change);
    match phrases.as_slice() {
        [_] => said(format!("{name} {}", phrases.remove(0))),
        _ => Telling {
            headline: format!("{name} {}", effects::of_events(change).unwrap_or(summary(change.kind))),
            details: phrases.iter().map(|phrase| capital(phrase)).collect(),
        },
    }
}

/// What stands in the headline when there are several details.
fn summary(kind: Kind) -> &'static str {
    match kind {
        Kind::Rewired => "has other addresses",
        Kind::InterfaceChanged => "has another interface",
        Kind::FunctionRemoved => "lost functions",
        Kind::FunctionUnwired => "has functions that reach nothing",
        Kind::FunctionWired => "has functions that reached nothing until now",
        Kind::FunctionReduced => "has functions that do less",
        Kind::LimitsChanged => "has other limits",
        Kind::ValuesChanged => "has other fixed values",
        Kind::FirstValueChanged => "starts with other values",
        Kind::StatusSource => "learns its status in another way",
        Kind::WiresAdded => "has further or other wires",
        Kind::WiresRemoved => "has fewer wires",
        Kind::OtherEffect => "does other things for the same commands",
        Kind::ShownOtherwise => "shows other values",
        Kind::TelegramSize => "takes telegrams of another size",
        Kind::ConversionChanged => "converts values in another way",
        Kind::TimingChanged => "has other times",
        Kind::TelegramOrder => "sends telegrams in another order",
        Kind::RoomChanged => "is somewhere else",
        Kind::PartAdded => "has further endpoints",
        Kind::PartRemoved => "has fewer endpoints",
        _ => "is different",
    }
}

/// An appliance whose endpoint was replaced.
fn replaced(name: &str, change: &Change, endpoints: &Endpoints) -> Telling {
    let (old, new) = (Endpoints::main(&endpoints.old), Endpoints::main(&endpoints.new));
    let headline = match (change.kind, old, new) {
        (Kind::BridgeChanged, Some((from, _)), Some((to, _))) => {
            let class = endpoints.classes().map(|classes| format!(", and is now {classes}"));
            format!("{name} is behind the bridge `{to}` instead of `{from}`{}", class.unwrap_or_default())
        }
        (Kind::ClassChanged, Some((_, old)), Some((_, new))) => {
            format!("{name} is now {} instead of {}", types(new), types(old))
        }
        (Kind::NewIdentity, Some((_, old)), Some((_, new))) if old.number != new.number => {
            format!("{name} has the endpoint number {} instead of {}", new.number, old.number)
        }
        (Kind::ClassChanged, ..) => format!("{name} is now {}, on the same endpoint", types_in_place(change)),
        _ => format!("{name} has another unique id"),
    };
    let mut details = endpoints.both();
    if change.kind == Kind::ClassChanged || endpoints.classes().is_some() {
        details.extend(endpoints.cautions());
    }
    details.extend(endpoints.otherwise(change));
    details.extend(former_key(change));
    let rest = phrases_but(change, |difference| endpoints.is_replaced(difference));
    let rest = rest.into_iter().filter(|phrase| headline != format!("{name} {phrase}"));
    details.extend(rest.map(|phrase| capital(&phrase)));
    Telling { headline, details }
}

/// The other key of an appliance that was replaced and renamed in one step.
fn former_key(change: &Change) -> Option<String> {
    let only = change.members().first()?;
    let former = only.former_key.as_ref()?;
    Some(format!("Has the key `{}` instead of `{former}`", only.key))
}

fn relabelled(name: &str, change: &Change) -> Telling {
    let old = change.differences.iter().find_map(|difference| match &difference.what {
        What::EndpointField { field: EndpointField::NodeLabel, before, after }
            if after.as_str() == Some(name) =>
        {
            before.as_str()
        }
        _ => None,
    });
    let all = phrases(change);
    match old {
        Some(old) if all.len() == 1 => said(format!("{old} is now called {name}")),
        _ => Telling {
            headline: format!("{name} has other names"),
            details: all.iter().map(|phrase| capital(phrase)).collect(),
        },
    }
}

/// Wires of one appliance that took each other's addresses.
fn own_swap(name: &str, change: &Change) -> Telling {
    let mut details: Vec<String> = phrases(change).iter().map(|phrase| capital(phrase)).collect();
    let groups = |way: Direction, of: fn(&Wire, &Json) -> String| -> BTreeSet<String> {
        let moved = change.differences.iter().filter_map(|difference| match &difference.what {
            What::LinkField { wire, field: LinkField::Group, after, .. } if wire.direction == way => {
                Some(of(wire, after))
            }
            _ => None,
        });
        moved.collect()
    };
    let commands = groups(Direction::ToBus, |wire, _| wire.group.clone());
    let statuses = groups(Direction::FromBus, |_, after| after.as_str().unwrap_or_default().to_owned());
    let both: Vec<&str> = commands.intersection(&statuses).map(String::as_str).collect();
    if !both.is_empty() {
        details.push(format!("Takes {} as its status, where its commands went until now", list(&both)));
    }
    Telling { headline: format!("{name} has addresses of its own exchanged"), details }
}

/// Appliances that took each other's names.
fn renamed(all: &str, members: &[Member], change: &Change) -> Telling {
    let told = |difference: &Difference| match &difference.what {
        What::EndpointField { field: EndpointField::NodeLabel, before, after } => {
            let is_of = |member: &&Member| {
                member.bridge == difference.bridge
                    && difference.endpoint.is_some_and(|number| member.endpoints.contains(&number))
            };
            let key = members.iter().find(is_of).map_or("", |member| member.key.as_str());
            Some(format!("`{key}`: {} is now called {}", before.as_str()?, after.as_str()?))
        }
        _ => None,
    };
    let mut details: Vec<String> = Vec::new();
    // An appliance of several endpoints has its name on each of them.
    for line in change.differences.iter().filter_map(told) {
        if !details.contains(&line) {
            details.push(line);
        }
    }
    let (which, ring) = if members.len() == 2 { ("the other", "") } else { ("another", " in a ring") };
    details.push(format!(
        "Whoever asks for one by its name, as by voice, gets {which}: it mends a mix-up or makes one, so try them on site"
    ));
    Telling { headline: format!("{all} took each other's names{ring}"), details }
}

/// A change of several appliances.
fn of_appliances(first: &Member, members: &[Member], change: &Change) -> Telling {
    let names = |side: fn(Side) -> bool| {
        let labels: Vec<&str> =
            members.iter().filter(|one| side(one.side)).map(|one| one.label.as_str()).collect();
        list(&labels)
    };
    let (old, new, both) =
        (names(|side| side == Side::Old), names(|side| side == Side::New), names(|side| side == Side::Both));
    let all = names(|_| true);
    if change.kind == Kind::Relabelled {
        return renamed(&all, members, change);
    }
    if change.kind == Kind::KeysExchanged {
        return exchanged(&both, members, change);
    }
    let several = |side: Side| members.iter().filter(|one| one.side == side).count() > 1;
    let headline = match change.kind {
        Kind::Split => format!("{} became {new}", first.label),
        Kind::Merged => format!("{old} became {new}"),
        Kind::SplitOff if several(Side::New) => format!("{new} are new and took over addresses of {both}"),
        Kind::SplitOff => format!("{new} is new and took over addresses of {both}"),
        Kind::MergedInto if several(Side::Old) => {
            format!("{old} are gone, and {both} took over their addresses")
        }
        Kind::MergedInto => format!("{old} is gone, and {both} took over its addresses"),
        Kind::Swap => {
            let ring = if members.len() == 2 { "" } else { " in a ring" };
            format!("{all} took each other's {}addresses{ring}", one_way(change))
        }
        Kind::RoomChanged => {
            let ways = phrases(change).into_iter().map(|way| way.replacen("is ", "are ", 1));
            format!("{} appliances {}", members.len(), ways.collect::<Vec<_>>().join(" and "))
        }
        Kind::BlockMoved => {
            format!("{} appliances moved together: {}", members.len(), phrases::block(&change.differences))
        }
        Kind::NotationChanged => format!(
            "The addresses of {} appliances are written in another notation, {}",
            members.len(),
            phrases::notation(&change.differences)
        ),
        _ => format!("{all} changed together"),
    };
    let details = match change.kind {
        Kind::Swap => by_member(change),
        Kind::BlockMoved | Kind::NotationChanged | Kind::RoomChanged => {
            let labels: Vec<&str> = members.iter().map(|one| one.label.as_str()).collect();
            vec![format!("These are {}", first_of(&labels, WHOLE))]
        }
        _ => Endpoints::of(&change.differences).both(),
    };
    Telling { headline, details }
}

/// Which of their addresses, if all of them are of one sort.
fn one_way(change: &Change) -> &'static str {
    let of = |way: Direction| {
        change.differences.iter().all(|difference| match &difference.what {
            What::LinkField { wire, .. } => wire.direction == way,
            _ => true,
        })
    };
    match (of(Direction::FromBus), of(Direction::ToBus)) {
        (true, false) => "feedback ",
        (false, true) => "command ",
        _ => "",
    }
}

/// So many names are told where a change says whom it is about.
const WHOLE: usize = 60;

/// Names as a list in a sentence; of many only the first.
pub(super) fn list(names: &[&str]) -> String {
    const MOST: usize = 6;
    first_of(names, MOST)
}

/// Names as a list in a sentence; of more than `most` only the first.
fn first_of(names: &[&str], most: usize) -> String {
    match names {
        [] => "nothing".to_owned(),
        [one] => (*one).to_owned(),
        [some @ .., last] if names.len() <= most => format!("{} and {last}", some.join(", ")),
        _ => {
            let some: Vec<&str> = names.iter().take(most.saturating_sub(1)).copied().collect();
            format!("{} and {} more", some.join(", "), names.len() - some.len())
        }
    }
}

/// The text with a capital letter first, unless it starts with code.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// The device types that an endpoint took on in place, instead of which.
fn types_in_place(change: &Change) -> String {
    let (mut old, mut new) = (Vec::new(), Vec::new());
    for difference in &change.differences {
        if let What::DeviceType { before, after, .. } = &difference.what {
            let told = |one: &DeviceTypeRef| device_types::told(&one.name);
            old.extend(before.as_ref().filter(|_| after.is_none()).map(told));
            new.extend(after.as_ref().filter(|_| before.is_none()).map(told));
        }
    }
    let told = |names: &[String]| list(&names.iter().map(String::as_str).collect::<Vec<_>>());
    format!("{} instead of {}", told(&new), told(&old))
}

/// The article before a noun.
pub(super) fn article(noun: &str) -> &'static str {
    if noun.starts_with(['A', 'E', 'I', 'O', 'U', 'a', 'e', 'i', 'o', 'u']) { "an" } else { "a" }
}
