//! The two sides of a review: builds whose definitions were read and are sound, and what of them could not be read.

use super::read::{ReadError, Sheet};
use crate::bridge::definition::{BridgeDefinition, Endpoint};
use rayon::prelude::*;
use rustc_hash::FxHashMap;
use rustc_hash::FxHashSet;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::borrow::Cow;
use std::hash::Hash;

/// A file of a build, with its bytes.
#[derive(Clone, Copy, Debug)]
pub struct BuildFile<'a> {
    /// Name to call it by, such as `wharf.bridge.json`.
    pub name: &'a str,
    /// What it holds.
    pub bytes: &'a [u8],
}

/// Something that could not be read, and so was not compared.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct Unread {
    /// The file, folder or revision.
    pub name: String,
    /// Key of the bridge it would define, if that is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bridge: Option<String>,
    /// Why it could not be read, to stand after its name.
    pub why: String,
    /// What to do about it.
    pub help: String,
}

/// How much a build holds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct Size {
    /// Bridges.
    pub bridges: usize,
    /// Appliances: endpoints that are no further part of another one.
    pub appliances: usize,
    /// Endpoints.
    pub endpoints: usize,
}

/// One side of a review.
///
/// Bridge keys, endpoint numbers of a bridge, and device types, clusters, features and commands of an endpoint are
/// each there once: what is not so is not compared but stands among the unread.
#[derive(Clone, Debug, Default)]
pub struct Build<'a> {
    pub(super) bridges: Vec<Cow<'a, BridgeDefinition>>,
    pub(super) unread: Vec<Unread>,
    pub(super) size: Size,
}

impl<'a> Build<'a> {
    /// A build from definitions in memory.
    pub fn of(definitions: &'a [BridgeDefinition]) -> Self {
        let mut build = Self::default();
        for definition in definitions {
            let size = size_of(definition);
            build.take(
                &format!("{}.bridge.json", definition.bridge.key),
                check(definition).map(|()| (Cow::Borrowed(definition), size)),
            );
        }
        build
    }

    /// A build from its files, in any order.
    pub fn read(files: &[BuildFile]) -> Self {
        let mut build = Self::default();
        for file in files {
            let read = super::read::read_bridge_json(file.bytes);
            build.take(
                file.name,
                read.map(|definition| {
                    let size = size_of(&definition);
                    (Cow::Owned(definition), size)
                }),
            );
        }
        build
    }

    /// A build of which nothing could be read: a folder without a build, a revision in which the house does not
    /// compile.
    pub fn unreadable(unread: Unread) -> Self {
        Self { unread: vec![unread], ..Self::default() }
    }

    /// Adds something that could not be read.
    pub fn add_unread(&mut self, unread: Unread) {
        self.unread.push(unread);
    }

    /// How much could be read.
    pub fn size(&self) -> Size {
        self.size
    }

    /// The definitions that could be read. Those of [`read_both`] lack the endpoints that are the same on both sides.
    pub fn definitions(&self) -> impl Iterator<Item = &BridgeDefinition> {
        self.bridges.iter().map(AsRef::as_ref)
    }

    fn take(&mut self, name: &str, read: Result<(Cow<'a, BridgeDefinition>, Size), ReadError>) {
        let read = read.and_then(|(definition, size)| {
            let key = &definition.bridge.key;
            match self.bridges.iter().any(|one| one.bridge.key == *key) {
                true => Err(ReadError::Twice { what: format!("the bridge `{key}`") }),
                false => Ok((definition, size)),
            }
        });
        match read {
            Ok((definition, size)) => {
                self.size.bridges += 1;
                self.size.appliances += size.appliances;
                self.size.endpoints += size.endpoints;
                self.bridges.push(definition);
            }
            Err(error) => self.unread.push(unread(name, &error)),
        }
    }
}

/// Reads both builds of a review, side by side and faster than each by itself: an endpoint whose text is the same in
/// both builds cannot have changed, so only its number and key are looked at and it is left out of both sides.
///
/// The review of the two is the review of the whole builds; [`Build::size`] counts what was left out.
pub fn read_both(old: &[BuildFile], new: &[BuildFile]) -> (Build<'static>, Build<'static>) {
    let (old_sheets, new_sheets) = rayon::join(|| sheets(old), || sheets(new));
    let (old_same, new_same) = same_texts(&old_sheets, &new_sheets);
    let finish = |files: &[BuildFile], sheets: &[Result<Sheet, ReadError>], same: &[Vec<bool>]| {
        let mut build = Build::default();
        for ((file, sheet), same) in files.iter().zip(sheets).zip(same) {
            let read = sheet.as_ref().map_err(Clone::clone).and_then(|sheet| differing(sheet, same));
            build.take(file.name, read.map(|(definition, size)| (Cow::Owned(definition), size)));
        }
        build
    };
    rayon::join(|| finish(old, &old_sheets, &old_same), || finish(new, &new_sheets, &new_same))
}

fn sheets<'a>(files: &[BuildFile<'a>]) -> Vec<Result<Sheet<'a>, ReadError>> {
    files.par_iter().map(|file| Sheet::read(file.bytes)).collect()
}

type Sheets<'a> = [Result<Sheet<'a>, ReadError>];

