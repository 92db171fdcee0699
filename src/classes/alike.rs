//! Datapoint types that make no difference: a lamp reads 1.001 and 1.011 alike.

use super::class::{Class, End};
use super::shape::{Chosen, Shape, ShapedLink};
use crate::knx::{DptId, dpt};

impl Class {
    /// Whether another datapoint type at one end of a point changes nothing of what is built but its own number: the
    /// class takes it there, its payloads have the same values, and the links convert them the same way.
    ///
    /// Scene number and scene control are alike at a command: the byte that recalls a scene is the same, and one that stores it
    /// recalls nothing for either (KNX 03/07/02, sections 3.18 and 3.19).
    pub fn reads_alike(&self, chosen: &Chosen, point: u16, end: End, other: DptId) -> bool {
        let takes = self.points.get(usize::from(point)).and_then(|spec| spec.end(end));
        if !takes.is_some_and(|end| end.dpts.contains(&other)) {
            return false;
        }
        let of_point = chosen.points.iter().find(|chosen| chosen.point == point);
        if of_point.and_then(|chosen| chosen.dpt(end)).is_some_and(|read| recall_alike(read, other, end)) {
            return true;
        }
        let mut changed = chosen.clone();
        let Some(at) = changed.points.iter_mut().find(|chosen| chosen.point == point) else { return false };
        let wire = match end {
            End::Command => &mut at.command,
            End::Feedback => &mut at.feedback,
            End::Listens => &mut at.listens,
        };
        let Some(read) = wire.replace(other) else { return false };
        let same_values =
            dpt::find(read).zip(dpt::find(other)).is_some_and(|(read, other)| read.reads_like(other));
        same_values
            && match (self.shape(chosen), self.shape(&changed)) {
                (Ok(one), Ok(other)) => is_same_but_for_types(&one, &other),
                _ => false,
            }
    }
}

/// Scene number and scene control.
const SCENES: [DptId; 2] = [DptId { main: 17, sub: 1 }, DptId { main: 18, sub: 1 }];

fn recall_alike(read: DptId, other: DptId, end: End) -> bool {
    end != End::Feedback && [read, other].iter().all(|id| SCENES.contains(id))
}

fn is_same_but_for_types(one: &Shape, other: &Shape) -> bool {
    one.parts.len() == other.parts.len()
        && one.parts.iter().zip(&other.parts).all(|(one, other)| {
            one.name == other.name
                && one.device_types == other.device_types
                && one.clusters == other.clusters
                && one.links.len() == other.links.len()
                && one.links.iter().zip(&other.links).all(|(one, other)| is_same_wire(one, other))
        })
}

fn is_same_wire(one: &ShapedLink, other: &ShapedLink) -> bool {
    *one == ShapedLink { dpt: one.dpt, ..other.clone() }
}

#[cfg(test)]
mod tests {
    use super::super::ClassLibrary;
    use super::super::choices::choices;
    use super::*;

    fn check(class: &str, point: &str, end: End, other: (u16, u16), expected: bool) {
        let library = ClassLibrary::built_in();
        let class = library.get(class).expect("a class");
        let (index, _) = class.point(point).expect("a point");
        let chosen = choices(&class, 100)
            .into_iter()
            .find(|chosen| {
                chosen.points.iter().any(|chosen| chosen.point == index && chosen.dpt(end).is_some())
            })
            .expect("a choice with the point");
        let other = DptId { main: other.0, sub: other.1 };
        assert_eq!(class.reads_alike(&chosen, index, end, other), expected, "{} {point} {other}", class.name);
    }

    #[test]
    fn a_type_is_alike_where_nothing_is_built_otherwise() {
        check("on-off-light", "switching", End::Feedback, (1, 11), true);
        check("on-off-light", "switching", End::Command, (1, 3), true);
        // The class does not take it.
        check("on-off-light", "switching", End::Command, (1, 8), false);
        // 0 is open in 1.009, closed in 1.019.
        check("contact-sensor", "contact", End::Feedback, (1, 9), false);
        check("contact-sensor", "contact", End::Feedback, (1, 2), true);
        // What recalls a scene is one byte in both; what stores one recalls nothing.
        check("scene", "scene", End::Command, (18, 1), true);
        // Kilowatt hours are no watt hours.
        check("electricity-meter", "energy", End::Feedback, (13, 13), false);
    }
}
