//! The clusters of an endpoint while they are put together.

use super::mirror::mirror;
use super::tag_list;
use crate::classes::shape::{ShapeFault, ShapedCluster, Target};
use crate::classes::told::told;
use crate::matter::{self, Attribute, Cluster, Command, Requirement};
use serde_json::{Map, Value};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// The clusters of one endpoint, by id.
#[derive(Default)]
pub(super) struct Drafts(BTreeMap<u32, Draft>);

/// One cluster.
pub(super) struct Draft {
    cluster: &'static Cluster,
    features: BTreeSet<u8>,
    /// Values that the template gives, each with the settings it is made from.
    given: BTreeMap<u32, (&'static Attribute, Value, Vec<u16>)>,
    /// Attributes that links or device types want, and whether a link sets them.
    wanted: BTreeMap<u32, bool>,
    commands: BTreeSet<u32>,
}

impl Drafts {
    pub(super) fn of(&mut self, cluster: &'static Cluster) -> &mut Draft {
        self.0.entry(cluster.id).or_insert_with(|| Draft {
            cluster,
            features: BTreeSet::new(),
            given: BTreeMap::new(),
            wanted: BTreeMap::new(),
            commands: BTreeSet::new(),
        })
    }

    /// Adds a cluster with the features that a bridge has it with, if it is not there yet.
    pub(super) fn add(&mut self, name: &str) {
        let Some(cluster) = matter::cluster(name).filter(|cluster| !self.0.contains_key(&cluster.id)) else {
            return;
        };
        let draft = self.of(cluster);
        for code in matter::first_features(name) {
            draft.feature(code);
        }
    }

    pub(super) fn tag(&mut self, tags: &[Value]) {
        let Some(descriptor) = matter::cluster("Descriptor") else { return };
        let draft = self.of(descriptor);
        draft.feature("TAGLIST");
        if let Some(attribute) = descriptor.attribute("TagList") {
            draft.set(attribute, tag_list(tags), &[]);
        }
    }

    /// What is at the Matter end of a wire must be there.
    pub(super) fn linked(&mut self, cluster: &'static Cluster, target: &Target) {
        let Some(draft) = self.0.get_mut(&cluster.id) else { return };
        match target {
            Target::Attribute(name) => {
                if let Some(attribute) = cluster.attribute(name) {
                    draft.wanted.insert(attribute.id, true);
                }
            }
            Target::Command(name) => {
                if let Some(command) = cluster.command(name) {
                    draft.command(command);
                }
            }
            Target::Event(_) => {}
        }
    }

    pub(super) fn want_attribute(&mut self, cluster: &str, name: &str) {
        let found = matter::cluster(cluster).and_then(|found| Some((found.id, found.attribute(name)?.id)));
        if let Some((id, attribute)) = found
            && let Some(draft) = self.0.get_mut(&id)
        {
            draft.wanted.entry(attribute).or_insert(false);
        }
    }

    pub(super) fn want_command(&mut self, cluster: &str, name: &str) {
        let found = matter::cluster(cluster).and_then(|found| Some((found.id, found.command(name)?)));
        if let Some((id, command)) = found
            && let Some(draft) = self.0.get_mut(&id)
        {
            draft.command(command);
        }
    }

    /// The clusters, each with its mandatory attributes and commands.
    pub(super) fn finish(self, faults: &mut Vec<ShapeFault>) -> Vec<Arc<ShapedCluster>> {
        self.0.into_values().map(|draft| Arc::new(draft.finish(faults))).collect()
    }
}

impl Draft {
    pub(super) fn feature(&mut self, code: &str) {
        self.features.extend(self.cluster.feature(code).map(|feature| feature.bit));
    }

    pub(super) fn set(&mut self, attribute: &'static Attribute, value: Value, settings: &[u16]) {
        self.given.insert(attribute.id, (attribute, value, settings.to_vec()));
    }

    pub(super) fn command(&mut self, command: &Command) {
        self.commands.insert(command.id);
    }

