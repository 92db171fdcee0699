//! Reads both sides of a review at once, and keeps of either only what can differ.

use super::build::{Bridge, Build, BuildFile, Fault, Size, Unread, numbers_once};
use super::outline::{Alike, Outline, Outside, Twins};
use super::read::{ReadError, Sheet};
use crate::sort;
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};
use serde::Deserialize;
use std::borrow::Cow;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Endpoints that are read one after another, so that what they have in common is read once.
const RUN: usize = 128;

/// Reads both builds of a review, side by side and faster than each by itself. What has the same text in both cannot
/// have changed: such an endpoint is left out of both sides, and of one that differs in its names only, the clusters
/// and links are left out. A file is given up once it was compared with the one of its name on the other side.
///
/// The review of the two is the review of the whole builds; [`Build::size`] counts what was left out.
pub fn read_both<'a>(old: Vec<BuildFile<'a>>, new: Vec<BuildFile<'a>>) -> (Build, Build) {
    let pairs = partners(old, new);
    let read: Vec<_> = pairs.into_par_iter().map(|(old, new)| read_pair(old, new)).collect();
    let (mut before, mut after) = (Vec::new(), Vec::new());
    for (old, new) in read {
        before.extend(old);
        after.extend(new);
    }
    (gathered(before), gathered(after))
}

/// A file with its position on its side.
type Placed<'a> = (usize, BuildFile<'a>);

/// Each file with the one that is probably of the same bridge: that of its name, else one that is left.
fn partners<'a>(
    old: Vec<BuildFile<'a>>,
    new: Vec<BuildFile<'a>>,
) -> Vec<(Option<Placed<'a>>, Option<Placed<'a>>)> {
    let mut by_name: FxHashMap<String, usize> = FxHashMap::default();
    for (at, file) in new.iter().enumerate() {
        by_name.entry(file.name.clone()).or_insert(at);
    }
    let mut new: Vec<Option<Placed>> = new.into_iter().enumerate().map(Some).collect();
    let mut pairs = Vec::with_capacity(old.len());
    for file in old.into_iter().enumerate() {
        let partner = by_name.remove(&file.1.name).and_then(|at| new.get_mut(at)?.take());
        pairs.push((Some(file), partner));
    }
    let mut left = new.into_iter().flatten();
    for (_, partner) in pairs.iter_mut().filter(|(_, partner)| partner.is_none()) {
        *partner = left.next();
    }
    pairs.extend(left.map(|file| (None, Some(file))));
    pairs
}

/// What was read of a file: its position, its name, and the bridge.
type Read = (usize, String, Result<Bridge, Fault>);

fn gathered(mut read: Vec<Read>) -> Build {
    sort::by_key(&mut read, |(at, ..)| *at);
    Build::gathered(read.into_iter().map(|(_, name, bridge)| (name, bridge)))
}

/// A file with its bytes.
struct Held {
    at: usize,
    name: String,
    bytes: Result<Vec<u8>, Unread>,
}

impl Held {
    fn of((at, file): Placed) -> Self {
        Self { at, name: file.name, bytes: (file.read)() }
    }

    fn sheet(&self) -> Result<Sheet<'_>, Fault> {
        match &self.bytes {
            Ok(bytes) => Ok(Sheet::read(bytes)?),
            Err(unread) => Err(Fault::Unread(unread.clone())),
        }
    }
}

fn read_pair(old: Option<Placed>, new: Option<Placed>) -> (Option<Read>, Option<Read>) {
    let (old, new) = rayon::join(|| old.map(Held::of), || new.map(Held::of));
    let (before, after) = match (old.as_ref().map(Held::sheet), new.as_ref().map(Held::sheet)) {
        (Some(Ok(old)), Some(Ok(new))) if old.head.bridge.key == new.head.bridge.key => {
            let (before, after) = pair(&old, &new);
            (Some(before.map_err(Fault::Read)), Some(after.map_err(Fault::Read)))
        }
        (old, new) => {
            let alone = |sheet: Result<Sheet, Fault>| Ok(sheet?.bridge()?);
            rayon::join(|| old.map(alone), || new.map(alone))
        }
    };
    let read =
        |held: Option<Held>, bridge| held.zip(bridge).map(|(held, bridge)| (held.at, held.name, bridge));
    (read(old, before), read(new, after))
}

impl Sheet<'_> {
    /// The whole bridge, compared with nothing.
    pub(super) fn bridge(&self) -> Result<Bridge, ReadError> {
        let all: Vec<usize> = (0..self.endpoints.len()).collect();
        let outlines = outlines(self, read_all(self, &all)?, &FxHashSet::default(), &Twins::default())?;
        finish(self, outlines, &[])
    }
}

/// What is looked at of an endpoint whose text is the same on both sides.
#[derive(Deserialize)]
#[serde(rename = "Endpoint")]
struct Name<'a> {
    number: u16,
    #[serde(borrow)]
    key: Cow<'a, str>,
}

