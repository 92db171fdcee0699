//! Two builds at once.

use super::{FIRST, Place};
use housewright::emit::{EmitError, Lock, Patience, Target};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

#[test]
fn a_house_is_locked_for_one_build_and_nothing_of_it_remains() {
    let place = Place::new();
    let lock = Lock::of_house(place.0.path(), Patience::Refuse).expect("nobody has it");
    let fault = Lock::of_house(place.0.path(), Patience::Refuse).expect_err("somebody has it");
    assert!(matches!(fault, EmitError::Busy { .. }), "{fault:?}");
    drop(lock);
    assert_eq!(place.files(), [""; 0]);
    drop(Lock::of_house(place.0.path(), Patience::Refuse).expect("nobody has it"));
}

#[test]
fn an_output_folder_is_locked_for_one_build() {
    let place = Place::new();
    let target = Target::open(&place.out(), "heron-wharf", Patience::Refuse).expect("nobody has it");
    let fault = place.build(&FIRST).expect_err("somebody has it");
    assert!(matches!(fault, EmitError::Busy { .. }), "{fault:?}");
    drop(target);
    place.build(&FIRST).expect("nobody has it");
}

#[test]
fn a_lock_that_a_killed_build_left_is_taken() {
    let place = Place::new();
    place.write(".housewright-lock", "");
    drop(Lock::of_house(place.0.path(), Patience::Refuse).expect("the file alone is no lock"));
    assert_eq!(place.files(), [""; 0]);
}

#[test]
fn who_waits_gets_the_lock_one_after_the_other() {
    let place = Place::new();
    let (within, most, done) = (AtomicUsize::new(0), AtomicUsize::new(0), AtomicUsize::new(0));
    thread::scope(|scope| {
        for _ in 0..8 {
            scope.spawn(|| {
                for _ in 0..50 {
                    let lock = Lock::of_house(place.0.path(), Patience::Wait).expect("it comes free");
                    most.fetch_max(within.fetch_add(1, Ordering::SeqCst) + 1, Ordering::SeqCst);
                    thread::yield_now();
                    within.fetch_sub(1, Ordering::SeqCst);
                    drop(lock);
                    done.fetch_add(1, Ordering::SeqCst);
                }
            });
        }
    });
    assert_eq!((most.into_inner(), done.into_inner()), (1, 400));
}
