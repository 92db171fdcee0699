//! The output folder: what is put there, what is refused, and what an interrupted build left.

use super::{FIRST, Parts, Place, SECOND};
use housewright::emit::{Digest, EmitError, ManifestError, verify};
use std::fs;
use std::os::unix::fs::{MetadataExt, PermissionsExt, symlink};

const FILES: [&str; 5] =
    ["ledger.yaml", "out/manifest.json", "out/papers/kitchen.html", "out/review.md", "out/wharf.bridge.json"];

#[test]
fn a_build_is_its_files_and_the_ledger_and_nothing_else() {
    let place = Place::new();
    let outcome = place.build(&FIRST).expect("nothing is in the way");
    assert!(outcome.changed);
    assert_eq!(place.files(), FILES);
    assert_eq!(place.read("out/wharf.bridge.json"), "{\"one\":1}");
    assert_eq!(verify(&place.out()).expect("it is whole"), outcome.manifest);
    assert_eq!(outcome.manifest.predecessor, None);
}

#[test]
fn a_build_that_changes_nothing_writes_nothing_and_keeps_the_review() {
    let place = Place::new();
    place.build(&FIRST).expect("nothing is in the way");
    let folder = || fs::metadata(place.out()).expect("it is there").ino();
    let (before, text) = (folder(), place.read("out/manifest.json"));
    let again = Parts { review: "no change", ledger: None, ..FIRST };
    let outcome = place.build(&again).expect("nothing is in the way");
    assert!(!outcome.changed);
    assert_eq!((folder(), place.read("out/manifest.json")), (before, text));
    assert_eq!(place.read("out/review.md"), "new");
}

#[test]
fn a_build_that_changes_something_names_the_manifest_it_replaces() {
    let place = Place::new();
    place.build(&FIRST).expect("nothing is in the way");
    let first = Digest::of(place.read("out/manifest.json").as_bytes());
    let outcome = place.build(&SECOND).expect("nothing is in the way");
    assert_eq!(outcome.manifest.predecessor, Some(first));
    assert_eq!(place.files(), ["ledger.yaml", "out/manifest.json", "out/review.md", "out/wharf.bridge.json"]);
    assert_eq!(place.read("out/review.md"), "changed");
    verify(&place.out()).expect("it is whole");
}

#[test]
fn the_same_builds_give_the_same_bytes_elsewhere() {
    let (one, other) = (Place::new(), Place::new());
    for place in [&one, &other] {
        place.build(&FIRST).expect("nothing is in the way");
        place.build(&SECOND).expect("nothing is in the way");
    }
    assert_eq!(one.read("out/manifest.json"), other.read("out/manifest.json"));
    assert!(!one.read("out/manifest.json").contains(one.0.path().to_str().expect("it is text")));
}

#[test]
fn a_damaged_build_is_made_anew() {
    let place = Place::new();
    place.build(&FIRST).expect("nothing is in the way");
    place.write("out/wharf.bridge.json", "{\"one\":2}");
    let outcome = place.build(&Parts { ledger: None, ..FIRST }).expect("nothing is in the way");
    assert!(outcome.changed);
    assert_eq!(place.read("out/wharf.bridge.json"), "{\"one\":1}");
}

#[test]
fn a_ledger_that_is_missing_is_written_though_the_build_is_the_same() {
    let place = Place::new();
    place.build(&FIRST).expect("nothing is in the way");
    fs::remove_file(place.path("ledger.yaml")).expect("it is ours");
    place.build(&FIRST).expect("nothing is in the way");
    assert_eq!(place.files(), FILES);
}

#[test]
fn many_files_are_put_in_place_too() {
    let names: Vec<String> = (0..1100).map(|number| format!("b{number}.bridge.json")).collect();
    let outputs: Vec<(&str, &str)> = names.iter().map(|name| (name.as_str(), "{}")).collect();
    let place = Place::new();
    place.build(&Parts { outputs: &outputs, ..FIRST }).expect("nothing is in the way");
    assert_eq!(verify(&place.out()).expect("it is whole").outputs.len(), 1101);
}

#[test]
fn the_new_folder_and_ledger_have_the_mode_of_the_old() {
    let place = Place::new();
    place.build(&FIRST).expect("nothing is in the way");
    let mode = |name: &str, to: u32| {
        fs::set_permissions(place.path(name), fs::Permissions::from_mode(to)).expect("it is ours");
    };
    mode("out", 0o750);
    mode("ledger.yaml", 0o640);
    place.build(&Parts { ledger: Some("other\n"), ..SECOND }).expect("nothing is in the way");
    let now = |name| fs::metadata(place.path(name)).expect("it is there").mode() & 0o777;
    assert_eq!((now("out"), now("ledger.yaml")), (0o750, 0o640));
}

