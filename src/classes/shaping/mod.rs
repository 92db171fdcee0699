//! From a class and a choice to endpoints: [`Class::shape`].
//!
//! What the template says is put together layer by layer; what the standard demands beside it (identification, groups
//! and scenes, the bridged device's basic information, mandatory attributes and commands) is added.

mod chains;
mod clusters;
mod ends;
mod evaluate;
mod finish;
mod mirror;

pub(super) use chains::on_the_bus;
pub(super) use clusters::kept_elsewhere;
pub(super) use finish::misfit;

use super::blueprint::{Guard, Hook, Joining, Layer, LinkRule};
use super::class::{Class, End, Exposure};
use super::shape::{
    Chosen, ChosenPoint, Direction, Made, Shape, ShapeFault, ShapedDeviceType, ShapedLink, ShapedPart, Shown,
    Target,
};
use crate::knx::DptId;
use crate::matter::{self, DeviceType, ElementKind, Requirement};
use clusters::Drafts;
use serde_json::{Map, Value, json};
use std::sync::Arc;

/// Clusters that a template need not name: the part has them where one of its device types demands them.
const COMPANIONS: [&str; 3] = ["Identify", "Groups", "ScenesManagement"];

impl Class {
    /// The endpoints of an appliance that has these points and settings.
    ///
    /// Equal choices give the same shared shape: it is worked out once.
    ///
    /// # Errors
    /// Settings that do not go together.
    pub fn shape(&self, chosen: &Chosen) -> Result<Arc<Shape>, Vec<ShapeFault>> {
        self.memory.get(chosen).unwrap_or_else(|| self.memory.keep(chosen, self.make(chosen)))
    }

    /// The same, made anew and not kept.
    pub(super) fn make(&self, chosen: &Chosen) -> Made {
        let mut shaper = Shaper { class: self, chosen, faults: Vec::new() };
        let shape = match self.exposure {
            Exposure::Bridged => shaper.shape(),
            Exposure::NotBridged { .. } => Shape::default(),
        };
        if shaper.faults.is_empty() { Ok(Arc::new(shape)) } else { Err(shaper.faults) }
    }
}

struct Shaper<'a> {
    class: &'a Class,
    chosen: &'a Chosen,
    faults: Vec<ShapeFault>,
}

impl<'a> Shaper<'a> {
    fn shape(&mut self) -> Shape {
        let mut parts = Vec::new();
        for (index, (spec, rule)) in (0_u16..).zip(self.class.parts.iter().zip(&self.class.blueprint.parts)) {
            if self.holds(&rule.guard) {
                parts.push(self.part(index, &spec.name));
            }
        }
        Shape { parts }
    }

    fn holds(&self, guard: &Guard) -> bool {
        let holds = |condition: &_| self.chosen.holds(self.class, condition);
        guard.when.iter().all(holds) && !guard.unless.iter().any(holds)
    }

    fn part(&mut self, index: u16, name: &str) -> ShapedPart {
        let class = self.class;
        let layers =
            class.blueprint.layers.iter().filter(|layer| layer.part == index && self.holds(&layer.guard));
        let layers: Vec<&Layer> = layers.collect();
        let mut device_types = Vec::new();
        let mut tags = Vec::new();
        let mut drafts = Drafts::default();
        for layer in &layers {
            if let Some(own) = &layer.device_types {
                device_types = own.iter().map(|(device_type, _)| *device_type).collect();
            }
            tags.extend(layer.tags.iter().cloned());
            for rule in &layer.clusters {
                self.add(&mut drafts, rule);
            }
        }
        if index == 0 {
            device_types.extend(matter::device_type("BridgedNode"));
            drafts.add("BridgedDeviceBasicInformation");
        }
        if !tags.is_empty() {
            drafts.tag(&tags);
        }
        demanded(&device_types, &mut drafts);
        let links = self.links(index, &mut drafts);
        let clusters = drafts.finish(&mut self.faults);
        let links = links
            .into_iter()
            .filter_map(|(rule, end, dpt)| self.link(rule, end, dpt, &clusters).map(Arc::new))
            .collect();
        ShapedPart {
            name: name.to_owned(),
            device_types: device_types.into_iter().map(shaped_device_type).collect(),
            clusters,
            links,
        }
    }

    /// Adds what a layer says of a cluster.
    fn add(&mut self, drafts: &mut Drafts, rule: &super::blueprint::ClusterRule) {
        let draft = drafts.of(rule.cluster);
        for (code, _) in &rule.features {
            draft.feature(code);
        }
        for (attribute, value) in &rule.attributes {
            match evaluate::value(self.class, self.chosen, &value.value) {
                Ok(Some(made)) => draft.set(attribute, made, &value.settings),
                Ok(None) => {}
                Err(evaluate::NoResult) => self.faults.push(ShapeFault::Value {
                    cluster: rule.cluster.name.clone(),
                    attribute: attribute.name.clone(),
                    value: Value::Null,
                    constraint: attribute.constraint.as_ref().map_or("", |said| said.text()).to_owned(),
                    settings: value.settings.clone(),
                }),
            }
        }
        for command in &rule.commands {
            draft.command(command);
        }
    }

