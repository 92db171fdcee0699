//! `based-on:`: what a class file says, on top of what another says.

use super::{ClusterTemplate, EndTemplate, PartTemplate, PointTemplate, SettingTemplate, Template};
use crate::source::{Entries, Given, Spanned};

impl Template {
    /// This file on top of the one it is based on: named things are matched by name, lists and texts replaced;
    /// additions come after those of the base. `without` then names the dropped points of both.
    pub(in crate::classes) fn over(self, base: Self) -> Self {
        let mut points = merge(self.points, base.points, PointTemplate::over);
        let without = self.without.value().map_or(&[][..], Vec::as_slice);
        if let Given::Here(points) = &mut points {
            points.value.0.retain(|(name, _)| !without.iter().any(|dropped| dropped.value == name.value));
        }
        Self {
            class: self.class,
            based_on: self.based_on,
            without: after(self.without, base.without),
            title: or(self.title, base.title),
            group: or(self.group, base.group),
            summary: or(self.summary, base.summary),
            explanation: or(self.explanation, base.explanation),
            caution: or(self.caution, base.caution),
            confirm: or(self.confirm, base.confirm),
            bridged: or(self.bridged, base.bridged),
            why: or(self.why, base.why),
            settings: merge(self.settings, base.settings, SettingTemplate::over),
            parts: merge(self.parts, base.parts, PartTemplate::over),
            points,
            adds: after(self.adds, base.adds),
            combinations: or(self.combinations, base.combinations),
        }
    }
}

impl SettingTemplate {
    fn over(self, base: Self) -> Self {
        Self {
            description: or(self.description, base.description),
            kind: or(self.kind, base.kind),
            unit: or(self.unit, base.unit),
            range: or(self.range, base.range),
            longest: or(self.longest, base.longest),
            words: or(self.words, base.words),
            default: or(self.default, base.default),
        }
    }
}

impl PartTemplate {
    fn over(self, base: Self) -> Self {
        Self {
            title: or(self.title, base.title),
            when: or(self.when, base.when),
            unless: or(self.unless, base.unless),
            device_types: or(self.device_types, base.device_types),
            clusters: merge(self.clusters, base.clusters, ClusterTemplate::over),
            tags: or(self.tags, base.tags),
        }
    }
}

impl ClusterTemplate {
    fn over(self, base: Self) -> Self {
        Self {
            features: or(self.features, base.features),
            attributes: merge(self.attributes, base.attributes, |new, _| new),
            commands: or(self.commands, base.commands),
        }
    }
}

impl PointTemplate {
    fn over(self, base: Self) -> Self {
        Self {
            title: or(self.title, base.title),
            need: or(self.need, base.need),
            command: both(self.command, base.command, EndTemplate::over),
            feedback: both(self.feedback, base.feedback, EndTemplate::over),
            listens: or(self.listens, base.listens),
            reversible: or(self.reversible, base.reversible),
            shared: or(self.shared, base.shared),
            range: or(self.range, base.range),
            units: or(self.units, base.units),
            links: or(self.links, base.links),
            adds: after(self.adds, base.adds),
        }
    }
}

impl EndTemplate {
    fn over(self, base: Self) -> Self {
        Self {
            need: or(self.need, base.need),
            dpts: or(self.dpts, base.dpts),
            flags: or(self.flags, base.flags),
        }
    }
}

fn or<T>(new: Given<T>, base: Given<T>) -> Given<T> {
    if new.is_absent() { base } else { new }
}

fn both<T>(new: Given<T>, base: Given<T>, join: impl Fn(T, T) -> T) -> Given<T> {
    match (new, base) {
        (Given::Here(new), Given::Here(base)) => {
            Given::Here(Spanned::new(join(new.value, base.value), new.place))
        }
        (new, base) => or(new, base),
    }
}

/// Entries of the base, each joined with the one of the same name, then those that are new.
fn merge<T>(new: Given<Entries<T>>, base: Given<Entries<T>>, join: impl Fn(T, T) -> T) -> Given<Entries<T>> {
    both(new, base, |new, base| {
        let mut new: Vec<_> = new.0.into_iter().map(Some).collect();
        let mut out = Vec::new();
        for (name, value) in base.0 {
            let same = new.iter_mut().find(|slot| slot.as_ref().is_some_and(|(other, _)| *other == name));
            match same.and_then(Option::take) {
                Some((name, own)) => out.push((name, both(own, value, &join))),
                None => out.push((name, value)),
            }
        }
        out.extend(new.into_iter().flatten());
        Entries(out)
    })
}

fn after<T>(new: Given<Vec<T>>, base: Given<Vec<T>>) -> Given<Vec<T>> {
    both(new, base, |new, mut base| {
        base.extend(new);
        base
    })
}
