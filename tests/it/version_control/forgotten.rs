//! A ledger that went back, or that somebody edited, beside a build that knows better.

use super::repository::{Lamp, Repository};

const LAMPS: [Lamp; 2] = [("bench-lamp", "Bench lamp", 1), ("stove-lamp", "Stove lamp", 3)];
const OVEN: Lamp = ("oven-lamp", "Oven lamp", 5);
const MIXER: Lamp = ("mixer-lamp", "Mixer lamp", 7);

/// Whether the ledger has this endpoint number under this key.
fn has(repository: &Repository, key: &str, number: u16) -> bool {
    let ledger = repository.read("ledger.yaml");
    ledger.contains(&format!("  {key}:\n    main: hut {number} "))
        || ledger.contains(&format!("  {key}:\n  - main: hut {number} "))
}

fn has_line(repository: &Repository, lines: &str) -> bool {
    repository.read("ledger.yaml").contains(lines)
}

fn edit(repository: &Repository, from: &str, to: &str) {
    let ledger = repository.read("ledger.yaml");
    assert!(ledger.contains(from), "{from} in {ledger}");
    repository.write("ledger.yaml", &ledger.replace(from, to));
}

/// A house whose oven lamp was built, and is gone from the description and the ledger by a revert.
fn reverted() -> Repository {
    let repository = Repository::new();
    repository.write(".gitignore", "build/\n");
    repository.house(&LAMPS);
    repository.build();
    repository.commit("Build");
    repository.house(&[LAMPS[0], LAMPS[1], OVEN]);
    repository.build();
    repository.commit("Add the oven lamp");
    repository.git(&["revert", "--no-edit", "HEAD"]);
    assert!(!repository.read("ledger.yaml").contains("oven"));
    repository
}

#[test]
fn a_reverted_ledger_gives_no_number_twice() {
    let repository = reverted();
    let (code, said) = repository.housewright(&["check", "."]);
    assert!(
        code == 0 && said.contains("`ledger.yaml` has forgotten endpoint 4 of `hut`, `oven-lamp`"),
        "{said}"
    );
    assert!(said.contains("below `retired:`"), "{said}");
    assert_eq!(repository.housewright(&["check", ".", "--strict"]).0, 1);
    assert!(repository.build().contains("has forgotten endpoint 4"));
    assert!(has(&repository, "oven-lamp", 4), "{}", repository.read("ledger.yaml"));
    let (_, said) = repository.housewright(&["check", "."]);
    assert!(!said.contains("forgotten"), "{said}");
    repository.house(&[LAMPS[0], LAMPS[1], MIXER]);
    repository.build();
    assert!(has(&repository, "mixer-lamp", 5), "{}", repository.read("ledger.yaml"));
}

/// However many they are.
#[test]
fn what_a_ledger_from_long_ago_has_forgotten_is_told_once() {
    let repository = reverted();
    let old = repository.read("ledger.yaml");
    let all = [LAMPS[0], LAMPS[1], OVEN, MIXER];
    repository.house(&all);
    repository.build();
    repository.write("ledger.yaml", &old);
    let (_, said) = repository.housewright(&["check", "."]);
    let says = "`ledger.yaml` has forgotten 2 endpoints, and `./build` holds a build with them: those of `mixer-lamp` and `oven-lamp`";
    assert!(said.contains(says) && said.contains("a build gives them back"), "{said}");
    repository.house(&LAMPS);
    let (_, said) = repository.housewright(&["check", "."]);
    assert!(said.contains(says), "{said}");
    assert!(
        said.contains("remembers them below `retired:`, and their numbers are never given again"),
        "{said}"
    );
    repository.house(&[LAMPS[0], LAMPS[1], MIXER]);
    let said = repository.build();
    assert!(
        said.contains("a build gives it back to `mixer-lamp`") && said.contains("remembers it below"),
        "{said}"
    );
}

#[test]
fn an_appliance_whose_ledger_alone_was_reverted_has_its_number_back() {
    let repository = reverted();
    let before = repository.git(&["show", "HEAD~1:ledger.yaml"]);
    repository.house(&[LAMPS[0], LAMPS[1], MIXER, OVEN]);
    let (_, said) = repository.housewright(&["check", "."]);
    assert!(said.contains("a build gives it back to `oven-lamp`"), "{said}");
    // The review before the build says what the build does.
    let (code, said) = repository.housewright(&["review", ".", "--stop-at", "regained"]);
    assert!(code == 0 && said.contains("endpoint 5"), "{said}");
    repository.build();
    let line = before.lines().find(|line| line.contains("hut 4 ")).expect("it was built");
    assert!(repository.read("ledger.yaml").contains(line), "{}", repository.read("ledger.yaml"));
    assert!(has(&repository, "mixer-lamp", 5));
}