/// Whoever may do everything, such as root, is kept out by no permission: there the test says little.
#[test]
fn a_folder_that_was_protected_leaves_nothing_in_the_way_of_the_next_build() {
    let place = Place::new();
    place.build(&FIRST).expect("nothing is in the way");
    fs::set_permissions(place.path("out"), fs::Permissions::from_mode(0o555)).expect("it is ours");
    place.build(&SECOND).expect("the folder beside it can be written");
    assert_eq!(place.files(), ["ledger.yaml", "out/manifest.json", "out/review.md", "out/wharf.bridge.json"]);
    place.build(&FIRST).expect("nothing is in the way");
    let now = fs::metadata(place.path("out")).expect("it is there").mode() & 0o777;
    assert_eq!(now, 0o555);
}

/// A build that must be refused, leaving every file as it is.
fn refused(place: &Place, parts: &Parts<'_>, expected: impl Fn(&EmitError) -> bool) {
    let state = |place: &Place| {
        let names = place.files();
        let content = |name: &String| {
            fs::read_link(place.path(name))
                .map_or_else(|_| place.read(name), |to| to.to_string_lossy().into_owned())
        };
        names.iter().map(|name| (name.clone(), content(name))).collect::<Vec<_>>()
    };
    let before = state(place);
    let fault = place.build(parts).expect_err("it must be refused");
    assert!(expected(&fault), "{fault:?}");
    assert!(!fault.help().is_empty());
    assert_eq!(state(place), before);
}

#[test]
fn a_folder_with_a_file_of_somebody_is_refused() {
    let found = |name: &'static str| move |fault: &EmitError| matches!(fault, EmitError::Foreign { found, .. } if found == name);
    let place = Place::new();
    place.write("out/notes.txt", "mine");
    refused(&place, &FIRST, found("notes.txt"));
    fs::remove_file(place.path("out/notes.txt")).expect("it is ours");
    place.build(&FIRST).expect("an empty folder is in nobody's way");
    place.write("out/papers/notes.txt", "mine");
    refused(&place, &SECOND, found("papers/notes.txt"));
    fs::rename(place.path("out/papers/notes.txt"), place.path("out/notes.txt")).expect("it is ours");
    refused(&place, &SECOND, found("notes.txt"));
    fs::remove_file(place.path("out/notes.txt")).expect("it is ours");
    fs::create_dir(place.path("out/mine")).expect("it is ours");
    refused(&place, &SECOND, found("mine"));
    fs::remove_dir(place.path("out/mine")).expect("it is ours");
    fs::remove_file(place.path("out/review.md")).expect("it is ours");
    symlink("/etc/passwd", place.path("out/review.md")).expect("it is ours");
    refused(&place, &SECOND, found("review.md"));
}

#[test]
fn the_house_itself_is_no_output_folder() {
    let place = Place::new();
    place.write("out/house.yaml", "housewright: 1\n");
    refused(
        &place,
        &FIRST,
        |fault| matches!(fault, EmitError::Foreign { found, .. } if found == "house.yaml"),
    );
}

#[test]
fn links_and_files_in_the_place_of_the_folder_are_refused() {
    let place = Place::new();
    place.write("elsewhere/keep", "mine");
    for to in ["elsewhere", "nowhere"] {
        symlink(to, place.out()).expect("the folder is ours");
        refused(&place, &FIRST, |fault| matches!(fault, EmitError::Link { .. }));
        fs::remove_file(place.out()).expect("it is ours");
    }
    place.write("out", "mine");
    refused(&place, &FIRST, |fault| matches!(fault, EmitError::NotAFolder { .. }));
}

#[test]
fn a_ledger_that_is_a_link_or_has_changed_is_refused() {
    let place = Place::new();
    place.write("elsewhere.yaml", "mine");
    symlink("elsewhere.yaml", place.path("ledger.yaml")).expect("the folder is ours");
    refused(&place, &FIRST, |fault| matches!(fault, EmitError::Link { .. }));
    let place = Place::new();
    place.build(&FIRST).expect("nothing is in the way");
    let before = place.read("out/manifest.json");
    // Somebody writes the ledger between the reading and the end of the build.
    let ledger = place.path("ledger.yaml");
    let target =
        housewright::emit::Target::open(&place.out(), "heron-wharf", housewright::emit::Patience::Refuse)
            .expect("nothing is in the way");
    let fault = target
        .put(&housewright::emit::Build {
            formats: Default::default(),
            sources: Vec::new(),
            ledger: housewright::emit::LedgerText {
                path: &ledger,
                name: "ledger.yaml",
                as_read: Some(b"older"),
                next: Some("newer"),
            },
            outputs: Vec::new(),
            numbers: std::collections::BTreeMap::new(),
            unshown: Vec::new(),
        })
        .expect_err("the ledger is another one");
    assert!(matches!(fault, EmitError::Changed { .. }), "{fault:?}");
    assert_eq!((place.read("out/manifest.json"), place.files().len()), (before, FILES.len()));
}

