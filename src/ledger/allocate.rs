//! Appliances and ledger in, identities and next ledger out.

use super::entries::{Ledger, Parts};
use super::identity::{DeviceTypes, EndpointNumber, Identity, UniqueId};
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::{BTreeMap, VecDeque};
use std::sync::Arc;

/// An appliance that asks for its identities.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Applicant<'a> {
    /// Its key; no other applicant has it.
    pub key: &'a str,
    /// Key of the bridge that carries it.
    pub bridge: &'a str,
    /// The key that it had before.
    pub formerly: Option<&'a str>,
    /// Its parts, main part first. Empty for an appliance that is described but not shown to controllers: it
    /// keeps what it has, for the day on which it is shown again, and gets nothing new.
    pub parts: Vec<Part<'a>>,
}

/// A part of an appliance: what becomes one endpoint.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Part<'a> {
    /// Its name in the device class.
    pub name: &'a str,
    /// What kind of device it is. Another kind gets another identity, since controllers do not expect an endpoint
    /// to change what it is.
    pub device_types: DeviceTypes,
}

/// What a part was given: a number on the appliance's bridge, and a unique id.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Given {
    /// The endpoint number.
    pub number: EndpointNumber,
    /// The unique id.
    pub unique_id: UniqueId,
}

/// The identities of a list of appliances, and the ledger that remembers them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Allocation {
    /// The next ledger; equal to the last one when nothing was given or taken.
    pub next: Ledger,
    given: Vec<Given>,
    starts: Vec<usize>,
}

impl Allocation {
    /// What the parts of the applicant at `position` of the list were given, in the order of its parts.
    pub fn of(&self, position: usize) -> &[Given] {
        let end = self.starts.get(position + 1).copied().unwrap_or(self.given.len());
        self.starts.get(position).and_then(|start| self.given.get(*start..end)).unwrap_or_default()
    }
}

/// A bridge has given all its numbers; none is ever given twice, so appliances must go to another bridge.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Exhausted {
    /// Key of the bridge.
    pub bridge: String,
}

