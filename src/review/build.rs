//! The two sides of a review: builds whose definitions were read and are sound, and what of them could not be read.

use super::Unshown;
use super::outline::Outline;
use super::read::{ReadError, Sheet};
use crate::bridge::definition::{BridgeDefinition, Cluster, DeviceTypeRef};
use rustc_hash::FxHashSet;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::hash::Hash;
use std::sync::Arc;

/// A file of a build. It is read when it is its turn, so that a review never holds all files of both builds.
pub struct BuildFile<'a> {
    pub(super) name: String,
    pub(super) read: Box<Reading<'a>>,
}

impl fmt::Debug for BuildFile<'_> {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.debug_struct("BuildFile").field("name", &self.name).finish_non_exhaustive()
    }
}

/// Gives the bytes of a file, or says why they cannot be had.
type Reading<'a> = dyn FnOnce() -> Result<Vec<u8>, Unread> + Send + 'a;

impl<'a> BuildFile<'a> {
    /// A file that is in memory, with a name to call it by, such as `wharf.bridge.json`.
    pub fn of(name: &str, bytes: Vec<u8>) -> Self {
        Self::when_due(name, || Ok(bytes))
    }

    /// A file that is read, or made, when it is compared.
    pub fn when_due(name: &str, read: impl FnOnce() -> Result<Vec<u8>, Unread> + Send + 'a) -> Self {
        Self { name: name.to_owned(), read: Box::new(read) }
    }
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
pub struct Build {
    pub(super) bridges: Vec<Bridge>,
    pub(super) unread: Vec<Unread>,
    /// What is described and not shown; none where that is not known.
    pub(super) unshown: Option<Vec<Unshown>>,
    size: Size,
}

/// A bridge of a build.
#[derive(Clone, Debug)]
pub(super) struct Bridge {
    /// The definition without its endpoints.
    pub(super) head: BridgeDefinition,
    /// Its endpoints, in any order; what is the same on both sides of a review may be missing.
    pub(super) endpoints: Vec<Arc<Outline>>,
    /// How much the whole definition holds.
    pub(super) size: Size,
}

impl Bridge {
    /// Its key.
    pub(super) fn key(&self) -> &str {
        &self.head.bridge.key
    }

    fn of(definition: &BridgeDefinition) -> Result<Self, ReadError> {
        check(definition)?;
        let appliances = definition.endpoints.iter().filter(|endpoint| !endpoint.key.contains('/')).count();
        Ok(Self {
            head: head(definition),
            endpoints: definition.endpoints.iter().map(|endpoint| Arc::new(endpoint.into())).collect(),
            size: Size { bridges: 1, appliances, endpoints: definition.endpoints.len() },
        })
    }
}

fn head(definition: &BridgeDefinition) -> BridgeDefinition {
    BridgeDefinition {
        format: definition.format.clone(),
        version: definition.version,
        house: definition.house.clone(),
        bridge: definition.bridge.clone(),
        matter: definition.matter.clone(),
        endpoints: Vec::new(),
    }
}

/// Why a file is not compared.
pub(super) enum Fault {
    /// Its bytes cannot be had.
    Unread(Unread),
    /// It is no definition.
    Read(ReadError),
}

impl From<ReadError> for Fault {
    fn from(error: ReadError) -> Self {
        Self::Read(error)
    }
}

impl Build {
    /// A build from definitions in memory.
    pub fn of(definitions: &[BridgeDefinition]) -> Self {
        let read = |definition: &BridgeDefinition| {
            (format!("{}.bridge.json", definition.bridge.key), Bridge::of(definition).map_err(Fault::from))
        };
        Self::gathered(definitions.iter().map(read))
    }

    /// A build from its files, in any order.
    pub fn read(files: Vec<BuildFile>) -> Self {
        Self::gathered(files.into_iter().map(|file| {
            let read = (file.read)().map_err(Fault::Unread);
            (file.name, read.and_then(|bytes| Ok(Sheet::read(&bytes)?.bridge()?)))
        }))
    }

    /// A build of which nothing could be read: a folder without a build, a revision in which the house does not
    /// compile.
    pub fn unreadable(unread: Unread) -> Self {
        Self { unread: vec![unread], ..Self::default() }
    }

    /// The build with what the house describes and does not show, where that is known.
    #[must_use]
    pub fn with_unshown(self, unshown: Option<Vec<Unshown>>) -> Self {
        Self { unshown, ..self }
    }

    /// How much could be read.
    pub fn size(&self) -> Size {
        self.size
    }

    /// The definitions that could be read. Those of
    /// [`read_both`](super::read_both) lack what is the same on both sides.
    pub fn definitions(&self) -> Vec<BridgeDefinition> {
        let whole = |bridge: &Bridge| BridgeDefinition {
            endpoints: bridge.endpoints.iter().map(|endpoint| endpoint.endpoint()).collect(),
            ..bridge.head.clone()
        };
        self.bridges.iter().map(whole).collect()
    }

    /// The build of these files, each by its name with what was read of it.
    pub(super) fn gathered(read: impl Iterator<Item = (String, Result<Bridge, Fault>)>) -> Self {
        let mut build = Self::default();
        let mut not_had = Vec::new();
        for (name, read) in read {
            match read {
                Ok(bridge) if build.bridges.iter().any(|one| one.key() == bridge.key()) => {
                    let what = format!("the bridge `{}`", bridge.key());
                    build.unread.push(unread(&name, &ReadError::Twice { what }));
                }
                Ok(bridge) => {
                    build.size.bridges += bridge.size.bridges;
                    build.size.appliances += bridge.size.appliances;
                    build.size.endpoints += bridge.size.endpoints;
                    build.bridges.push(bridge);
                }
                Err(Fault::Read(error)) => build.unread.push(unread(&name, &error)),
                Err(Fault::Unread(unread)) => not_had.push(unread),
            }
        }
        build.unread.append(&mut not_had);
        build
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

/// Checks that what can be there once is there once.
pub(super) fn check(definition: &BridgeDefinition) -> Result<(), ReadError> {
    numbers_once(definition.endpoints.iter().map(|endpoint| endpoint.number))?;
    definition.endpoints.iter().try_for_each(|one| sound(one.number, &one.device_types, &one.clusters))
}

/// Refuses an endpoint number that is there twice.
pub(super) fn numbers_once(numbers: impl ExactSizeIterator<Item = u16> + Clone) -> Result<(), ReadError> {
    once(numbers, |number| format!("endpoint number {number}"))
}

/// Checks what can be there once in an endpoint.
pub(super) fn sound(
    endpoint: u16,
    device_types: &[DeviceTypeRef],
    clusters: &[Cluster],
) -> Result<(), ReadError> {
    let of = |what: &str| format!("{what} of endpoint {endpoint}");
    once(device_types.iter().map(|one| one.id), |id| of(&format!("device type {id}")))?;
    once(clusters.iter().map(|one| one.id), |id| of(&format!("cluster {id}")))?;
    for cluster in clusters {
        let of = |what: &str, one: &str| of(&format!("{what} `{one}` of {}", cluster.name));
        once(cluster.features.iter().map(String::as_str), |one| of("feature", one))?;
        once(cluster.commands.iter().map(String::as_str), |one| of("command", one))?;
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
