//! Sorting that is there once, whatever is sorted: numbers are put in order, then what they stand for is moved.
//!
//! In: a list and an order. The library's own stable sort is made anew for each type and each order, some 6 KB of program
//! every time. It is faster: lists that are long in every house use it.

use std::cmp::Ordering;

/// Sorts a list; what is equal stays as it was.
pub(crate) fn by<T>(list: &mut [T], mut compare: impl FnMut(&T, &T) -> Ordering) {
    if list.len() < 2 {
        return;
    }
    let mut order: Vec<usize> = (0..list.len()).collect();
    sort(&mut order, &mut |one, other| match (list.get(one), list.get(other)) {
        (Some(one), Some(other)) => compare(one, other),
        _ => Ordering::Equal,
    });
    arrange(list, &mut order);
}

/// Sorts a list by a key of each; what has the same stays as it was.
pub(crate) fn by_key<T, K: Ord>(list: &mut [T], mut key: impl FnMut(&T) -> K) {
    by(list, |one, other| key(one).cmp(&key(other)));
}

fn sort(order: &mut [usize], compare: &mut dyn FnMut(usize, usize) -> Ordering) {
    order.sort_by(|one, other| compare(*one, *other));
}

/// Moves to each place what stands at the number that the order has there, round by round.
fn arrange<T>(list: &mut [T], order: &mut [usize]) {
    for start in 0..order.len() {
        let mut at = start;
        while let Some(slot) = order.get_mut(at) {
            let from = std::mem::replace(slot, at);
            if from == start || from == at {
                break;
            }
            list.swap(at, from);
            at = from;
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_list_is_in_the_order_that_the_librarys_sort_gives(list in prop::collection::vec((0_u8..12, any::<u8>()), 0..200)) {
            let (mut ours, mut theirs) = (list.clone(), list);
            super::by_key(&mut ours, |(key, _)| *key);
            theirs.sort_by_key(|(key, _)| *key);
            prop_assert_eq!(&ours, &theirs);
            super::by(&mut ours, |one, other| other.cmp(one));
            theirs.sort_by(|one, other| other.cmp(one));
            prop_assert_eq!(ours, theirs);
        }
    }
}
