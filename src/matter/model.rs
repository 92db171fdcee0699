//! The types that the files of `schema/matter` are read into.

use super::{Conformance, Constraint};
use serde::{Deserialize, Deserializer};
use serde_json::Value;

/// A cluster. Source: the file of its name, which names its section.
#[derive(Debug, Deserialize)]
pub struct Cluster {
    /// Id.
    pub id: u32,
    /// The data model's name, such as `OnOff`.
    pub name: String,
    /// Revision.
    pub revision: u16,
    /// Section of the specification that defines it.
    #[serde(default)]
    pub section: String,
    /// Features, by bit.
    #[serde(default)]
    pub features: Vec<Feature>,
    /// Attributes, by id, without the global ones.
    #[serde(default)]
    pub attributes: Vec<Attribute>,
    /// Commands that a server accepts, by id.
    #[serde(default)]
    pub commands: Vec<Command>,
    /// Events, by id.
    #[serde(default)]
    pub events: Vec<Event>,
    /// Datatypes of its own.
    #[serde(default)]
    pub datatypes: Vec<Datatype>,
}

/// A feature of a cluster.
#[derive(Debug, Deserialize)]
pub struct Feature {
    /// Bit in the feature map.
    pub bit: u8,
    /// Code, such as `LT`.
    pub code: String,
    /// Name, such as `Lighting`.
    pub name: String,
    /// When it must, may or must not be on.
    #[serde(default)]
    pub conformance: Option<Conformance>,
}

/// An attribute of a cluster.
#[derive(Debug, Deserialize)]
pub struct Attribute {
    /// Id.
    pub id: u32,
    /// The data model's name.
    pub name: String,
    /// Name of its type; `list<ENTRY>` for a list.
    #[serde(rename = "type", default)]
    pub datatype: String,
    /// Which values are allowed.
    #[serde(default)]
    pub constraint: Option<Constraint>,
    /// When it must, may or must not be there.
    #[serde(default)]
    pub conformance: Option<Conformance>,
    /// Access, in the specification's notation: `RW VO` is readable with view, writable with operate privilege.
    #[serde(default)]
    pub access: String,
    /// Whether null is a value.
    #[serde(default)]
    pub nullable: bool,
    /// The specification's own first value; an object `{"celsius": 7}` is a quantity, `{"ref": NAME}` another attribute's. Null is a
    /// value.
    #[serde(default, deserialize_with = "even_null")]
    pub default: Option<Value>,
}

/// A key that is there has a value, even if it is null.
fn even_null<'de, D: Deserializer<'de>>(from: D) -> Result<Option<Value>, D::Error> {
    Value::deserialize(from).map(Some)
}

impl Attribute {
    /// Whether a controller may write it.
    pub fn writable(&self) -> bool {
        self.access.split(' ').next().is_some_and(|rights| rights == "RW")
    }
}

/// A command that a server accepts.
#[derive(Debug, Deserialize)]
pub struct Command {
    /// Id.
    pub id: u32,
    /// The data model's name.
    pub name: String,
    /// When it must, may or must not be accepted.
    #[serde(default)]
    pub conformance: Option<Conformance>,
    /// Its fields.
    #[serde(default)]
    pub fields: Vec<Field>,
}

/// An event that a server tells.
#[derive(Debug, Deserialize)]
pub struct Event {
    /// Id.
    pub id: u32,
    /// The data model's name.
    pub name: String,
    /// When it must, may or must not be told.
    #[serde(default)]
    pub conformance: Option<Conformance>,
    /// Its fields.
    #[serde(default)]
    pub fields: Vec<Field>,
}

/// A field of a command, an event or a structure.
#[derive(Debug, Deserialize)]
pub struct Field {
    /// The data model's name.
    pub name: String,
    /// Name of its type.
    #[serde(rename = "type", default)]
    pub datatype: String,
    /// Which values are allowed.
    #[serde(default)]
    pub constraint: Option<Constraint>,
    /// When it must, may or must not be there.
    #[serde(default)]
    pub conformance: Option<Conformance>,
    /// Whether null is a value.
    #[serde(default)]
    pub nullable: bool,
}

/// A datatype: an enumeration, a bitmap, a structure, or another name for a type.
#[derive(Debug, Deserialize)]
pub struct Datatype {
    /// The data model's name.
    pub name: String,
    /// Name of the type it is made of.
    #[serde(rename = "type", default)]
    pub base: String,
    /// Members of an enumeration.
    #[serde(default)]
    pub values: Vec<Enumerant>,
    /// Bits of a bitmap.
    #[serde(default)]
    pub bits: Vec<Bit>,
    /// Fields of a structure.
    #[serde(default)]
    pub fields: Vec<Field>,
}

