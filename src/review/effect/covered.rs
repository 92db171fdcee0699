//! Whether some wires do all that another one does, for the same command, attribute or event.

use super::{run, samples};
use crate::bridge::definition::{Direction, Link};
use crate::convert::Value;
use crate::knx::dpt;
use crate::matter;
use crate::review::difference::link_end;
use serde_json::json;

/// Whether some wires do all that another one does for what they are all for: something is sent for whatever that one sends
/// something for, or each state can be shown that it can show. What has no names is a number, and of these one wire is taken to
/// do them all.
pub(in crate::review) fn covers(links: &[&Link], one: &Link) -> bool {
    let mut texts: Vec<String> = links.iter().map(|link| text(link)).collect();
    texts.sort_unstable();
    texts.dedup();
    let own = text(one);
    if texts.contains(&own) {
        return true;
    }
    let key = format!("{:?} {}.{} {own}\n{}", one.direction, one.cluster, link_end(one), texts.join("\n"));
    super::COVERED.with(|covered| {
        super::known(covered, key, || match one.direction {
            Direction::ToBus => sends(links, one),
            Direction::FromBus => shows(links, one),
        })
    })
}

fn text(link: &Link) -> String {
    format!("{} {}", link.dpt, json!(link.conversion))
}

fn sends(links: &[&Link], one: &Link) -> bool {
    let end = (one.cluster.as_str(), link_end(one));
    if !run::asks_by_name(end) {
        return true;
    }
    let all: Vec<&Link> = std::iter::once(one).chain(links.iter().copied()).collect();
    run::sent_by(end, &all).iter().all(|sent| match sent.split_first() {
        Some((true, others)) => others.contains(&true),
        _ => true,
    })
}

fn shows(links: &[&Link], one: &Link) -> bool {
    let kind = matter::cluster(&one.cluster).and_then(|cluster| {
        let attribute = cluster.attribute(one.attribute.as_deref()?)?;
        matter::kind(cluster, &attribute.datatype)
    });
    if !kind.is_some_and(|kind| run::has_names(&kind)) {
        return true;
    }
    let others: Vec<Value> = links.iter().flat_map(|link| shown_by(link)).collect();
    shown_by(one).iter().all(|state| others.contains(state))
}

/// The states that a wire can show.
pub(in crate::review) fn shown_by(link: &Link) -> Vec<Value> {
    let Ok(dpt) = dpt::lookup(&link.dpt) else { return Vec::new() };
    let mut states = Vec::new();
    for payload in samples::of_bus(dpt, &[&link.conversion]) {
        for state in run::shown(dpt, &payload, &link.conversion) {
            if state != Value::Null && !states.contains(&state) {
                states.push(state);
            }
        }
    }
    states
}
