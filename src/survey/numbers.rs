//! Things as numbers, and lists by number: what counting goes over quickly.

use super::wires::narrow;
use crate::pieces;
use indexmap::IndexSet;
use rustc_hash::FxBuildHasher;
use std::borrow::Borrow;
use std::hash::Hash;
use std::ops::Range;

/// So many parts of a house are counted each for itself, where a count is as large as the house.
pub(super) const PARTS: usize = 8;

/// Lists that are made as one piece.
const PIECE: usize = 4096;

/// Numbers for things, in the order in which they come; a thing that comes again has the number it had.
#[derive(Debug)]
pub(super) struct Numbered<T>(IndexSet<T, FxBuildHasher>);

impl<T> Default for Numbered<T> {
    fn default() -> Self {
        Self(IndexSet::default())
    }
}

impl<T: Eq + Hash> Numbered<T> {
    /// The number of a thing, whether it came before or comes now.
    pub(super) fn number<Q>(&mut self, thing: &Q) -> u32
    where
        T: Borrow<Q>,
        Q: Eq + Hash + ToOwned<Owned = T> + ?Sized,
    {
        if let Some(known) = self.known(thing) {
            return known;
        }
        narrow(self.0.insert_full(thing.to_owned()).0)
    }

    /// The number of a thing, if it came before.
    pub(super) fn known<Q: Eq + Hash + ?Sized>(&self, thing: &Q) -> Option<u32>
    where
        T: Borrow<Q>,
    {
        self.0.get_index_of(thing).map(narrow)
    }

    /// Numbers what others have numbered by themselves, one after the other: the same numbers as if all had come here. Gives
    /// each of them its things' numbers here, by those there.
    pub(super) fn take_in(&mut self, others: Vec<Self>) -> Vec<Vec<u32>> {
        // As many as the largest has are surely here then.
        self.0.reserve(others.iter().map(|other| other.0.len()).max().unwrap_or(0));
        let mut number = |thing| narrow(self.0.insert_full(thing).0);
        let numbers = |other: Self| other.0.into_iter().map(&mut number).collect();
        others.into_iter().map(numbers).collect()
    }

    /// The thing of a number.
    pub(super) fn thing(&self, number: u32) -> Option<&T> {
        self.0.get_index(number as usize)
    }

    /// Every thing, in the order of the numbers.
    pub(super) fn all(&self) -> impl ExactSizeIterator<Item = &T> {
        self.0.iter()
    }
}

/// A list for each number, one behind the other.
#[derive(Debug)]
pub(super) struct Lists<T> {
    /// Where each begins, and where the last ends.
    starts: Vec<u32>,
    items: Vec<T>,
}

impl<T> Default for Lists<T> {
    fn default() -> Self {
        Self { starts: vec![0], items: Vec::new() }
    }
}

impl<T: Copy + Default> Lists<T> {
    /// Lists of pairs that come twice in the same order, each a list's number and an item. The items of a list keep their order.
    pub(super) fn grouped<I: Iterator<Item = (u32, T)>>(count: usize, pairs: impl Fn() -> I + Sync) -> Self
    where
        T: Send,
    {
        // Each half of the lists by itself: going over all pairs costs little beside going to their lists.
        let half = count / 2;
        let (mut starts, others) = rayon::join(|| starts(0..half, pairs()), || starts(half..count, pairs()));
        let [first, second] = [&starts, &others].map(|starts| starts.last().copied().unwrap_or(0));
        let mut items = vec![T::default(); (first + second) as usize];
        let (some, rest) = items.split_at_mut(first as usize);
        rayon::join(|| fill(0..half, &starts, some, pairs()), || fill(half..count, &others, rest, pairs()));
        starts.extend(others.iter().skip(1).map(|start| start + first));
        Self { starts, items }
    }
}

/// Where each list of a range begins, and where the last ends.
fn starts<T>(range: Range<usize>, pairs: impl Iterator<Item = (u32, T)>) -> Vec<u32> {
    let mut starts = vec![0_u32; range.len() + 1];
    for (list, _) in pairs {
        let at = (list as usize + 1).checked_sub(range.start).filter(|at| *at > 0);
        at.and_then(|at| starts.get_mut(at)).into_iter().for_each(|count| *count += 1);
    }
    let mut before = 0;
    for start in &mut starts {
        before += *start;
        *start = before;
    }
    starts
}

/// Puts the items of a range of lists where they belong.
fn fill<T>(range: Range<usize>, starts: &[u32], items: &mut [T], pairs: impl Iterator<Item = (u32, T)>) {
    let mut next = starts.to_vec();
    for (list, item) in pairs.filter(|(list, _)| range.contains(&(*list as usize))) {
        let Some(at) = next.get_mut(list as usize - range.start) else { continue };
        if let Some(place) = items.get_mut(*at as usize) {
            *place = item;
        }
        *at += 1;
    }
}