/// A bridge that both sides have.
fn pair(old: &Sheet, new: &Sheet) -> (Result<Bridge, ReadError>, Result<Bridge, ReadError>) {
    let (old_same, new_same): (Vec<usize>, Vec<usize>) = same_texts(old, new).into_iter().unzip();
    let names = match read_all::<Name>(old, &old_same) {
        Ok(names) => names,
        Err(error) => return (Err(error.clone()), Err(error)),
    };
    let left = |sheet: &Sheet, same: Vec<usize>| -> Vec<usize> {
        let mut same = same.into_iter().peekable();
        (0..sheet.endpoints.len()).filter(|at| same.next_if_eq(at).is_none()).collect()
    };
    let (old_left, new_left) = (left(old, old_same), left(new, new_same));
    let (before, after) =
        rayon::join(|| read_all::<Outside>(old, &old_left), || read_all::<Outside>(new, &new_left));
    let shells = match (&before, &after) {
        (Ok(before), Ok(after)) => shells(before, after),
        _ => FxHashSet::default(),
    };
    let before = before.and_then(|before| outlines(old, before, &shells, &Twins::default()));
    let after = {
        let twins = before.as_ref().map_or_else(|_| Twins::default(), |before| Twins::of(before));
        after.and_then(|after| outlines(new, after, &shells, &twins))
    };
    (
        before.and_then(|before| finish(old, before, &names)),
        after.and_then(|after| finish(new, after, &names)),
    )
}

/// Endpoints at these positions, or what of them the type asks for. Of several faults the first is told.
fn read_all<'a, T: Deserialize<'a> + Send>(
    sheet: &Sheet<'a>,
    positions: &[usize],
) -> Result<Vec<T>, ReadError> {
    let first = First::default();
    let texts = positions.par_iter().enumerate();
    let texts = texts.filter_map(|(nth, at)| Some((nth, sheet.endpoints.get(*at)?)));
    let read: Vec<Result<T, ReadError>> =
        texts.filter_map(|(nth, text)| first.of(nth, || sheet.part(text))).collect();
    read.into_iter().collect()
}

/// The first of some things that cannot be read, as far as is known. To say why one cannot, the whole file is looked through;
/// in a file of another version none can, and why the first one cannot is what is told.
struct First(AtomicUsize);

impl Default for First {
    fn default() -> Self {
        Self(AtomicUsize::new(usize::MAX))
    }
}

impl First {
    /// What is read, unless a thing before it could not be.
    fn of<T>(&self, nth: usize, read: impl FnOnce() -> Result<T, ReadError>) -> Option<Result<T, ReadError>> {
        if nth > self.0.load(Ordering::Relaxed) {
            return None;
        }
        let read = read();
        if read.is_err() {
            self.0.fetch_min(nth, Ordering::Relaxed);
        }
        Some(read)
    }
}

/// The positions of endpoints whose text is the same on both sides, ascending on either. It may miss some.
fn same_texts(old: &Sheet, new: &Sheet) -> Vec<(usize, usize)> {
    let (mut before, mut after) = (0, 0);
    let mut same = Vec::new();
    while let (Some(left), Some(right)) = (old.endpoints.get(before), new.endpoints.get(after)) {
        if left == right {
            same.push((before, after));
        }
        let (first, second) = (leading_number(left), leading_number(right));
        let numbered = first.is_some() && second.is_some();
        before += usize::from(!numbered || first <= second);
        after += usize::from(!numbered || second <= first);
    }
    same
}

/// The number of an endpoint that begins with it, as a build writes it.
fn leading_number(raw: &str) -> Option<u32> {
    let digits = raw.strip_prefix("{\"number\":")?;
    let end = digits.bytes().position(|byte| !byte.is_ascii_digit())?;
    digits.get(..end)?.parse().ok()
}

/// The numbers of endpoints that differ in their outside only.
fn shells(before: &[Outside], after: &[Outside]) -> FxHashSet<u16> {
    let by_number: FxHashMap<u16, &Outside> = before.iter().map(|one| (one.number, one)).collect();
    let same = |one: &&Outside| by_number.get(&one.number).is_some_and(|other| one.same_inside(other));
    after.iter().filter(same).map(|one| one.number).collect()
}

/// The endpoints, those that may differ inside with their inside.
fn outlines<'a>(
    sheet: &Sheet<'a>,
    outsides: Vec<Outside<'a>>,
    shells: &FxHashSet<u16>,
    twins: &Twins,
) -> Result<Vec<Arc<Outline>>, ReadError> {
    let first = First::default();
    let read = |alike: &mut Alike<'a>, outside: Outside<'a>| match shells.contains(&outside.number) {
        true => Ok(Arc::new(outside.shell())),
        false => Ok(Arc::new(outside.outline(sheet, twins, alike)?)),
    };
    let runs = outsides.into_par_iter().enumerate().with_min_len(RUN);
    let runs = runs.map_init(Alike::default, |alike, (nth, outside)| first.of(nth, || read(alike, outside)));
    let read: Vec<Option<Result<_, ReadError>>> = runs.collect();
    read.into_iter().flatten().collect()
}

/// The bridge with these endpoints, and the size of the whole with those that were only named.
fn finish(sheet: &Sheet, endpoints: Vec<Arc<Outline>>, names: &[Name]) -> Result<Bridge, ReadError> {
    let read = endpoints.iter().map(|one| (one.number, one.key.as_str()));
    let all: Vec<(u16, &str)> = read.chain(names.iter().map(|one| (one.number, one.key.as_ref()))).collect();
    numbers_once(all.iter().map(|(number, _)| *number))?;
    let appliances = all.iter().filter(|(_, key)| !key.contains('/')).count();
    let size = Size { bridges: 1, appliances, endpoints: all.len() };
    Ok(Bridge { head: sheet.head.clone(), endpoints, size })
}
