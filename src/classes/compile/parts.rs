//! `parts:` and all `adds:` of a class file.

use super::{Compiler, part_index};
use crate::classes::blueprint::{Blueprint, ClusterRule, Guard, Layer, PartRule};
use crate::classes::class::{Condition, PartSpec};
use crate::classes::problem::{Named, Problem};
use crate::classes::template::{AddTemplate, ClusterTemplate, Template};
use crate::matter::{self, Cluster, DeviceType};
use crate::source::{Entries, Given, Spanned};
use serde_json::{Value, json};

/// What a part or an addition says.
struct Said<'a> {
    device_types: &'a Given<Entries<u16>>,
    clusters: &'a Given<Entries<ClusterTemplate>>,
    tags: &'a Given<Vec<Spanned<String>>>,
}

impl Compiler {
    pub(super) fn parts(&mut self, template: &Template) -> (Vec<PartSpec>, Blueprint) {
        let mut blueprint = Blueprint::new(self.home);
        let mut parts = Vec::new();
        let exposed = template.bridged.value() != Some(&false);
        let all: Vec<_> = template.parts.value().into_iter().flat_map(Entries::sound).collect();
        if all.is_empty() && exposed && !matches!(template.parts, Given::Broken(_)) {
            self.problems.push(Problem::Missing { place: self.home, key: "parts", within: "class" });
        }
        for (index, (name, part)) in (0_u16..).zip(all) {
            let title = self.text(&part.title, "title", "part", name.place);
            parts.push(PartSpec { name: name.value.clone(), title });
            let guard = self.guard(&part.when, &part.unless);
            blueprint.parts.push(PartRule { guard, place: name.place });
            let said = Said { device_types: &part.device_types, clusters: &part.clusters, tags: &part.tags };
            blueprint.layers.push(self.layer(index, Guard::default(), &said));
        }
        for addition in template.adds.value().into_iter().flatten() {
            blueprint.layers.extend(self.addition(addition, &parts, None));
        }
        for (name, point) in template.points.value().into_iter().flat_map(Entries::sound) {
            for addition in point.adds.value().into_iter().flatten() {
                let index = self.point_index(&name.value, name.place);
                blueprint.layers.extend(self.addition(addition, &parts, index));
            }
        }
        (parts, blueprint)
    }

    fn addition(
        &mut self,
        addition: &Spanned<AddTemplate>,
        parts: &[PartSpec],
        point: Option<u16>,
    ) -> Option<Layer> {
        let mut guard = self.guard(&addition.when, &addition.unless);
        guard.when.extend(point.map(Condition::Point));
        let part = self.part(&addition.part, parts)?;
        let said =
            Said { device_types: &addition.device_types, clusters: &addition.clusters, tags: &addition.tags };
        Some(self.layer(part, guard, &said))
    }

    /// The part that something speaks of; the main one if it speaks of none.
    pub(super) fn part(&mut self, given: &Given<String>, parts: &[PartSpec]) -> Option<u16> {
        let name = match given {
            Given::Absent => return Some(0),
            Given::Broken(_) => return None,
            Given::Here(name) => name,
        };
        let index = part_index(parts, name);
        if index.is_none() {
            let known = parts.iter().map(|part| part.name.clone()).collect();
            let (place, name) = (name.place, name.value.clone());
            self.problems.push(Problem::Unknown {
                place,
                what: Named::Part,
                name,
                within: String::new(),
                known,
            });
        }
        index
    }

    fn layer(&mut self, part: u16, guard: Guard, said: &Said<'_>) -> Layer {
        let mut device_types = None;
        for (name, revision) in said.device_types.value().into_iter().flat_map(Entries::sound) {
            let found = self.device_type(name, revision);
            device_types.get_or_insert_with(Vec::new).extend(found.map(|found| (found, name.place)));
        }
        let clusters = said.clusters.value().into_iter().flat_map(Entries::sound);
        let clusters = clusters.filter_map(|(name, cluster)| self.cluster_rule(name, cluster)).collect();
        let tags = said.tags.value().into_iter().flatten();
        let tags = tags.filter_map(|tag| self.tag(tag)).collect();
        Layer { part, guard, device_types, clusters, tags }
    }

    fn device_type(
        &mut self,
        name: &Spanned<String>,
        revision: &Spanned<u16>,
    ) -> Option<&'static DeviceType> {
        let Some(found) = matter::device_type(name) else {
            let known = matter::device_type_names().map(str::to_owned).collect();
            self.unknown(Named::DeviceType, name, "", known);
            return None;
        };
        if found.revision != revision.value {
            self.problems.push(Problem::Revision {
                place: revision.place,
                device_type: name.value.clone(),
                written: revision.value,
                current: found.revision,
            });
        }
        Some(found)
    }

    fn cluster_rule(&mut self, name: &Spanned<String>, said: &ClusterTemplate) -> Option<ClusterRule> {
        let Some(cluster) = matter::cluster(name) else {
            self.unknown(Named::Cluster, name, "", matter::cluster_names().map(str::to_owned).collect());
            return None;
        };
        let mut rule = ClusterRule {
            cluster,
            place: name.place,
            features: Vec::new(),
            attributes: Vec::new(),
            commands: Vec::new(),
        };
        for code in said.features.value().into_iter().flatten() {
            match cluster.feature(code) {
                Some(feature) => rule.features.push((feature.code.as_str(), code.place)),
                None => {
                    let known = cluster.features.iter().map(|feature| feature.code.clone()).collect();
                    self.unknown(Named::Feature, code, &cluster.name, known);
                }
            }
        }
        for (name, value) in said.attributes.value().into_iter().flat_map(Entries::sound) {
            match cluster.attribute(name) {
                Some(attribute) => {
                    let value = self.value(cluster, &attribute.datatype, &value.value, value.place);
                    rule.attributes.push((attribute, value));
                }
                None => self.no_attribute(cluster, name),
            }
        }
        for name in said.commands.value().into_iter().flatten() {
            match cluster.command(name) {
                Some(command) => rule.commands.push(command),
                None => self.no_command(cluster, name),
            }
        }
        Some(rule)
    }

    pub(super) fn no_attribute(&mut self, cluster: &Cluster, name: &Spanned<String>) {
        let known = cluster.attributes.iter().map(|attribute| attribute.name.clone()).collect();
        self.unknown(Named::Attribute, name, &cluster.name, known);
    }

    pub(super) fn no_command(&mut self, cluster: &Cluster, name: &Spanned<String>) {
        let known = cluster.commands.iter().map(|command| command.name.clone()).collect();
        self.unknown(Named::Command, name, &cluster.name, known);
    }

    pub(super) fn unknown(&mut self, what: Named, name: &Spanned<String>, within: &str, known: Vec<String>) {
        let (place, name, within) = (name.place, name.value.clone(), within.to_owned());
        self.problems.push(Problem::Unknown { place, what, name, within, known });
    }

    /// A semantic tag as a value of `TagList`.
    fn tag(&mut self, written: &Spanned<String>) -> Option<Value> {
        let found = written.split_once('.').and_then(|(namespace, name)| matter::tag(namespace, name));
        match found {
            Some(tag) => Some(json!({ "MfgCode": null, "NamespaceId": tag.namespace, "Tag": tag.tag })),
            None => {
                self.unknown(Named::Tag, written, "", matter::tag_names());
                None
            }
        }
    }
}
