//! What is the other way round, in words of the house.

use super::points::opposite;
use super::{Telling, said};
use crate::classes::Direction;
use crate::review::change::Change;
use crate::review::difference::{LinkField, What};

/// What is the other way round, point by point.
pub(super) fn reversed(name: &str, change: &Change) -> Telling {
    let mut points: Vec<(&str, Vec<Direction>)> = Vec::new();
    for difference in &change.differences {
        if let What::LinkField { wire, field: LinkField::Conversion, .. } = &difference.what {
            match points.iter_mut().find(|(point, _)| *point == wire.point) {
                Some((_, ways)) if ways.contains(&wire.direction) => {}
                Some((_, ways)) => ways.push(wire.direction),
                None => points.push((&wire.point, vec![wire.direction])),
            }
        }
    }
    let told = |(point, ways): &(&str, Vec<Direction>)| {
        let both = [Direction::ToBus, Direction::FromBus].into_iter().filter(|way| ways.contains(way));
        let told: Vec<String> = both.map(|way| opposite(point, way)).collect();
        told.join(", and ")
    };
    match points.as_slice() {
        [one] => said(format!("{name} is now reversed: {}", told(one))),
        _ => Telling {
            headline: format!("{name} is now reversed"),
            details: points.iter().map(|one| format!("`{}`: {}", one.0, told(one))).collect(),
        },
    }
}
