//! What is one thing to people has one kind: what another feature, limit or command brings with it is told with it.

use super::links::kind_of_effect;
use super::modes::MODES;
use super::{LinkField, What, Wire, link_end};
use crate::bridge::definition::Link;
use crate::classes::Direction;
use crate::review::change::Kind;
use crate::review::effect::{Conversions, Effect, at_one_address, does_otherwise, effect, effect_of};
use crate::review::judgement::judgement;
use rustc_hash::{FxHashMap, FxHashSet};
use serde_json::Value as Json;

/// Gives the differences of an endpoint that belong together the kind of what brought them.
pub(super) fn fold(differences: &mut [(Kind, What)]) {
    limits(differences);
    exchanges(differences);
    unwired(differences);
    newly(differences);
    otherwise(differences);
    retyped(differences);
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
            let What::LinkField { field: LinkField::Conversion, before, after, .. } = what else {
                return false;
            };
            matches!(kind, Kind::ConversionChanged | Kind::ShownOtherwise | Kind::OtherEffect)
                && bounds(before, after)
        };
        for (kind, _) in differences.iter_mut().filter(|(kind, what)| limited(kind, what)) {
            *kind = Kind::LimitsChanged;
        }
    }
}

/// Whether a conversion differs only in where it cuts off.
pub(in crate::review) fn bounds(before: &Json, after: &Json) -> bool {
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

/// What went through one wire and now goes through another has lost nothing, and no wire for nothing: it is told by what
/// that does. Where the one does more or less than the other, that is told if it is worse.
fn exchanges(differences: &mut [(Kind, What)]) {
    let mut wires: FxHashMap<End, [Vec<&Link>; 2]> = FxHashMap::default();
    let mut unequal: FxHashSet<End> = FxHashSet::default();
    for (kind, what) in differences.iter() {
        let Some((side, link, is_equal)) = went_or_came(*kind, what) else { continue };
        if let Some(links) = wires.entry(end(link)).or_default().get_mut(side) {
            links.push(link);
        }
        if !is_equal {
            unequal.insert(end(link));
        }
    }
    wires.retain(|_, sides| sides.iter().all(|links| !links.is_empty()));
    let mut kinds: FxHashMap<End, Kind> = wires.iter().map(|(end, sides)| (*end, exchange(sides))).collect();
    kinds.retain(|end, kind| *kind != Kind::WiresAdded || !unequal.contains(end));
    let kind_of = |(kind, what): &(Kind, What)| {
        let (_, link, is_equal) = went_or_came(*kind, what)?;
        let worse = |other: &Kind| judgement(*other).consequence >= judgement(*kind).consequence;
        kinds.get(&end(link)).copied().filter(|other| is_equal || worse(other))
    };
    let kinds: Vec<Option<Kind>> = differences.iter().map(kind_of).collect();
    for ((kind, _), other) in differences.iter_mut().zip(kinds) {
        *kind = other.unwrap_or(*kind);
    }
}

/// A wire that went (0) or came (1) where there are others for the same thing, and whether these do all that it does.
fn went_or_came(kind: Kind, what: &What) -> Option<(usize, &Link, bool)> {
    match (what, kind) {
        (What::LinkRemoved { link, .. }, Kind::WiresRemoved) => Some((0, link, true)),
        (What::LinkRemoved { link, .. }, Kind::FunctionUnwired) => Some((0, link, false)),
        (What::LinkAdded { link, .. }, Kind::WiresAdded) => Some((1, link, true)),
        (What::LinkAdded { link, .. }, Kind::FunctionWired) => Some((1, link, false)),
        _ => None,
    }
}

/// What it means that some wires took the place of others.
fn exchange([gone, came]: &[Vec<&Link>; 2]) -> Kind {
    // Another address is another device's: what is sent there and what it means goes together.
    let effects = gone.iter().map(|link| {
        let [before, after] = [gone, came].map(|links| -> Vec<&Link> {
            links.iter().copied().filter(|one| at_one_address(one, link)).collect()
        });
        kind_of_effect(&effect_of(&before, &after), link)
    });
    let worst = effects.chain(elsewhere(gone, came)).max_by_key(|kind| judgement(*kind).consequence);
    let shown = |links: &[&Link]| links.iter().filter_map(|link| link.shown).max();
    match worst {
        Some(kind) if kind != Kind::ConversionChanged => kind,
        _ if shown(gone) != shown(came) && gone.iter().all(|link| link.direction == Direction::FromBus) => {
            Kind::StatusSource
        }
        _ => Kind::WiresAdded,
    }
}

/// What it means that another point takes over at addresses of its own what is asked for.
fn elsewhere(gone: &[&Link], came: &[&Link]) -> Option<Kind> {
    let is_elsewhere = |link: &&Link| {
        link.direction == Direction::ToBus && !came.iter().any(|one| at_one_address(one, link))
    };
    (gone.iter().all(is_elsewhere) && does_otherwise(gone, came)).then_some(Kind::OtherEffect)
}

/// What a point does no longer is told once, with what it did beside others.
fn unwired(differences: &mut [(Kind, What)]) {
    let mut went: FxHashMap<String, Kind> = FxHashMap::default();
    let features: FxHashSet<String> = gone_features(differences);
    let mut eventless: FxHashSet<String> = FxHashSet::default();
    for (kind, what) in differences.iter_mut() {
        let What::LinkRemoved { link, .. } = what else { continue };
        // Which events there are is said by features.
        if *kind == Kind::FunctionUnwired && link.event.is_some() && features.contains(&link.cluster) {
            *kind = Kind::FunctionRemoved;
            eventless.insert(link.cluster.clone());
        }
        if matches!(kind, Kind::FunctionRemoved | Kind::FunctionUnwired) {
            let worst = went.entry(link.point.clone()).or_insert(*kind);
            *worst = (*worst).max(*kind);
        }
    }
    for (kind, what) in differences.iter_mut() {
        if matches!(what, What::Feature { name, at: None, .. } if eventless.contains(name)) {
            *kind = Kind::FunctionRemoved;
        }
        if let What::LinkRemoved { link, .. } = what
            && let (Kind::WiresRemoved, Some(worse)) = (*kind, went.get(&link.point))
        {
            *kind = *worse;
        }
    }
}

/// Clusters with a feature that went.
fn gone_features(differences: &[(Kind, What)]) -> FxHashSet<String> {
    let gone = differences.iter().filter_map(|(_, what)| match what {
        What::Feature { name, at: None, .. } => Some(name.clone()),
        _ => None,
    });
    gone.collect()
}

/// What only goes through since a feature came is a part of that: nobody could ask for it before.
fn newly(differences: &mut [(Kind, What)]) {
    let feature = |wanted: bool| -> FxHashSet<String> {
        let features = differences.iter().filter_map(|(_, what)| match what {
            What::Feature { name, at, .. } if at.is_some() == wanted => Some(name.clone()),
            _ => None,
        });
        features.collect()
    };
    let (came, went) = (feature(true), feature(false));
    for (kind, what) in differences.iter_mut().filter(|(kind, _)| *kind == Kind::OtherEffect) {
        let What::LinkField { wire, field: LinkField::Conversion, before, after, .. } = what else {
            continue;
        };
        let Some((cluster, end)) = wire.end.split_once('.') else { continue };
        let conversions = Conversions {
            direction: wire.direction,
            cluster,
            end,
            dpts: [&wire.dpt, &wire.dpt],
            steps: [vec![before], vec![after]],
            moved: false,
            offered: None,
        };
        if came.contains(cluster)
            && !went.contains(cluster)
            && matches!(effect(&conversions), Effect::More(_))
        {
            *kind = Kind::InterfaceChanged;
        }
    }
}

/// A point whose commands do another thing shows other values too, a cluster whose modes are others chooses them by other
/// conversions, and a movement that is stopped at other times is reckoned with them.
fn otherwise(differences: &mut [(Kind, What)]) {
    let mut others: FxHashMap<String, Kind> = FxHashMap::default();
    let mut timed = false;
    for (kind, what) in differences.iter() {
        match (kind, what) {
            (Kind::OtherEffect, What::LinkField { field: LinkField::Timing, .. }) => timed = true,
            (Kind::OtherEffect, What::LinkField { wire, .. }) => {
                others.insert(wire.point.clone(), *kind);
            }
            (Kind::OtherEffect, What::LinkAdded { link, .. } | What::LinkRemoved { link, .. }) => {
                others.insert(link.point.clone(), *kind);
            }
            (_, What::Attribute { name, attribute, .. }) if attribute == MODES => {
                others.insert(name.clone(), *kind);
            }
            _ => {}
        };
    }
    for (kind, what) in differences.iter_mut() {
        let (point, cluster) = match what {
            What::LinkField { field: LinkField::Timing, .. } if timed && *kind == Kind::ShownOtherwise => {
                *kind = Kind::OtherEffect;
                continue;
            }
            What::LinkField { wire, field: LinkField::Conversion | LinkField::Dpt, .. } => {
                (&wire.point, wire.end.split_once('.').map_or("", |(cluster, _)| cluster))
            }
            What::LinkAdded { link, .. } | What::LinkRemoved { link, .. } => (&link.point, ""),
            _ => continue,
        };
        if matches!(kind, Kind::ShownOtherwise | Kind::ConversionChanged)
            && let Some(other) = others.get(point).or_else(|| others.get(cluster))
        {
            *kind = *other;
        }
    }
    parts(differences);
}

/// An address that is taken for another type is told once, with the worst that comes of it.
fn retyped(differences: &mut [(Kind, What)]) {
    let place = |what: &What| match what {
        What::LinkField { wire, field: LinkField::Dpt, after, .. } => {
            Some((wire.bus.clone(), wire.group.clone(), after.to_string()))
        }
        _ => None,
    };
    let mut worst: FxHashMap<_, Kind> = FxHashMap::default();
    for (kind, what) in differences.iter() {
        let Some(place) = place(what) else { continue };
        let known = worst.entry(place).or_insert(*kind);
        if judgement(*kind).consequence > judgement(*known).consequence {
            *known = *kind;
        }
    }
    let mut told: FxHashMap<u32, Kind> = FxHashMap::default();
    for (kind, what) in differences.iter_mut().filter(|(kind, _)| *kind == Kind::ConversionChanged) {
        if let (Some(worst), What::LinkField { index, .. }) =
            (place(what).and_then(|place| worst.get(&place)), &*what)
        {
            *kind = *worst;
            told.insert(*index, *worst);
        }
    }
    for (kind, what) in differences.iter_mut().filter(|(kind, _)| *kind == Kind::ConversionChanged) {
        if let What::LinkField { index, field: LinkField::Conversion, .. } = what {
            *kind = told.get(index).copied().unwrap_or(*kind);
        }
    }
}

/// A link that came for a part of what another one does is told with that one.
fn parts(differences: &mut [(Kind, What)]) {
    let changed: FxHashMap<(String, String, String), Kind> = differences
        .iter()
        .filter_map(|(kind, what)| match what {
            What::LinkField { wire, field: LinkField::Conversion, .. } => {
                Some(((wire.point.clone(), wire.end.clone(), wire.group.clone()), *kind))
            }
            _ => None,
        })
        .collect();
    for (kind, what) in differences.iter_mut().filter(|(kind, _)| *kind == Kind::WiresAdded) {
        let What::LinkAdded { link, .. } = what else { continue };
        let wire = Wire::of(link);
        if let Some(other) = changed.get(&(wire.point, wire.end, wire.group)) {
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
            // What is asked for is shown nowhere any more.
            What::LinkField { wire, field: LinkField::Shown, .. } if wire.direction == Direction::ToBus => {
                wire.end.split_once('.').map_or("", |(cluster, _)| cluster)
            }
            _ => continue,
        };
        let Some(feature) = brought.get(cluster) else { continue };
        let with_it = match kind {
            Kind::StatusSource => *feature == Kind::FunctionRemoved && matches!(what, What::LinkField { .. }),
            Kind::InterfaceChanged
            | Kind::ValuesChanged
            | Kind::FirstValueChanged
            | Kind::LimitsChanged
            | Kind::WiresAdded
            | Kind::FunctionWired
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
