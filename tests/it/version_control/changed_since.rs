//! A ledger that went back to before a change of class or bridge: the build knows what came of it.

use super::repository::{Lamp, Repository};

const LAMPS: [Lamp; 2] = [("stove-lamp", "Stove lamp", 1), ("bench-lamp", "Bench lamp", 2)];

fn edit(repository: &Repository, from: &str, to: &str) {
    let house = repository.read("house.yaml");
    assert!(house.contains(from), "{house}");
    repository.write("house.yaml", &house.replacen(from, to, 1));
}

/// What an appliance of one part has, as its line says it.
fn place(repository: &Repository, key: &str) -> String {
    let ledger = repository.read("ledger.yaml");
    let line = ledger.split_once(&format!("\n  {key}:\n    main: ")).expect("it lives").1;
    line.lines().next().unwrap_or_default().to_owned()
}

/// Builds a house, changes the stove lamp and builds again; then the ledger goes back, and the house changes once more.
fn check(change: impl Fn(&Repository), then: impl Fn(&Repository), key: &str) {
    let repository = Repository::with(&LAMPS);
    let before = repository.read("ledger.yaml");
    change(&repository);
    repository.build();
    let built = place(&repository, "stove-lamp");
    repository.write("ledger.yaml", &before);
    assert_ne!(place(&repository, "stove-lamp"), built);
    then(&repository);
    let (_, said) = repository.housewright(&["check", "."]);
    assert!(said.contains("a build gives it back to `stove-lamp`"), "{said}");
    let (code, said) = repository.housewright(&["build", ".", "--stop-at", "regained"]);
    assert_eq!((code, place(&repository, key)), (0, built), "{said}");
}

fn to_outlet(repository: &Repository) {
    edit(repository, "class: on-off-light", "class: on-off-outlet");
}

#[test]
fn what_became_another_kind_of_device_keeps_what_was_built() {
    check(to_outlet, |_| (), "stove-lamp");
}

#[test]
fn what_went_to_another_bridge_keeps_what_was_built() {
    let to_shed = |repository: &Repository| {
        edit(repository, "capacity: 20 } }", "capacity: 20 }, shed: { name: Boat shed, capacity: 20 } }");
        edit(repository, "name: Hut\n", "name: Hut\n    bridge: hut\n");
        edit(repository, "class: on-off-light", "class: on-off-light\n        bridge: shed");
    };
    check(to_shed, |_| (), "stove-lamp");
}

#[test]
fn what_has_another_key_since_keeps_what_was_built() {
    let rename = |repository: &Repository| {
        edit(repository, "stove-lamp:", "range-lamp:\n        formerly: stove-lamp");
    };
    check(to_outlet, rename, "range-lamp");
}

/// The two keys exchanged their lines by hand, and they are no things of one kind.
#[test]
fn what_stands_under_the_key_of_another_kind_of_device_is_told() {
    let repository = Repository::with(&LAMPS);
    to_outlet(&repository);
    repository.build();
    let ledger = repository.read("ledger.yaml");
    let (living, retired) = ledger.split_once("retired:").expect("the light is retired");
    let swapped =
        living.replace("stove-lamp", "*").replace("bench-lamp", "stove-lamp").replace('*', "bench-lamp");
    repository.write("ledger.yaml", &format!("{swapped}retired:{retired}"));
    let (_, said) = repository.housewright(&["check", "."]);
    for key in ["stove-lamp", "bench-lamp"] {
        assert!(said.contains(&format!("stands under `{key}` in `ledger.yaml`")), "{said}");
    }
}