/// Gives each appliance its identities.
///
/// An appliance that the ledger knows keeps what it has, part by part, if bridge and device types are the same;
/// a part that changed only its name keeps it too. Anything else gets the next number of its bridge and a fresh
/// unique id, in the order of keys. What is left over is retired.
///
/// `formerly` takes over what the old key has, unless the appliance's own key is known already (so that the line
/// may stand in the description for ever). A line that comes only after the build that retired the old key does
/// nothing: whether what was retired under a key years ago is still meant by it cannot be known. Then
/// [`Ledger::rename`] is what a person can do.
///
/// The ledger must be without problems and of this house.
///
/// # Errors
///
/// [`Exhausted`] if a bridge would need a number above 65534.
pub fn allocate(ledger: &Ledger, applicants: &[Applicant<'_>]) -> Result<Allocation, Exhausted> {
    let order = by_keys(applicants);
    let claims = Claims::settle(ledger, applicants, &order);
    let mut office = Office {
        last: ledger,
        next: Ledger { retired: ledger.retired.clone(), ..Ledger::new(ledger.house.as_str()) },
        living: Vec::with_capacity(applicants.len()),
        highest: ledger.highest(),
        seen: None,
    };
    for (key, parts) in &ledger.living {
        if !claims.taken.contains(key.as_str()) {
            for (part, identity) in parts {
                office.next.retire(key, part.clone(), identity.clone());
            }
        }
    }
    let first_ids = first_ids(ledger, applicants, &claims);
    let mut identities: Vec<Vec<Given>> = vec![Vec::new(); applicants.len()];
    for position in order {
        if let (Some(applicant), Some(slot)) = (applicants.get(position), identities.get_mut(position)) {
            let source = claims.source.get(position).copied().flatten();
            let ids = first_ids.get(position).map_or(&[][..], Vec::as_slice);
            *slot = office.serve(applicant, source, ids)?;
        }
    }
    // In the order of keys: a tree is made of it at once.
    office.next.living = office.living.into_iter().collect();
    office.next.sort();
    let mut given = Vec::with_capacity(applicants.len());
    let mut starts = Vec::with_capacity(applicants.len());
    for parts in identities {
        starts.push(given.len());
        given.extend(parts);
    }
    Ok(Allocation { next: office.next, given, starts })
}

/// The positions of applicants in the order of their keys.
fn by_keys(applicants: &[Applicant<'_>]) -> Vec<usize> {
    // Most keys differ within their first bytes, which are at hand as a number.
    let begin = |key: &str| {
        let mut bytes = [0; 16];
        bytes.iter_mut().zip(key.bytes()).for_each(|(to, from)| *to = from);
        u128::from_be_bytes(bytes)
    };
    let keyed = applicants.par_iter().enumerate();
    let mut order: Vec<(u128, &str, usize)> =
        keyed.map(|(position, applicant)| (begin(applicant.key), applicant.key, position)).collect();
    order.par_sort_unstable();
    order.into_iter().map(|(.., position)| position).collect()
}

/// The unique ids of the first generation for the parts of each applicant of whom the ledger knows nothing.
fn first_ids(ledger: &Ledger, applicants: &[Applicant<'_>], claims: &Claims<'_>) -> Vec<Vec<UniqueId>> {
    let ids = |(applicant, source): (&Applicant<'_>, &Option<&str>)| {
        let parts = applicant.parts.iter().filter(|_| source.is_none());
        parts.map(|part| UniqueId::derive(&ledger.house, applicant.key, part.name, 0)).collect()
    };
    applicants.par_iter().zip(&claims.source).map(ids).collect()
}

/// Which applicant takes over which key of the ledger.
struct Claims<'a> {
    /// For each applicant the key of the ledger whose identities it has.
    source: Vec<Option<&'a str>>,
    /// The keys that somebody has.
    taken: FxHashSet<&'a str>,
}

impl<'a> Claims<'a> {
    /// Old keys go first: who takes one displaces the applicant that bears it now, which may have an old key itself.
    fn settle(ledger: &Ledger, applicants: &[Applicant<'a>], order: &[usize]) -> Self {
        let lives = |key: &str| ledger.living.contains_key(key);
        let mut claims = Self { source: vec![None; applicants.len()], taken: FxHashSet::default() };
        let mut waiting: VecDeque<usize> = VecDeque::new();
        for position in order {
            if let Some(applicant) = applicants.get(*position)
                && applicant.formerly.is_some_and(lives)
                && !lives(applicant.key)
            {
                waiting.push_back(*position);
            }
        }
        let mut bearers: FxHashMap<&str, usize> = FxHashMap::default();
        if !waiting.is_empty() {
            bearers = applicants.iter().enumerate().map(|(position, it)| (it.key, position)).collect();
        }
        while let Some(position) = waiting.pop_front() {
            let old = applicants.get(position).and_then(|applicant| applicant.formerly);
            if let Some(old) = old.filter(|old| lives(old))
                && claims.taken.insert(old)
            {
                claims.give(position, old);
                waiting.extend(bearers.get(old));
            }
        }
        for (position, applicant) in applicants.iter().enumerate() {
            let free = claims.source.get(position).is_some_and(Option::is_none);
            if free && lives(applicant.key) && claims.taken.insert(applicant.key) {
                claims.give(position, applicant.key);
            }
        }
        claims
    }

    fn give(&mut self, position: usize, key: &'a str) {
        if let Some(source) = self.source.get_mut(position) {
            *source = Some(key);
        }
    }
}

/// Where numbers and unique ids are given out.
struct Office<'a> {
    last: &'a Ledger,
    next: Ledger,
    /// What lives in the next ledger, by keys, which come in order.
    living: Vec<(String, Parts)>,
    highest: BTreeMap<Arc<str>, EndpointNumber>,
    /// Every unique id that was ever given; made when the first fresh one is needed.
    seen: Option<FxHashSet<UniqueId>>,
}

impl Office<'_> {
    fn serve(
        &mut self,
        applicant: &Applicant<'_>,
        source: Option<&str>,
        first_ids: &[UniqueId],
    ) -> Result<Vec<Given>, Exhausted> {
        let last = self.last;
        let had = source.and_then(|key| last.living.get(key)).map(Vec::as_slice).unwrap_or_default();
        if applicant.parts.is_empty() {
            // Also a key without anything is known from now on, so that its `formerly` is done with.
            self.living.push((applicant.key.to_owned(), had.to_vec()));
            return Ok(Vec::new());
        }
        let kept = keep(applicant, had);
        let mut parts = Vec::with_capacity(applicant.parts.len());
        for (index, (part, kept)) in applicant.parts.iter().zip(&kept).enumerate() {
            let identity = match kept.and_then(|position| had.get(position)) {
                Some((_, identity)) => identity.clone(),
                None => self.fresh(applicant, part, first_ids.get(index).copied())?,
            };
            parts.push((part.name.to_owned(), identity));
        }
        let given = |(_, identity): &(String, Identity)| Given {
            number: identity.number,
            unique_id: identity.unique_id,
        };
        let given = parts.iter().map(given).collect();
        self.living.push((applicant.key.to_owned(), parts));
        for (position, (part, identity)) in had.iter().enumerate() {
            if !kept.contains(&Some(position)) {
                self.next.retire(applicant.key, part.clone(), identity.clone());
            }
        }
        Ok(given)
    }

    /// A new identity. `first_id` is the unique id of the first generation, where it is known.
    fn fresh(
        &mut self,
        applicant: &Applicant<'_>,
        part: &Part<'_>,
        first_id: Option<UniqueId>,
    ) -> Result<Identity, Exhausted> {
        let exhausted = || Exhausted { bridge: applicant.bridge.to_owned() };
        let (bridge, number) = match self.highest.get_key_value(applicant.bridge) {
            Some((bridge, highest)) => (Arc::clone(bridge), highest.next().ok_or_else(exhausted)?),
            None => (Arc::from(applicant.bridge), EndpointNumber::FIRST),
        };
        self.highest.insert(Arc::clone(&bridge), number);
        let last = self.last;
        let seen = self.seen.get_or_insert_with(|| {
            last.living().chain(last.retired()).map(|(_, _, identity)| identity.unique_id).collect()
        });
        let derive = |generation| UniqueId::derive(&last.house, applicant.key, part.name, generation);
        let mut generation = 0;
        let mut unique_id = first_id.unwrap_or_else(|| derive(generation));
        while !seen.insert(unique_id) {
            generation += 1;
            unique_id = derive(generation);
        }
        Ok(Identity { bridge, number, device_types: part.device_types.clone(), unique_id })
    }
}

/// For each part of an applicant the position of what it keeps: by its name, or else by being the same kind of device.
fn keep(applicant: &Applicant<'_>, had: &[(String, Identity)]) -> Vec<Option<usize>> {
    let fits = |part: &Part<'_>, identity: &Identity| {
        *identity.bridge == *applicant.bridge && identity.device_types == part.device_types
    };
    let mut kept: Vec<Option<usize>> = applicant
        .parts
        .iter()
        .map(|part| had.iter().position(|(name, identity)| name == part.name && fits(part, identity)))
        .collect();
    for (slot, part) in applicant.parts.iter().enumerate() {
        if kept.get(slot).is_some_and(Option::is_none) {
            let found = had.iter().enumerate().find(|(position, (name, identity))| {
                !kept.contains(&Some(*position))
                    && !applicant.parts.iter().any(|other| other.name == name)
                    && fits(part, identity)
            });
            if let (Some((position, _)), Some(place)) = (found, kept.get_mut(slot)) {
                *place = Some(position);
            }
        }
    }
    kept
}
