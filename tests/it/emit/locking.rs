//! Two builds at once.

use super::{FIRST, Place};
use housewright::emit::{EmitError, Lock, Patience, Target};
use std::io::{BufRead as _, BufReader};
use std::process::{Command, Stdio};
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

#[test]
fn a_build_that_waits_for_another_one_says_so() {
    let place = Place::new();
    let house = place.0.path().join("house");
    std::fs::create_dir(&house).expect("there is none");
    std::fs::copy("tests/cases/cli/exit-codes/sound/house.yaml", house.join("house.yaml"))
        .expect("it is there");
    let lock = Lock::of_house(&house, Patience::Refuse).expect("nobody has it");
    let mut child = Command::new(env!("CARGO_BIN_EXE_housewright"))
        .args(["build".as_ref(), house.as_os_str()])
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it was built");
    let mut said = BufReader::new(child.stderr.take().expect("it is a pipe"));
    let mut line = String::new();
    said.read_line(&mut line).expect("it is text");
    assert_eq!(line, format!("waiting for another build of `{}`\n", house.display()));
    drop(lock);
    assert!(child.wait().expect("it ends").success());
}

#[cfg(unix)]
#[test]
fn a_pipe_in_the_place_of_a_lock_is_not_waited_for() {
    let place = Place::new();
    let pipe = place.0.path().join(".housewright-lock");
    assert!(Command::new("mkfifo").arg(&pipe).status().expect("it is a tool of every Unix").success());
    let fault = Lock::of_house(place.0.path(), Patience::Wait).expect_err("it is no file");
    assert!(matches!(fault, EmitError::Write { .. }), "{fault:?}");
}
