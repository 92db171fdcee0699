//! What an appliance of a class becomes, given the points that it has: endpoints, clusters, first values, links.
//!
//! Everything but what belongs to the one appliance: addresses, endpoint numbers, unique ids, names.

use super::class::{Class, Condition, End};
use super::setting::SettingValue;
use crate::convert::Chain;
use crate::knx::DptId;
use crate::matter::{Attribute, Cluster, Conformance, Requirement, ValueFault, check_value};
use rustc_hash::FxHashMap;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};
use std::sync::{Arc, RwLock};

/// What an appliance has, of what its class offers. Two that are equal have the same [`Shape`].
///
/// Points and settings stand in the class's order, each once; datapoint types are among those the class accepts;
/// setting values have been read by [`SettingSpec::read`](super::SettingSpec::read).
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub struct Chosen {
    /// The points, ascending by index.
    pub points: Vec<ChosenPoint>,
    /// The settings that are given, ascending by index in [`Class::settings`].
    pub settings: Vec<(u16, SettingValue)>,
}

/// A point that an appliance has. `None` for an address that it has not.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct ChosenPoint {
    /// Index in [`Class::points`].
    pub point: u16,
    /// Datapoint type of the command address.
    pub command: Option<DptId>,
    /// Datapoint type of the feedback address.
    pub feedback: Option<DptId>,
    /// Datapoint type of the further addresses.
    pub listens: Option<DptId>,
    /// Whether the bus counts the other way round.
    pub reversed: bool,
    /// The bus values that stand for the ends of [`PointSpec::range`](super::PointSpec::range).
    pub range: Option<[super::Number; 2]>,
}

impl Chosen {
    /// Whether the condition holds.
    pub fn holds(&self, class: &Class, condition: &Condition) -> bool {
        let find = |index: u16| self.points.iter().find(|point| point.point == index);
        match condition {
            Condition::Point(index) => find(*index).is_some(),
            Condition::Address(index, end) => find(*index).is_some_and(|point| point.dpt(*end).is_some()),
            Condition::Typed(index, end, dpt) => {
                find(*index).is_some_and(|point| point.dpt(*end) == Some(*dpt))
            }
            Condition::Given(index) => self.setting(class, *index).is_some(),
            Condition::Any(all) => all.iter().any(|one| self.holds(class, one)),
            Condition::Set(index, wanted) => match self.setting(class, *index) {
                Some(SettingValue::Text(text)) => text == wanted,
                Some(SettingValue::Flag(flag)) => *wanted == flag.to_string(),
                Some(SettingValue::Number(number)) => *wanted == number.get().to_string(),
                None => false,
            },
        }
    }

    /// The value of a setting: the given one, else the class's default.
    pub fn setting<'a>(&'a self, class: &'a Class, index: u16) -> Option<&'a SettingValue> {
        let given = self.settings.iter().find(|(setting, _)| *setting == index).map(|(_, value)| value);
        given.or_else(|| class.settings.get(usize::from(index))?.default.as_ref())
    }

    /// The same without its numbers.
    fn kind(&self) -> Self {
        let point = |point: &ChosenPoint| ChosenPoint { range: None, ..point.clone() };
        let is_number = |value: &SettingValue| matches!(value, SettingValue::Number(_));
        Self {
            points: self.points.iter().map(point).collect(),
            settings: self.settings.iter().filter(|(_, value)| !is_number(value)).cloned().collect(),
        }
    }
}

impl ChosenPoint {
    /// Datapoint type of one of its addresses.
    pub fn dpt(&self, end: End) -> Option<DptId> {
        match end {
            End::Command => self.command,
            End::Feedback => self.feedback,
            End::Listens => self.listens,
        }
    }
}

/// The endpoints of an appliance; the first is the top one. Empty for a class that is not exposed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Shape {
    /// The endpoints that are there, in the template's order.
    pub parts: Vec<ShapedPart>,
}

