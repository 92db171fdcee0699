//! `points:` of a class file, without their wires.

use super::Compiler;
use crate::classes::blueprint::Units;
use crate::classes::class::{EndSpec, Need, PointSpec};
use crate::classes::problem::{Named, Problem};
use crate::classes::template::{EndTemplate, PointTemplate, Template, UnitsTemplate};
use crate::knx::{DptId, Flags};
use crate::source::{Entries, Given, Place, Scalar};

impl Compiler {
    pub(super) fn points(&mut self, template: &Template) -> Vec<PointSpec> {
        let all: Vec<_> = template.points.value().into_iter().flat_map(Entries::sound).collect();
        if all.is_empty() {
            self.problems.push(Problem::Missing { place: self.home, key: "points", within: "class" });
        }
        all.into_iter().map(|(name, point)| self.point(&name.value, name.place, point)).collect()
    }

    fn point(&mut self, name: &str, place: Place, point: &PointTemplate) -> PointSpec {
        if point.command.is_absent() && point.feedback.is_absent() {
            self.problems.push(Problem::Missing { place, key: "feedback", within: "point" });
        }
        PointSpec {
            name: name.to_owned(),
            title: self.text(&point.title, "title", "point", place),
            need: self.needed(&point.need, "need", "point", place).unwrap_or(Need::Optional),
            command: self.end(&point.command),
            feedback: self.end(&point.feedback),
            listens: point.listens.value().copied().unwrap_or(false),
            reversible: point.reversible.value().copied().unwrap_or(false),
            shared: point.shared.value().copied().unwrap_or(false),
            range: point.range.value().copied(),
        }
    }

    fn end(&mut self, given: &Given<EndTemplate>) -> Option<EndSpec> {
        let end = given.here()?;
        let dpts = self.dpts(&end.dpts).into_iter().map(|(id, _)| id).collect::<Vec<_>>();
        // A list of types that are none has been told of.
        if end.dpts.is_absent() || end.dpts.value().is_some_and(Vec::is_empty) {
            self.problems.push(Problem::Missing { place: end.place, key: "dpts", within: "address" });
        }
        let need = self.needed(&end.need, "need", "address", end.place).unwrap_or(Need::Optional);
        Some(EndSpec { need, dpts, flags: self.flags(&end.flags, end.place) })
    }

    fn flags(&mut self, given: &Given<String>, place: Place) -> String {
        let Some(text) = self.needed(given, "flags", "address", place) else { return String::new() };
        if let Err(fault) = text.parse::<Flags>() {
            let place = given.place().unwrap_or(place);
            self.problems.push(Problem::Step { place, detail: fault.to_string() });
        }
        text
    }

    /// `units:` of every point.
    pub(super) fn units(&mut self, template: &Template) -> Vec<Vec<Units>> {
        let all: Vec<_> = template.points.value().into_iter().flat_map(Entries::sound).collect();
        all.into_iter().map(|(_, point)| self.units_of(point)).collect()
    }

    fn units_of(&mut self, point: &PointTemplate) -> Vec<Units> {
        let accepted = |id: DptId| {
            [&point.command, &point.feedback].into_iter().filter_map(Given::value).any(|end| {
                let dpts = end.dpts.value().map_or(&[][..], Vec::as_slice);
                dpts.iter().any(|dpt| dpt.text.parse() == Ok(id))
            })
        };
        let mut units = Vec::new();
        for (name, steps) in point.units.value().into_iter().flat_map(Entries::sound) {
            let written = Scalar { text: name.value.clone(), plain: true };
            let Some(id) = self.dpt(&written, name.place) else { continue };
            if !accepted(id) {
                let (place, name) = (name.place, id.to_string());
                let (what, within) = (Named::Accepted, String::new());
                self.problems.push(Problem::Unknown { place, what, name, within, known: Vec::new() });
            }
            let none = Vec::new();
            let (from_bus, to_bus) = match &steps.value {
                UnitsTemplate::Steps(steps) => (steps, None),
                UnitsTemplate::Ways(ways) => (ways.from_bus.value().unwrap_or(&none), ways.to_bus.value()),
            };
            units.push(Units {
                dpt: id,
                from_bus: self.steps(from_bus, &[], steps.place),
                to_bus: to_bus.map(|to_bus| self.steps(to_bus, &[], steps.place)),
            });
        }
        units
    }
}