/// A member of an enumeration.
#[derive(Debug, Deserialize)]
pub struct Enumerant {
    /// Its number.
    pub value: u32,
    /// The data model's name.
    pub name: String,
    /// When it must, may or must not be used.
    #[serde(default)]
    pub conformance: Option<Conformance>,
}

/// A bit of a bitmap, or a group of bits.
#[derive(Debug, Deserialize)]
pub struct Bit {
    /// Its number, or for a group of bits `LOWEST to HIGHEST`.
    pub bit: Value,
    /// The data model's name.
    pub name: String,
}

/// A device type.
#[derive(Debug, Deserialize)]
pub struct DeviceType {
    /// Id.
    pub id: u32,
    /// The data model's name, such as `OnOffLight`.
    pub name: String,
    /// Revision.
    pub revision: u16,
    /// `simple`, `utility` or `node`.
    #[serde(default)]
    pub classification: String,
    /// Section of the specification that defines it.
    #[serde(default)]
    pub section: String,
    /// Device types of which it has all that they have.
    #[serde(default, rename = "supersetOf")]
    pub superset_of: Vec<String>,
    /// What it says of server clusters.
    #[serde(default)]
    pub clusters: Vec<ClusterNeed>,
    /// Device types that belong to it, on its endpoint or on one below.
    #[serde(default)]
    pub components: Vec<ComponentNeed>,
}

/// What a device type says of a cluster.
#[derive(Debug, Deserialize)]
pub struct ClusterNeed {
    /// The cluster's name.
    pub name: String,
    /// When it must, may or must not be there; nothing said where only its elements are spoken of.
    #[serde(default)]
    pub conformance: Option<Conformance>,
    /// What it says of the cluster's elements.
    #[serde(default)]
    pub elements: Vec<ElementNeed>,
}

/// What a device type says of an element of a cluster.
#[derive(Debug, Deserialize)]
pub struct ElementNeed {
    /// What kind of element.
    pub kind: ElementKind,
    /// Its name; a feature's code.
    pub name: String,
    /// When it must, may or must not be there.
    #[serde(default)]
    pub conformance: Option<Conformance>,
    /// Which values are allowed, beside what the cluster says.
    #[serde(default)]
    pub constraint: Option<Constraint>,
}

/// A kind of element of a cluster.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum ElementKind {
    /// A feature.
    Feature,
    /// An attribute.
    Attribute,
    /// A command.
    Command,
    /// An event.
    Event,
}

/// A device type that belongs to another.
#[derive(Debug, Deserialize)]
pub struct ComponentNeed {
    /// Its name.
    pub name: String,
    /// When it must, may or must not be there.
    #[serde(default)]
    pub conformance: Option<Conformance>,
    /// What is said of its clusters in this place.
    #[serde(default)]
    pub clusters: Vec<ClusterNeed>,
}

/// The edition of the standard that the facts are from.
#[derive(Debug, Deserialize)]
pub struct Edition {
    /// Version, such as `1.6.0`.
    pub specification: String,
    /// Data model revision.
    #[serde(rename = "dataModelRevision")]
    pub data_model_revision: u16,
}

/// A semantic tag.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SemanticTag {
    /// Namespace id.
    pub namespace: u8,
    /// Tag id.
    pub tag: u8,
}

impl Cluster {
    /// The feature with this code.
    pub fn feature(&self, code: &str) -> Option<&Feature> {
        self.features.iter().find(|feature| feature.code == code)
    }

    /// The attribute of this name.
    pub fn attribute(&self, name: &str) -> Option<&Attribute> {
        self.attributes.iter().find(|attribute| attribute.name == name)
    }

    /// The command of this name.
    pub fn command(&self, name: &str) -> Option<&Command> {
        self.commands.iter().find(|command| command.name == name)
    }

    /// The event of this name.
    pub fn event(&self, name: &str) -> Option<&Event> {
        self.events.iter().find(|event| event.name == name)
    }

    /// Its datatype of this name.
    pub fn datatype(&self, name: &str) -> Option<&Datatype> {
        self.datatypes.iter().find(|datatype| datatype.name == name)
    }
}

impl DeviceType {
    /// What it says of this cluster.
    pub fn cluster(&self, name: &str) -> Option<&ClusterNeed> {
        self.clusters.iter().find(|need| need.name == name)
    }
}

impl Datatype {
    /// The bits that a bitmap defines.
    pub fn mask(&self) -> u64 {
        let mut mask = 0;
        for bit in &self.bits {
            let group = bit.bit.as_str().and_then(|group| group.split_once(" to "));
            let group = group.and_then(|(low, high)| Some((low.parse().ok()?, high.parse().ok()?)));
            let one = bit.bit.as_u64().and_then(|bit| u32::try_from(bit).ok());
            let (low, high) = group.or(one.map(|bit| (bit, bit))).unwrap_or((64, 64));
            for bit in low..=high {
                mask |= 1_u64.checked_shl(bit).unwrap_or(0);
            }
        }
        mask
    }
}
