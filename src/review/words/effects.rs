//! What another conversion does, with an example: "now sends 20 % to 4/2/1 instead of 40 % when asked for 40 %".

use super::attributes;
use super::values;
use crate::bridge::definition::{Direction, Link};
use crate::convert::Value;
use crate::convert::bus::value_to_bus;
use crate::knx::{Dpt, dpt};
use crate::matter;
use crate::review::change::{Change, Kind};
use crate::review::difference::{Difference, LinkField, What, Wire};
use crate::review::effect::{Conversions, Effect, Example, asked, effect, effect_of, other_range};
use rustc_hash::FxHashMap;
use serde_json::{Value as Json, json};

/// By bridge, endpoint and position of the link.
type Place<'d> = (&'d str, Option<u16>, u32);

/// What else is different about the links whose conversions are.
pub(super) struct Beside<'d> {
    links: FxHashMap<Place<'d>, Fields<'d>>,
    /// Links that came, by bridge, endpoint and address.
    came: FxHashMap<(&'d str, Option<u16>, &'d str), Vec<&'d Link>>,
}

#[derive(Clone, Copy, Default)]
struct Fields<'d> {
    dpt: Option<&'d str>,
    moved: bool,
}

fn place<'d>(difference: &'d Difference, index: u32) -> Place<'d> {
    (&difference.bridge, difference.endpoint, index)
}

impl<'d> Beside<'d> {
    pub(super) fn of(differences: &[&'d Difference]) -> Self {
        let mut links: FxHashMap<Place, Fields> = FxHashMap::default();
        let mut came: FxHashMap<_, Vec<&Link>> = FxHashMap::default();
        for difference in differences {
            let (index, field, after) = match &difference.what {
                What::LinkField { index, field, after, .. } => (index, field, after),
                What::LinkAdded { link, .. } => {
                    let at = (difference.bridge.as_str(), difference.endpoint, link.group.as_str());
                    came.entry(at).or_default().push(link);
                    continue;
                }
                _ => continue,
            };
            match field {
                LinkField::Dpt => links.entry(place(difference, *index)).or_default().dpt = after.as_str(),
                LinkField::Bus | LinkField::Group => {
                    links.entry(place(difference, *index)).or_default().moved = true;
                }
                _ => {}
            }
        }
        Self { links, came }
    }

    /// What the other conversion does; `None` for another difference, and for a conversion that comes to the same.
    pub(super) fn phrase(&self, difference: &Difference) -> Option<Told> {
        self.told(difference, |effect| effect.other().cloned())
    }

    /// What the other conversion passes on where nothing was passed on before.
    pub(super) fn first(&self, difference: &Difference) -> Option<Told> {
        self.told(difference, |effect| match effect {
            Effect::More(example) => Some((**example).clone()),
            Effect::None | Effect::Other(_) | Effect::OtherSize { .. } => None,
        })
    }

    /// What is not only the other way round, of a conversion that is, and over another range.
    pub(super) fn other_range(&self, difference: &Difference) -> Option<String> {
        Some(self.told_of(difference, other_range)?.text)
    }

    fn told(&self, difference: &Difference, of: impl Fn(&Effect) -> Option<Example>) -> Option<Told> {
        self.told_of(difference, |conversions| of(&effect(conversions)))
    }

    fn told_of(&self, difference: &Difference, of: impl Fn(&Conversions) -> Option<Example>) -> Option<Told> {
        let What::LinkField { before, after, .. } = &difference.what else { return None };
        let looks = [before, after].map(Json::to_string).concat();
        self.with_conversions(difference, |wire, other_dpt, conversions| {
            let example = of(conversions)?;
            Some(told(wire, other_dpt, &example, |field| looks.contains(&format!("\"{field}\""))))
        })
    }

    /// Whether the other conversion passes on what the old one did, and more.
    pub(super) fn is_more(&self, difference: &Difference) -> bool {
        let is_more = |conversions: &Conversions| matches!(effect(conversions), Effect::More(_));
        self.with_conversions(difference, |_, _, conversions| Some(is_more(conversions))).unwrap_or(false)
    }

    /// Links that came and do a part of what the link of a wire does.
    fn parts<'o>(&'o self, difference: &'o Difference, wire: &'o Wire) -> impl Iterator<Item = &'d Link> {
        let at = (difference.bridge.as_str(), difference.endpoint, wire.group.as_str());
        let is_part = |link: &&&Link| {
            let came = Wire::of(link);
            (came.point == wire.point && came.end == wire.end && came.bus == wire.bus)
                && came.direction == wire.direction
        };
        self.came.get(&at).into_iter().flatten().filter(is_part).copied()
    }

    /// What is found of the wire of a conversion, its other datapoint type, and both conversions.
    fn with_conversions<T>(
        &self,
        difference: &Difference,
        find: impl Fn(&Wire, Option<&str>, &Conversions) -> Option<T>,
    ) -> Option<T> {
        let What::LinkField { index, wire, field: LinkField::Conversion, before, after } = &difference.what
        else {
            return None;
        };
        let beside = self.links.get(&place(difference, *index)).copied().unwrap_or_default();
        let (cluster, end) = wire.end.split_once('.')?;
        let dpt = beside.dpt.unwrap_or(&wire.dpt);
        let parts = self.parts(difference, wire).filter(|link| !beside.moved && link.dpt == dpt);
        let parts: Vec<Json> = parts.map(|link| json!(link.conversion)).collect();
        let conversions = Conversions {
            direction: wire.direction,
            cluster,
            end,
            dpts: [&wire.dpt, dpt],
            steps: [vec![before], std::iter::once(after).chain(&parts).collect()],
            moved: beside.moved,
            offered: None,
        };
        find(wire, beside.dpt, &conversions)
    }
}

