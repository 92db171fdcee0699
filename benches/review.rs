//! Time of a review of two builds in memory that are as hard to compare as can be, for houses of several sizes.
//!
//! `cargo bench --bench review` prints a line a pair: the best of three runs in milliseconds for each size with the number of changes, and how many
//! times longer the largest took than one of an eighth of its size: 8 is a straight line, 64 a square.

#![allow(
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a measurement prints, and looks at the clock"
)]
#![allow(
    clippy::redundant_closure,
    clippy::indexing_slicing,
    clippy::unwrap_used,
    reason = "a part of the tests is used here too"
)]

#[path = "../tests/it/review/adverse.rs"]
mod adverse;

use housewright::review::{Build, forms, review};
use std::time::Instant;

const SIZES: [usize; 4] = [12_500, 25_000, 50_000, 100_000];

fn main() {
    for (name, pair) in adverse::PAIRS {
        let mut told = String::new();
        let mut times = Vec::new();
        for size in SIZES {
            let (old, new) = pair(size);
            let (old, new) = (Build::of(&old), Build::of(&new));
            let mut best = f64::MAX;
            let mut changes = 0;
            for _ in 0..3 {
                let start = Instant::now();
                changes = review(&old, &new).changes.len();
                best = best.min(start.elapsed().as_secs_f64() * 1e3);
            }
            times.push(best);
            told.push_str(&format!(" {best:8.1} ms"));
            told.push_str(&format!(" ({changes})"));
        }
        let grown = times.last().zip(times.first()).map_or(0.0, |(last, first)| last / first);
        println!("{name:40}{told}  x{grown:.1}");
    }
    let (old, new) = adverse::PAIRS[1].1(SIZES[3]);
    let review = review(&Build::of(&old), &Build::of(&new));
    for (name, form) in [
        ("text", (|review| forms::text(review, &forms::TextOptions::default())) as fn(&_) -> String),
        ("markdown", |review| forms::markdown(review)),
        ("json", |review| forms::json(review)),
        ("html", |review| forms::html(review)),
    ] {
        let start = Instant::now();
        let bytes = form(&review).len();
        println!("{name:40} {:8.1} ms for {bytes} bytes", start.elapsed().as_secs_f64() * 1e3);
    }
}
