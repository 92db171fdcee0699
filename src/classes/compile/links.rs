//! `links:` of every point of a class file.

use super::Compiler;
use crate::classes::blueprint::{Blueprint, Hook, LinkRule, ValueRule};
use crate::classes::class::{End, PartSpec};
use crate::classes::problem::{EndFault, Named, Problem};
use crate::classes::shape::Target;
use crate::classes::template::{
    EndTemplate, FromWord, LinkTemplate, OneOrMore, PointTemplate, Template, ToWord,
};
use crate::knx::DptId;
use crate::matter::{self, Cluster};
use crate::source::{Entries, Given, Place, Spanned};
use serde_json::Value;

impl Compiler {
    pub(super) fn links(&mut self, template: &Template, parts: &[PartSpec], blueprint: &mut Blueprint) {
        let all: Vec<_> = template.points.value().into_iter().flat_map(Entries::sound).collect();
        let bridged = template.bridged.value().copied().unwrap_or(true);
        for (index, (name, point)) in (0_u16..).zip(all) {
            let written = point.links.value().map_or(&[][..], Vec::as_slice);
            let rules: Vec<_> = written.iter().map(|link| self.link(index, point, link, parts)).collect();
            // What is wrong with a link may be that it does not hang where it should.
            let sound = rules.iter().all(Option::is_some);
            let rules: Vec<LinkRule> = rules.into_iter().flatten().flatten().collect();
            if bridged && sound {
                self.ends_without_link(name, point, &rules);
            }
            blueprint.links.extend(rules);
        }
    }

    /// An address that no link hangs on is wired for nothing.
    fn ends_without_link(&mut self, name: &Spanned<String>, point: &PointTemplate, rules: &[LinkRule]) {
        let ends: [(&Given<EndTemplate>, End, &[Hook]); 2] = [
            (&point.command, End::Command, &[Hook::ToCommand]),
            (&point.feedback, End::Feedback, &[Hook::Feedback, Hook::State]),
        ];
        for (given, end, hooks) in ends {
            if !given.is_absent() && !rules.iter().any(|rule| hooks.contains(&rule.hook)) {
                let point = name.value.clone();
                self.problems.push(Problem::EndWithoutLink { place: name.place, point, end });
            }
        }
    }

    fn link(
        &mut self,
        point: u16,
        spec: &PointTemplate,
        link: &Spanned<LinkTemplate>,
        parts: &[PartSpec],
    ) -> Option<Vec<LinkRule>> {
        let part = self.part(&link.part, parts)?;
        let targets = self.targets(link)?;
        let hook = self.hook(link, spec, targets.first().map(|(_, target, _)| target))?;
        let ends: &[End] = match hook {
            Hook::Feedback => &[End::Feedback],
            // Whichever address it comes to hang on.
            Hook::State => &[End::Command, End::Feedback],
            Hook::ToCommand | Hook::Command | Hook::Listens => &[End::Command],
        };
        let told = self.problems.len();
        let written = self.dpts(&link.dpt);
        let accepted = written.into_iter().filter(|(id, place)| self.is_accepted(point, ends, *id, *place));
        let dpts: Vec<DptId> = accepted.map(|(id, _)| id).collect();
        if dpts.is_empty() && !link.dpt.is_absent() {
            // All of them narrowed away; or none of them is one.
            return (self.problems.len() == told).then(Vec::new);
        }
        let guard = self.guard(&link.when, &link.unless);
        let (steps, steps_place) = match link.convert.here() {
            Some(steps) => {
                let values: Vec<_> = steps.value.iter().map(|step| step.value.clone()).collect();
                let place = steps.value.first().map_or(steps.place, |first| first.place);
                let places: Vec<_> = steps.value.iter().map(|step| step.place).collect();
                (self.steps(&values, &places, place), place)
            }
            None => (self.steps(&[], &[], link.place), link.place),
        };
        let times = link.timing.value();
        let timing = self.times(
            times.map(|times| [("fullTravel", &times.full_travel), ("afterTravel", &times.after_travel)]),
        );
        let reported_by = self.conditions(&link.reported_by);
        let rule = |(cluster, target, place): (&'static Cluster, Target, Place)| LinkRule {
            point,
            part,
            hook,
            cluster,
            target,
            dpts: dpts.clone(),
            guard: guard.clone(),
            steps: steps.clone(),
            shown: link.shown.value().copied(),
            reported_by: reported_by.clone(),
            outside_range: link.outside_range.value().copied().unwrap_or(false),
            joint: link.joint.value().cloned().unwrap_or_default(),
            timing: timing.clone(),
            place,
            steps_place,
        };
        Some(targets.into_iter().map(rule).collect())
    }

    /// The times that a wire gives, by their names in the bridge JSON.
    fn times(&mut self, given: Option<[(&str, &Given<Value>); 2]>) -> Vec<(String, ValueRule)> {
        let given = given.into_iter().flatten();
        let here = given.filter_map(|(name, value)| Some((name, value.here()?)));
        here.map(|(name, value)| (name.to_owned(), self.plain_value(&value.value, value.place))).collect()
    }

