//! What is the other way round, in words of the house.

use super::effects::Beside;
use super::points::opposite;
use super::together::of_types;
use super::{Telling, said};
use crate::classes::Direction;
use crate::review::change::Change;
use crate::review::difference::{Difference, LinkField, What, Wire};

/// What is the other way round, point by point.
pub(super) fn reversed(name: &str, change: &Change) -> Telling {
    let mut points: Vec<(&str, Vec<&Wire>)> = Vec::new();
    for difference in &change.differences {
        if let What::LinkField { wire, field: LinkField::Conversion, .. } = &difference.what {
            match points.iter_mut().find(|(point, _)| *point == wire.point) {
                Some((_, wires)) => wires.push(wire),
                None => points.push((&wire.point, vec![wire])),
            }
        }
    }
    let differences: Vec<&Difference> = change.differences.iter().collect();
    let ranges = ranges(&differences);
    let types = of_types(&differences);
    let told = |(point, wires): &(&str, Vec<&Wire>)| {
        let of = |way: Direction| {
            let ends = wires.iter().filter(|wire| wire.direction == way).map(|wire| wire.end.as_str());
            let ends: Vec<&str> = ends.collect();
            (!ends.is_empty()).then(|| opposite(point, way, &ends, ranges.is_empty()))
        };
        let told: Vec<String> = [Direction::ToBus, Direction::FromBus].into_iter().filter_map(of).collect();
        told.join(", and ")
    };
    let mut telling = match points.as_slice() {
        [one] => said(format!("{name} is now reversed: {}", told(one))),
        _ => Telling {
            headline: format!("{name} is now reversed"),
            details: points.iter().map(|one| format!("`{}`: {}", one.0, told(one))).collect(),
        },
    };
    telling.details.extend(types);
    telling.details.extend(ranges.iter().map(|told| format!("And over another range: {told}")));
    telling
}

/// Examples of what is not only the other way round but also over another range, each wire once.
fn ranges(differences: &[&Difference]) -> Vec<String> {
    let beside = Beside::of(differences);
    let mut told: Vec<(&str, String)> = Vec::new();
    for difference in differences {
        let What::LinkField { wire, .. } = &difference.what else { continue };
        let known = told.iter().any(|(group, _)| *group == wire.group);
        if !known {
            told.extend(beside.other_range(difference).map(|text| (wire.group.as_str(), text)));
        }
    }
    told.into_iter().map(|(_, text)| text).collect()
}