/// What else comes of wires that took the place of others at the same address.
pub(super) fn of_exchange(gone: &[&Link], came: &[&Link]) -> Option<String> {
    let effect = effect_of(gone, came);
    let example = match &effect {
        Effect::More(example) => example,
        other => other.other()?,
    };
    let ([first, ..], [now, ..]) = (gone, came) else { return None };
    let other_dpt = (first.dpt != now.dpt).then_some(now.dpt.as_str());
    let looks: String = gone.iter().chain(came).map(|link| json!(link.conversion).to_string()).collect();
    Some(told(&Wire::of(first), other_dpt, example, |field| looks.contains(&format!("\"{field}\""))).text)
}

/// What another conversion does, in words.
pub(super) struct Told {
    /// The phrase.
    pub(super) text: String,
    /// Whether it is one example of what is asked for: one of a wire is enough.
    pub(super) is_example: bool,
}

fn told(wire: &Wire, other_dpt: Option<&str>, example: &Example, looked_at: impl Fn(&str) -> bool) -> Told {
    let (cluster, end) = wire.end.split_once('.').unwrap_or((&wire.end, ""));
    let group = &wire.group;
    let dpt = dpt::lookup(&wire.dpt).ok();
    let on_bus = |value: &Value| on_bus(dpt, value);
    let Example { input, standing, before, after, now } = example;
    let instead = match before {
        Value::Null => "instead of nothing".to_owned(),
        _ => format!("instead of {}", on_bus(before)),
    };
    let (text, is_example) = match wire.direction {
        Direction::ToBus => {
            let asked = for_what((cluster, end), input, looked_at);
            let text = match after {
                Value::Null => format!("no longer sends {} to {group}{asked}", on_bus(before)),
                _ => {
                    let new = other_dpt.and_then(|dpt| dpt::lookup(dpt).ok()).or(dpt);
                    format!("now sends {} to {group} {instead}{asked}", self::on_bus(new, now))
                }
            };
            (text, !asked.is_empty())
        }
        Direction::FromBus => {
            let shown = |value: &Value| match value {
                Value::Null => "nothing new".to_owned(),
                _ => values::value(cluster, end, &value.to_json()),
            };
            // What another type makes of the telegram has no words of its own.
            let told_by = match other_dpt {
                Some(_) => format!(" for what {group} reported as {}", on_bus(input)),
                None => format!(" when {group} reports {}", on_bus(input)),
            };
            let is_state = matter::cluster(cluster).is_some_and(|cluster| cluster.attribute(end).is_some());
            // Of a telegram that raises an event only its bit counts, which may have no name of its own.
            let bit = match input {
                Value::Bool(bit) => Some(u8::from(*bit).to_string()),
                Value::Null | Value::Number(_) | Value::Text(_) | Value::Structure(_) => None,
            };
            let text = match after {
                _ if !is_state && *before == Value::Null => {
                    let telegram = bit.unwrap_or_else(|| on_bus(input));
                    format!("now takes {telegram} from {group} as `{end}`")
                }
                _ if !is_state => {
                    let telegram = bit.unwrap_or_else(|| on_bus(input));
                    format!("no longer takes {telegram} from {group} as `{end}`")
                }
                Value::Null => format!("no longer shows {}{told_by}", shown(before)),
                _ => format!("now shows {} instead of {}{told_by}", shown(after), shown(before)),
            };
            (text, false)
        }
    };
    let stands = standing.iter().map(|(name, value)| {
        let (cluster, attribute) = name.split_once('.').unwrap_or((name, ""));
        let words = attributes::words(cluster, attribute).map_or_else(|| format!("`{name}`"), str::to_owned);
        format!("{words} is {}", values::value(cluster, attribute, &value.to_json()))
    });
    let stands: Vec<String> = stands.collect();
    let text = if stands.is_empty() { text } else { format!("{text} while {}", stands.join(" and ")) };
    Told { text, is_example }
}

