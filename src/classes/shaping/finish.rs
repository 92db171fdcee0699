//! The last steps of a chain: rounding and cutting off, where what comes out would not fit.

use super::ends::{Endpoint, attribute_kind, command_kind, event_kind};
use crate::classes::blueprint::LinkRule;
use crate::classes::shape::{Direction, ShapedCluster, ShapedLink, Target};
use crate::convert::bus::kind_of;
use crate::convert::{Chain, Kind, Misfit, Step};
use crate::knx::{DptId, dpt};
use std::sync::Arc;

/// Adds to a chain what its result needs to fit the link's end. A chain that cannot be made to fit stays as it is: it is
/// told of when the class is checked.
pub(super) fn finish(
    chain: &mut Chain,
    rule: &LinkRule,
    direction: Direction,
    dpt: DptId,
    clusters: &[Arc<ShapedCluster>],
) {
    let Some((input, asked)) = ends(&rule.cluster.name, &rule.target, direction, dpt, clusters) else {
        return;
    };
    if let Ok(found) = chain.check(input, &Endpoint(clusters)) {
        chain.steps.extend(mend(&found, &asked));
    }
}

/// What does not fit about a link's chain, in words; `None` if all does.
///
/// Where an installation uses a part of a range or counts the other way round, numbers are `turned`: not counted by scale.
/// Where a line is drawn `by_setting`, the setting says what is counted: a share becomes kelvin.
pub(in crate::classes) fn misfit(
    link: &ShapedLink,
    clusters: &[Arc<ShapedCluster>],
    turned: bool,
    by_setting: bool,
) -> Option<String> {
    let (input, asked) = ends(&link.cluster, &link.target, link.direction, link.dpt, clusters)?;
    let found = match link.conversion.check(input, &Endpoint(clusters)) {
        Ok(found) => found,
        Err(fault) => return Some(fault.to_string()),
    };
    let fits = found.fits(&asked_of(&found, &asked));
    match fits.map_err(inner) {
        Ok(()) => None,
        Err(Misfit::Scaling { .. }) if turned || by_setting => None,
        Err(Misfit::Unit { .. }) if by_setting => None,
        // A difference becomes an absolute temperature where something is added to it.
        Err(Misfit::Unit { expected, found })
            if [&expected, &found].iter().all(|unit| matches!(unit.as_str(), "°C" | "K")) =>
        {
            None
        }
        Err(misfit) => Some(misfit.to_string()),
    }
}

/// What goes into the chain of a link, and what is asked for at its other end.
fn ends(
    cluster: &str,
    target: &Target,
    direction: Direction,
    id: DptId,
    clusters: &[Arc<ShapedCluster>],
) -> Option<(Kind, Kind)> {
    let bus = kind_of(dpt::find(id)?);
    let shaped = clusters.iter().find(|shaped| shaped.name == cluster)?;
    let matter = match target {
        Target::Attribute(name) => attribute_kind(shaped, name)?,
        Target::Command(name) => command_kind(shaped, name)?,
        Target::Event(name) => event_kind(shaped, name)?,
    };
    Some(match direction {
        Direction::FromBus => (bus, matter),
        Direction::ToBus => (matter, bus.unrounded()),
    })
}

/// Of the fields of a structure only those that are given are asked for: the others are optional or a fault that the
/// check of the values finds.
fn asked_of(found: &Kind, asked: &Kind) -> Kind {
    match (found, asked) {
        (Kind::Structure(found), Kind::Structure(asked)) => {
            let given = asked.iter().filter_map(|(name, kind)| {
                let found = found.get(name)?;
                Some((name.clone(), asked_of(found, kind)))
            });
            Kind::Structure(given.collect())
        }
        _ => asked.clone(),
    }
}

/// Steps that make values of one kind fit another: to the nearest, then cut off.
fn mend(found: &Kind, asked: &Kind) -> Vec<Step> {
    if let (Kind::Structure(found), Kind::Structure(asked)) = (found, asked) {
        let inner = found.iter().filter_map(|(name, found)| {
            let steps = mend(found, asked.get(name)?);
            (!steps.is_empty()).then(|| Step::Within { name: name.clone(), steps: Chain { steps } })
        });
        return inner.collect();
    }
    let Kind::Number(wanted) = asked else { return Vec::new() };
    let Some(mut quantity) = found.as_quantity() else { return Vec::new() };
    let mut steps = Vec::new();
    // Coarser steps stay whole only where nothing is cut off: a bound need not be one of them.
    let whole = quantity.resolution > 0.0 && (quantity.resolution / wanted.resolution).fract().abs() <= 0.0;
    let same = quantity.resolution.total_cmp(&wanted.resolution).is_eq();
    let rounded = wanted.resolution <= 0.0 || same || whole && wanted.range.holds(quantity.range);
    if !rounded {
        steps.push(Step::Round { to: wanted.resolution });
        quantity.range = quantity.range.map(|end| libm::rint(end / wanted.resolution) * wanted.resolution);
    }
    if !wanted.range.holds(quantity.range) {
        steps.push(Step::Clamp { min: wanted.range.min, max: wanted.range.max });
    }
    if whole && !same {
        // Cut off first: then the bounds are rounded too.
        steps.reverse();
    }
    steps
}

/// The misfit of a field as that of its value.
fn inner(misfit: Misfit) -> Misfit {
    if let Misfit::Field { misfit, .. } = misfit { inner(*misfit) } else { misfit }
}
