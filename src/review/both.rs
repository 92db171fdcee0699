//! Reads both sides of a review at once, and of either only what can differ.

use super::build::{Build, BuildFile, Size, check, once};
use super::read::{ReadError, Sheet};
use crate::bridge::definition::{BridgeDefinition, Endpoint};
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};
use serde::Deserialize;
use serde_json::value::RawValue;
use std::borrow::Cow;

/// Reads both builds of a review, side by side and faster than each by itself. What has the same text in both cannot
/// have changed: such an endpoint is left out of both sides, and of one that differs in its names only, the clusters
/// and links are left out.
///
/// The review of the two is the review of the whole builds; [`Build::size`] counts what was left out.
pub fn read_both(old: &[BuildFile], new: &[BuildFile]) -> (Build<'static>, Build<'static>) {
    let (old_sheets, new_sheets) = rayon::join(|| sheets(old), || sheets(new));
    let partners = partners(&old_sheets, &new_sheets);
    let paired: FxHashSet<usize> = partners.iter().flatten().copied().collect();
    let mut new_read: Vec<Option<Read>> = new_sheets
        .par_iter()
        .enumerate()
        .map(|(at, sheet)| (!paired.contains(&at)).then(|| alone(sheet)))
        .collect();
    let read: Vec<(Read, Option<Read>)> = old_sheets
        .par_iter()
        .zip(&partners)
        .map(|(sheet, partner)| match (sheet, partner.and_then(|at| new_sheets.get(at))) {
            (Ok(sheet), Some(Ok(partner))) => {
                let (before, after) = pair(sheet, partner);
                (before, Some(after))
            }
            _ => (alone(sheet), None),
        })
        .collect();
    let mut before = Build::default();
    for ((file, (side, other)), partner) in old.iter().zip(read).zip(partners) {
        before.take(file.name, side.map(owned));
        if let (Some(other), Some(place)) = (other, partner.and_then(|at| new_read.get_mut(at))) {
            *place = Some(other);
        }
    }
    let mut after = Build::default();
    for (file, read) in new.iter().zip(new_read) {
        if let Some(read) = read {
            after.take(file.name, read.map(owned));
        }
    }
    (before, after)
}

type Read = Result<(BridgeDefinition, Size), ReadError>;

fn owned((definition, size): (BridgeDefinition, Size)) -> (Cow<'static, BridgeDefinition>, Size) {
    (Cow::Owned(definition), size)
}

fn sheets<'a>(files: &[BuildFile<'a>]) -> Vec<Result<Sheet<'a>, ReadError>> {
    files.par_iter().map(|file| Sheet::read(file.bytes)).collect()
}

/// For each old file, the new one of the same bridge.
fn partners(old: &[Result<Sheet, ReadError>], new: &[Result<Sheet, ReadError>]) -> Vec<Option<usize>> {
    let mut by_key: FxHashMap<&str, usize> = FxHashMap::default();
    for (at, sheet) in new.iter().enumerate() {
        if let Ok(sheet) = sheet {
            by_key.entry(&sheet.head.bridge.key).or_insert(at);
        }
    }
    old.iter().map(|sheet| by_key.remove(sheet.as_ref().ok()?.head.bridge.key.as_str())).collect()
}

/// A bridge that the other side does not have.
fn alone(sheet: &Result<Sheet, ReadError>) -> Read {
    let sheet = sheet.as_ref().map_err(Clone::clone)?;
    let endpoints = sheet.endpoints.par_iter().map(|raw| sheet.endpoint(raw)).collect::<Result<_, _>>()?;
    finish(sheet, endpoints, &[])
}

/// What is looked at of an endpoint whose text is the same on both sides.
#[derive(Deserialize)]
#[serde(rename = "Endpoint")]
struct Name<'a> {
    number: u16,
    #[serde(borrow)]
    key: Cow<'a, str>,
}

/// An endpoint whose inside is known by its text only; faults are told of the endpoint.
#[derive(Deserialize)]
#[serde(rename = "Endpoint", deny_unknown_fields, rename_all = "camelCase")]
struct Outside<'a> {
    number: u16,
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

impl Outside<'_> {
    /// Whether nothing inside can differ, and it is the same endpoint to a review.
    fn same_inside(&self, other: &Outside) -> bool {
        self.unique_id == other.unique_id
            && self.device_types.get() == other.device_types.get()
            && self.clusters.get() == other.clusters.get()
            && self.links.get() == other.links.get()
    }

    /// The endpoint without its inside.
    fn shell(self) -> Endpoint {
        Endpoint {
            number: self.number,
            parent: self.parent,
            key: self.key,
            unique_id: self.unique_id,
            node_label: self.node_label,
            room: self.room,
            floor: self.floor,
            device_types: Vec::new(),
            clusters: Vec::new(),
            links: Vec::new(),
        }
    }
}

