//! The recipes of `examples/version-control`, run as they are.

use super::repository::{Lamp, Repository, recipe, recipe_path};
use std::fs::Permissions;
use std::os::unix::fs::PermissionsExt as _;

const BEFORE: [Lamp; 2] = [("bench-lamp", "Bench lamp", 1), ("stove-lamp", "Stove lamp", 3)];
const AGREED: &str = "housewright-accept: 1\nappliances:\n  stove-lamp:\n    removed: the stove is gone\n";

fn hooked() -> Repository {
    let repository = Repository::with(&BEFORE);
    let hook = repository.folder().join(".git/hooks/pre-commit");
    std::fs::create_dir_all(hook.parent().expect("it has one")).expect("the folder is ours");
    std::fs::write(&hook, recipe("pre-commit")).expect("the folder is ours");
    std::fs::set_permissions(&hook, Permissions::from_mode(0o755)).expect("the file is ours");
    repository
}

#[test]
fn the_hook_refuses_a_commit_with_errors_and_lets_one_without_through() {
    let repository = hooked();
    repository.write("house.yaml", &repository.read("house.yaml").replace("on-off-light", "on-of-light"));
    let (done, said) = repository.try_git(&["commit", "-a", "-m", "Mistype a class"]);
    assert!(!done && said.contains("error[") && said.contains("on-off-light"), "{said}");
    assert!(said.contains("The commit is refused"), "{said}");
    repository.house(&[("bench-lamp", "Vise lamp", 1), BEFORE[1]]);
    let (done, said) = repository.try_git(&["commit", "-a", "-m", "Rename a lamp"]);
    assert!(done, "{said}");
    assert!(said.contains("shown     Bench lamp is now called Vise lamp (relabelled: bench-lamp)"), "{said}");
}

#[test]
fn the_hook_looks_at_what_is_committed_and_not_at_the_work_tree() {
    let repository = hooked();
    repository.house(&[("bench-lamp", "Vise lamp", 1), BEFORE[1]]);
    repository.git(&["add", "-A"]);
    repository.write("house.yaml", "nonsense");
    let (done, said) = repository.try_git(&["commit", "-m", "Rename a lamp"]);
    assert!(done && said.contains("Bench lamp is now called Vise lamp"), "{said}");
}

#[test]
fn the_hook_lets_a_broken_house_be_mended_and_a_first_commit_be_made() {
    let repository = hooked();
    let sound = repository.read("house.yaml");
    repository.write("house.yaml", &sound.replace("on-off-light", "on-of-light"));
    repository.git(&["commit", "-a", "-n", "-q", "-m", "Mistype a class"]);
    repository.write("house.yaml", &sound);
    let (done, said) = repository.try_git(&["commit", "-a", "-m", "Mend it"]);
    assert!(done && said.contains("not compared:"), "{said}");

    let first = Repository::new();
    first.house(&BEFORE);
    std::fs::create_dir_all(first.folder().join(".git/hooks")).expect("the folder is ours");
    std::fs::copy(
        repository.folder().join(".git/hooks/pre-commit"),
        first.folder().join(".git/hooks/pre-commit"),
    )
    .expect("the folder is ours");
    first.commit("Begin");
}

/// Runs the build step against `main` on a branch, and gives its exit code and what it says.
fn step(repository: &Repository) -> (i32, String) {
    repository.script(&recipe_path("ci"), &["main"])
}

fn branched() -> Repository {
    let repository = Repository::new();
    repository.write(".gitignore", "build/\nout/\n");
    repository.house(&BEFORE);
    repository.build();
    repository.commit("Build");
    repository.git(&["checkout", "-q", "-b", "change"]);
    repository
}

#[test]
fn the_build_step_lets_a_change_through_and_leaves_what_people_and_gateway_need() {
    let repository = branched();
    repository.house(&[("bench-lamp", "Vise lamp", 1), BEFORE[1]]);
    let (code, said) = step(&repository);
    assert_eq!(code, 0, "{said}");
    assert!(repository.read("out/review.md").contains("Bench lamp is now called Vise lamp"));
    assert!(repository.read("out/review.html").starts_with("<!DOCTYPE html>"));
    assert!(repository.read("out/findings.sarif").contains("2.1.0"));
    assert!(repository.read("out/build/hut.bridge.json").contains("Vise lamp"));
}

