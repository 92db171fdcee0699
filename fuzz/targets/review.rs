//! Two bridge JSONs, old and new, as one list; what is none stands for both sides as it is.
#![no_main]

use housewright::review::{self, BuildFile, Side, Unread, forms};
use housewright_fuzz::json;
use libfuzzer_sys::{fuzz_mutator, fuzz_target, fuzzer_mutate};
use serde_json::Value;
use std::collections::BTreeSet;

fuzz_mutator!(|data: &mut [u8], size: usize, max_size: usize, seed: u32| {
    json::mutate(data, size, max_size, seed, fuzzer_mutate)
});

fuzz_target!(|bytes: &[u8]| {
    let (old, new) = match serde_json::from_slice(bytes) {
        Ok(Value::Array(sides)) if sides.len() == 2 => (sides[0].to_string(), sides[1].to_string()),
        _ => (String::from_utf8_lossy(bytes).into_owned(), String::new()),
    };
    let files = |text: &str| vec![BuildFile::of("wharf.bridge.json", text.as_bytes().to_owned())];
    let (before, after) = (review::Build::read(files(&old)), review::Build::read(files(&new)));
    for one in [&before, &after] {
        let itself = review::review(one, one);
        assert!(itself.changes.is_empty(), "a build against itself: {itself:?}");
    }
    let whole = review::review(&before, &after);
    let (fast_before, fast_after) = review::read_both(files(&old), files(&new));
    let fast = review::review(&fast_before, &fast_after);
    // Of several faults the one or the other is told. What is the same text on both sides is not read at all, so that a
    // side may be read here that is not there; then neither is there.
    let sides = |unread: &[(Side, Unread)]| unread.iter().map(|(side, _)| *side).collect::<BTreeSet<_>>();
    let (told, told_fast) = (sides(&whole.unread), sides(&fast.unread));
    assert!(
        told == told_fast || (told.len() == 2 && told_fast.is_subset(&told)),
        "{:?} and {:?}",
        whole.unread,
        fast.unread
    );
    if whole.unread.is_empty() {
        assert_eq!(forms::json(&whole), forms::json(&fast), "read side by side, the review is another one");
    }
    forms::html(&whole);
    forms::markdown(&whole);
    let definitions = before.definitions();
    definitions.iter().for_each(|definition| drop(forms::listing(definition)));
    if whole.unread.is_empty() {
        let wanted = after.definitions();
        let applied = review::apply(&whole, &definitions);
        assert!(
            applied.as_ref().is_ok_and(|applied| review::same(applied, &wanted)),
            "the changes do not make the new build of the old one: {applied:?}"
        );
        assert!(review::json_patch(&whole, &definitions).is_ok());
    }
});
