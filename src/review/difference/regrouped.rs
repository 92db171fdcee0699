//! Endpoints that differ in their group addresses only: what was found of the first of some that are alike is said of all,
//! each with its own addresses.
//!
//! What is found depends on which addresses are the same ones, and on nothing else of them. Where one address is written in
//! two ways that is not seen here, and each endpoint is looked at by itself.

use super::{LinkField, What, Wire};
use crate::review::address::{Address, address};
use crate::review::change::Kind;
use crate::review::outline::{Cast, Outline};
use rustc_hash::FxHashMap;
use serde_json::json;
use std::cell::RefCell;

/// So many of them are kept in mind by a thread.
const KEPT: usize = 1024;
/// Endpoints with more addresses than this are looked at by themselves.
const MOST: usize = 48;

/// Endpoints that are alike, and which of their addresses are the same ones: for each link, before and after, the place of
/// its address in the list of all.
type Key = (Cast, Vec<u8>);

/// What was found of the first: all its addresses, and the differences.
struct First {
    groups: Vec<String>,
    differences: Vec<(Kind, What)>,
}

thread_local! {
    static KNOWN: RefCell<FxHashMap<Key, First>> = RefCell::new(FxHashMap::default());
}

/// The differences of two endpoints inside which only group addresses differ; none where more does. `find` finds them.
pub(super) fn differences(
    old: &Outline,
    new: &Outline,
    find: impl FnOnce() -> Vec<(Kind, What)>,
) -> Option<Vec<(Kind, What)>> {
    let (cast, [before, after]) = old.cast_with(new)?;
    let (groups, places) = places(&before, &after)?;
    let key = (cast, places);
    let known = KNOWN.with(|known| Some(told(known.borrow().get(&key)?, &groups)));
    if known.is_some() {
        return known;
    }
    let found = find();
    if found.iter().all(|(_, what)| matches!(what, What::LinkField { .. } | What::LinkOrder { .. })) {
        let groups = groups.into_iter().map(str::to_owned).collect();
        KNOWN.with(|known| {
            let mut known = known.borrow_mut();
            if known.len() >= KEPT {
                known.clear();
            }
            known.insert(key, First { groups, differences: found.clone() });
        });
    }
    Some(found)
}

/// All addresses, and for each link the place of its own. None where two of them are one written in two ways.
fn places<'a>(before: &[&'a str], after: &[&'a str]) -> Option<(Vec<&'a str>, Vec<u8>)> {
    let mut groups: Vec<&str> = Vec::new();
    let mut there: Vec<Address> = Vec::new();
    let mut places = Vec::with_capacity(before.len() + after.len());
    for group in before.iter().chain(after) {
        let known = groups.iter().position(|one| one == group);
        let place = match known {
            Some(place) => place,
            None => {
                let address = address(group);
                if groups.len() >= MOST || there.contains(&address) {
                    return None;
                }
                groups.push(group);
                there.push(address);
                groups.len() - 1
            }
        };
        places.push(u8::try_from(place).ok()?);
    }
    Some((groups, places))
}

/// What was found of the first, with these addresses in the place of its own.
fn told(first: &First, groups: &[&str]) -> Vec<(Kind, What)> {
    let put = |theirs: &str| {
        let place = first.groups.iter().position(|one| one == theirs);
        place.and_then(|place| groups.get(place)).map_or(theirs, |group| *group).to_owned()
    };
    let with = |what: &What| match what {
        What::LinkField { index, wire, field, before, after } => {
            let wire = Wire { group: put(&wire.group), ..wire.clone() };
            let own = |value: &serde_json::Value| match value.as_str().filter(|_| *field == LinkField::Group)
            {
                Some(group) => json!(put(group)),
                None => value.clone(),
            };
            What::LinkField { index: *index, wire, field: *field, before: own(before), after: own(after) }
        }
        other => other.clone(),
    };
    first.differences.iter().map(|(kind, what)| (*kind, with(what))).collect()
}
