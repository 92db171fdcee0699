//! Whatever number of threads there is, none waits for one that waits for it: what is made once, by whoever asks first,
//! must not hand its work to threads that may be asking for it.

use housewright::inspect;
use housewright::source::{Limits, load};
use housewright::survey::Survey;
use rayon::prelude::*;
use std::path::Path;
use std::sync::mpsc;
use std::time::Duration;

/// More than a machine has, and than there is to do at once.
const THREADS: usize = 8;

/// So many pieces of work there are at once.
const PIECES: usize = 64;

/// Of so many pieces one asks; the others are short, so that there are threads without work.
const ONE_ASKS: usize = 8;

/// Runs something on the threads, and fails where it has no end.
fn ends(work: impl FnOnce() + Send + 'static) {
    let (done, wait) = mpsc::channel();
    std::thread::spawn(move || {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(THREADS).build().unwrap();
        pool.install(work);
        done.send(()).unwrap();
    });
    wait.recv_timeout(Duration::from_secs(120)).expect("threads wait for each other");
}

/// Asks from several threads, and gives the answers.
fn asked<T: Send>(ask: impl Fn() -> T + Sync) -> Vec<T> {
    let piece = |piece: usize| {
        if piece.is_multiple_of(ONE_ASKS) {
            return Some(ask());
        }
        std::thread::sleep(Duration::from_micros(50));
        None
    };
    (0..PIECES).into_par_iter().filter_map(piece).collect()
}

fn example() -> housewright::Inspection {
    let house = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/heron-wharf");
    inspect(load(&house, &Limits::default()).unwrap(), &Limits::default())
}

#[test]
fn a_check_ends() {
    ends(|| {
        for _ in 0..20 {
            assert_eq!(example().judged.summary.errors, 0);
        }
    });
}

#[test]
fn rows_left_over_are_found_while_others_ask_for_them() {
    ends(|| {
        let example = example();
        let plan = example.judged.plan().unwrap();
        for _ in 0..100 {
            let survey = Survey::of(plan);
            let all = asked(|| survey.left_over(plan).len());
            assert!(all.iter().all(|count| *count == all[0]));
        }
    });
}