#[test]
fn the_build_step_stops_at_a_loss_until_the_owner_agrees() {
    let repository = branched();
    repository.house(&BEFORE[..1]);
    let (code, said) = step(&repository);
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("Stove lamp is gone") && said.contains("stopped: 1 of 1 change is"), "{said}");
    assert!(!repository.folder().join("out/build").exists());

    repository.write("agreed.yaml", AGREED);
    repository.build();
    repository.commit("Take the stove lamp out");
    let (code, said) = step(&repository);
    assert_eq!(code, 0, "{said}");

    // The next change finds the entry unused.
    repository.git(&["checkout", "-q", "main"]);
    repository.git(&["merge", "-q", "change"]);
    repository.git(&["checkout", "-q", "change"]);
    let (code, said) = step(&repository);
    assert_eq!((code, said.contains("note: the accept list agrees to `removed`")), (0, true), "{said}");
    repository.house(&[("bench-lamp", "Vise lamp", 1)]);
    let (code, said) = step(&repository);
    assert_eq!((code, said.contains("stopped: the accept list agrees to `removed`")), (1, true), "{said}");
}

#[test]
fn the_review_of_a_build_tells_why_the_owner_agreed() {
    let repository = branched();
    repository.house(&BEFORE[..1]);
    repository.write("agreed.yaml", AGREED);
    let (code, said) =
        repository.housewright(&["build", ".", "--stop-at", "lost", "--accept", "agreed.yaml"]);
    assert_eq!(code, 0, "{said}");
    assert!(repository.read("build/review.md").contains("Agreed to by the owner: the stove is gone"));
}

#[test]
fn the_build_step_wants_the_ledger_committed() {
    let repository = branched();
    repository.house(&[BEFORE[0], ("hatch-lamp", "Hatch lamp", 4), BEFORE[1]]);
    repository.commit("Add a lamp");
    let (code, said) = step(&repository);
    assert_eq!(code, 2, "{said}");
    assert!(said.contains("`./ledger.yaml` is not as the build leaves it"), "{said}");
    repository.commit("Commit the ledger");
    let (code, said) = step(&repository);
    assert_eq!(code, 0, "{said}");
}

#[test]
fn the_build_step_ends_with_errors_and_with_a_base_that_cannot_be_read() {
    let repository = branched();
    let sound = repository.read("house.yaml");
    repository.write("house.yaml", &sound.replace("on-off-light", "on-of-light"));
    assert_eq!(step(&repository).0, 1);
    assert!(repository.read("out/findings.sarif").contains("on-of-light"));
    repository.write("house.yaml", &sound);
    let (code, said) = repository.script(&recipe_path("ci"), &["nowhere"]);
    assert_eq!((code, said.contains("the repository has no revision `nowhere`")), (2, true), "{said}");
}

#[test]
fn the_list_of_the_recipe_is_one_that_the_program_reads() {
    let reading = housewright::review::read_accept_list(
        &recipe("agreed.yaml"),
        housewright::source::FileId(0),
        &housewright::source::Limits::default(),
    );
    assert!(reading.is_sound() && reading.list.entries.len() == 1);
}

#[test]
fn the_hook_says_when_the_program_is_not_there() {
    let repository = hooked();
    let (code, said) = repository.script(&repository.folder().join(".git/hooks/pre-commit"), &[]);
    assert_eq!(code, 0, "{said}");
    let hook =
        repository.read(".git/hooks/pre-commit").replace("command -v housewright", "command -v house-wright");
    repository.write(".git/hooks/pre-commit", &hook);
    repository.house(&BEFORE[..1]);
    let (done, said) = repository.try_git(&["commit", "-a", "-m", "Take the stove lamp out"]);
    assert!(!done && said.contains("`housewright` is not on the PATH"), "{said}");
    assert!(!said.contains("mend the errors"), "{said}");
}
