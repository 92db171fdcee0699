//! `ledger resolve`: who keeps a number that stands in a ledger twice.

use super::repository::{Lamp, Repository};

const LAMPS: [Lamp; 3] =
    [("bench-lamp", "Bench lamp", 1), ("stove-lamp", "Stove lamp", 3), ("vise-lamp", "Vise lamp", 5)];

/// A house that was built, in whose ledger the bench lamp's 2 was mistyped for the stove lamp's 3.
fn mistyped() -> (Repository, String) {
    let repository = Repository::with(&LAMPS);
    let sound = repository.read("ledger.yaml");
    repository.write("ledger.yaml", &sound.replace("hut 2 ", "hut 3 "));
    let (code, said) = repository.housewright(&["check", "."]);
    assert!(code == 1 && said.contains("number-given-twice"), "{said}");
    (repository, sound)
}

fn resolve(repository: &Repository, arguments: &[&str]) -> (i32, String) {
    repository.housewright(&[&["ledger", "resolve"], arguments].concat())
}

#[test]
fn a_mistyped_number_is_what_was_built_again() {
    let (repository, sound) = mistyped();
    let (code, said) = resolve(&repository, &["."]);
    assert!(code == 0 && said.contains("`bench-lamp` (main) has endpoint 2 of `hut` instead of 3"), "{said}");
    assert_eq!(repository.read("ledger.yaml"), sound);
    let (code, said) = resolve(&repository, &["."]);
    assert!(code == 0 && said.contains("`./ledger.yaml` is in order: there is nothing to resolve"), "{said}");
}

#[test]
fn without_a_build_nobody_loses_a_number_unasked() {
    let (repository, _) = mistyped();
    repository.git(&["mv", "build", "elsewhere"]);
    let text = repository.read("ledger.yaml");
    for arguments in [&["."][..], &[".", "--keep", "stove-lamp", "--keep", "bench-lamp"]] {
        let (code, said) = resolve(&repository, arguments);
        let undecided = "nothing says whether `bench-lamp` or `stove-lamp` has endpoint 3 of `hut`";
        assert!(code == 2 && said.contains(undecided) && said.contains("--keep"), "{said}");
    }
    for key in ["vise-lamp", "hatch-lamp"] {
        let (code, said) = resolve(&repository, &[".", "--keep", "stove-lamp", "--keep", key]);
        assert!(
            code == 2 && said.contains(&format!("`{key}` has no endpoint number that another")),
            "{said}"
        );
    }
    assert_eq!(repository.read("ledger.yaml"), text);
    let (code, said) = resolve(&repository, &[".", "--keep", "stove-lamp"]);
    assert!(code == 0 && said.contains("`bench-lamp` (main) has endpoint 5 of `hut` instead of 3"), "{said}");
    repository.write("ledger.yaml", &text);
    let (code, said) = resolve(&repository, &[".", "--out", "elsewhere"]);
    assert!(code == 0 && said.contains("`bench-lamp` (main) has endpoint 2 of `hut` instead of 3"), "{said}");
}

#[test]
fn what_does_not_decide_is_refused() {
    let (repository, _) = mistyped();
    let text = repository.read("ledger.yaml");
    for (arguments, says) in [
        (&[".", "--built", "theirs"][..], "`--built` chooses between the lines"),
        (&[".", "--keep", "stove-lamp"], "the build in `./build` says who keeps a number"),
        (&[".", "--out", "nowhere"], "cannot use the build in `nowhere`"),
        (&["hosue"], "there is no house at `hosue`"),
        (&["elsewhere/house.yaml"], "there is no house at `elsewhere/house.yaml`"),
    ] {
        let (code, said) = resolve(&repository, arguments);
        assert!(code == 2 && said.contains(says), "{said}");
        assert_eq!(repository.read("ledger.yaml"), text);
    }
    let (code, said) = repository.housewright(&["ledger", "rename", "a", "b", "hosue"]);
    assert!(code == 2 && said.contains("there is no house at `hosue`"), "{said}");
}

#[test]
fn what_git_left_unmerged_is_shown_with_the_way_out() {
    let repository = Repository::with(&LAMPS);
    let sound = repository.read("ledger.yaml");
    let line = "  bench-lamp:\n";
    let left = sound.replace(line, &format!("<<<<<<< ours\n{line}=======\n{line}>>>>>>> theirs\n"));
    repository.write("ledger.yaml", &left);
    repository.commit("Commit what git left");
    repository.shows_by("command");
    repository.write("ledger.yaml", &sound);
    let shown = repository.git(&["diff", "--ext-diff"]);
    assert!(
        shown.contains("`housewright ledger resolve` brings what both branches left into order"),
        "{shown}"
    );
}

