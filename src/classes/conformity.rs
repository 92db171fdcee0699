//! Whether an endpoint is what the data model demands of it.
//!
//! What a Matter stack lets pass when an endpoint is built (clusters, features, commands and events that the device
//! type wants, choices of features) is looked at here, and what it checks (types and constraints of values) too.

use super::breach::Breach;
use super::shape::{Shape, ShapedCluster, ShapedLink, ShapedPart, Target};
use crate::matter::{
    self, Choice, Cluster, ClusterNeed, Conformance, DeviceType, ElementKind, ElementNeed, Requirement,
    ValueFault,
};

/// Everything in which these endpoints are not what the data model demands; empty if they are.
pub fn breaches(shape: &Shape) -> Vec<Breach> {
    let mut found = Vec::new();
    for part in &shape.parts {
        Checker { shape, part, found: &mut found }.part();
    }
    found
}

struct Checker<'a> {
    shape: &'a Shape,
    part: &'a ShapedPart,
    found: &'a mut Vec<Breach>,
}

impl Checker<'_> {
    fn part(&mut self) {
        let is_bare = self.part.device_types.iter().all(|used| used.name == "BridgedNode");
        let is_top = self.shape.parts.first().is_some_and(|top| top.name == self.part.name);
        // A top endpoint may be there for those below it alone.
        if is_bare && !(is_top && self.part.links.is_empty()) {
            self.found.push(Breach::NoDeviceType { part: self.part.name.clone() });
        }
        for used in &self.part.device_types {
            let known = matter::device_type(&used.name).filter(|known| known.id == used.id);
            match known {
                Some(known) if known.revision == used.revision => self.device_type(known),
                _ => self.found.push(Breach::DeviceType {
                    part: self.part.name.clone(),
                    name: used.name.clone(),
                    revision: known.map(|known| known.revision),
                }),
            }
        }
        for shaped in self.part.clusters() {
            let known = matter::cluster(&shaped.name).filter(|known| known.id == shaped.id);
            match known {
                Some(known) if known.revision == shaped.revision => self.cluster(known, shaped),
                _ => self.found.push(Breach::Cluster {
                    part: self.part.name.clone(),
                    name: shaped.name.clone(),
                    revision: known.map(|known| known.revision),
                }),
            }
        }
        self.links();
        self.found.extend(super::idle::breaches(self.shape, self.part));
    }

    fn device_type(&mut self, device_type: &'static DeviceType) {
        let mut choices = Choices::default();
        for need in &device_type.clusters {
            let shaped = self.part.cluster(&need.name);
            if let Some(conformance) = &need.conformance {
                let said = said_of_device(conformance, device_type.revision, shaped.is_some());
                choices.note(said, &need.name, shaped.is_some());
                if said == Requirement::Mandatory && shaped.is_none()
                    || said == Requirement::Disallowed && shaped.is_some()
                {
                    self.found.push(Breach::Need {
                        part: self.part.name.clone(),
                        device_type: device_type.name.clone(),
                        cluster: need.name.clone(),
                        demanded: shaped.is_none(),
                        conformance: conformance.text().to_owned(),
                    });
                }
            }
            if let (Some(shaped), Some(cluster)) = (shaped, matter::cluster(&need.name)) {
                for element in &need.elements {
                    self.demand(device_type, cluster, shaped, element);
                }
            }
        }
        choices.report(&self.part.name, &device_type.name, self.found);
        for component in &device_type.components {
            let said =
                component.conformance.as_ref().map(|said| said_of_device(said, device_type.revision, false));
            let there = |part: &ShapedPart| {
                part.device_types.iter().any(|used| used.name == component.name)
                    && component.clusters.iter().all(|need| keeps(part, need, device_type.revision))
            };
            if said == Some(Requirement::Mandatory) && !self.shape.parts.iter().any(there) {
                self.found.push(Breach::Component {
                    part: self.part.name.clone(),
                    device_type: device_type.name.clone(),
                    component: component.name.clone(),
                });
            }
        }
    }

    /// What a device type says of an element of a cluster that is there.
    fn demand(
        &mut self,
        device_type: &DeviceType,
        cluster: &Cluster,
        shaped: &ShapedCluster,
        element: &ElementNeed,
    ) {
        let there = has(cluster, shaped, element.kind, &element.name);
        if let Some(conformance) = &element.conformance {
            let said = said_of_device(conformance, device_type.revision, there);
            if said == Requirement::Mandatory && !there || said == Requirement::Disallowed && there {
                self.found.push(Breach::Element {
                    part: self.part.name.clone(),
                    device_type: Some(device_type.name.clone()),
                    cluster: cluster.name.clone(),
                    kind: element.kind,
                    name: element.name.clone(),
                    demanded: !there,
                    conformance: conformance.text().to_owned(),
                });
            }
        }
        let (Some(constraint), Some(value)) = (&element.constraint, shaped.attributes.get(&element.name))
        else {
            return;
        };
        if let Some(number) = value.as_f64()
            && !constraint
                .allows(number, matter::Unit { celsius: 100.0, percent: 1.0 }, &|name| shaped.number(name))
        {
            self.found.push(Breach::Value {
                part: self.part.name.clone(),
                cluster: cluster.name.clone(),
                attribute: element.name.clone(),
                fault: ValueFault::Range { path: String::new(), allowed: constraint.text().to_owned() },
            });
        }
    }

    fn cluster(&mut self, cluster: &Cluster, shaped: &ShapedCluster) {
        let mut choices = Choices::default();
        for feature in &cluster.features {
            let there = shaped.features.contains(&feature.code);
            let said = feature.conformance.as_ref().map(|said| shaped.said(said));
            if let Some(said) = said {
                choices.note(said, &feature.code, there);
            }
            self.judge(
                cluster,
                ElementKind::Feature,
                &feature.code,
                feature.conformance.as_ref(),
                said,
                there,
            );
        }
        choices.report(&self.part.name, &cluster.name, self.found);
        for attribute in &cluster.attributes {
            if super::shaping::kept_elsewhere(cluster, attribute) {
                continue;
            }
            let there = shaped.attributes.contains_key(&attribute.name);
            let said = attribute.conformance.as_ref().map(|said| shaped.said(said));
            if said == Some(Requirement::Mandatory) && !there {
                self.found.push(Breach::NoValue {
                    part: self.part.name.clone(),
                    cluster: cluster.name.clone(),
                    attribute: attribute.name.clone(),
                    conformance: attribute.conformance.as_ref().map_or("", |said| said.text()).to_owned(),
                });
                continue;
            }
            self.judge(
                cluster,
                ElementKind::Attribute,
                &attribute.name,
                attribute.conformance.as_ref(),
                said,
                there,
            );
        }
        for command in &cluster.commands {
            let there = shaped.commands.contains(&command.name);
            let said = command.conformance.as_ref().map(|said| shaped.said(said));
            self.judge(
                cluster,
                ElementKind::Command,
                &command.name,
                command.conformance.as_ref(),
                said,
                there,
            );
        }
        self.strangers(cluster, shaped);
        self.values(cluster, shaped);
    }

    fn judge(
        &mut self,
        cluster: &Cluster,
        kind: ElementKind,
        name: &str,
        conformance: Option<&Conformance>,
        said: Option<Requirement>,
        there: bool,
    ) {
        if said == Some(Requirement::Mandatory) && !there || said == Some(Requirement::Disallowed) && there {
            self.found.push(Breach::Element {
                part: self.part.name.clone(),
                device_type: None,
                cluster: cluster.name.clone(),
                kind,
                name: name.to_owned(),
                demanded: !there,
                conformance: conformance.map_or("", |said| said.text()).to_owned(),
            });
        }
    }

    fn strangers(&mut self, cluster: &Cluster, shaped: &ShapedCluster) {
        let features = shaped.features.iter().filter(|code| cluster.feature(code).is_none());
        let features = features.map(|code| (ElementKind::Feature, code));
        let attributes = shaped.attributes.keys().filter(|name| cluster.attribute(name).is_none());
        let attributes = attributes.map(|name| (ElementKind::Attribute, name));
        let commands = shaped.commands.iter().filter(|name| cluster.command(name).is_none());
        let commands = commands.map(|name| (ElementKind::Command, name));
        let all = features.chain(attributes).chain(commands);
        self.found.extend(all.map(|(kind, name)| Breach::NoElement {
            part: self.part.name.clone(),
            cluster: cluster.name.clone(),
            kind,
            name: name.clone(),
        }));
    }

    fn values(&mut self, cluster: &Cluster, shaped: &ShapedCluster) {
        for (name, value) in &shaped.attributes {
            let Some(attribute) = cluster.attribute(name) else { continue };
            if let Err(fault) = shaped.check(cluster, attribute, value) {
                self.found.push(Breach::Value {
                    part: self.part.name.clone(),
                    cluster: cluster.name.clone(),
                    attribute: name.clone(),
                    fault,
                });
            }
        }
        // What is not there or is no value has been told.
        let is_sound = |name: &str| {
            let attribute = cluster.attribute(name).zip(shaped.attributes.get(name));
            attribute.is_some_and(|(attribute, value)| shaped.check(cluster, attribute, value).is_ok())
        };
        let told = super::told::told(shaped).into_iter().filter(|(name, _)| is_sound(name));
        self.found.extend(told.map(|(attribute, section)| Breach::Told {
            part: self.part.name.clone(),
            cluster: cluster.name.clone(),
            attribute: attribute.to_owned(),
            section,
        }));
    }

    fn links(&mut self) {
        for link in self.part.links().filter(|link| !leads_to(link, self.part)) {
            let others = self.shape.parts.iter().filter(|other| leads_to(link, other));
            self.found.push(Breach::LinkEnd {
                part: self.part.name.clone(),
                cluster: link.cluster.clone(),
                target: link.target.name().to_owned(),
                others: others.map(|other| other.name.clone()).collect(),
            });
        }
    }
}

