//! Two branches that both gave an endpoint number, merged by git with the ledger's merge driver, then built.

use super::repository::{Lamp, Repository};

const BASE: [Lamp; 2] = [("bench-lamp", "Bench lamp", 1), ("stove-lamp", "Stove lamp", 3)];
const MAIN: [Lamp; 3] = [BASE[0], ("hatch-lamp", "Hatch lamp", 4), BASE[1]];
const ATTIC: [Lamp; 3] = [("attic-lamp", "Attic lamp", 5), BASE[0], BASE[1]];
const BOTH: [Lamp; 4] = [ATTIC[0], MAIN[0], MAIN[1], MAIN[2]];

/// On `main` the hatch lamp was built, on `attic` the attic lamp: both have endpoint 4. The house itself merges well.
fn branched() -> Repository {
    let repository = Repository::with(&BASE);
    // What is built is made anew after a merge, and does not belong into it.
    repository.write(".gitignore", "build/\n");
    repository.git(&["rm", "-r", "-q", "--cached", "build"]);
    repository.commit("Leave the build out");
    repository.git(&["checkout", "-q", "-b", "attic"]);
    repository.house(&ATTIC);
    repository.build();
    repository.commit("Add the attic lamp");
    repository.git(&["checkout", "-q", "main"]);
    repository.git(&["clean", "-q", "-f", "-d", "-x", "build"]);
    repository.build();
    repository.house(&MAIN);
    repository.build();
    repository.commit("Add the hatch lamp");
    repository
}

/// The lines of the ledger for endpoints, without their ids.
fn numbers(repository: &Repository) -> Vec<String> {
    let ledger = repository.read("ledger.yaml");
    let mut key = "";
    let mut numbers = Vec::new();
    for line in ledger.lines() {
        match line.trim().split_once(": hut ") {
            Some((_, rest)) => numbers.push(format!("{key} {}", rest.split(' ').next().unwrap_or_default())),
            None => key = line.trim().trim_end_matches(':'),
        }
    }
    numbers
}

/// After the merge the house checks and builds; what the gateways have keeps its place.
fn builds(repository: &Repository, lost: &str) {
    assert_eq!(repository.git(&["status", "--porcelain"]), "");
    let (code, text) = repository.housewright(&["check", "."]);
    assert_eq!(code, 0, "{text}");
    let (code, text) = repository.housewright(&["build", ".", "--stop-at", "lost"]);
    assert_eq!(code, 0, "{text}");
    assert!(text.contains(lost), "{text}");
    assert_eq!(repository.git(&["status", "--porcelain"]), "", "the build leaves the merged ledger as it is");
}

#[test]
fn the_branch_that_is_merged_gives_way_without_a_conflict_and_the_house_builds() {
    let repository = branched();
    let said = repository.git(&["merge", "--no-edit", "attic"]);
    assert!(said.contains("`attic-lamp` (main) has endpoint 5 of `hut` instead of 4"), "{said}");
    assert_eq!(numbers(&repository), ["attic-lamp 5", "bench-lamp 2", "hatch-lamp 4", "stove-lamp 3"]);
    let known = repository.read("house.yaml");
    repository.house(&BOTH);
    assert_eq!(repository.read("house.yaml"), known, "git merged the house itself");
    builds(&repository, "Attic lamp is new");
    repository.shows_by("command");
    let shown = repository.git(&["diff", "attic", "main", "--", "ledger.yaml"]);
    assert!(shown.contains("hatch-lamp is new") && !shown.contains("forgotten"), "{shown}");
}

#[test]
fn two_renames_of_one_appliance_are_told() {
    let repository = Repository::with(&BASE);
    repository.write(".gitignore", "build/\n");
    repository.git(&["rm", "-r", "-q", "--cached", "build"]);
    repository.commit("Leave the build out");
    let rename = |key: &str| {
        repository.house(&[(key, "Stove lamp", 3), BASE[0]]);
        let house = repository.read("house.yaml");
        let key = format!("{key}:\n");
        repository.write("house.yaml", &house.replace(&key, &format!("{key}        formerly: stove-lamp\n")));
        repository.build();
        repository.commit("Rename the stove lamp");
    };
    repository.git(&["checkout", "-q", "-b", "attic"]);
    rename("range-lamp");
    repository.git(&["checkout", "-q", "main"]);
    rename("hob-lamp");
    let (_, said) = repository.try_git(&["merge", "--no-edit", "attic"]);
    assert!(said.contains("`hob-lamp` (main) has what the other branch renamed to `range-lamp`"), "{said}");
}