    /// The Matter ends of a wire: one attribute, one event, or some commands.
    fn targets(&mut self, link: &Spanned<LinkTemplate>) -> Option<Vec<(&'static Cluster, Target, Place)>> {
        let named = [!link.attribute.is_absent(), !link.command.is_absent(), !link.event.is_absent()];
        let fault = match named.iter().filter(|named| **named).count() {
            0 => Some(EndFault::NoTarget),
            1 => None,
            _ => Some(EndFault::ManyTargets),
        };
        if let Some(fault) = fault {
            self.problems.push(Problem::Ends { place: link.place, fault });
            return None;
        }
        if let Some(attribute) = link.attribute.here() {
            let found = self.target(attribute, Named::Attribute)?;
            self.check_writable(link, found.0, attribute, &found.1);
            return Some(vec![(found.0, Target::Attribute(found.1), attribute.place)]);
        }
        if let Some(event) = link.event.here() {
            let found = self.target(event, Named::Event)?;
            return Some(vec![(found.0, Target::Event(found.1), event.place)]);
        }
        let commands = link.command.here()?;
        let OneOrMore(names) = &commands.value;
        if names.is_empty() {
            self.problems.push(Problem::Ends { place: commands.place, fault: EndFault::NoTarget });
            return None;
        }
        let all = names.iter().filter_map(|name| {
            let written = Spanned::new(name.clone(), commands.place);
            let (cluster, name) = self.target(&written, Named::Command)?;
            Some((cluster, Target::Command(name), commands.place))
        });
        let all: Vec<_> = all.collect();
        (!all.is_empty()).then_some(all)
    }

    /// `Cluster.Name`, looked up.
    fn target(&mut self, written: &Spanned<String>, what: Named) -> Option<(&'static Cluster, String)> {
        let (cluster, name) = written.split_once('.').unwrap_or((written.as_str(), ""));
        let Some(found) = matter::cluster(cluster) else {
            let name = Spanned::new(cluster.to_owned(), written.place);
            self.unknown(Named::Cluster, &name, "", matter::cluster_names().map(str::to_owned).collect());
            return None;
        };
        let spanned = Spanned::new(name.to_owned(), written.place);
        if what == Named::Attribute && found.attribute(name).is_none() {
            self.no_attribute(found, &spanned);
        } else if what == Named::Command && found.command(name).is_none() {
            self.no_command(found, &spanned);
        } else if what == Named::Event && found.event(name).is_none() {
            let known = found.events.iter().map(|event| event.name.clone()).collect();
            self.unknown(Named::Event, &spanned, &found.name, known);
        } else {
            return Some((found, name.to_owned()));
        }
        None
    }

    /// A controller must be able to write what a wire takes to the bus.
    fn check_writable(
        &mut self,
        link: &LinkTemplate,
        cluster: &Cluster,
        written: &Spanned<String>,
        name: &str,
    ) {
        let Some(attribute) = cluster.attribute(name) else { return };
        if link.to.value().is_some() && !attribute.writable() {
            self.problems.push(Problem::ReadOnly {
                place: written.place,
                attribute: written.value.clone(),
                access: attribute.access.clone(),
            });
        }
    }

    /// Which of the point's addresses a wire hangs on.
    fn hook(
        &mut self,
        link: &Spanned<LinkTemplate>,
        spec: &PointTemplate,
        target: Option<&Target>,
    ) -> Option<Hook> {
        let to = link.to.value().copied();
        let from = link.from.value().copied();
        let command = matches!(target, Some(Target::Command(_)));
        let event = matches!(target, Some(Target::Event(_)));
        let hook = match (to, from) {
            (Some(_), Some(_)) => Err(EndFault::BothDirections),
            (Some(ToWord::Command), None) if event => Err(EndFault::WrongWay),
            (Some(ToWord::Command), None) => Ok(Hook::ToCommand),
            (None, Some(_)) if command => Err(EndFault::WrongWay),
            (None, Some(FromWord::Feedback)) => Ok(Hook::Feedback),
            (None, Some(FromWord::Command)) => Ok(Hook::Command),
            (None, Some(FromWord::Listens)) => Ok(Hook::Listens),
            (None, Some(FromWord::State)) => Ok(Hook::State),
            (None, None) if command => Ok(Hook::ToCommand),
            (None, None) => Err(EndFault::NoDirection),
        };
        let hook = hook.and_then(|hook| {
            let given = match hook {
                Hook::ToCommand | Hook::Command | Hook::Listens => !spec.command.is_absent(),
                Hook::Feedback => !spec.feedback.is_absent(),
                Hook::State => true,
            };
            if given { Ok(hook) } else { Err(EndFault::NoAddress) }
        });
        hook.map_err(|fault| self.problems.push(Problem::Ends { place: link.place, fault })).ok()
    }
}
