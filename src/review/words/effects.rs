//! What another conversion does, with an example: "now sends 20 % to 4/2/1 instead of 40 % when asked for 40 %".

use super::values;
use crate::bridge::definition::Direction;
use crate::convert::Value;
use crate::convert::bus::value_to_bus;
use crate::knx::{Dpt, dpt};
use crate::matter;
use crate::review::difference::{Difference, LinkField, What, Wire};
use crate::review::effect::{Conversions, Effect, Example, asked, effect};
use rustc_hash::FxHashMap;
use serde_json::Value as Json;

/// By bridge, endpoint and position of the link.
type Link<'d> = (&'d str, Option<u16>, u32);

/// What else is different about the links whose conversions are.
pub(super) struct Beside<'d> {
    links: FxHashMap<Link<'d>, Fields<'d>>,
}

#[derive(Clone, Copy, Default)]
struct Fields<'d> {
    dpt: Option<&'d str>,
    moved: bool,
}

fn link<'d>(difference: &'d Difference, index: u32) -> Link<'d> {
    (&difference.bridge, difference.endpoint, index)
}

impl<'d> Beside<'d> {
    pub(super) fn of(differences: &[&'d Difference]) -> Self {
        let mut links: FxHashMap<Link, Fields> = FxHashMap::default();
        for difference in differences {
            let What::LinkField { index, field, after, .. } = &difference.what else { continue };
            match field {
                LinkField::Dpt => links.entry(link(difference, *index)).or_default().dpt = after.as_str(),
                LinkField::Bus | LinkField::Group => {
                    links.entry(link(difference, *index)).or_default().moved = true;
                }
                _ => {}
            }
        }
        Self { links }
    }

    /// What the other conversion does; `None` for another difference, and for a conversion that comes to the same.
    pub(super) fn phrase(&self, difference: &Difference) -> Option<Told> {
        let (wire, other_dpt, effect) = self.effect(difference)?;
        let What::LinkField { before, after, .. } = &difference.what else { return None };
        let Effect::Other(example) = effect else { return None };
        let looks = [before, after].map(Json::to_string).concat();
        Some(told(wire, other_dpt, &example, |field| looks.contains(&format!("\"{field}\""))))
    }

    /// Whether the other conversion passes on what the old one did, and more.
    pub(super) fn is_more(&self, difference: &Difference) -> bool {
        self.effect(difference).is_some_and(|(.., effect)| effect == Effect::More)
    }

    /// The wire of a conversion, its other datapoint type, and what the conversion does.
    fn effect<'o>(&'o self, difference: &'o Difference) -> Option<(&'o Wire, Option<&'o str>, Effect)> {
        let What::LinkField { index, wire, field: LinkField::Conversion, before, after } = &difference.what
        else {
            return None;
        };
        let beside = self.links.get(&link(difference, *index)).copied().unwrap_or_default();
        let (cluster, end) = wire.end.split_once('.')?;
        let conversions = Conversions {
            direction: wire.direction,
            cluster,
            end,
            dpts: [&wire.dpt, beside.dpt.unwrap_or(&wire.dpt)],
            steps: [before, after],
            moved: beside.moved,
        };
        Some((wire, beside.dpt, effect(&conversions)))
    }
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
    let Example { input, before, after } = example;
    let instead = format!("instead of {}", on_bus(before));
    match wire.direction {
        Direction::ToBus => {
            let asked = for_what((cluster, end), input, looked_at);
            let text = match after {
                Value::Null => format!("no longer sends {} to {group}{asked}", on_bus(before)),
                _ => format!("now sends {} to {group} {instead}{asked}", on_bus(after)),
            };
            Told { text, is_example: !asked.is_empty() }
        }
        Direction::FromBus => {
            let shown = |value: &Value| values::value(cluster, end, &value.to_json());
            // What another type makes of the telegram has no words of its own.
            let told_by = match other_dpt {
                Some(_) => String::new(),
                None => format!(" when {group} reports {}", on_bus(input)),
            };
            let is_state = matter::cluster(cluster).is_some_and(|cluster| cluster.attribute(end).is_some());
            let text = match after {
                _ if !is_state => format!("no longer takes {} from {group} for `{end}`", on_bus(input)),
                Value::Null => format!("no longer shows {}{told_by}", shown(before)),
                _ => format!("now shows {} instead of {}{told_by}", shown(after), shown(before)),
            };
            Told { text, is_example: false }
        }
    }
}

/// What was asked for, to stand at the end of a sentence; nothing for a command that asks for one thing only.
fn for_what((cluster, end): (&str, &str), input: &Value, looked_at: impl Fn(&str) -> bool) -> String {
    let Value::Structure(fields) = input else {
        return format!(" when asked for {}", values::value(cluster, end, &input.to_json()));
    };
    let told = fields.iter().filter_map(|(name, value)| {
        let (cluster, attribute) = asked(cluster, end, name)?;
        Some(values::value(&cluster.name, &attribute.name, &value.to_json()))
    });
    let told: Vec<String> = told.collect();
    if !told.is_empty() {
        return format!(" when asked for {}", told.join(" and "));
    }
    // One number or name is what is asked for, even if it is nobody's attribute.
    match fields.iter().filter(|(name, _)| looked_at(name)).collect::<Vec<_>>().as_slice() {
        [] => String::new(),
        [(_, only)] => format!(" when asked for {} by `{end}`", super::plain(&only.to_json())),
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