/// One endpoint.
///
/// The top endpoint has Bridged Node among its device types and `BridgedDeviceBasicInformation` among its clusters,
/// with `Reachable`; its `NodeLabel` and `UniqueId` are the appliance's and are put in by who lowers. `Descriptor`
/// is there only where it has a feature: the gateway makes its lists from the endpoints.
#[derive(Clone, Debug, PartialEq)]
pub struct ShapedPart {
    /// Name of the part: `main` for the top one, else the word after the `/` in the endpoint's key.
    pub name: String,
    /// Device types, the appliance's own first, Bridged Node last.
    pub device_types: Vec<ShapedDeviceType>,
    /// Server clusters, by id.
    pub clusters: Vec<Arc<ShapedCluster>>,
    /// Wires, in the order in which a telegram runs through them.
    pub links: Vec<Arc<ShapedLink>>,
}

/// A device type of an endpoint.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ShapedDeviceType {
    /// Id.
    pub id: u32,
    /// The data model's name.
    pub name: String,
    /// Revision.
    pub revision: u16,
}

/// A server cluster of an endpoint.
#[derive(Clone, Debug, PartialEq)]
pub struct ShapedCluster {
    /// Id.
    pub id: u32,
    /// The data model's name.
    pub name: String,
    /// Revision.
    pub revision: u16,
    /// Codes of the features that are on, by bit.
    pub features: Vec<String>,
    /// First value of each attribute, by attribute id.
    pub attributes: Map<String, Value>,
    /// Commands that it accepts, by id.
    pub commands: Vec<String>,
}

/// In a list of endpoint numbers, stands for the number of the endpoint itself, which who lowers puts in.
pub const THIS_ENDPOINT: u16 = 0xfffe;

/// Likewise for the number of the endpoint above.
pub const ENDPOINT_ABOVE: u16 = 0xfffd;

/// A wire of an endpoint, all but its group address. One for each address of the named end: `listens` may have many.
#[derive(Clone, Debug, PartialEq)]
pub struct ShapedLink {
    /// Index of the point in [`Class::points`].
    pub point: u16,
    /// Which of the point's addresses.
    pub end: End,
    /// Which way values go.
    pub direction: Direction,
    /// The cluster's name.
    pub cluster: String,
    /// What is at the Matter end.
    pub target: Target,
    /// Datapoint type at the bus end.
    pub dpt: DptId,
    /// Whether the gateway may read the address on the bus.
    pub read: bool,
    /// What the attribute shows; `None` on links that carry no state.
    pub shown: Option<Shown>,
    /// How the attribute comes from what several points tell of it; `None`: what came last counts.
    pub joint: Option<Joint>,
    /// Time parameters by name, in milliseconds.
    pub timing: Map<String, Value>,
    /// The steps, in the order in which this link runs them: reversal, range, rounding and limits are in it.
    pub conversion: Chain,
}

/// The Matter end of a link: a name of the data model.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Target {
    /// An attribute.
    Attribute(String),
    /// A command that a controller invokes.
    Command(String),
    /// An event that controllers are told.
    Event(String),
}

/// Which way a link carries values.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Direction {
    /// From the controller to the bus.
    ToBus,
    /// From the bus to the controller.
    FromBus,
}

/// What is shown when a link's telegram is the only news there is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Shown {
    /// What the bus reports.
    Reported,
    /// What was asked for, since the bus reports nothing.
    Requested,
    /// What running times or the steps of relative dimming say, since the bus reports nothing.
    Estimated,
}

/// How an attribute comes from what several points tell of it.
///
/// It is put together of what each point's links with this attribute and the same `joint` gave last, the telegram that just
/// came among them. A point of which nothing was heard yet has no part in it. What the points gave last is kept over a restart
/// of the gateway, and over a new definition for the points that it still has: an alarm that goes on is not read at the start,
/// and must not be over because another point was.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Joint {
    /// A bitmap with every bit that one of the points gave last.
    Bits,
    /// The first of these values that one of the points gave last; a value that is none of them counts for nothing. Where
    /// nothing counts, an attribute that may be null is null, and any other stays as it is.
    FirstOf(Vec<Value>),
}

/// Why the settings of an appliance do not go together, though each of them is within its range.
#[derive(Clone, Debug, PartialEq)]
pub enum ShapeFault {
    /// An attribute's first value is outside what the data model allows.
    Value {
        /// The cluster's name.
        cluster: String,
        /// The attribute's name.
        attribute: String,
        /// The value.
        value: Value,
        /// The data model's constraint in its own notation, or the section that tells it.
        constraint: String,
        /// Indices of the settings that it is made from.
        settings: Vec<u16>,
    },
    /// A step of a conversion that cannot be made from these settings (two equal points of a line, say).
    Step {
        /// Index of the point.
        point: u16,
        /// Indices of the settings that it is made from.
        settings: Vec<u16>,
    },
}