/// Whether an endpoint has what a link leads to.
fn leads_to(link: &ShapedLink, part: &ShapedPart) -> bool {
    part.cluster(&link.cluster).is_some_and(|shaped| match &link.target {
        Target::Attribute(name) => shaped.attributes.contains_key(name),
        Target::Command(name) => shaped.commands.contains(name),
        Target::Event(name) => matter::cluster(&link.cluster)
            .is_some_and(|cluster| has(cluster, shaped, ElementKind::Event, name)),
    })
}

/// What a device type's conformance says of something that is or is not there.
///
/// A bridge is always active. Of the other conditions (power source information, a controllable appliance) nothing is
/// known: what only they forbid is allowed where it is there.
fn said_of_device(conformance: &Conformance, revision: u16, there: bool) -> Requirement {
    let said =
        |others: bool| conformance.requirement(&|name| name == "Active" || others, &|_| None, revision);
    let plain = said(false);
    if there && matches!(plain, Requirement::Disallowed) { said(true) } else { plain }
}

/// Whether a cluster has an element; an event is there when its features allow it.
fn has(cluster: &Cluster, shaped: &ShapedCluster, kind: ElementKind, name: &str) -> bool {
    match kind {
        ElementKind::Feature => shaped.features.iter().any(|code| code == name),
        ElementKind::Attribute => shaped.attributes.contains_key(name),
        ElementKind::Command => shaped.commands.iter().any(|command| command == name),
        ElementKind::Event => cluster.event(name).is_some_and(|event| {
            event.conformance.as_ref().is_none_or(|said| shaped.said(said) != Requirement::Disallowed)
        }),
    }
}

