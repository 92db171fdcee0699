//! Work that is done in pieces, on all processors: what each piece gives, in order.
//!
//! In: how many things there are, and how many of them are one piece. A piece is handed out when a processor is free, so
//! that none waits long for the last one. The code that hands out is there once, whatever the work is.

use rayon::prelude::*;
use std::ops::Range;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

/// So many things of some weight, such as rooms, are a piece: of larger ones the last would keep the others waiting.
pub(crate) const HEAVY: usize = 32;

/// So many small things are a piece: less would cost more to hand out than to do.
pub(crate) const LIGHT: usize = 1024;

/// What is made of each piece of so many things.
pub(crate) fn ranges<T: Send>(count: usize, size: usize, make: impl Fn(Range<usize>) -> T + Sync) -> Vec<T> {
    let size = size.max(1);
    let range = |at: usize| at * size..count.min((at + 1) * size);
    let pieces = count.div_ceil(size);
    if pieces < 2 {
        return (0..pieces).map(|at| make(range(at))).collect();
    }
    let made: Vec<Mutex<Option<T>>> = (0..pieces).map(|_| Mutex::new(None)).collect();
    hand_out(pieces, &|at| {
        let piece = make(range(at));
        if let Some(slot) = made.get(at) {
            *slot.lock().unwrap_or_else(PoisonError::into_inner) = Some(piece);
        }
    });
    made.into_iter().filter_map(|slot| slot.into_inner().unwrap_or_else(PoisonError::into_inner)).collect()
}

/// What all pieces of so many things add to a list, one behind the other.
pub(crate) fn flat<T: Send>(
    count: usize,
    size: usize,
    add: impl Fn(Range<usize>, &mut Vec<T>) + Sync,
) -> Vec<T> {
    let mut pieces = ranges(count, size, |range| {
        let mut list = Vec::new();
        add(range, &mut list);
        list
    });
    if let [only] = pieces.as_mut_slice() {
        return std::mem::take(only);
    }
    let mut all = Vec::with_capacity(pieces.iter().map(Vec::len).sum());
    pieces.iter_mut().for_each(|piece| all.append(piece));
    all
}

/// What is made of each of so many things.
pub(crate) fn each<T: Send>(count: usize, size: usize, make: impl Fn(usize) -> T + Sync) -> Vec<T> {
    flat(count, size, |range, list| list.extend(range.map(&make)))
}

/// What is made of those of so many things of which something is made.
pub(crate) fn some<T: Send>(count: usize, size: usize, make: impl Fn(usize) -> Option<T> + Sync) -> Vec<T> {
    flat(count, size, |range, list| list.extend(range.filter_map(&make)))
}

/// How much all pieces together may give: the first so much of it in the order of the pieces, whichever is done first.
///
/// What belongs to the first is never turned away. What is let through beyond it, because a piece before was not done yet, is
/// cut off when all are put together; so the outcome does not depend on the threads, and what is kept meanwhile is hardly more.
#[derive(Debug)]
pub(crate) struct Quota {
    most: usize,
    given: AtomicUsize,
    /// What each piece gave, as sums: the node `at`, from 1, has those of as many pieces as its lowest bit says (a Fenwick tree).
    sums: Vec<AtomicUsize>,
}

impl Quota {
    pub(crate) fn new(pieces: usize, most: usize) -> Self {
        Self { most, given: AtomicUsize::new(0), sums: (0..=pieces).map(|_| AtomicUsize::new(0)).collect() }
    }

    /// Takes one more thing of a piece; false where it is not among the first.
    pub(crate) fn take(&self, piece: usize) -> bool {
        if self.is_used_up(piece) {
            return false;
        }
        self.given.fetch_add(1, Ordering::Relaxed);
        let mut at = piece + 1;
        while let Some(sum) = self.sums.get(at) {
            sum.fetch_add(1, Ordering::Relaxed);
            at += lowest_bit(at);
        }
        true
    }

    /// Whether a piece and those before it have given all that may be given.
    pub(crate) fn is_used_up(&self, piece: usize) -> bool {
        if self.given.load(Ordering::Relaxed) < self.most {
            return false;
        }
        let (mut at, mut given) = (piece + 1, 0);
        while at > 0 {
            given += self.sums.get(at).map_or(0, |sum| sum.load(Ordering::Relaxed));
            at -= lowest_bit(at);
        }
        given >= self.most
    }
}

fn lowest_bit(number: usize) -> usize {
    number & number.wrapping_neg()
}

fn hand_out(pieces: usize, work: &(dyn Fn(usize) + Sync)) {
    (0..pieces).into_par_iter().with_max_len(1).for_each(work);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_all_that_pieces_give_the_first_are_taken() {
        for (most, pieces) in [(0, 3), (5, 1), (10, 7), (100, 7), (1_000, 7)] {
            let quota = Quota::new(pieces, most);
            let offered = |at: usize| (0..at * 9).map(move |nth| (at, nth));
            let mut taken = flat(pieces, 1, |range, list| {
                for at in range {
                    list.extend(offered(at).filter(|_| quota.take(at)));
                }
            });
            taken.truncate(most);
            assert!(taken.iter().copied().eq((0..pieces).flat_map(offered).take(most)), "{most} of {pieces}");
            let all: usize = (0..pieces).map(|at| at * 9).sum();
            assert_eq!(quota.is_used_up(pieces - 1), all >= most, "{most} of {pieces}");
        }
    }

    #[test]
    fn pieces_come_in_order_and_none_is_lost() {
        for (count, size) in [(0, 3), (1, 3), (3, 3), (4, 3), (1000, 7), (5, 0)] {
            let ranges = ranges(count, size, |range| range);
            assert!(ranges.iter().all(|range| (1..=size.max(1)).contains(&range.len())), "{ranges:?}");
            assert!(ranges.into_iter().flatten().eq(0..count), "{count} by {size}");
            assert_eq!(each(count, size, |at| at * 2), (0..count).map(|at| at * 2).collect::<Vec<_>>());
            let odd = some(count, size, |at| (at % 2 == 1).then_some(at));
            assert_eq!(odd, (0..count).filter(|at| at % 2 == 1).collect::<Vec<_>>());
        }
    }
}
