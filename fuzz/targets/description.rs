//! A house description of one or more files, through every stage to findings, bridge JSON and ledger.
#![no_main]

use housewright_fuzz::{houses, lines};
use libfuzzer_sys::{fuzz_mutator, fuzz_target, fuzzer_mutate};

fuzz_mutator!(|data: &mut [u8], size: usize, max_size: usize, seed: u32| {
    lines::mutate(data, size, max_size, seed, fuzzer_mutate)
});

fuzz_target!(|text: &str| {
    let files = houses::files(text);
    let files: Vec<(&str, &str)> = files.iter().map(|(path, text)| (path.as_str(), text.as_str())).collect();
    houses::run(&files);
});