/// Whether a part keeps to what is said of a cluster of a component.
fn keeps(part: &ShapedPart, need: &ClusterNeed, revision: u16) -> bool {
    let mandatory = |said: &Option<Conformance>| {
        said.as_ref().is_some_and(|said| said_of_device(said, revision, false) == Requirement::Mandatory)
    };
    let (Some(shaped), Some(cluster)) = (part.cluster(&need.name), matter::cluster(&need.name)) else {
        return !mandatory(&need.conformance)
            && !need.elements.iter().any(|element| mandatory(&element.conformance));
    };
    need.elements
        .iter()
        .all(|element| !mandatory(&element.conformance) || has(cluster, shaped, element.kind, &element.name))
}

/// Counts choice groups.
#[derive(Default)]
struct Choices {
    groups: Vec<(Choice, Vec<String>, usize)>,
}

impl Choices {
    fn note(&mut self, said: Requirement, name: &str, there: bool) {
        let Requirement::OneOf(choice) = said else { return };
        let found = self.groups.iter_mut().find(|(group, ..)| group.group == choice.group);
        match found {
            Some((_, names, count)) => {
                names.push(name.to_owned());
                *count += usize::from(there);
            }
            None => self.groups.push((choice, vec![name.to_owned()], usize::from(there))),
        }
    }

    fn report(self, part: &str, within: &str, found: &mut Vec<Breach>) {
        for (choice, names, count) in self.groups {
            let few = count < usize::from(choice.fewest);
            if few || choice.most.is_some_and(|most| count > usize::from(most)) {
                found.push(Breach::Choice {
                    part: part.to_owned(),
                    within: within.to_owned(),
                    names,
                    found: count,
                    fewest: choice.fewest,
                    most: choice.most,
                });
            }
        }
    }
}