/// What an appliance does otherwise that only tells of events, such as a button: it has no commands.
pub(super) fn of_events(change: &Change) -> Option<&'static str> {
    let is_event = |difference: &Difference| match &difference.what {
        What::LinkField { wire, .. } => {
            wire.direction == Direction::FromBus && {
                let facts = wire.end.split_once('.');
                facts.is_some_and(|(cluster, end)| {
                    matter::cluster(cluster).is_some_and(|cluster| cluster.attribute(end).is_none())
                })
            }
        }
        What::LinkOrder { .. } => true,
        _ => false,
    };
    let events = change.kind == Kind::OtherEffect && change.differences.iter().all(is_event);
    events.then_some("takes other telegrams for the same events")
}

/// What was asked for, to stand at the end of a sentence; nothing for a command that asks for one thing only.
fn for_what((cluster, end): (&str, &str), input: &Value, looked_at: impl Fn(&str) -> bool) -> String {
    let Value::Structure(fields) = input else {
        return format!(" when asked for {}", values::value(cluster, end, &input.to_json()));
    };
    let of = |(name, value): (&str, &Value)| {
        let (cluster, attribute) = asked(cluster, end, name)?;
        Some(values::value(&cluster.name, &attribute.name, &value.to_json()))
    };
    let told: Vec<String> = fields.iter().filter(|(name, _)| looked_at(name)).filter_map(of).collect();
    if !told.is_empty() {
        return format!(" when asked for {}", told.join(" and "));
    }
    // One number or name is what is asked for, even if it is nobody's attribute.
    match fields.iter().filter(|(name, _)| looked_at(name)).collect::<Vec<_>>().as_slice() {
        [] => String::new(),
        [(_, only)] if end == "ChangeToMode" => {
            format!(" when asked for mode {}", super::plain(&only.to_json()))
        }
        [(name, only)] => match values::member((cluster, end), name, only) {
            Some(member) => format!(" when asked for `{member}`"),
            None => format!(" when asked for {} by `{end}`", super::plain(&only.to_json())),
        },
        _ => format!(" for `{end}`"),
    }
}

/// A value of the bus as people say it.
fn on_bus(dpt: Option<&Dpt>, value: &Value) -> String {
    let json = value.to_json();
    if let Some(scene) = dpt.and_then(|dpt| scene(dpt, &json)) {
        return scene;
    }
    let text = dpt.and_then(|dpt| {
        let value = value_to_bus(dpt, value).ok().flatten()?;
        let named = dpt.members().is_empty();
        Some(if named { value.text(dpt) } else { format!("\"{}\"", value.text(dpt)) })
    });
    text.unwrap_or_else(|| super::plain(&json))
}

/// The scene of a telegram, counted from 1 as people do.
fn scene(dpt: &Dpt, value: &Json) -> Option<String> {
    const SCENES: [u16; 2] = [17, 18];
    let number = value.get("scene").unwrap_or(value).as_u64()?;
    let stores = value.get("learn").and_then(Json::as_bool) == Some(true);
    let what = if stores { "storing scene" } else { "scene" };
    SCENES.contains(&dpt.id.main).then(|| format!("{what} {}", number + 1))
}
