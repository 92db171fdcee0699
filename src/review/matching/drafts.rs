//! Changes in the making: differences gathered by appliance and kind, so that one appliance has one change a kind.

use super::identity::{Spot, Stayed, appliance_key, part};
use crate::review::Side;
use crate::review::change::{Change, Kind, Member, Remedy, Subject};
use crate::review::difference::{Difference, What};
use crate::review::outline::Outline;
use rustc_hash::FxHashMap;
use std::sync::Arc;

/// The changes so far.
#[derive(Default)]
pub(super) struct Drafts<'a> {
    pub(super) changes: Vec<Change>,
    /// By kind, bridge and appliance.
    place: FxHashMap<(Kind, &'a str, &'a str), usize>,
    /// Those of appliances that went to another bridge, by the bridge that they left and by appliance.
    left: FxHashMap<(&'a str, &'a str), usize>,
}

impl<'a> Drafts<'a> {
    /// Adds a change that stands by itself.
    pub(super) fn push(&mut self, kind: Kind, subject: Subject, differences: Vec<Difference>) {
        self.push_with(kind, subject, None, differences);
    }

    /// Adds a change that stands by itself, with what to write so that the place is kept.
    pub(super) fn push_with(
        &mut self,
        kind: Kind,
        subject: Subject,
        remedy: Option<Remedy>,
        differences: Vec<Difference>,
    ) {
        self.changes.push(Change { kind, subject, remedy, agreed: None, differences });
    }

    /// Adds a difference of a bridge's head. What is true of the house is told once for all bridges.
    pub(super) fn add_head(&mut self, kind: Kind, subject: Subject, difference: Difference) {
        // There is a change or two for each bridge, and bridges are few.
        let there = self.changes.iter_mut().find(|change| change.kind == kind && change.subject == subject);
        match there {
            Some(change) => change.differences.push(difference),
            None => self.push(kind, subject, vec![difference]),
        }
    }

    /// Adds a difference inside an endpoint that stayed.
    pub(super) fn add_inside(&mut self, pair: &Stayed<'a>, kind: Kind, what: What) {
        let difference = Difference { bridge: pair.bridge.to_owned(), endpoint: Some(pair.new.number), what };
        let spot = Spot { bridge: pair.bridge, endpoint: pair.new };
        self.add(kind, spot, Side::Both, Some(&pair.old.key), vec![difference]);
    }

    /// Adds differences of an endpoint to its appliance's change of that kind.
    pub(super) fn add(
        &mut self,
        kind: Kind,
        spot: Spot<'a>,
        side: Side,
        old_key: Option<&str>,
        differences: Vec<Difference>,
    ) {
        let key = (kind, spot.bridge, appliance_key(&spot.endpoint.key));
        match self.place.get(&key).and_then(|at| self.changes.get_mut(*at)) {
            Some(change) => {
                change.differences.extend(differences);
                if let Subject::Appliances(members) = &mut change.subject
                    && let Some(member) = members.first_mut()
                {
                    widen(member, spot.endpoint);
                }
            }
            None => {
                self.place.insert(key, self.changes.len());
                let member = member(spot, side, old_key);
                self.push(kind, Subject::Appliances(vec![member]), differences);
            }
        }
    }

    /// Takes note of an appliance that went from one bridge to another, which is told already.
    pub(super) fn left(&mut self, before: Spot<'a>, after: Spot<'a>) {
        let place = (Kind::BridgeChanged, after.bridge, appliance_key(&after.endpoint.key));
        if let Some(at) = self.place.get(&place) {
            self.left.insert((before.bridge, appliance_key(&before.endpoint.key)), *at);
        }
    }

    /// Adds an endpoint that is gone to the change of its appliance, if that left the bridge. Gives whether it did.
    pub(super) fn add_left(&mut self, spot: Spot<'a>) -> bool {
        let place = (spot.bridge, appliance_key(&spot.endpoint.key));
        let change = self.left.get(&place).and_then(|at| self.changes.get_mut(*at));
        change.map(|change| change.differences.push(gone(spot))).is_some()
    }

    /// Gives the appliance of an endpoint the key, name and room that its first endpoint has now, in its change of that kind.
    pub(super) fn rename(&mut self, kind: Kind, spot: Spot<'a>, now: &Outline) {
        let place = (kind, spot.bridge, appliance_key(&spot.endpoint.key));
        let change = self.place.get(&place).and_then(|at| self.changes.get_mut(*at));
        let Some(Subject::Appliances(members)) = change.map(|change| &mut change.subject) else { return };
        let Some(member) = members.first_mut() else { return };
        let key = appliance_key(&now.key);
        if member.key != key {
            member.former_key = Some(std::mem::replace(&mut member.key, key.to_owned()));
        }
        member.label.clone_from(&now.node_label);
        member.room.clone_from(&now.room);
        member.floor.clone_from(&now.floor);
    }

    /// Whether the appliance has a change of that kind.
    pub(super) fn has(&self, kind: Kind, bridge: &'a str, appliance: &'a str) -> bool {
        self.place.contains_key(&(kind, bridge, appliance))
    }
}

/// The appliance of an endpoint, as a member of a change.
pub(super) fn member(spot: Spot, side: Side, old_key: Option<&str>) -> Member {
    let endpoint = spot.endpoint;
    let key = appliance_key(&endpoint.key);
    Member {
        bridge: spot.bridge.to_owned(),
        key: key.to_owned(),
        former_key: old_key.map(appliance_key).filter(|old| *old != key).map(str::to_owned),
        label: endpoint.node_label.clone(),
        room: endpoint.room.clone(),
        floor: endpoint.floor.clone(),
        endpoints: vec![endpoint.number],
        side,
    }
}

/// Takes a further endpoint of the same appliance in. The name is that of the first part.
pub(super) fn widen(member: &mut Member, endpoint: &Outline) {
    if !member.endpoints.contains(&endpoint.number) {
        member.endpoints.push(endpoint.number);
    }
    if part(&endpoint.key).is_empty() {
        member.label.clone_from(&endpoint.node_label);
        member.room.clone_from(&endpoint.room);
        member.floor.clone_from(&endpoint.floor);
    }
}

/// The difference of an endpoint that is gone.
pub(super) fn gone(spot: Spot) -> Difference {
    let what = What::EndpointRemoved { endpoint: Arc::clone(spot.endpoint) };
    Difference { bridge: spot.bridge.to_owned(), endpoint: None, what }
}

/// The difference of an endpoint that came.
pub(super) fn came(spot: Spot) -> Difference {
    let what = What::EndpointAdded { endpoint: Arc::clone(spot.endpoint) };
    Difference { bridge: spot.bridge.to_owned(), endpoint: None, what }
}
