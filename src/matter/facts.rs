//! The files of `schema/matter`, each read when something first asks for it.

use super::model::{Cluster, Datatype, DeviceType, Edition, SemanticTag};
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};
use std::collections::BTreeMap;
use std::sync::{LazyLock, OnceLock};

/// The files by their path in `schema/matter`, sorted.
static FILES: &[(&str, &str)] = include!(concat!(env!("OUT_DIR"), "/embedded_schema_matter.rs"));

static CLUSTERS: Shelf<Cluster> = Shelf { folder: "clusters/", slots: LazyLock::new(empty) };
static DEVICE_TYPES: Shelf<DeviceType> = Shelf { folder: "device-types/", slots: LazyLock::new(empty) };

/// One folder: a slot for each file, filled on first use.
struct Shelf<T: 'static> {
    folder: &'static str,
    slots: LazyLock<Box<[OnceLock<T>]>>,
}

fn empty<T>() -> Box<[OnceLock<T>]> {
    FILES.iter().map(|_| OnceLock::new()).collect()
}

impl<T: DeserializeOwned> Shelf<T> {
    fn get(&'static self, name: &str) -> Option<&'static T> {
        let wanted = format!("{}{name}.json", self.folder);
        let index = FILES.binary_search_by(|(file, _)| (*file).cmp(&wanted)).ok()?;
        let (_, text) = FILES.get(index)?;
        Some(self.slots.get(index)?.get_or_init(|| read(text)))
    }

    fn names(&'static self) -> impl Iterator<Item = &'static str> {
        FILES.iter().filter_map(|(file, _)| file.strip_prefix(self.folder)?.strip_suffix(".json"))
    }
}

/// Reads a whole file of `schema/matter`.
fn file<T: DeserializeOwned>(name: &str) -> Option<T> {
    let index = FILES.binary_search_by(|(file, _)| (*file).cmp(name)).ok()?;
    FILES.get(index).map(|(_, text)| read(text))
}

fn read<T: DeserializeOwned>(text: &str) -> T {
    serde_json::from_str(text).expect("embedded when the program was built, and read by a test")
}

/// The cluster of this name.
pub fn cluster(name: &str) -> Option<&'static Cluster> {
    CLUSTERS.get(name)
}

/// The names of all clusters that there are facts on, sorted.
pub fn cluster_names() -> impl Iterator<Item = &'static str> {
    CLUSTERS.names()
}

/// The device type of this name.
pub fn device_type(name: &str) -> Option<&'static DeviceType> {
    DEVICE_TYPES.get(name)
}

/// The names of all device types that there are facts on, sorted.
pub fn device_type_names() -> impl Iterator<Item = &'static str> {
    DEVICE_TYPES.names()
}

/// The edition of the standard that the facts are from.
pub fn edition() -> &'static Edition {
    static EDITION: LazyLock<Edition> = LazyLock::new(|| file("edition.json").expect("embedded"));
    &EDITION
}

/// The datatype of this name that clusters share.
pub(super) fn datatype(name: &str) -> Option<&'static Datatype> {
    #[derive(Deserialize)]
    struct File {
        datatypes: Vec<Datatype>,
    }
    static FILE: LazyLock<File> = LazyLock::new(|| file("datatypes.json").expect("embedded"));
    FILE.datatypes.iter().find(|datatype| datatype.name == name)
}

/// The value that a bridge begins with where neither the class nor the standard names one.
pub fn first_value(cluster: &str, attribute: &str) -> Option<&'static Value> {
    first().values.get(cluster)?.get(attribute)
}

/// The features that a bridge has a cluster with that no class speaks of.
pub fn first_features(cluster: &str) -> &'static [String] {
    first().features.get(cluster).map_or(&[], Vec::as_slice)
}

#[derive(Deserialize)]
struct First {
    features: BTreeMap<String, Vec<String>>,
    values: Map<String, Value>,
}

fn first() -> &'static First {
    static FILE: LazyLock<First> = LazyLock::new(|| file("first-values.json").expect("embedded"));
    &FILE
}

/// The semantic tag with this name in the namespace with that name.
pub fn tag(namespace: &str, name: &str) -> Option<SemanticTag> {
    let namespace = namespaces().iter().find(|found| found.name == namespace)?;
    let tag = namespace.tags.iter().find(|tag| tag.name == name)?;
    Some(SemanticTag { namespace: namespace.id, tag: tag.tag })
}

/// The name of the semantic tag with this number in the namespace with that one.
pub fn tag_name(namespace: u64, tag: u64) -> Option<&'static str> {
    let namespace = namespaces().iter().find(|found| u64::from(found.id) == namespace)?;
    let tag = namespace.tags.iter().find(|found| u64::from(found.tag) == tag)?;
    Some(&tag.name)
}

/// The names of all semantic tags, written `Namespace.Tag`.
pub fn tag_names() -> Vec<String> {
    let names = |found: &Namespace| {
        found.tags.iter().map(|tag| format!("{}.{}", found.name, tag.name)).collect::<Vec<_>>()
    };
    namespaces().iter().flat_map(names).collect()
}

#[derive(Deserialize)]
struct Namespace {
    id: u8,
    name: String,
    tags: Vec<Tag>,
}

#[derive(Deserialize)]
struct Tag {
    tag: u8,
    name: String,
}

fn namespaces() -> &'static [Namespace] {
    #[derive(Deserialize)]
    struct File {
        namespaces: Vec<Namespace>,
    }
    static FILE: LazyLock<File> = LazyLock::new(|| file("tags.json").expect("embedded"));
    &FILE.namespaces
}

/// Bridged Node and Power Source say nothing of what a device is.
const NOT_IDENTIFYING: [u32; 2] = [0x0013, 0x0011];

/// Whether a device type, by its id, says what the device is.
pub fn is_identifying(device_type: u32) -> bool {
    !NOT_IDENTIFYING.contains(&device_type)
}