/// A bridge that both sides have.
fn pair(old: &Sheet, new: &Sheet) -> (Read, Read) {
    let same = same_texts(old, new);
    let names = same
        .par_iter()
        .filter_map(|(at, _)| old.endpoints.get(*at))
        .map(|raw| old.endpoint(raw))
        .collect::<Result<Vec<Name>, _>>();
    let names = match names {
        Ok(names) => names,
        Err(error) => return (Err(error.clone()), Err(error)),
    };
    let left = |sheet: &Sheet, same: Vec<usize>| -> Vec<usize> {
        let mut same = same.into_iter().peekable();
        (0..sheet.endpoints.len()).filter(|at| same.next_if_eq(at).is_none()).collect()
    };
    let old_left = left(old, same.iter().map(|(at, _)| *at).collect());
    let new_left = left(new, same.iter().map(|(_, at)| *at).collect());
    match (outsides(old, &old_left), outsides(new, &new_left)) {
        (Ok(before), Ok(after)) => {
            let shells = shells(&before, &after);
            let side = |sheet: &Sheet, left: &[usize], outsides: Vec<Outside>| {
                finish(sheet, insides(sheet, left, outsides, &shells)?, &names)
            };
            rayon::join(|| side(old, &old_left, before), || side(new, &new_left, after))
        }
        (before, after) => {
            let whole = |sheet: &Sheet, left: &[usize]| {
                let raws = left.par_iter().filter_map(|at| sheet.endpoints.get(*at));
                finish(sheet, raws.map(|raw| sheet.endpoint(raw)).collect::<Result<_, _>>()?, &names)
            };
            (before.and_then(|_| whole(old, &old_left)), after.and_then(|_| whole(new, &new_left)))
        }
    }
}

/// The positions of endpoints whose text is the same on both sides, ascending on either. It may miss some.
fn same_texts(old: &Sheet, new: &Sheet) -> Vec<(usize, usize)> {
    let (mut before, mut after) = (0, 0);
    let mut same = Vec::new();
    while let (Some(left), Some(right)) = (old.endpoints.get(before), new.endpoints.get(after)) {
        if left == right {
            same.push((before, after));
        }
        let (first, second) = (leading_number(left), leading_number(right));
        let numbered = first.is_some() && second.is_some();
        before += usize::from(!numbered || first <= second);
        after += usize::from(!numbered || second <= first);
    }
    same
}

/// The number of an endpoint that begins with it, as a build writes it.
fn leading_number(raw: &str) -> Option<u32> {
    let digits = raw.strip_prefix("{\"number\":")?;
    let end = digits.bytes().position(|byte| !byte.is_ascii_digit())?;
    digits.get(..end)?.parse().ok()
}

fn outsides<'a>(sheet: &Sheet<'a>, left: &[usize]) -> Result<Vec<Outside<'a>>, ReadError> {
    left.par_iter().filter_map(|at| sheet.endpoints.get(*at)).map(|raw| sheet.endpoint(raw)).collect()
}

/// The numbers of endpoints that differ in their outside only.
fn shells(before: &[Outside], after: &[Outside]) -> FxHashSet<u16> {
    let by_number: FxHashMap<u16, &Outside> = before.iter().map(|one| (one.number, one)).collect();
    let same = |one: &&Outside| by_number.get(&one.number).is_some_and(|other| one.same_inside(other));
    after.iter().filter(same).map(|one| one.number).collect()
}

/// The endpoints that are left, those that may differ inside with their inside.
fn insides<'a>(
    sheet: &Sheet<'a>,
    left: &[usize],
    outsides: Vec<Outside<'a>>,
    shells: &FxHashSet<u16>,
) -> Result<Vec<Endpoint>, ReadError> {
    let read = |(outside, at): (Outside<'a>, &usize)| match sheet.endpoints.get(*at) {
        Some(raw) if !shells.contains(&outside.number) => sheet.endpoint(raw),
        _ => Ok(outside.shell()),
    };
    outsides.into_par_iter().zip(left).map(read).collect()
}

/// The definition with these endpoints, and the size of the whole with those that were only named.
fn finish(sheet: &Sheet, endpoints: Vec<Endpoint>, names: &[Name]) -> Read {
    let read = endpoints.iter().map(|one| (one.number, one.key.as_str()));
    let all: Vec<(u16, &str)> = read.chain(names.iter().map(|one| (one.number, one.key.as_ref()))).collect();
    once(all.iter().map(|(number, _)| *number), |number| format!("endpoint number {number}"))?;
    let appliances = all.iter().filter(|(_, key)| !key.contains('/')).count();
    let size = Size { bridges: 1, appliances, endpoints: all.len() };
    let definition = BridgeDefinition { endpoints, ..sheet.head.clone() };
    check(&definition)?;
    Ok((definition, size))
}
