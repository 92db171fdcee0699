//! The bytes of an address table in any encoding, read from the disk behind a house that uses it.
#![no_main]

use housewright::source::{self, Limits};
use housewright_fuzz::{houses, lines};
use libfuzzer_sys::{fuzz_mutator, fuzz_target, fuzzer_mutate};
use std::path::PathBuf;
use std::sync::LazyLock;

const HOUSE: &str = "\
housewright: 1
house: { id: heron-wharf, name: Heron Wharf }
buses: { main: { table: addresses.csv } }
bridges: { wharf: { name: Heron Wharf, capacity: 100 } }
rooms:
  kitchen:
    name: Kitchen
    appliances:
      pendant:
        name: Kitchen pendant
        class: dimmable-light
        points:
          switching: { command: 1/1/10, feedback: 1/4/10 }
          brightness: { command: 1/2/10, feedback: 1/5/10 }
";

static FOLDER: LazyLock<PathBuf> = LazyLock::new(|| {
    let shared = PathBuf::from("/dev/shm");
    let parent = if shared.is_dir() { shared } else { std::env::temp_dir() };
    let folder = parent.join(format!("housewright-fuzz-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a temporary folder can be made");
    std::fs::write(folder.join("house.yaml"), HOUSE).expect("it can be written to");
    folder
});

fuzz_mutator!(|data: &mut [u8], size: usize, max_size: usize, seed: u32| {
    lines::mutate(data, size, max_size, seed, fuzzer_mutate)
});

fuzz_target!(|bytes: &[u8]| {
    std::fs::write(FOLDER.join("addresses.csv"), bytes).expect("it can be written to");
    let loaded = source::load(&FOLDER, &Limits::default()).expect("the house is there");
    houses::judged(&housewright::inspect(loaded, &Limits::default()));
});
