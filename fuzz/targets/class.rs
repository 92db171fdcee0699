//! A device class of a house's own, and an appliance of that class.
#![no_main]

use housewright_fuzz::{houses, lines};
use libfuzzer_sys::{fuzz_mutator, fuzz_target, fuzzer_mutate};

/// An appliance whose class is the one in the input, with the points that most classes have.
const HOUSE: &str = "\
housewright: 1
house: { id: heron-wharf, name: Heron Wharf }
buses: { main: {} }
bridges: { wharf: { name: Heron Wharf, capacity: 100 } }
rooms:
  kitchen:
    name: Kitchen
    appliances:
      own:
        name: Own
        class: own
        points:
          POINT: { command: 1/1/10, feedback: 1/4/10 }
          brightness: { command: 1/2/10, feedback: 1/5/10 }
";

fuzz_mutator!(|data: &mut [u8], size: usize, max_size: usize, seed: u32| {
    lines::mutate(data, size, max_size, seed, fuzzer_mutate)
});

fuzz_target!(|text: &str| {
    let plain = |word: &&str| word.chars().all(|letter| letter.is_ascii_alphanumeric() || letter == '-');
    let class = text.lines().find_map(|line| line.strip_prefix("class:")).map(str::trim).filter(plain);
    // Under a name of its own, so that a built-in class can be a seed.
    let own = class.map_or(text.to_owned(), |name| text.replacen(&format!("class: {name}"), "class: own", 1));
    let points = text.split("\npoints:\n").nth(1);
    let point = points.and_then(|points| points.trim_start().split(':').next()).filter(plain);
    let house = HOUSE.replace("POINT", point.unwrap_or("switching"));
    houses::run(&[("house.yaml", &house), ("classes/own.yaml", &own)]);
});
