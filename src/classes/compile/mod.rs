//! A class file, merged with what it is based on, into a [`Class`]: names looked up, values and steps read.

mod links;
mod names;
mod parts;
mod points;
mod settings;
mod values;

use super::blueprint::Blueprint;
use super::class::{Caution, Class, Combination, Exposure, LinkSpec, PartSpec, Precaution};
use super::problem::Problem;
use super::setting::SettingSpec;
use super::shape::Memory;
use super::template::Template;
use crate::source::{Given, Place, Spanned};
use names::Points;

/// Reads the names, values and steps of a template. Broken parts are left out; each is told.
pub(super) fn compile(template: &Template, home: Place) -> (Class, Vec<Problem>) {
    let mut compiler = Compiler {
        problems: Vec::new(),
        home,
        settings: Vec::new(),
        broken_settings: Vec::new(),
        points: Points::default(),
    };
    let class = compiler.class(template);
    (class, compiler.problems)
}

/// What is needed to look names up, and what was found wrong so far.
struct Compiler {
    problems: Vec<Problem>,
    /// The class's name.
    home: Place,
    settings: Vec<SettingSpec>,
    /// Names of settings that could not be read.
    broken_settings: Vec<String>,
    points: Points,
}

impl Compiler {
    fn class(&mut self, template: &Template) -> Class {
        let home = self.home;
        let title = self.text(&template.title, "title", "class", home);
        let summary = self.text(&template.summary, "summary", "class", home);
        let name = template.class.value().cloned().unwrap_or_default();
        self.settings = self.settings(&template.settings);
        self.points = Points::of(template);
        let points = self.points(template);
        let (parts, mut blueprint) = self.parts(template);
        blueprint.units = self.units(template);
        self.links(template, &parts, &mut blueprint);
        let combinations = self.combinations(template);
        Class {
            name,
            title,
            group: self.needed(&template.group, "group", "class", home).unwrap_or(super::Group::Control),
            summary,
            explanation: template.explanation.value().cloned().unwrap_or_default(),
            caution: self.caution(template),
            exposure: self.exposure(template),
            based_on: template.based_on.value().cloned(),
            settings: std::mem::take(&mut self.settings),
            combinations,
            points,
            links: link_specs(&blueprint),
            parts,
            blueprint,
            memory: Memory::default(),
        }
    }

    /// A value that must be written.
    fn needed<T: Clone>(
        &mut self,
        given: &Given<T>,
        key: &'static str,
        within: &'static str,
        place: Place,
    ) -> Option<T> {
        if given.is_absent() {
            self.problems.push(Problem::Missing { place, key, within });
        }
        given.value().cloned()
    }

    fn text(
        &mut self,
        given: &Given<String>,
        key: &'static str,
        within: &'static str,
        place: Place,
    ) -> String {
        self.needed(given, key, within, place).map(|text| text.trim().to_owned()).unwrap_or_default()
    }

    fn caution(&mut self, template: &Template) -> Option<Caution> {
        let confirm = template.confirm.value().copied();
        match template.caution.value() {
            Some(text) => {
                Some(Caution { text: text.trim().to_owned(), confirm: confirm.unwrap_or(Precaution::Told) })
            }
            None => {
                if let Some(place) = template.confirm.place() {
                    self.problems.push(Problem::Missing { place, key: "caution", within: "class" });
                }
                None
            }
        }
    }

    fn exposure(&mut self, template: &Template) -> Exposure {
        if template.bridged.value() != Some(&false) {
            return Exposure::Bridged;
        }
        let place = template.bridged.place().unwrap_or(self.home);
        Exposure::NotBridged { why: self.text(&template.why, "why", "class", place) }
    }

    fn combinations(&mut self, template: &Template) -> Vec<Combination> {
        let all = template.combinations.value().map_or(&[][..], Vec::as_slice);
        let mut out = Vec::with_capacity(all.len());
        for Spanned { value, place } in all {
            let need = self.needed(&value.need, "need", "combination", *place);
            let why = self.text(&value.why, "why", "combination", *place);
            out.push(Combination {
                need: need.unwrap_or(super::Need::Optional),
                with: self.conditions(&value.with),
                without: self.conditions(&value.without),
                any: self.conditions(&value.any),
                none: self.conditions(&value.none),
                why,
            });
        }
        out
    }
}

fn link_specs(blueprint: &Blueprint) -> Vec<LinkSpec> {
    blueprint.links.iter().map(super::blueprint::LinkRule::spec).collect()
}

/// Part names are looked up among these.
fn part_index(parts: &[PartSpec], name: &str) -> Option<u16> {
    parts.iter().position(|part| part.name == name).and_then(|index| u16::try_from(index).ok())
}