#[test]
fn a_build_that_cannot_be_asked_is_told_by_a_check_too() {
    let repository = Repository::with(&LAMPS);
    let ledger = repository.read("ledger.yaml");
    let check = |says: &str| {
        let (code, said) = repository.housewright(&["check", ".", "--strict"]);
        assert!(code == 1 && said.contains(says), "{code} {said}");
        let (code, said) = repository.housewright(&["build", "."]);
        assert!(code == 2 && said.contains(says), "{code} {said}");
    };
    let definition = repository.read("build/hut.bridge.json");
    repository.write("build/hut.bridge.json", &format!("{definition} \n"));
    // A ledger that is as that build left it knows all.
    assert_eq!(repository.housewright(&["check", ".", "--strict"]).0, 0);
    edit(&repository, "hut 2 0x", "hut 20 0x");
    check("that build cannot be read: `hut.bridge.json` is not as it was built");
    repository.write("ledger.yaml", &ledger);
    repository.write("build/hut.bridge.json", &definition);
    repository.write("build/notes.txt", "Ask Ada\n");
    check("holds `notes.txt`, which no build has made");
    std::fs::remove_file(repository.folder().join("build/notes.txt")).expect("it is ours");
    repository.write("build/manifest.json", "{");
    check("`manifest.json` is cut off");
}

#[test]
fn a_number_whose_line_was_taken_out_by_hand_is_not_given_again() {
    let repository = reverted();
    repository.build();
    let ledger = repository.read("ledger.yaml");
    repository.write("ledger.yaml", ledger.split_once("retired:").expect("the oven lamp is").0);
    let (_, said) = repository.housewright(&["check", "."]);
    let says = "`ledger.yaml` knows of `hut` none above 3, and the build in `./build` knows that endpoint 4 was given";
    assert!(said.contains(says), "{said}");
    assert!(repository.build().contains("endpoint 4 was given"));
    assert!(has_line(&repository, "  (unknown):\n  - endpoint: hut 4 - "));
    // It is told once, and holds for ever, wherever the ledger goes.
    assert_eq!(repository.build(), "no change\n");
    std::fs::remove_dir_all(repository.folder().join("build")).expect("it is ours");
    repository.house(&[LAMPS[0], LAMPS[1], MIXER]);
    repository.build();
    assert!(has(&repository, "mixer-lamp", 5), "{}", repository.read("ledger.yaml"));
}

#[test]
fn what_a_hand_changed_is_told_and_counts() {
    let repository = Repository::with(&LAMPS);
    let sound = repository.read("ledger.yaml");
    let line = sound.lines().find(|line| line.contains("hut 2 ")).expect("it was built");
    let id = line.rsplit(' ').next().expect("it ends with one");
    for (from, to, says) in [
        ("hut 2 0x", "hut 20 0x", "there `bench-lamp` has endpoint 2 of `hut` instead of 20"),
        ("hut 2 0x", "hat 2 0x", "there `bench-lamp` has endpoint 2 of `hut` instead of 2 of `hat`"),
        (
            "hut 2 0x0100",
            "hut 2 0x0101",
            "has the device type 0x0100 instead of 0x0101 at endpoint 2 of `hut`",
        ),
        (id, "00112233445566778899aabbccddeeff", "has another unique id at endpoint 2 of `hut`"),
    ] {
        repository.write("ledger.yaml", &sound);
        edit(&repository, from, to);
        let (code, said) = repository.housewright(&["check", ".", "--strict"]);
        assert!(code == 1 && said.contains(says), "{said}");
        assert!(said.contains("is not numbered as `ledger.yaml` is"), "{said}");
        let help = "if `ledger.yaml` was changed by hand, take it back from version control";
        assert!(said.contains(help), "{said}");
        let (code, said) = repository.housewright(&["build", ".", "--stop-at", "lost"]);
        assert!(code == 1 && said.contains(says), "{said}");
    }
    repository.write("ledger.yaml", &sound);
    edit(&repository, "hut 2 0x", "hut 20 0x");
    repository.build();
    assert!(has(&repository, "bench-lamp", 20), "{}", repository.read("ledger.yaml"));
    // What was built is not given to anybody else.
    assert!(has_line(&repository, "  bench-lamp:\n  - main: hut 2 "));
}

