//! The text of a ledger: read, put in order, merged, and behind a house.
#![no_main]

use std::collections::BTreeMap;

use housewright::ledger::{self, Built, Keeps};
use housewright_fuzz::{houses, lines};
use libfuzzer_sys::{fuzz_mutator, fuzz_target, fuzzer_mutate};

const HOUSE: &str = "\
housewright: 1
house: { id: heron-wharf, name: Heron Wharf }
buses: { main: {} }
bridges: { wharf: { name: Heron Wharf, capacity: 100 } }
rooms:
  kitchen:
    name: Kitchen
    appliances:
      pendant:
        name: Kitchen pendant
        class: on-off-light
        formerly: old-pendant
        points:
          switching: { command: 1/1/10, feedback: 1/4/10 }
";

fuzz_mutator!(|data: &mut [u8], size: usize, max_size: usize, seed: u32| {
    lines::mutate(data, size, max_size, seed, fuzzer_mutate)
});

fuzz_target!(|text: &str| {
    if let Ok(sound) = ledger::sound_ledger(text) {
        let written = ledger::write(&sound);
        assert!(
            ledger::sound_ledger(&written).is_ok_and(|again| again == sound),
            "reads otherwise:\n{written}"
        );
    }
    let nothing = BTreeMap::new();
    for keeps in [Keeps::Built(&nothing), Keeps::Keys(&[])] {
        if let Ok(resolved) = ledger::resolve_text(text, Built::Ours, keeps) {
            let again = ledger::sound_ledger(&resolved.text);
            assert!(again.is_ok(), "put in order, and still not sound: {again:?}\n{}", resolved.text);
        }
    }
    // Several versions in one input stand for the branches of a merge.
    let versions: Vec<&str> = text.split(houses::FILE).collect();
    if let [base, ours, theirs] = versions.as_slice()
        && let Ok(merged) = ledger::merge_texts(base, ours, theirs, Built::Theirs)
    {
        let again = ledger::sound_ledger(&merged.text);
        assert!(again.is_ok(), "merged, and not sound: {again:?}\n{}", merged.text);
    }
    houses::run(&[("house.yaml", HOUSE), ("ledger.yaml", text)]);
});