    /// The wires of a part, each with the end that it hangs on; what they lead to is added to the clusters.
    fn links(&self, part: u16, drafts: &mut Drafts) -> Vec<(&'a LinkRule, End, DptId)> {
        let mut out = Vec::new();
        for rule in
            self.class.blueprint.links.iter().filter(|rule| rule.part == part && self.holds(&rule.guard))
        {
            let Some(point) = self.chosen.points.iter().find(|point| point.point == rule.point) else {
                continue;
            };
            for end in self.ends(rule, point) {
                let Some(dpt) = point.dpt(end) else { continue };
                if rule.dpts.is_empty() || rule.dpts.contains(&dpt) {
                    drafts.linked(rule.cluster, &rule.target);
                    out.push((rule, end, dpt));
                }
            }
        }
        out
    }

    /// The addresses that a wire hangs on.
    fn ends(&self, rule: &LinkRule, point: &ChosenPoint) -> Vec<End> {
        match rule.hook {
            Hook::ToCommand | Hook::Command => vec![End::Command],
            Hook::Feedback => vec![End::Feedback],
            Hook::Listens => vec![End::Listens],
            Hook::State if point.feedback.is_some() => vec![End::Feedback],
            Hook::State if self.reported(rule, point) => Vec::new(),
            Hook::State => vec![End::Command, End::Listens],
        }
    }

    /// Whether the bus reports what this wire is about.
    fn reported(&self, rule: &LinkRule, point: &ChosenPoint) -> bool {
        if rule.reported_by.is_empty() {
            return point.feedback.is_some();
        }
        rule.reported_by.iter().any(|condition| self.chosen.holds(self.class, condition))
    }

    fn link(
        &mut self,
        rule: &LinkRule,
        end: End,
        dpt: DptId,
        clusters: &[Arc<super::ShapedCluster>],
    ) -> Option<ShapedLink> {
        let point = self.chosen.points.iter().find(|point| point.point == rule.point)?;
        let direction = if rule.hook == Hook::ToCommand { Direction::ToBus } else { Direction::FromBus };
        let conversion = self.chain(rule, point, direction, dpt, clusters)?;
        let shown = match (&rule.target, direction) {
            (Target::Event(_), _) | (Target::Attribute(_), Direction::ToBus) => None,
            _ if end == End::Feedback => Some(rule.shown.unwrap_or(Shown::Reported)),
            (Target::Command(_), _) if self.reported(rule, point) => Some(Shown::Reported),
            _ => Some(rule.shown.unwrap_or(Shown::Requested)),
        };
        let readable = self.class.points.get(usize::from(rule.point)).and_then(|spec| spec.end(end));
        Some(ShapedLink {
            point: rule.point,
            end,
            direction,
            cluster: rule.cluster.name.clone(),
            target: rule.target.clone(),
            dpt,
            read: end == End::Feedback
                && matches!(rule.target, Target::Attribute(_))
                && readable.is_some_and(|spec| spec.flags.contains('R')),
            shown,
            joint: match (&rule.joint, direction) {
                (Joining::Together(joint), Direction::FromBus) => Some(joint.clone()),
                _ => None,
            },
            timing: self.timing(rule),
            conversion,
        })
    }

    fn timing(&mut self, rule: &LinkRule) -> Map<String, Value> {
        let mut timing = Map::new();
        for (name, value) in &rule.timing {
            match evaluate::value(self.class, self.chosen, &value.value) {
                Ok(Some(made)) => {
                    timing.insert(name.clone(), made);
                }
                Ok(None) => {}
                Err(evaluate::NoResult) => {
                    self.faults
                        .push(ShapeFault::Step { point: rule.point, settings: value.settings.clone() });
                }
            }
        }
        timing
    }
}

/// What the device types of a part demand beside the template: companion clusters, attributes, commands.
fn demanded(device_types: &[&'static DeviceType], drafts: &mut Drafts) {
    for device_type in device_types {
        let said = |conformance: &Option<matter::Conformance>| {
            let said = conformance.as_ref()?;
            Some(said.requirement(&|name| name == "Active", &|_| None, device_type.revision))
        };
        for need in &device_type.clusters {
            let mandatory = said(&need.conformance) == Some(Requirement::Mandatory);
            if mandatory && COMPANIONS.contains(&need.name.as_str()) {
                drafts.add(&need.name);
            }
            for element in &need.elements {
                if said(&element.conformance) == Some(Requirement::Mandatory) {
                    match element.kind {
                        ElementKind::Attribute => drafts.want_attribute(&need.name, &element.name),
                        ElementKind::Command => drafts.want_command(&need.name, &element.name),
                        // A template says itself which features are on; events follow from features.
                        ElementKind::Feature | ElementKind::Event => {}
                    }
                }
            }
        }
    }
}

fn shaped_device_type(device_type: &DeviceType) -> ShapedDeviceType {
    ShapedDeviceType { id: device_type.id, name: device_type.name.clone(), revision: device_type.revision }
}

/// Semantic tags as a cluster: `Descriptor` is told of only where it has a feature.
fn tag_list(tags: &[Value]) -> Value {
    json!(tags)
}
