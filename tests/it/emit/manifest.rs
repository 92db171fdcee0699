//! The manifest as others read it.

use super::{FIRST, Place};
use housewright::emit::{Digest, Manifest, ManifestError, digest_source, read_manifest, verify};
use serde_json::Value;

/// A file as version 1 of the format wrote it. It is kept for ever, and must be read for ever.
const VERSION_1: &str = include_str!("manifest-version-1.json");

#[test]
fn a_file_of_version_1_is_read() {
    let place = Place::new();
    place.write("out/manifest.json", VERSION_1);
    let manifest = read_manifest(&place.out()).expect("it is a manifest");
    assert_eq!((manifest.house.as_str(), manifest.outputs.len()), ("heron-wharf", 3));
    assert_eq!(manifest.outputs.iter().filter(|output| output.review).count(), 1);
    assert!(manifest.predecessor.is_some());
}

#[test]
fn the_schema_and_the_reader_agree() {
    let schema = schemars::schema_for!(Manifest);
    let validator = jsonschema::validator_for(schema.as_value()).expect("it is a schema");
    let sound: Value = serde_json::from_str(VERSION_1).expect("it is JSON");
    assert!(validator.is_valid(&sound));
    for (pointer, value) in [
        ("/outputs/0/sha256", Value::from("00")),
        ("/outputs/0/sha256", Value::from("G".repeat(64))),
        ("/outputs/0/bytes", Value::from(-1)),
        ("/predecessor", Value::from(1)),
        ("/sources", Value::Null),
        ("/program/version", Value::from(1)),
    ] {
        let mut broken = sound.clone();
        *broken.pointer_mut(pointer).expect("it stands in the file") = value;
        assert!(!validator.is_valid(&broken), "{pointer}");
        assert!(serde_json::from_value::<Manifest>(broken).is_err(), "{pointer}");
    }
}

/// What `verify` says after something was done to a sound build.
fn check(deed: impl Fn(&Place), expected: impl Fn(&ManifestError) -> bool) {
    let place = Place::new();
    place.build(&FIRST).expect("nothing is in the way");
    deed(&place);
    let fault = verify(&place.out()).expect_err("it is not as it was built");
    assert!(expected(&fault), "{fault:?}");
    assert!(!fault.help(&place.out()).is_empty());
}

/// Who opened it would never come to its end.
#[cfg(unix)]
#[test]
fn a_link_with_the_name_of_an_output_is_told_and_not_opened() {
    let link = |place: &Place| {
        std::fs::remove_file(place.path("out/review.md")).expect("it is ours");
        std::os::unix::fs::symlink("/dev/zero", place.path("out/review.md")).expect("nothing is there");
    };
    check(link, |it| matches!(it, ManifestError::Foreign { name } if name == "review.md"));
}

#[test]
fn every_way_of_not_matching_is_told_apart() {
    let change = |from: &'static str, to: &'static str| {
        move |place: &Place| {
            let text = place.read("out/manifest.json");
            assert!(text.contains(from));
            place.write("out/manifest.json", &text.replacen(from, to, 1));
        }
    };
    let remove =
        |name: &'static str| move |place: &Place| std::fs::remove_file(place.path(name)).expect("it is ours");
    check(remove("out/manifest.json"), |it| matches!(it, ManifestError::Missing));
    check(
        remove("out/review.md"),
        |it| matches!(it, ManifestError::MissingOutput { name } if name == "review.md"),
    );
    check(|place| place.write("out/review.md", "neW"), |it| matches!(it, ManifestError::Changed { .. }));
    check(|place| place.write("out/review.md", "new\n"), |it| matches!(it, ManifestError::Changed { .. }));
    check(
        |place| place.write("out/x", ""),
        |it| matches!(it, ManifestError::Foreign { name } if name == "x"),
    );
    check(|place| place.write("out/manifest.json", ""), |it| matches!(it, ManifestError::CutOff));
    check(|place| place.write("out/manifest.json", "[]"), |it| matches!(it, ManifestError::Damaged { .. }));
    check(
        |place| place.write("out/manifest.json", "\u{1}"),
        |it| matches!(it, ManifestError::Damaged { .. }),
    );
    check(change("housewright-manifest", "other"), |it| matches!(it, ManifestError::OtherFormat { .. }));
    check(change("\"version\": 1", "\"version\": 9"), |it| {
        matches!(it, ManifestError::Newer { found: 9, newest: 1 })
    });
    check(change("\"version\": 1", "\"version\": 0"), |it| matches!(it, ManifestError::NoSuchVersion { .. }));
    check(change("review.md", "../../x"), |it| matches!(it, ManifestError::BadName { .. }));
    check(change("\"outputs\"", "\"puts\""), |it| matches!(it, ManifestError::Damaged { .. }));
}

#[test]
fn digests_are_sha_256_and_do_not_see_line_ends() {
    // FIPS 180-2, appendix B.1.
    let abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
    assert_eq!(Digest::of(b"abc").to_string(), abc);
    assert_eq!(digest_source(b"abc").to_string(), abc);
    assert_eq!(digest_source(b"a\r\nb\r\n\r\nc"), digest_source(b"a\nb\n\nc"));
    assert_eq!(digest_source(b"a\rb\r"), Digest::of(b"a\rb\r"));
    assert_ne!(digest_source(b"a\rb"), digest_source(b"a\nb"));
}