impl<T> Lists<T> {
    /// No lists, with room for so many and for all their items.
    pub(super) fn with_room(lists: usize, items: usize) -> Self {
        let mut starts = Vec::with_capacity(lists + 1);
        starts.push(0);
        Self { starts, items: Vec::with_capacity(items) }
    }

    /// Sorts the items of each list.
    pub(super) fn sort_each(&mut self)
    where
        T: Ord,
    {
        let mut rest = self.items.as_mut_slice();
        for ends in self.starts.windows(2) {
            let [start, end] =
                [ends.first(), ends.last()].map(|end| end.copied().unwrap_or_default() as usize);
            let (list, behind) = rest.split_at_mut((end - start).min(rest.len()));
            list.sort_unstable();
            rest = behind;
        }
    }

    /// Adds a list behind the others.
    pub(super) fn push(&mut self, items: impl IntoIterator<Item = T>) {
        self.items.extend(items);
        self.starts.push(narrow(self.items.len()));
    }

    /// All lists of several, one behind the other.
    pub(super) fn joined(several: Vec<Self>) -> Self {
        let items = several.iter().map(Self::items).sum();
        let mut joined = Self::with_room(several.iter().map(Self::len).sum(), items);
        for mut lists in several {
            let before = narrow(joined.items.len());
            joined.starts.extend(lists.starts.iter().skip(1).map(|start| start + before));
            joined.items.append(&mut lists.items);
        }
        joined
    }

    /// Lists for the numbers up to `count`, made in parallel, each by a call that may keep something from one list to the
    /// next.
    pub(super) fn made<K>(
        count: usize,
        kept: impl Fn() -> K + Sync,
        make: impl Fn(&mut K, usize, &mut Vec<T>) + Sync,
    ) -> Self
    where
        T: Send,
    {
        Self::joined(pieces::ranges(count, PIECE, |range| {
            let (mut lists, mut kept) = (Self::with_room(range.len(), 0), kept());
            for number in range {
                make(&mut kept, number, &mut lists.items);
                lists.starts.push(narrow(lists.items.len()));
            }
            lists
        }))
    }

    /// The list of a number; an empty one where there is none.
    pub(super) fn of(&self, number: usize) -> &[T] {
        let Some([start, end]) = self.starts.get(number..number + 2) else { return &[] };
        self.items.get(*start as usize..*end as usize).unwrap_or_default()
    }

    /// How many items all lists have.
    pub(super) fn items(&self) -> usize {
        self.items.len()
    }

    /// How many lists there are.
    pub(super) fn len(&self) -> usize {
        self.starts.len() - 1
    }

    /// The lists in the order of their numbers.
    pub(super) fn iter(&self) -> impl Iterator<Item = &[T]> {
        (0..self.len()).map(|number| self.of(number))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_the_same_however_the_things_are_parted() {
        let things = ["a", "b", "a", "c", "b", "d", "a"];
        let mut whole: Numbered<String> = Numbered::default();
        let expected: Vec<u32> = things.iter().map(|thing| whole.number(*thing)).collect();
        for at in 0..things.len() {
            let (mut parts, mut own) = (Vec::new(), Vec::new());
            for part in [things.get(..at), things.get(at..)] {
                let mut numbered: Numbered<String> = Numbered::default();
                own.push(part.unwrap().iter().map(|thing| numbered.number(*thing)).collect::<Vec<u32>>());
                parts.push(numbered);
            }
            let mut all: Numbered<String> = Numbered::default();
            let numbers = all.take_in(parts);
            let here =
                own.iter().zip(&numbers).flat_map(|(own, here)| own.iter().map(|own| here[*own as usize]));
            assert_eq!(here.collect::<Vec<u32>>(), expected, "{at}");
            assert!(all.all().eq(whole.all()));
        }
    }

    #[test]
    fn lists_are_grouped_and_put_together() {
        let pairs = [(2, 'a'), (0, 'b'), (2, 'c'), (7, 'd')];
        let lists = Lists::grouped(3, || pairs.into_iter());
        assert_eq!(lists.iter().collect::<Vec<_>>(), [&['b'][..], &[], &['a', 'c']]);
        let mut more = Lists::default();
        more.push(['x', 'y']);
        more.push([]);
        let lists = Lists::joined(vec![lists, more]);
        assert_eq!(lists.of(3), ['x', 'y']);
        assert_eq!((lists.len(), lists.of(4), lists.of(5)), (5, &[][..], &[][..]));
    }
}
