//! Appliances and ledger in, identities and next ledger out.

use super::entries::{Ledger, Parts};
use super::identity::{DeviceTypes, EndpointNumber, Identity, UniqueId};
use crate::pieces;
use rayon::prelude::*;
use rustc_hash::{FxBuildHasher, FxHashMap, FxHashSet};
use std::collections::VecDeque;
use std::ops::Range;
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

impl Applicant<'_> {
    /// Whether an identity is one that this part of it can have.
    fn fits(&self, part: &Part<'_>, identity: &Identity) -> bool {
        *identity.bridge == *self.bridge && identity.device_types == part.device_types
    }
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

impl Given {
    fn of(identity: &Identity) -> Self {
        Self { number: identity.number, unique_id: identity.unique_id }
    }
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
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the bridge `{bridge}` has given all its endpoint numbers")]
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
/// may stand in the description for ever). Also then it does so where nobody has the old key, and only what that has
/// fits: one branch renamed the appliance, and the other one gave it another class or bridge.
///
/// A line that comes only after the build that retired the old key does nothing: whether what was retired under a key
/// years ago is still meant by it cannot be known. Then [`Ledger::rename`] is what a person can do.
///
/// The ledger must be without problems and of this house.
///
/// # Errors
///
/// [`Exhausted`] if a bridge would need a number above 65534.
pub fn allocate(ledger: &Ledger, applicants: &[Applicant<'_>]) -> Result<Allocation, Exhausted> {
    let order = by_keys(applicants);
    let claims = Claims::settle(ledger, applicants, &order);
    let mut next = Ledger { retired: ledger.retired.clone(), ..Ledger::new(ledger.house.as_str()) };
    for (key, parts) in &ledger.living {
        if !claims.taken.contains(key.as_str()) {
            for (part, identity) in parts {
                next.retire(key, part.clone(), identity.clone());
            }
        }
    }
    let mut seats = Seats::taken(ledger, applicants, &claims);
    let mut office = Office::of(ledger, seats.all.len());
    for &position in &order {
        let Some(applicant) = applicants.get(position) else { continue };
        for (part, seat) in applicant.parts.iter().zip(seats.of_mut(position)) {
            if seat.kept.is_none() {
                office.give(applicant, part, &mut seat.given)?;
            }
        }
    }
    for &position in &order {
        let Some(applicant) = applicants.get(position).filter(|applicant| !applicant.parts.is_empty()) else {
            continue;
        };
        let left = claims.had(ledger, position).iter().zip(0u32..);
        for ((part, identity), _) in
            left.filter(|(_, at)| seats.of(position).iter().all(|seat| seat.kept != Some(*at)))
        {
            next.retire(applicant.key, part.clone(), identity.clone());
        }
    }
    let living = pieces::some(order.len(), pieces::LIGHT, |at| {
        let &position = order.get(at)?;
        let applicant = applicants.get(position)?;
        let had = claims.had(ledger, position);
        Some((applicant.key.to_owned(), office.parts(applicant, had, seats.of(position))))
    });
    // In the order of keys: a tree is made of it at once.
    next.living = living.into_iter().collect();
    next.sort();
    let given = seats.all.iter().map(|seat| seat.given).collect();
    Ok(Allocation { next, given, starts: seats.starts })
}

/// The positions of applicants in the order of their keys.
fn by_keys(applicants: &[Applicant<'_>]) -> Vec<usize> {
    // Most keys differ within their first bytes, which are at hand as a number.
    let begin = |key: &str| {
        let mut bytes = [0; 16];
        bytes.iter_mut().zip(key.bytes()).for_each(|(to, from)| *to = from);
        u128::from_be_bytes(bytes)
    };
    let keyed = applicants.iter().enumerate();
    let mut order: Vec<(u128, &str, usize)> =
        keyed.map(|(position, applicant)| (begin(applicant.key), applicant.key, position)).collect();
    order.par_sort_unstable();
    order.into_iter().map(|(.., position)| position).collect()
}

/// What a part is given, and where what it keeps stands among what its applicant had.
#[derive(Clone, Copy, Debug)]
struct Seat {
    given: Given,
    kept: Option<u32>,
}

/// The seats of all parts, applicant by applicant.
struct Seats {
    /// Where those of each applicant begin.
    starts: Vec<usize>,
    all: Vec<Seat>,
}

impl Seats {
    /// With what is kept, and else with the unique ids of the first generation, which may have been given before.
    fn taken(ledger: &Ledger, applicants: &[Applicant<'_>], claims: &Claims<'_>) -> Self {
        let mut count = 0;
        let starts = applicants.iter().map(|applicant| {
            let start = count;
            count += applicant.parts.len();
            start
        });
        let starts: Vec<usize> = starts.collect();
        let add = |position: usize, seats: &mut Vec<Seat>| {
            let Some(applicant) = applicants.get(position) else { return };
            let had = claims.had(ledger, position);
            let kept = keep(applicant, had);
            let seat = |(part, kept): (&Part<'_>, Option<usize>)| {
                let identity = kept.and_then(|at| had.get(at)).map(|(_, identity)| identity);
                let first = || Given {
                    number: EndpointNumber::FIRST,
                    unique_id: UniqueId::derive(&ledger.house, applicant.key, part.name, 0),
                };
                let kept = identity.and(kept).and_then(|at| u32::try_from(at).ok());
                Seat { given: identity.map_or_else(first, Given::of), kept }
            };
            seats.extend(applicant.parts.iter().zip(kept).map(seat));
        };
        let all = pieces::flat(applicants.len(), pieces::LIGHT, |range, seats| {
            range.for_each(|position| add(position, seats));
        });
        Self { starts, all }
    }

    fn range(&self, position: usize) -> Range<usize> {
        let end = self.starts.get(position + 1).copied().unwrap_or(self.all.len());
        self.starts.get(position).map_or(0..0, |start| *start..end)
    }

    fn of(&self, position: usize) -> &[Seat] {
        self.all.get(self.range(position)).unwrap_or_default()
    }

    fn of_mut(&mut self, position: usize) -> &mut [Seat] {
        let range = self.range(position);
        self.all.get_mut(range).unwrap_or_default()
    }
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
        let renamed = |position: &&usize| {
            let applicant = applicants.get(**position);
            applicant.is_some_and(|applicant| applicant.formerly.is_some_and(lives))
        };
        let renamed: Vec<usize> = order.iter().filter(renamed).copied().collect();
        let mut bearers: FxHashMap<&str, usize> = FxHashMap::default();
        if !renamed.is_empty() {
            bearers = applicants.iter().enumerate().map(|(position, it)| (it.key, position)).collect();
        }
        let takes_over = |position: &usize| {
            let Some(applicant) = applicants.get(*position) else { return false };
            let fits = |it: &Identity| applicant.parts.iter().any(|part| applicant.fits(part, it));
            let is_rather =
                |old: &str| !bearers.contains_key(old) && ledger.fits_rather(old, applicant.key, fits);
            !lives(applicant.key) || applicant.formerly.is_some_and(is_rather)
        };
        let mut waiting: VecDeque<usize> = renamed.into_iter().filter(takes_over).collect();
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

    /// What the ledger has for an applicant.
    fn had<'l>(&self, ledger: &'l Ledger, position: usize) -> &'l [(String, Identity)] {
        let source = self.source.get(position).copied().flatten();
        source.and_then(|key| ledger.living.get(key)).map(Vec::as_slice).unwrap_or_default()
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
    highest: FxHashMap<Arc<str>, EndpointNumber>,
    /// Every unique id that was ever given; made when the first fresh one is needed.
    seen: Option<FxHashSet<UniqueId>>,
    /// How many parts there are.
    parts: usize,
}

impl<'a> Office<'a> {
    fn of(last: &'a Ledger, parts: usize) -> Self {
        Self { last, highest: last.highest().into_iter().collect(), seen: None, parts }
    }

    /// The next number of the bridge, and a unique id that nothing ever had: the one that is given already, or another.
    fn give(
        &mut self,
        applicant: &Applicant<'_>,
        part: &Part<'_>,
        given: &mut Given,
    ) -> Result<(), Exhausted> {
        let exhausted = || Exhausted { bridge: applicant.bridge.to_owned() };
        match self.highest.get_mut(applicant.bridge) {
            Some(highest) => {
                *highest = highest.next().ok_or_else(exhausted)?;
                given.number = *highest;
            }
            None => {
                given.number = EndpointNumber::FIRST;
                self.highest.insert(Arc::from(applicant.bridge), given.number);
            }
        }
        let (last, parts) = (self.last, self.parts);
        let seen = self.seen.get_or_insert_with(|| {
            let mut seen = FxHashSet::with_capacity_and_hasher(parts, FxBuildHasher);
            seen.extend(last.living().chain(last.retired()).map(|(_, _, identity)| identity.unique_id));
            seen
        });
        let mut generation = 0;
        while !seen.insert(given.unique_id) {
            generation += 1;
            given.unique_id = UniqueId::derive(&last.house, applicant.key, part.name, generation);
        }
        Ok(())
    }

    /// What the next ledger has for an applicant. Also a key without anything is known from now on, so that its `formerly`
    /// is done with.
    fn parts(&self, applicant: &Applicant<'_>, had: &[(String, Identity)], seats: &[Seat]) -> Parts {
        if applicant.parts.is_empty() {
            return had.to_vec();
        }
        let bridge = self.highest.get_key_value(applicant.bridge).map(|(bridge, _)| bridge);
        let identity = |part: &Part<'_>, seat: &Seat| match seat.kept.and_then(|at| had.get(at as usize)) {
            Some((_, identity)) => identity.clone(),
            None => Identity {
                bridge: bridge.map_or_else(|| Arc::from(applicant.bridge), Arc::clone),
                number: seat.given.number,
                device_types: part.device_types.clone(),
                unique_id: seat.given.unique_id,
            },
        };
        let parts = applicant.parts.iter().zip(seats);
        parts.map(|(part, seat)| (part.name.to_owned(), identity(part, seat))).collect()
    }
}

/// For each part of an applicant the position of what it keeps: by its name, or else by being the same kind of device.
fn keep(applicant: &Applicant<'_>, had: &[(String, Identity)]) -> Vec<Option<usize>> {
    let fits = |part: &Part<'_>, identity: &Identity| applicant.fits(part, identity);
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