/// The shapes that a class has made.
#[derive(Debug, Default)]
pub(super) struct Memory(RwLock<Kept>);

#[derive(Debug, Default)]
struct Kept {
    /// By choice.
    made: FxHashMap<Chosen, Made>,
    /// The first of each kind, by a choice without numbers of its own.
    first: FxHashMap<Chosen, Arc<Shape>>,
}

/// A shape, or why there is none.
pub(super) type Made = Result<Arc<Shape>, Vec<ShapeFault>>;

impl Memory {
    /// What was made of this choice.
    pub(super) fn get(&self, chosen: &Chosen) -> Option<Made> {
        self.0.read().ok()?.made.get(chosen).cloned()
    }

    /// Keeps what was made of a choice. Clusters and links that are as in the first of its kind are shared with that: a house
    /// may have a `range` or a limit of its own for each of its appliances.
    pub(super) fn keep(&self, chosen: &Chosen, mut made: Made) -> Made {
        let Ok(mut kept) = self.0.write() else { return made };
        let kind = chosen.kind();
        if let Ok(shape) = &mut made
            && kind != *chosen
        {
            let first = kept.first.entry(kind).or_insert_with(|| Arc::clone(shape));
            if let Some(shape) = Arc::get_mut(shape) {
                shape.share(first);
            }
        }
        kept.made.entry(chosen.clone()).or_insert(made).clone()
    }
}

impl Clone for Memory {
    /// Begins anew: what was made can be made again.
    fn clone(&self) -> Self {
        Self::default()
    }
}

impl Shape {
    /// Takes from another what is the same in both.
    fn share(&mut self, other: &Self) {
        for (part, other) in self.parts.iter_mut().zip(&other.parts) {
            share(&mut part.clusters, &other.clusters);
            share(&mut part.links, &other.links);
        }
    }
}

fn share<T: PartialEq>(own: &mut [Arc<T>], others: &[Arc<T>]) {
    for (own, other) in own.iter_mut().zip(others).filter(|(own, other)| own == other) {
        *own = Arc::clone(other);
    }
}

impl ShapedPart {
    /// Its server clusters, by id.
    pub fn clusters(&self) -> impl Iterator<Item = &ShapedCluster> {
        self.clusters.iter().map(|shared| &**shared)
    }

    /// Its wires, in the order in which a telegram runs through them.
    pub fn links(&self) -> impl Iterator<Item = &ShapedLink> {
        self.links.iter().map(|shared| &**shared)
    }

    /// The cluster of this name.
    pub fn cluster(&self, name: &str) -> Option<&ShapedCluster> {
        self.clusters().find(|cluster| cluster.name == name)
    }
}

impl ShapedCluster {
    /// What a conformance says with these features and attributes.
    pub(super) fn said(&self, conformance: &Conformance) -> Requirement {
        let present =
            |name: &str| self.features.iter().any(|code| code == name) || self.attributes.contains_key(name);
        let number = |name: &str| self.attributes.get(name)?.as_i64();
        conformance.requirement(&present, &number, self.revision)
    }

    /// The value of an attribute or of a field of one (`HoldTimeLimits.HoldTimeMin`), if it is a number.
    pub(super) fn number(&self, path: &str) -> Option<f64> {
        let mut names = path.split('.');
        let mut value = self.attributes.get(names.next()?)?;
        for name in names {
            value = value.get(name)?;
        }
        value.as_f64()
    }

    /// Checks a value of an attribute against its type and constraint, with the other attributes as they are.
    pub(super) fn check(
        &self,
        cluster: &Cluster,
        attribute: &Attribute,
        value: &Value,
    ) -> Result<(), ValueFault> {
        let on = |code: &str| self.features.iter().any(|feature| feature == code);
        let lookup = |name: &str| self.number(name);
        let constraint = attribute.constraint.as_ref();
        check_value(cluster, &attribute.datatype, attribute.nullable, constraint, value, &on, &lookup)
    }
}

impl Target {
    /// The data model's name.
    pub fn name(&self) -> &str {
        match self {
            Self::Attribute(name) | Self::Command(name) | Self::Event(name) => name,
        }
    }
}
