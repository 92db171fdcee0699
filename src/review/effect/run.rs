//! Runs conversions before and after on the same samples.

use super::samples::{Around, of_attribute, of_bus, of_command};
use super::{Example, Types};
use crate::convert::bus::{value_from_bus, value_to_bus};
use crate::convert::{Chain, Value};
use crate::knx::{Dpt, Payload, codec};
use crate::matter;

/// A cluster and its attribute, command or event.
type End<'a> = (&'a str, &'a str);

/// What is sent for each sample, as the old type reads it; none where the two types have nothing in common.
pub(super) fn to_bus(end: End, types: &Types, chains: [&Chain; 2]) -> Option<Vec<Example>> {
    let by_telegram = types.share_telegrams();
    if !by_telegram && !types.share_values() {
        return None;
    }
    let around = Around::of(chains);
    let mut examples = Vec::new();
    for (at, input) in inputs(end, chains).into_iter().enumerate() {
        let standing = around.at(at);
        let [before, after] = chains.map(|chain| chain.run(&input, &standing).unwrap_or(Value::Null));
        let before = sent(types.old, &before);
        let after = sent(if by_telegram { types.new } else { types.old }, &after);
        let read = |payload: Option<Payload>| {
            let decoded = payload.and_then(|payload| codec::decode(types.old, &payload).ok());
            decoded.map_or(Value::Null, |value| value_from_bus(types.old, &value))
        };
        let (before, after) = (read(before), read(after));
        examples.push(Example { input, before, after });
    }
    Some(examples)
}

/// What is shown of each telegram; none where the two types have nothing in common.
pub(super) fn from_bus(types: &Types, chains: [&Chain; 2]) -> Option<Vec<Example>> {
    let by_telegram = types.share_telegrams();
    if !by_telegram && !types.share_values() {
        return None;
    }
    let around = Around::of(chains);
    let mut examples = Vec::new();
    for (at, payload) in of_bus(types.old, chains).into_iter().enumerate() {
        let standing = around.at(at);
        let read = |dpt: &Dpt| codec::decode(dpt, &payload).ok().map(|value| value_from_bus(dpt, &value));
        let Some(old) = read(types.old) else { continue };
        let new = if by_telegram { read(types.new).unwrap_or(Value::Null) } else { old.clone() };
        let [before, after] = chains;
        let before = before.run(&old, &standing).unwrap_or(Value::Null);
        let after = after.run(&new, &standing).unwrap_or(Value::Null);
        examples.push(Example { input: old, before, after });
    }
    Some(examples)
}

/// The different telegrams that what is asked for can become, everything around standing as it is.
pub(super) fn telegrams(end: End, dpt: &Dpt, chain: &Chain) -> Vec<Payload> {
    let standing = Around::of([chain, chain]).at(0);
    let mut telegrams = Vec::new();
    for input in inputs(end, [chain, chain]) {
        let result = chain.run(&input, &standing).unwrap_or(Value::Null);
        if let Some(payload) = sent(dpt, &result).filter(|payload| !telegrams.contains(payload)) {
            telegrams.push(payload);
        }
    }
    telegrams
}

/// The telegram of a value; none where nothing is sent.
fn sent(dpt: &Dpt, value: &Value) -> Option<Payload> {
    let value = value_to_bus(dpt, value).ok().flatten()?;
    codec::encode(dpt, &value).ok()
}

/// What can be asked for: the values of an attribute that is written, or the fields of a command.
fn inputs(end: End, chains: [&Chain; 2]) -> Vec<Value> {
    let facts = matter::cluster(end.0);
    match facts.and_then(|cluster| Some((cluster, cluster.attribute(end.1)?))) {
        Some((cluster, attribute)) => of_attribute(cluster, attribute, chains),
        None => of_command(end, chains),
    }
}
