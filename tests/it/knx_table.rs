//! The datapoint-type table is sorted, unique, complete and consistent.

#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::cast_precision_loss,
    reason = "a test may panic"
)]

use housewright::knx::dpt::{self, Dpt, Kind, Shape, Size};
use housewright::knx::{DptId, codec};
use std::collections::BTreeSet;

/// Every sub-type that the table must have, written down a second time: main types and ranges of sub-types.
const EXPECTED: &str = "
    1: 1-19 21-24 100 1200-1201
    2: 1-12
    3: 7-8
    4: 1-2
    5: 1 3-6 10 100
    6: 1 10 20
    7: 1-7 10-13 600
    8: 1-7 10-12
    9: 1-11 20-30
    10: 1
    11: 1
    12: 1 100-102 1200-1201
    13: 1-2 10-16 100 1200-1201
    14: 0-80 1200-1201
    15: 0
    16: 0-1
    17: 1
    18: 1
    19: 1
    20: 1-8 11-14 17 20-22 100-116 120-122 600-613 801-804 1000-1005 1200 1202-1209
    21: 1-2 100-107 601 1000-1001 1010 1200-1201
    22: 100-103 1000 1010
    23: 1-3 102
    24: 1
    25: 1000
    26: 1
    27: 1
    28: 1
    29: 10-12
    30: 1010
    217: 1
    219: 1
    222: 100-101
    225: 1-3
    229: 1
    232: 600
    235: 1
    237: 600
    238: 600
    240: 800
    241: 800
    242: 600
    243: 600
    244: 600
    245: 600
    249: 600
    250: 600
    251: 600
    252: 600
    253: 600
    254: 600
    255: 1
    275: 100-101";

fn expected() -> BTreeSet<DptId> {
    let mut ids = BTreeSet::new();
    for line in EXPECTED.lines().filter(|line| !line.trim().is_empty()) {
        let (main, subs) = line.trim().split_once(": ").unwrap();
        for range in subs.split(' ') {
            let (first, last) = range.split_once('-').unwrap_or((range, range));
            for sub in first.parse::<u16>().unwrap()..=last.parse().unwrap() {
                ids.insert(DptId { main: main.parse().unwrap(), sub });
            }
        }
    }
    ids
}

/// Panics with the type's number where the law does not hold.
fn for_all(law: impl Fn(&'static Dpt) -> bool) {
    let broken: Vec<String> =
        dpt::all().iter().filter(|dpt| !law(dpt)).map(|dpt| dpt.id.to_string()).collect();
    assert!(broken.is_empty(), "does not hold for {broken:?}");
}

#[test]
fn is_complete() {
    let found: BTreeSet<DptId> = dpt::all().iter().map(|dpt| dpt.id).collect();
    let expected = expected();
    let missing: Vec<String> = expected.difference(&found).map(ToString::to_string).collect();
    let unexpected: Vec<String> = found.difference(&expected).map(ToString::to_string).collect();
    assert!(
        missing.is_empty() && unexpected.is_empty(),
        "missing in the table {missing:?}; missing in `EXPECTED`, from the standard once more, {unexpected:?}"
    );
}

#[test]
fn is_sorted_and_unique() {
    assert!(dpt::all().windows(2).all(|pair| pair[0].id < pair[1].id));
    assert!(dpt::main_types().windows(2).all(|pair| pair[0].number < pair[1].number));
    for_all(|dpt| dpt::find(dpt.id).is_some_and(|found| std::ptr::eq(found, dpt)));
    for_all(|dpt| dpt::of_main(dpt.id.main).iter().any(|found| found.id == dpt.id));
    let names: BTreeSet<&str> = dpt::all().iter().map(|dpt| dpt.name).collect();
    assert_eq!(names.len(), dpt::all().len(), "two types have the same name");
}

#[test]
fn fields_fill_the_payload() {
    for_all(|dpt| {
        let bits: u16 = dpt.fields.iter().map(|field| field.bits).sum();
        match dpt.size {
            Size::Bits(size) => bits == u16::from(size) && size <= 6,
            Size::Bytes(size) => bits == u16::from(size) * 8 && size <= 14,
            Size::Variable => dpt.shape == Shape::Text,
        }
    });
}

#[test]
fn names_are_written_alike() {
    let plain = |name: &str| {
        let letter =
            |letter: char| letter.is_ascii_lowercase() || letter.is_ascii_digit() || "-.".contains(letter);
        !name.is_empty() && name.chars().all(letter)
    };
    for_all(|dpt| dpt.name.starts_with("DPT_") && !dpt.title.is_empty() && !dpt.title.ends_with('.'));
    for_all(|dpt| dpt.fields.iter().all(|field| (field.kind == Kind::Reserved) == field.name.is_empty()));
    for_all(|dpt| dpt.value_fields().all(|field| plain(field.name)));
    for_all(|dpt| dpt.value_fields().all(|field| field.members.iter().all(|member| plain(member.name))));
    for_all(|dpt| {
        let names: BTreeSet<&str> = dpt.value_fields().map(|field| field.name).collect();
        names.len() == dpt.value_fields().count()
    });
}

#[test]
fn members_are_sorted_unique_and_fit() {
    for_all(|dpt| {
        dpt.fields.iter().all(|field| {
            let names: BTreeSet<&str> = field.members.iter().map(|member| member.name).collect();
            let fit = field.members.iter().all(|member| u64::from(member.raw) < 1 << field.bits.min(32));
            let sorted = field.members.windows(2).all(|pair| pair[0].raw < pair[1].raw);
            let whole = field.kind != Kind::Bool || [0, 2].contains(&field.members.len());
            let named = field.kind != Kind::Enum || !field.members.is_empty();
            fit && sorted && whole && named && names.len() == field.members.len()
        })
    });
}

/// A special raw value must not be a value as well.
#[test]
fn special_values_are_refused() {
    for_all(|dpt| {
        dpt.special().iter().all(|special| {
            let Size::Bytes(length) = dpt.size else { return false };
            let bytes = special.raw.to_be_bytes();
            let payload = housewright::knx::Payload::bytes(&bytes[4 - usize::from(length)..]);
            matches!(codec::decode(dpt, &payload), Err(codec::DecodeError::Special { .. }))
        })
    });
}
