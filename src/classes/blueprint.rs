//! The inside of a class: what [`Class::shape`](super::Class::shape) makes endpoints from.

use super::class::{Condition, End, LinkSpec};
use super::shape::{Direction, Joint, Shown, Target};
use crate::convert::{Chain, values_in};
use crate::knx::DptId;
use crate::matter::{Attribute, Cluster, Command, DeviceType};
use crate::source::Place;
use serde_json::Value;

/// What a class is made from, with the places that its problems show at.
#[derive(Clone, Debug)]
pub(super) struct Blueprint {
    /// The class's name.
    pub home: Place,
    /// Where the class names the one that it is based on, else its own name: what built-in files show is told there.
    pub base: Place,
    /// The parts.
    pub parts: Vec<PartRule>,
    /// What the parts have, in the order in which it is put together.
    pub layers: Vec<Layer>,
    /// The wires.
    pub links: Vec<LinkRule>,
    /// For each point, how the values of an unusual datapoint type become those of the usual one.
    pub units: Vec<Vec<Units>>,
}

impl Blueprint {
    pub(super) fn new(home: Place) -> Self {
        Self { home, base: home, parts: Vec::new(), layers: Vec::new(), links: Vec::new(), units: Vec::new() }
    }

    /// The conversions of all links and units.
    pub(super) fn chains(&self) -> impl Iterator<Item = &Steps> {
        let units = self.units.iter().flatten();
        let near_bus = units.flat_map(|units| std::iter::once(&units.from_bus).chain(&units.to_bus));
        self.links.iter().map(|rule| &rule.steps).chain(near_bus)
    }
}

/// When a part is there.
#[derive(Clone, Debug)]
pub(super) struct PartRule {
    pub guard: Guard,
    pub place: Place,
}

/// When something is there: all of `when` and none of `unless`.
#[derive(Clone, Debug, Default)]
pub(super) struct Guard {
    pub when: Vec<Condition>,
    pub unless: Vec<Condition>,
}

/// What a part has, or has more.
#[derive(Clone, Debug)]
pub(super) struct Layer {
    pub part: u16,
    pub guard: Guard,
    /// In place of those before.
    pub device_types: Option<Vec<(&'static DeviceType, Place)>>,
    pub clusters: Vec<ClusterRule>,
    /// Semantic tags, as values of `TagList`.
    pub tags: Vec<Value>,
}

/// What a layer says of a cluster.
#[derive(Clone, Debug)]
pub(super) struct ClusterRule {
    pub cluster: &'static Cluster,
    pub place: Place,
    pub features: Vec<(&'static str, Place)>,
    pub attributes: Vec<(&'static Attribute, ValueRule)>,
    pub commands: Vec<&'static Command>,
}

/// A value, fixed or made from settings.
#[derive(Clone, Debug)]
pub(super) struct ValueRule {
    /// The value; objects with `setting` stand for settings.
    pub value: Value,
    /// Indices of those settings.
    pub settings: Vec<u16>,
    pub place: Place,
}

/// How the values of an unusual datapoint type become those of the usual one, and back.
#[derive(Clone, Debug)]
pub(super) struct Units {
    pub dpt: DptId,
    pub from_bus: Steps,
    /// `None`: the other way turned round.
    pub to_bus: Option<Steps>,
}

/// A chain, fixed or made from settings.
#[derive(Clone, Debug)]
pub(super) enum Steps {
    Fixed(Chain),
    Made {
        /// Steps in which objects with `setting` stand for settings.
        steps: Vec<Value>,
        settings: Vec<u16>,
    },
}

impl Steps {
    /// How many steps there are, those within others left out.
    pub(super) fn count(&self) -> usize {
        match self {
            Self::Fixed(chain) => chain.steps.len(),
            Self::Made { steps, .. } => steps.len(),
        }
    }

    /// How many values they hold; of those with settings in them the values as they are written.
    pub(super) fn values(&self) -> usize {
        match self {
            Self::Fixed(chain) => chain.values(),
            Self::Made { steps, .. } => steps.iter().map(values_in).sum(),
        }
    }

    /// Whether a line is drawn through numbers that settings give.
    pub(super) fn draw_line_by_setting(&self) -> bool {
        let Self::Made { steps, .. } = self else { return false };
        let is_set = |value: &Value| value.get("setting").is_some();
        let ends = |step: &Value| {
            let ends = ["from", "to"].map(|end| step.get(end).and_then(Value::as_array));
            ends.into_iter().flatten().flatten().any(is_set)
        };
        steps.iter().any(|step| step.get("step").is_some_and(|word| word == "scale") && ends(step))
    }
}

/// Which of its point's addresses a wire hangs on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Hook {
    /// To the command address.
    ToCommand,
    /// From the feedback address.
    Feedback,
    /// From the command address.
    Command,
    /// From the further addresses.
    Listens,
    /// From the feedback if there is one, else from command and further addresses.
    State,
}

/// Whether other points may set the attribute of a wire too.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) enum Joining {
    /// They may not.
    #[default]
    Never,
    /// What came last counts.
    Last,
    /// What all of them told last is put together.
    Together(Joint),
}

/// A wire.
#[derive(Clone, Debug)]
pub(super) struct LinkRule {
    pub point: u16,
    pub part: u16,
    pub hook: Hook,
    pub cluster: &'static Cluster,
    pub target: Target,
    /// Only for these datapoint types, if any are named.
    pub dpts: Vec<DptId>,
    pub guard: Guard,
    pub steps: Steps,
    pub shown: Option<Shown>,
    /// Empty: the point's own feedback.
    pub reported_by: Vec<Condition>,
    /// An installation's range does not count here.
    pub outside_range: bool,
    pub joint: Joining,
    pub timing: Vec<(String, ValueRule)>,
    pub place: Place,
    pub steps_place: Place,
}

impl LinkRule {
    /// The wire as people are told of it.
    pub(super) fn spec(&self) -> LinkSpec {
        let (end, direction) = match self.hook {
            Hook::ToCommand => (End::Command, Direction::ToBus),
            Hook::Feedback | Hook::State => (End::Feedback, Direction::FromBus),
            Hook::Command => (End::Command, Direction::FromBus),
            Hook::Listens => (End::Listens, Direction::FromBus),
        };
        LinkSpec {
            point: self.point,
            part: self.part,
            end,
            direction,
            cluster: self.cluster.name.clone(),
            target: self.target.clone(),
        }
    }
}
