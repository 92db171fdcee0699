//! Reads the outline of an endpoint from its text, and makes sure that the whole of it is sound.

use super::mould::{Moulds, Usage};
use super::{AddressUse, Inside, Make, Mould, Outline, add_use, text_of};
use crate::bridge::definition::{Direction, Joint, Link, Shown};
use crate::review::build::sound;
use crate::review::read::{ReadError, Sheet};
use rustc_hash::{FxHashMap, FxHashSet};
use serde::{Deserialize, Deserializer};
use serde_json::value::RawValue;
use std::borrow::Cow;
use std::sync::Arc;

/// An endpoint whose inside is known by its text only; faults are told of the endpoint.
#[derive(Deserialize)]
#[serde(rename = "Endpoint", deny_unknown_fields, rename_all = "camelCase")]
pub(in crate::review) struct Outside<'a> {
    pub(in crate::review) number: u16,
    parent: u16,
    key: String,
    unique_id: String,
    node_label: String,
    room: String,
    #[serde(default)]
    floor: Option<String>,
    #[serde(borrow)]
    device_types: &'a RawValue,
    #[serde(borrow)]
    clusters: &'a RawValue,
    #[serde(borrow)]
    links: &'a RawValue,
}

/// The insides of endpoints of the other side, by their links: an appliance that only has another key or number has the
/// same, and need not be read.
#[derive(Default)]
pub(in crate::review) struct Twins<'a>(FxHashMap<&'a str, &'a Arc<Inside>>);

impl<'a> Twins<'a> {
    pub(in crate::review) fn of(outlines: &'a [Arc<Outline>]) -> Self {
        let insides = outlines.iter().filter_map(|outline| outline.inside.as_ref());
        Self(insides.map(|inside| (inside.links.get(), inside)).collect())
    }
}

/// What was read already, by its text, and was sound: most of a house is alike.
#[derive(Default)]
pub(in crate::review) struct Alike<'a> {
    /// By device types and clusters.
    makes: FxHashMap<(&'a str, &'a str), Arc<Make>>,
    conversions: FxHashSet<&'a str>,
    timings: FxHashSet<&'a str>,
    moulds: Moulds,
}

/// A link as far as a review tells links apart. It has the fields of a [`Link`], and what is sound in one is in the other.
#[derive(Deserialize)]
#[serde(rename = "Link", deny_unknown_fields, rename_all = "camelCase")]
#[allow(dead_code, reason = "what is not looked at is read to be found sound")]
struct LinkOutside<'a> {
    #[serde(borrow)]
    point: Cow<'a, str>,
    #[serde(borrow)]
    cluster: Cow<'a, str>,
    #[serde(borrow, default)]
    attribute: Option<Cow<'a, str>>,
    #[serde(borrow, default)]
    command: Option<Cow<'a, str>>,
    #[serde(borrow, default)]
    event: Option<Cow<'a, str>>,
    direction: Direction,
    #[serde(borrow)]
    bus: Cow<'a, str>,
    #[serde(borrow)]
    group: Cow<'a, str>,
    #[serde(borrow)]
    dpt: Cow<'a, str>,
    #[serde(default)]
    read: bool,
    #[serde(default)]
    shown: Option<Shown>,
    #[serde(default)]
    joint: Option<Joint>,
    #[serde(borrow, default, deserialize_with = "present")]
    timing: Option<&'a RawValue>,
    #[serde(borrow)]
    conversion: &'a RawValue,
}

/// Keeps a null that is there apart from a value that is not there.
fn present<'de: 'a, 'a, D: Deserializer<'de>>(reader: D) -> Result<Option<&'a RawValue>, D::Error> {
    <&RawValue>::deserialize(reader).map(Some)
}