#[test]
fn the_branch_that_is_merged_into_gives_way_where_the_other_one_was_built() {
    let repository = branched();
    let driver = repository
        .git(&["config", "merge.ledger.driver"])
        .trim()
        .replace("ledger merge", "ledger merge --built theirs");
    repository.git(&["-c", &format!("merge.ledger.driver={driver}"), "merge", "--no-edit", "-q", "attic"]);
    assert_eq!(numbers(&repository), ["attic-lamp 4", "bench-lamp 2", "hatch-lamp 5", "stove-lamp 3"]);
}

#[test]
fn without_the_driver_the_check_refuses_what_git_leaves_and_a_command_resolves_it() {
    let repository = branched();
    repository.git(&["config", "--unset", "merge.ledger.driver"]);
    repository.write(".gitattributes", "ledger.yaml merge=union\n");
    repository.commit("Merge lines");
    repository.git(&["merge", "--no-edit", "-q", "attic"]);
    let (code, text) = repository.housewright(&["check", "."]);
    assert_eq!((code, text.contains("ledger.yaml")), (1, true), "{text}");
    let (code, text) = repository.housewright(&["ledger", "resolve", "."]);
    assert_eq!(code, 0, "{text}");
    assert!(text.contains("`attic-lamp` (main) has endpoint 5 of `hut` instead of 4"), "{text}");
    repository.commit("Resolve the ledger");
    builds(&repository, "Attic lamp is new");
}

/// Two branches that committed what they built.
fn built_twice(attributes: &str) -> Repository {
    let repository = Repository::with(&BASE);
    let own = repository.read(".gitattributes");
    let own: Vec<&str> = own.lines().filter(|line| !line.contains("/build/")).collect();
    repository.write(".gitattributes", &format!("{}\n{attributes}", own.join("\n")));
    repository.commit("Say how builds are merged");
    for (branch, lamps) in [("attic", &ATTIC), ("hatch", &MAIN)] {
        repository.git(&["checkout", "-q", "-b", branch, "main"]);
        repository.house(lamps);
        repository.build();
        repository.commit("Add a lamp");
    }
    let (merged, said) = repository.try_git(&["merge", "--no-edit", "attic"]);
    assert!(!merged && said.contains("build/manifest.json"), "{said}");
    repository
}

#[test]
fn builds_of_two_branches_are_left_whole_and_the_next_build_takes_their_place() {
    let repository = built_twice("**/build/** -merge\n");
    let said = repository.build();
    assert!(said.contains("Attic lamp is new"), "{said}");
    repository.commit("Merge the attic lamp");
    assert_eq!(numbers(&repository), ["attic-lamp 5", "bench-lamp 2", "hatch-lamp 4", "stove-lamp 3"]);
}

#[test]
fn a_manifest_with_the_lines_of_two_branches_says_how_to_take_one() {
    let repository = built_twice("");
    let (code, said) = repository.housewright(&["build", "."]);
    assert_eq!((code, said.contains("has the lines of two branches")), (2, true), "{said}");
    assert!(said.contains("git checkout --ours -- ./build"), "{said}");
    repository.git(&["checkout", "--ours", "--", "./build"]);
    let said = repository.build();
    assert!(said.contains("Attic lamp is new"), "{said}");
}

/// The commit stands on another one of its branch, which is not taken over with it.
#[test]
fn a_commit_that_is_taken_over_alone_renumbers_nothing_that_was_built() {
    let repository = branched();
    repository.git(&["checkout", "-q", "attic"]);
    repository.house(&[ATTIC[0], BASE[0], BASE[1], ("vise-lamp", "Vise lamp", 7)]);
    repository.git(&["clean", "-q", "-f", "-d", "-x", "build"]);
    repository.build();
    repository.commit("Add the vise lamp");
    repository.git(&["checkout", "-q", "main"]);
    repository.git(&["cherry-pick", "attic"]);
    assert_eq!(numbers(&repository), ["bench-lamp 2", "hatch-lamp 4", "stove-lamp 3", "vise-lamp 5"]);
}