/// One work tree, one output folder, and a lamp that was taken over to the other branch without the one before it.
#[test]
fn the_build_of_another_branch_changes_nothing_that_the_ledger_has() {
    let repository = Repository::new();
    repository.write(".gitignore", "build/\n");
    repository.house(&LAMPS);
    repository.build();
    repository.commit("Build");
    repository.git(&["checkout", "-q", "-b", "attic"]);
    repository.house(&[LAMPS[0], MIXER, LAMPS[1]]);
    repository.build();
    repository.house(&[LAMPS[0], MIXER, LAMPS[1], OVEN]);
    repository.build();
    repository.commit("Add two lamps");
    repository.git(&["checkout", "-q", "main"]);
    repository.house(&[LAMPS[0], LAMPS[1], OVEN]);
    let (code, said) = repository.housewright(&["build", ".", "--out", "gateway"]);
    assert_eq!(code, 0, "{said}");
    repository.commit("Add the oven lamp alone");
    assert!(has(&repository, "oven-lamp", 4));
    let (_, said) = repository.housewright(&["check", "."]);
    assert!(said.contains("there `oven-lamp` has endpoint 5 of `hut` instead of 4"), "{said}");
    assert!(!said.contains("by hand:"), "{said}");
    repository.build();
    assert!(has(&repository, "oven-lamp", 4), "{}", repository.read("ledger.yaml"));
    let (code, said) =
        repository.housewright(&["build", ".", "--out", "gateway", "--strict", "--stop-at", "unseen"]);
    assert_eq!(code, 0, "{said}");
}

/// The appliance was shown as another kind of device, and is not shown in the older state.
#[test]
fn an_appliance_that_is_not_shown_has_one_place_after_a_revert() {
    let repository = Repository::new();
    repository.write(".gitignore", "build/\n");
    repository.house(&LAMPS);
    repository.build();
    let text = repository.read("house.yaml");
    let name = "        name: Bench lamp\n";
    repository.write("house.yaml", &text.replace(name, &format!("{name}        bridged: false\n")));
    repository.build();
    repository.commit("The bench lamp is not shown");
    repository.write("house.yaml", &text.replacen("on-off-light", "on-off-load", 1));
    repository.build();
    repository.commit("The bench lamp is a load");
    repository.git(&["revert", "--no-edit", "HEAD"]);
    repository.build();
    assert!(has_line(&repository, "  bench-lamp:\n    main: hut 2 "), "{}", repository.read("ledger.yaml"));
    assert!(has_line(&repository, "  bench-lamp:\n  - main: hut 4 "), "{}", repository.read("ledger.yaml"));
    assert_eq!(repository.build(), "no change\n");
}

/// The older ledger has the lamp at the number that it had before it was lost and came again.
#[test]
fn what_check_says_of_a_ledger_that_went_back_is_what_the_build_does() {
    let repository = Repository::new();
    repository.house(&LAMPS);
    repository.build();
    let older = repository.read("ledger.yaml");
    repository.house(&LAMPS[..1]);
    repository.build();
    repository.house(&LAMPS);
    repository.build();
    assert!(has(&repository, "stove-lamp", 4));
    repository.write("ledger.yaml", &older);
    let (_, said) = repository.housewright(&["check", "."]);
    assert!(said.contains("there `stove-lamp` has endpoint 4 of `hut` instead of 3"), "{said}");
    assert!(!said.contains("gives it back"), "{said}");
    repository.build();
    assert!(has_line(&repository, "  stove-lamp:\n    main: hut 3 "), "{}", repository.read("ledger.yaml"));
    assert!(has_line(&repository, "  stove-lamp:\n  - main: hut 4 "), "{}", repository.read("ledger.yaml"));
}

#[test]
fn a_key_that_a_hand_changed_is_told() {
    let repository = Repository::with(&LAMPS);
    edit(&repository, "  bench-lamp:", "  bunch-lamp:");
    let (_, said) = repository.housewright(&["check", "."]);
    assert!(
        said.contains(
            "stands under `bunch-lamp` in `ledger.yaml`, and no appliance of that key has such an endpoint"
        ),
        "{said}"
    );
    let (code, said) = repository.housewright(&["build", ".", "--stop-at", "lost"]);
    assert!(code == 1 && said.contains("take `ledger.yaml` back from version control"), "{said}");
}

#[test]
fn a_number_that_a_merge_gave_to_another_appliance_stays_there() {
    let repository = reverted();
    // Another branch gave 4 to the mixer lamp, and was built elsewhere.
    repository.house(&[LAMPS[0], LAMPS[1], MIXER]);
    let (code, said) = repository.housewright(&["build", ".", "--out", "elsewhere"]);
    assert_eq!(code, 0, "{said}");
    assert!(has(&repository, "mixer-lamp", 4));
    let ledger = repository.read("ledger.yaml");
    let (code, said) = repository.housewright(&["build", ".", "--stop-at", "lost"]);
    assert!(code == 1 && said.contains("number-reused"), "{said}");
    assert_eq!(repository.read("ledger.yaml"), ledger);
}

#[test]
fn a_build_that_cannot_be_read_is_not_replaced_by_a_ledger_that_went_back() {
    let repository = reverted();
    let json = repository.read("build/hut.bridge.json");
    repository.write("build/hut.bridge.json", &json.replace("Stove", "Stave"));
    let (code, said) = repository.housewright(&["build", "."]);
    assert_eq!(code, 2, "{said}");
    assert!(
        said.contains("is not as the build in `./build` left it, and that build cannot be read"),
        "{said}"
    );
    assert!(said.contains("take `./build` back from version control or the gateway"), "{said}");
}
