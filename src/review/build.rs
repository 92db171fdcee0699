//! The two sides of a review: builds whose definitions were read and are sound, and what of them could not be read.

use super::read::ReadError;
use crate::bridge::definition::BridgeDefinition;
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

    /// The definitions that could be read. Those of
    /// [`read_both`](super::read_both) lack what is the same on both sides.
    pub fn definitions(&self) -> impl Iterator<Item = &BridgeDefinition> {
        self.bridges.iter().map(AsRef::as_ref)
    }

    pub(super) fn take(&mut self, name: &str, read: Result<(Cow<'a, BridgeDefinition>, Size), ReadError>) {
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
pub(super) fn once<T: Eq + Hash + Copy>(
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