impl Alike<'_> {
    /// Keeps what links are without their addresses.
    fn keep(&mut self, text: &str, links: &[LinkOutside]) -> Option<Arc<Mould>> {
        let usage = |link: &LinkOutside| Usage {
            point: link.point.as_ref().into(),
            direction: link.direction,
            bus: link.bus.as_ref().into(),
            read: link.read,
        };
        self.moulds.keep(text, links.iter().map(|link| (link.group.as_ref(), usage(link))))
    }
}

impl<'a> Outside<'a> {
    /// Whether nothing inside can differ, and it is the same endpoint to a review.
    pub(in crate::review) fn same_inside(&self, other: &Outside) -> bool {
        self.unique_id == other.unique_id
            && self.device_types.get() == other.device_types.get()
            && self.clusters.get() == other.clusters.get()
            && self.links.get() == other.links.get()
    }

    /// The endpoint without its inside.
    pub(in crate::review) fn shell(self) -> Outline {
        self.with(None)
    }

    /// The endpoint with its inside, which is read as far as it is not like one that was read before.
    pub(in crate::review) fn outline(
        self,
        sheet: &Sheet<'a>,
        twins: &Twins,
        alike: &mut Alike<'a>,
    ) -> Result<Outline, ReadError> {
        let texts = [self.device_types.get(), self.clusters.get(), self.links.get()];
        if let Some(twin) = twins.0.get(self.links.get()).filter(|twin| twin.texts() == texts) {
            let inside = Arc::clone(twin);
            return Ok(self.with(Some(inside)));
        }
        let make = self.make(sheet, alike)?;
        if let Some((mould, groups)) = alike.moulds.of(self.links.get()) {
            let uses = mould.uses(&groups);
            let inside = Inside { make, links: self.links.to_owned(), mould: Some(mould), uses };
            return Ok(self.with(Some(Arc::new(inside))));
        }
        let links: Vec<LinkOutside<'a>> = sheet.part(self.links.get())?;
        let known = |link: &LinkOutside| {
            alike.conversions.contains(link.conversion.get())
                && link.timing.is_none_or(|timing| alike.timings.contains(timing.get()))
        };
        // A text of several lines is laid out anew, so that the endpoint is a line.
        let several_lines = self.links.get().contains('\n');
        let whole: Option<Vec<Link>> = if several_lines || !links.iter().all(known) {
            let whole = sheet.part(self.links.get())?;
            alike.conversions.extend(links.iter().map(|link| link.conversion.get()));
            alike.timings.extend(links.iter().filter_map(|link| link.timing).map(RawValue::get));
            Some(whole)
        } else {
            None
        };
        let text =
            whole.filter(|_| several_lines).map_or_else(|| self.links.to_owned(), |whole| text_of(&whole));
        let mould = if several_lines { None } else { alike.keep(self.links.get(), &links) };
        let inside = Inside { make, links: text, mould, uses: uses(&links) };
        Ok(self.with(Some(Arc::new(inside))))
    }

    /// Device types and clusters.
    fn make(&self, sheet: &Sheet<'a>, alike: &mut Alike<'a>) -> Result<Arc<Make>, ReadError> {
        let texts = (self.device_types.get(), self.clusters.get());
        if let Some(make) = alike.makes.get(&texts) {
            return Ok(Arc::clone(make));
        }
        let make = Make::new(sheet.part(texts.0)?, sheet.part(texts.1)?);
        sound(self.number, &make.device_types, &make.clusters)?;
        let make = Arc::new(make);
        alike.makes.insert(texts, Arc::clone(&make));
        Ok(make)
    }

    fn with(self, inside: Option<Arc<Inside>>) -> Outline {
        Outline {
            number: self.number,
            parent: self.parent,
            key: self.key,
            unique_id: self.unique_id,
            node_label: self.node_label,
            room: self.room,
            floor: self.floor,
            inside,
        }
    }
}

fn uses(links: &[LinkOutside]) -> Box<[AddressUse]> {
    let mut uses = Vec::new();
    for link in links {
        add_use(&mut uses, &link.point, link.direction, (&link.bus, &link.group), link.read);
    }
    uses.into()
}