#[test]
fn the_build_of_another_house_is_refused() {
    let place = Place::new();
    place.build(&FIRST).expect("nothing is in the way");
    let other = Parts { house: Some("mill-lane"), ..SECOND };
    refused(
        &place,
        &other,
        |fault| matches!(fault, EmitError::OtherHouse { found, .. } if found == "heron-wharf"),
    );
}

#[test]
fn a_manifest_that_cannot_be_trusted_is_refused() {
    let place = Place::new();
    place.build(&FIRST).expect("nothing is in the way");
    let whole = place.read("out/manifest.json");
    place.write("out/manifest.json", &whole[..whole.len() / 2]);
    refused(&place, &SECOND, |fault| {
        matches!(fault, EmitError::Manifest { cause: ManifestError::CutOff, .. })
    });
    place.write("out/manifest.json", &whole.replacen("\"version\": 1", "\"version\": 2", 1));
    refused(&place, &SECOND, |fault| {
        matches!(fault, EmitError::Manifest { cause: ManifestError::Newer { found: 2, .. }, .. })
    });
    place.write("out/manifest.json", "{\"format\":\"web-page\",\"version\":1}");
    refused(
        &place,
        &SECOND,
        |fault| matches!(fault, EmitError::Foreign { found, .. } if found == "manifest.json"),
    );
}

#[test]
fn names_that_lead_elsewhere_or_collide_are_refused() {
    for name in ["../x", "/x", "a/../x", ".x", "a//b", "", "manifest.json", "a\\b", "c:x", "x\n", "a/.x"]
        .into_iter()
        .chain(["nul.bridge.json", "COM1", "lpt9.b.json", "aux/x"])
    {
        refused(&Place::new(), &Parts { outputs: &[(name, "")], ..FIRST }, |fault| {
            matches!(fault, EmitError::BadName { .. })
        });
    }
    let place = Place::new();
    place
        .build(&Parts { outputs: &[("null.bridge.json", ""), ("com10", ""), ("con-1.json", "")], ..FIRST })
        .expect("no system has such devices");
    refused(&Place::new(), &Parts { outputs: &[("a.json", ""), ("A.json", "")], ..FIRST }, |fault| {
        matches!(fault, EmitError::SameName { .. })
    });
}

#[test]
fn folders_without_a_name_are_refused() {
    for folder in ["/", "..", "a/.."] {
        let fault = housewright::emit::Target::open(
            folder.as_ref(),
            "heron-wharf",
            housewright::emit::Patience::Refuse,
        )
        .expect_err("it has no name");
        assert!(matches!(fault, EmitError::NoName { .. }), "{fault:?}");
    }
}

#[test]
fn what_a_killed_build_left_is_thrown_away() {
    let place = Place::new();
    place.build(&FIRST).expect("nothing is in the way");
    place.write(".out.housewright-next/wharf.bridge.json", "half");
    place.write(".out.housewright-next/papers/kitchen.html", "half");
    place.write(".out.housewright-lock", "");
    place.write(".ledger.yaml.housewright-next", "half");
    place.build(&SECOND).expect("nothing is in the way");
    assert_eq!(place.files(), ["ledger.yaml", "out/manifest.json", "out/review.md", "out/wharf.bridge.json"]);
}

#[test]
fn a_build_killed_between_two_renames_is_put_back() {
    let place = Place::new();
    place.build(&FIRST).expect("nothing is in the way");
    let before = place.read("out/manifest.json");
    fs::rename(place.out(), place.path(".out.housewright-last")).expect("it is ours");
    let target =
        housewright::emit::Target::open(&place.out(), "heron-wharf", housewright::emit::Patience::Refuse)
            .expect("nothing is in the way");
    assert_eq!(place.read("out/manifest.json"), before);
    assert!(target.previous().is_some());
    drop(target);
    assert_eq!(place.files(), FILES);
}

#[test]
fn a_file_that_got_into_the_old_build_is_kept() {
    let place = Place::new();
    place.build(&FIRST).expect("nothing is in the way");
    fs::rename(place.out(), place.path(".out.housewright-next")).expect("it is ours");
    place.write(".out.housewright-next/papers/notes.txt", "mine");
    let outcome = place.build(&SECOND).expect("nothing is in the way");
    assert_eq!(outcome.kept, Some(place.path("out.kept-1")));
    assert_eq!(place.read("out.kept-1/papers/notes.txt"), "mine");
}
