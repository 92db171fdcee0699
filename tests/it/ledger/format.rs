//! The file of the ledger.

use super::{build, lamp, lamps, sound, whole};
use housewright::ledger::{Ledger, Problem, write};

/// A file as version 1 of the format wrote it. It is kept for ever, and must be read for ever.
const VERSION_1: &str = include_str!("version-1.yaml");

#[test]
fn a_file_of_version_1_is_read() {
    let ledger = sound(VERSION_1);
    assert_eq!(ledger.house(), "heron-wharf");
    let pendant = ledger.identity("island-pendant", "light").expect("it stands in the file");
    assert_eq!((&*pendant.bridge, pendant.number.get()), ("wharf", 17));
    assert_eq!(pendant.device_types.ids(), [0x0101]);
    assert_eq!(
        ledger.identity("boat-hoist", "meter").expect("it stands there").device_types.ids(),
        [0x0510, 0x0514]
    );
    assert_eq!(ledger.retired().count(), 3);
    // The day on which this program writes a version 2, this line says what becomes of the old file.
    assert_eq!(write(&ledger), VERSION_1);
}

#[test]
fn keys_that_yaml_takes_for_something_else_come_back_as_they_are() {
    let strange =
        ["on", "12", "0x1f", "null", "~", "1/2/3", "a: b", "- c", "#d", "'e'", "\"f\"", "é", "g ", ""];
    let mut house = lamps(strange);
    house.insert("h".to_owned(), lamp("a bridge with spaces"));
    let ledger = build(&Ledger::new("no"), &house).next;
    assert_eq!(sound(&write(&ledger)), ledger);
}

#[test]
fn line_ends_of_another_system_and_comments_do_not_matter() {
    let ledger = sound(VERSION_1);
    assert_eq!(sound(&VERSION_1.replace('\n', "\r\n")), ledger);
    assert_eq!(sound(&VERSION_1.replace("appliances:", "\n# a note\nappliances: # another")), ledger);
}

/// The one problem of the version 1 file with `from` replaced by `to`, and the text that it points to.
fn check(from: &str, to: &str, expected: impl Fn(&Problem) -> bool, points_to: &str) {
    assert!(VERSION_1.contains(from), "{from} stands in the file");
    let text = VERSION_1.replacen(from, to, 1);
    let (_, problems) = whole(&text);
    assert_eq!(problems.len(), 1, "{problems:?}");
    assert!(expected(&problems[0]), "{problems:?}");
    let place = problems[0].place();
    assert_eq!(&text[place.start as usize..place.end as usize], points_to);
}

#[test]
fn what_is_wrong_is_told_with_its_place() {
    check(
        "housewright-ledger: 1",
        "housewright-ledger: 2",
        |it| matches!(it, Problem::UnknownVersion { .. }),
        "2",
    );
    check("housewright-ledger: 1", "version: 1", |it| matches!(it, Problem::NoVersion { .. }), "");
    check(
        "house: heron-wharf",
        "house: heron-wharf\nowner: x",
        |it| matches!(it, Problem::UnknownKey { .. }),
        "owner",
    );
    check("house: heron-wharf", "", |it| matches!(it, Problem::NoHouse { .. }), "");
    check(
        "wharf 17",
        "wharf 17.0",
        |it| matches!(it, Problem::Malformed { .. }),
        "wharf 17.0 0x0101 \
         5f0c6a4d92be013c7781f0a2d44be96e",
    );
    check("wharf 17", "wharf 1", |it| matches!(it, Problem::OutOfRange { number, .. } if number == "1"), "1");
    check("wharf 17", "wharf 65535", |it| matches!(it, Problem::OutOfRange { .. }), "65535");
    check(
        "wharf 17",
        "wharf 99999999999999999999",
        |it| matches!(it, Problem::OutOfRange { .. }),
        "99999999999999999999",
    );
    check("wharf 17", "wharf 2", |it| matches!(it, Problem::SameNumber { number: 2, .. }), "2");
    check("wharf 17", "wharf 4", |it| matches!(it, Problem::SameNumber { number: 4, .. }), "4");
    check(
        "5f0c6a4d92be013c7781f0a2d44be96e",
        "5F0C",
        |it| matches!(it, Problem::Malformed { .. }),
        "wharf 17 0x0101 5F0C",
    );
    check(
        "f4d1a67c20b94e8e9c3b5a1d7e60f2b9",
        "3b9a1c0de8f74c55b6e2907d41fa8c12",
        |it| matches!(it, Problem::SameUniqueId { .. }),
        "wharf 5 0x010a 3b9a1c0de8f74c55b6e2907d41fa8c12",
    );
    check(
        "f4d1a67c20b94e8e9c3b5a1d7e60f2b9",
        "5f0c6a4d92be013c7781f0a2d44be96e",
        |it| matches!(it, Problem::LivingAndRetired { .. }),
        "wharf 5 0x010a 5f0c6a4d92be013c7781f0a2d44be96e",
    );
}
