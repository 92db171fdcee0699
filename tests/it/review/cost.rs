//! What a review costs grows with the house and not with its square, however alike its appliances are.

use super::adverse::{Maker, PAIRS};
use housewright::review::{Build, review};

/// How often memory is asked for: for each candidate, pair and change, so that a square of them would show.
fn cost(pair: Maker, size: usize) -> u64 {
    let (old, new) = pair(size);
    let (old, new) = (Build::of(&old), Build::of(&new));
    let mut changes = 0;
    let used = allocation_counter::measure(|| changes = review(&old, &new).changes.len());
    assert!(changes <= 2 * size, "more changes than appliances");
    used.count_total
}

#[test]
fn the_cost_of_a_review_grows_in_a_straight_line() {
    for (name, pair) in PAIRS {
        let (small, large) = (cost(pair, 500), cost(pair, 4000));
        assert!(large <= small * 8 * 3 / 2 + 1000, "{name}: {small} for 500, {large} for 4000");
    }
}
