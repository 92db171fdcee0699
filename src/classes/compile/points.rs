//! `points:` of a class file, without their wires.

use super::Compiler;
use crate::classes::blueprint::{Steps, Units};
use crate::classes::class::{End, EndSpec, Need, PointSpec};
use crate::classes::problem::Problem;
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
            self.problems.push(Problem::Flags { place, detail: fault.to_string() });
        }
        text
    }

    /// `units:` of every point.
    pub(super) fn units(&mut self, template: &Template) -> Vec<Vec<Units>> {
        let all: Vec<_> = template.points.value().into_iter().flat_map(Entries::sound).collect();
        (0..).zip(all).map(|(index, (_, point))| self.units_of(index, point)).collect()
    }

    fn units_of(&mut self, index: u16, point: &PointTemplate) -> Vec<Units> {
        let mut units = Vec::new();
        for (name, steps) in point.units.value().into_iter().flat_map(Entries::sound) {
            let written = Scalar { text: name.value.clone(), plain: true };
            let Some(id) = self.dpt(&written, name.place) else { continue };
            if !self.is_accepted(index, &[End::Command, End::Feedback], id, name.place) {
                continue;
            }
            let none = Vec::new();
            let (from_bus, to_bus) = match &steps.value {
                UnitsTemplate::Steps(steps) => (steps, None),
                UnitsTemplate::Ways(ways) => (ways.from_bus.value().unwrap_or(&none), ways.to_bus.value()),
            };
            let from_bus = self.steps(from_bus, &[], steps.place);
            let to_bus = to_bus.map(|to_bus| self.steps(to_bus, &[], steps.place));
            if to_bus.is_none() && self.accepts(index, End::Command, id) {
                self.check_turns(&from_bus, id, steps.place);
            }
            units.push(Units { dpt: id, from_bus, to_bus });
        }
        units
    }

    /// Steps from the bus that also serve the way to it must have a way back.
    fn check_turns(&mut self, from_bus: &Steps, id: DptId, place: Place) {
        let Steps::Fixed(chain) = from_bus else { return };
        if let Err(fault) = chain.inverse() {
            let (dpt, detail) = (id.to_string(), fault.to_string());
            self.problems.push(Problem::OneWay { place, dpt, detail });
        }
    }
}
