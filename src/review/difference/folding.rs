//! What is one thing to people has one kind: what another feature, limit or command brings with it is told with it.

use super::modes::MODES;
use super::{LinkField, What, link_end};
use crate::bridge::definition::Link;
use crate::classes::Direction;
use crate::review::change::Kind;
use rustc_hash::{FxHashMap, FxHashSet};
use serde_json::Value as Json;

/// Gives the differences of an endpoint that belong together the kind of what brought them.
pub(super) fn fold(differences: &mut [(Kind, What)]) {
    limits(differences);
    exchanges(differences);
    unwired(differences);
    otherwise(differences);
    features(differences);
    order(differences);
}

/// Where links stand is told with what is different about them.
fn order(differences: &mut [(Kind, What)]) {
    let of_links = |what: &What| {
        matches!(what, What::LinkField { .. } | What::LinkAdded { .. } | What::LinkRemoved { .. })
    };
    let first = differences.iter().find(|(_, what)| of_links(what)).map(|(kind, _)| *kind);
    let orders = differences
        .iter_mut()
        .filter(|(kind, what)| *kind != Kind::TelegramOrder && matches!(what, What::LinkOrder { .. }));
    for ((kind, _), first) in orders.zip(first) {
        *kind = first;
    }
}

/// A limit of an attribute is one of its conversions too.
fn limits(differences: &mut [(Kind, What)]) {
    if differences.iter().any(|(kind, _)| *kind == Kind::LimitsChanged) {
        let limited = |kind: &Kind, what: &What| {
            matches!(kind, Kind::ConversionChanged | Kind::ShownOtherwise | Kind::OtherEffect) && bounds(what)
        };
        for (kind, _) in differences.iter_mut().filter(|(kind, what)| limited(kind, what)) {
            *kind = Kind::LimitsChanged;
        }
    }
}

/// Whether a conversion differs only in where it cuts off.
fn bounds(what: &What) -> bool {
    let What::LinkField { field: LinkField::Conversion, before, after, .. } = what else { return false };
    let steps = |chain: &Json| -> Vec<Json> {
        let cuts = |step: &&Json| step.get("step").is_some_and(|name| name == "clamp");
        chain.as_array().into_iter().flatten().filter(|step| !cuts(step)).cloned().collect()
    };
    steps(before) == steps(after)
}

/// What a link is for.
type End<'w> = (Direction, &'w str, &'w str);

fn end(link: &Link) -> End<'_> {
    (link.direction, &link.cluster, link_end(link))
}

/// What went through one wire and now goes through another has lost nothing, and no wire for nothing.
fn exchanges(differences: &mut [(Kind, What)]) {
    let came: FxHashSet<End> = differences
        .iter()
        .filter_map(|(kind, what)| match what {
            What::LinkAdded { link, .. } if *kind == Kind::WiresAdded => Some(end(link)),
            _ => None,
        })
        .collect();
    let exchanged: Vec<usize> = differences
        .iter()
        .enumerate()
        .filter(|(_, (kind, what))| {
            matches!(what, What::LinkRemoved { link, .. } if *kind == Kind::WiresRemoved && came.contains(&end(link)))
        })
        .map(|(at, _)| at)
        .collect();
    for at in exchanged {
        if let Some((kind, _)) = differences.get_mut(at) {
            *kind = Kind::WiresAdded;
        }
    }
}

/// What a point does no longer is told once, with what it did beside others.
fn unwired(differences: &mut [(Kind, What)]) {
    let mut went: FxHashMap<String, Kind> = FxHashMap::default();
    let features: FxHashSet<String> = gone_features(differences);
    for (kind, what) in differences.iter_mut() {
        let What::LinkRemoved { link, .. } = what else { continue };
        // Which events there are is said by features.
        if *kind == Kind::FunctionUnwired && link.event.is_some() && features.contains(&link.cluster) {
            *kind = Kind::FunctionRemoved;
        }
        if matches!(kind, Kind::FunctionRemoved | Kind::FunctionUnwired) {
            let worst = went.entry(link.point.clone()).or_insert(*kind);
            *worst = (*worst).max(*kind);
        }
    }
    for (kind, what) in differences.iter_mut() {
        if let What::LinkRemoved { link, .. } = what
            && let (Kind::WiresRemoved, Some(worse)) = (*kind, went.get(&link.point))
        {
            *kind = *worse;
        }
    }
}

/// Clusters with a feature that went and took functions with it.
fn gone_features(differences: &[(Kind, What)]) -> FxHashSet<String> {
    let gone = differences.iter().filter_map(|(kind, what)| match what {
        What::Feature { name, at: None, .. } if *kind == Kind::FunctionRemoved => Some(name.clone()),
        _ => None,
    });
    gone.collect()
}

/// A point whose commands do another thing shows other values too, and a cluster whose modes are others chooses them by
/// other conversions.
fn otherwise(differences: &mut [(Kind, What)]) {
    let mut others: FxHashMap<String, Kind> = FxHashMap::default();
    for (kind, what) in differences.iter() {
        match (kind, what) {
            (Kind::OtherEffect, What::LinkField { wire, .. }) => others.insert(wire.point.clone(), *kind),
            (_, What::Attribute { name, attribute, .. }) if attribute == MODES => {
                others.insert(name.clone(), *kind)
            }
            _ => None,
        };
    }
    for (kind, what) in differences.iter_mut() {
        let What::LinkField { wire, field: LinkField::Conversion | LinkField::Dpt, .. } = what else {
            continue;
        };
        let cluster = wire.end.split_once('.').map_or("", |(cluster, _)| cluster);
        if matches!(kind, Kind::ShownOtherwise | Kind::ConversionChanged)
            && let Some(other) = others.get(&wire.point).or_else(|| others.get(cluster))
        {
            *kind = *other;
        }
    }
}

/// What a feature that came or went brings with it in its cluster is told with it, unless that is worse.
fn features(differences: &mut [(Kind, What)]) {
    let mut brought: FxHashMap<String, Kind> = FxHashMap::default();
    for (kind, what) in differences.iter() {
        if let What::Feature { name, .. } = what {
            let worst = brought.entry(name.clone()).or_insert(*kind);
            *worst = (*worst).max(*kind);
        }
    }
    if brought.is_empty() {
        return;
    }
    for (kind, what) in differences.iter_mut() {
        let cluster = match what {
            What::Attribute { name, .. } => name.as_str(),
            What::LinkAdded { link, .. } => link.cluster.as_str(),
            What::Feature { name, .. } | What::Command { name, .. } => name.as_str(),
            What::LinkField { wire, field: LinkField::Conversion | LinkField::Dpt, .. } => {
                wire.end.split_once('.').map_or("", |(cluster, _)| cluster)
            }
            _ => continue,
        };
        let Some(feature) = brought.get(cluster) else { continue };
        let with_it = match kind {
            Kind::InterfaceChanged
            | Kind::ValuesChanged
            | Kind::FirstValueChanged
            | Kind::LimitsChanged
            | Kind::WiresAdded
            | Kind::ShownOtherwise
            | Kind::ConversionChanged => true,
            Kind::OtherEffect => *feature == Kind::FunctionRemoved,
            _ => false,
        };
        if with_it {
            *kind = *feature;
        }
    }
}