    fn finish(self, faults: &mut Vec<ShapeFault>) -> ShapedCluster {
        let Self { cluster, features, given, wanted, mut commands } = self;
        let on = cluster.features.iter().filter(|feature| features.contains(&feature.bit));
        let mut shaped = ShapedCluster {
            id: cluster.id,
            name: cluster.name.clone(),
            revision: cluster.revision,
            features: on.map(|feature| feature.code.clone()).collect(),
            attributes: given
                .values()
                .map(|(attribute, value, _)| (attribute.name.clone(), value.clone()))
                .collect(),
            commands: Vec::new(),
        };
        // Twice, since an attribute may be mandatory for another that is there.
        for _ in 0..2 {
            for attribute in cluster.attributes.iter().filter(|attribute| !kept_elsewhere(cluster, attribute))
            {
                if shaped.attributes.contains_key(&attribute.name) {
                    continue;
                }
                let said = attribute.conformance.as_ref().map(|said| shaped.said(said));
                let linked = wanted.get(&attribute.id).copied();
                if said == Some(Requirement::Mandatory) || linked.is_some() {
                    let value = first(cluster, attribute, &shaped, linked == Some(true));
                    shaped.attributes.extend(value.map(|value| (attribute.name.clone(), value)));
                }
            }
        }
        let ordered = cluster.attributes.iter().filter_map(|attribute| {
            let value = shaped.attributes.get(&attribute.name)?.clone();
            Some((attribute.name.clone(), value))
        });
        shaped.attributes = ordered.collect::<Map<_, _>>();
        let told = told(&shaped);
        for (attribute, value, settings) in given.values().filter(|(_, _, settings)| !settings.is_empty()) {
            let section = told.iter().find(|(name, _)| *name == attribute.name).map(|(_, section)| *section);
            if section.is_some() || shaped.check(cluster, attribute, value).is_err() {
                let constraint = attribute.constraint.as_ref().map_or("", |said| said.text());
                faults.push(ShapeFault::Value {
                    cluster: cluster.name.clone(),
                    attribute: attribute.name.clone(),
                    value: value.clone(),
                    constraint: section.unwrap_or(constraint).to_owned(),
                    settings: settings.clone(),
                });
            }
        }
        let mandatory = |command: &&Command| {
            command.conformance.as_ref().is_some_and(|said| shaped.said(said) == Requirement::Mandatory)
        };
        commands.extend(cluster.commands.iter().filter(mandatory).map(|command| command.id));
        let accepted = cluster.commands.iter().filter(|command| commands.contains(&command.id));
        shaped.commands = accepted.map(|command| command.name.clone()).collect();
        shaped
    }
}

/// Lists that the gateway makes from the endpoints or keeps for each fabric, and what is the appliance's own.
pub(in crate::classes) fn kept_elsewhere(cluster: &Cluster, attribute: &Attribute) -> bool {
    cluster.name == "Descriptor" && attribute.name != "TagList"
        || cluster.name == "BridgedDeviceBasicInformation" && attribute.name == "UniqueId"
        || attribute.access.split(' ').any(|word| word == "F")
}

/// The first value of an attribute for which the template gives none. Unknown is null: where a link sets the attribute,
/// nothing is claimed before it does.
fn first(cluster: &Cluster, attribute: &Attribute, shaped: &ShapedCluster, linked: bool) -> Option<Value> {
    if let Some(mirrored) = mirror(&cluster.name, &attribute.name, &shaped.features) {
        return Some(mirrored);
    }
    if linked && attribute.nullable {
        return Some(Value::Null);
    }
    if let Some(usual) = matter::first_value(&cluster.name, &attribute.name) {
        return Some(usual.clone());
    }
    let default = attribute.default.as_ref()?;
    if let Some(celsius) = default.get("celsius").and_then(Value::as_i64) {
        // Signed and unsigned temperatures count in tenths, temperatures in hundredths of a degree.
        let steps = if attribute.datatype == "temperature" { 100 } else { 10 };
        return Some((celsius * steps).into());
    }
    if let Some(other) = default.get("ref").and_then(Value::as_str) {
        return shaped.attributes.get(other).cloned();
    }
    (!default.is_object()).then(|| default.clone())
}