/// Marks the endpoints whose text stands in the same bridge on the other side too, each once.
fn same_texts(old: &Sheets, new: &Sheets) -> (Vec<Vec<bool>>, Vec<Vec<bool>>) {
    let unmarked = |sheets: &Sheets| -> Vec<Vec<bool>> {
        sheets
            .iter()
            .map(|sheet| vec![false; sheet.as_ref().map_or(0, |sheet| sheet.endpoints.len())])
            .collect()
    };
    let (mut old_same, mut new_same) = (unmarked(old), unmarked(new));
    let mut by_key: FxHashMap<&str, usize> = FxHashMap::default();
    for (index, sheet) in new.iter().enumerate() {
        if let Ok(sheet) = sheet {
            by_key.entry(&sheet.head.bridge.key).or_insert(index);
        }
    }
    for (sheet, marks) in old.iter().zip(&mut old_same) {
        let Ok(sheet) = sheet else { continue };
        let Some(other) = by_key.remove(sheet.head.bridge.key.as_str()) else { continue };
        if let (Some(Ok(partner)), Some(partner_marks)) = (new.get(other), new_same.get_mut(other)) {
            mark_same(sheet, partner, marks, partner_marks);
        }
    }
    (old_same, new_same)
}

fn mark_same(old: &Sheet, new: &Sheet, old_same: &mut [bool], new_same: &mut [bool]) {
    let mut texts: FxHashMap<&str, &mut bool> = FxHashMap::default();
    texts.extend(new.endpoints.iter().copied().zip(new_same.iter_mut()));
    for (text, same) in old.endpoints.iter().zip(old_same) {
        if let Some(other) = texts.get_mut(text)
            && !**other
        {
            (*same, **other) = (true, true);
        }
    }
}

/// What of an endpoint is looked at if its text is the same on both sides.
#[derive(Deserialize)]
struct Name<'a> {
    number: u16,
    #[serde(borrow)]
    key: Cow<'a, str>,
}

/// The definition with the endpoints that are not marked, and the size of the whole.
fn differing(sheet: &Sheet, same: &[bool]) -> Result<(BridgeDefinition, Size), ReadError> {
    enum Read {
        Whole(Box<Endpoint>),
        Name { number: u16, part: bool },
    }
    let read: Vec<Read> = sheet
        .endpoints
        .par_iter()
        .zip(same)
        .map(|(raw, same)| match same {
            false => sheet.endpoint(raw).map(|endpoint| Read::Whole(Box::new(endpoint))),
            true => serde_json::from_str::<Name>(raw)
                .map(|name| Read::Name { number: name.number, part: name.key.contains('/') })
                .map_err(|error| sheet.unfit(raw, &error)),
        })
        .collect::<Result<_, _>>()?;
    let numbers = read.iter().map(|one| match one {
        Read::Whole(endpoint) => endpoint.number,
        Read::Name { number, .. } => *number,
    });
    once(numbers, |number| format!("endpoint number {number}"))?;
    let appliances = read
        .iter()
        .filter(|one| match one {
            Read::Whole(endpoint) => !endpoint.key.contains('/'),
            Read::Name { part, .. } => !part,
        })
        .count();
    let size = Size { bridges: 1, appliances, endpoints: read.len() };
    let endpoints = read
        .into_iter()
        .filter_map(|one| match one {
            Read::Whole(endpoint) => Some(*endpoint),
            Read::Name { .. } => None,
        })
        .collect();
    let definition = BridgeDefinition { endpoints, ..sheet.head.clone() };
    check(&definition)?;
    Ok((definition, size))
}

/// What is said of a file that could not be read. Its bridge is known by its name, as a build gives it.
fn unread(name: &str, error: &ReadError) -> Unread {
    Unread {
        name: name.to_owned(),
        bridge: name
            .strip_suffix(".bridge.json")
            .map(|stem| stem.rsplit('/').next().unwrap_or(stem).to_owned()),
        why: error.to_string(),
        help: error.help().to_owned(),
    }
}

fn size_of(definition: &BridgeDefinition) -> Size {
    let appliances = definition.endpoints.iter().filter(|endpoint| !endpoint.key.contains('/')).count();
    Size { bridges: 1, appliances, endpoints: definition.endpoints.len() }
}

/// Checks that what can be there once is there once.
pub(super) fn check(definition: &BridgeDefinition) -> Result<(), ReadError> {
    once(definition.endpoints.iter().map(|endpoint| endpoint.number), |number| {
        format!("endpoint number {number}")
    })?;
    for endpoint in &definition.endpoints {
        let of = |what: &str| format!("{what} of endpoint {}", endpoint.number);
        once(endpoint.device_types.iter().map(|one| one.id), |id| of(&format!("device type {id}")))?;
        once(endpoint.clusters.iter().map(|one| one.id), |id| of(&format!("cluster {id}")))?;
        for cluster in &endpoint.clusters {
            let of = |what: &str, one: &str| of(&format!("{what} `{one}` of {}", cluster.name));
            once(cluster.features.iter().map(String::as_str), |one| of("feature", one))?;
            once(cluster.commands.iter().map(String::as_str), |one| of("command", one))?;
        }
    }
    Ok(())
}

/// Refuses a list with an entry that is there twice. Short lists, the usual ones, take no memory.
fn once<T: Eq + Hash + Copy>(
    entries: impl ExactSizeIterator<Item = T> + Clone,
    what: impl Fn(T) -> String,
) -> Result<(), ReadError> {
    const SHORT: usize = 12;
    let twice = if entries.len() <= SHORT {
        let mut rest = entries.clone();
        entries.into_iter().find(|entry| {
            rest.next();
            rest.clone().any(|other| other == *entry)
        })
    } else {
        let mut seen = FxHashSet::default();
        let mut entries = entries;
        entries.find(|entry| !seen.insert(*entry))
    };
    twice.map_or(Ok(()), |entry| Err(ReadError::Twice { what: what(entry) }))
}