/// One branch retires a lamp whose lines stand beside those that the other one adds: git merges some of the lines, and leaves
/// the others.
fn entangled() -> Repository {
    let repository = Repository::with(&LAMPS);
    repository.write(".gitattributes", "");
    repository.write(".gitignore", "build/\n");
    repository.git(&["rm", "-r", "-q", "--cached", "build"]);
    repository.commit("Merge without the driver");
    repository.git(&["checkout", "-q", "-b", "attic"]);
    repository.house(&[LAMPS[0], LAMPS[1], ("stove-lamp-strip", "Strip", 7), LAMPS[2]]);
    repository.build();
    repository.commit("Add the strip");
    repository.git(&["checkout", "-q", "main"]);
    std::fs::remove_dir_all(repository.folder().join("build")).expect("it is ours");
    repository.house(&[LAMPS[0], LAMPS[2]]);
    repository.build();
    repository.commit("The stove lamp is gone");
    assert!(!repository.try_git(&["merge", "attic"]).0);
    repository.house(&[LAMPS[0], ("stove-lamp-strip", "Strip", 7), LAMPS[2]]);
    repository
}

#[test]
fn a_conflict_in_the_middle_of_a_merge_is_resolved_by_what_git_has_of_each_side() {
    let repository = entangled();
    let text = repository.read("ledger.yaml");
    assert!(text.contains("<<<<<<<"), "{text}");
    let (code, said) = resolve(&repository, &["."]);
    assert_eq!(code, 0, "{said}");
    let ledger = repository.read("ledger.yaml");
    assert!(ledger.contains("  stove-lamp-strip:\n    main: hut 5 "), "{ledger}");
    assert!(ledger.contains("  stove-lamp:\n  - main: hut 3 "), "{ledger}");
    // Where git has nothing of them any more, the lines are taken apart.
    repository.git(&["add", "-A"]);
    repository.write("ledger.yaml", &text);
    let (code, said) = resolve(&repository, &["."]);
    assert_eq!(code, 0, "{said}");
    let ledger = repository.read("ledger.yaml");
    assert!(ledger.contains("  stove-lamp-strip:\n    main: hut 5 "), "{ledger}");
    repository.write("ledger.yaml", &text.replace("  bench-lamp:\n", "  bench-lamp:\n  bench-lamp:\n"));
    let (code, said) = resolve(&repository, &["."]);
    // The help must not send people to what git has no more.
    assert!(code == 2 && said.contains("are not two ledgers") && !said.contains("git show :1:"), "{said}");
    let commits = ["HEAD", "MERGE_HEAD"];
    assert!(commits.iter().all(|commit| said.contains(&format!("`{commit}`"))), "{said}");
    assert!(commits.iter().all(|commit| repository.try_git(&["show", &format!("{commit}:./ledger.yaml")]).0));
}

#[cfg(unix)]
#[test]
fn a_ledger_that_is_a_link_is_not_called_gone() {
    let repository = Repository::with(&LAMPS);
    let elsewhere = tempfile::tempdir().expect("a folder for the test");
    let (ledger, other) = (repository.folder().join("ledger.yaml"), elsewhere.path().join("ledger.yaml"));
    std::fs::copy(&ledger, &other).expect("both are ours");
    std::fs::remove_file(&ledger).expect("it is ours");
    std::os::unix::fs::symlink(&other, &ledger).expect("the folder is ours");
    let (code, said) = repository.housewright(&["check", "."]);
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(code == 1 && said.contains("put the file itself in the place of the link"), "{said}");
    assert!(!said.contains("is gone"), "{said}");
}

/// One of the two had another one, and nobody knows it any more.
#[test]
fn a_unique_id_that_was_copied_is_not_resolved_by_taking_a_line_out() {
    let repository = Repository::with(&LAMPS);
    let sound = repository.read("ledger.yaml");
    let id = |line: &str| line.rsplit(' ').next().map(|id| id.trim_end_matches(['"', '\'']).to_owned());
    let ids: Vec<String> = sound.lines().filter(|line| line.contains("hut ")).filter_map(id).collect();
    repository.write("ledger.yaml", &sound.replace(&ids[1], &ids[0]));
    let text = repository.read("ledger.yaml");
    assert_ne!(text, sound);
    let (code, said) = resolve(&repository, &["."]);
    let twice = format!("the unique id {} stands at `bench-lamp` and at `stove-lamp`", ids[0]);
    assert!(code == 2 && said.contains(&twice) && said.contains("from version control"), "{said}");
    assert_eq!(repository.read("ledger.yaml"), text);
}
