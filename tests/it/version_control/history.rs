//! Builds one after another: each names the one that it replaced, and has its review beside it.

use super::repository::{Lamp, Repository};
use housewright::emit::{Digest, verify};

const LAMPS: [Lamp; 2] = [("bench-lamp", "Bench lamp", 1), ("stove-lamp", "Stove lamp", 3)];

#[test]
fn a_build_names_its_predecessor_and_has_its_review_beside_it() {
    let repository = Repository::with(&LAMPS);
    let manifest = || repository.read("build/manifest.json");
    let mut last = manifest();
    assert!(last.contains("\"predecessor\": null"), "{last}");
    assert!(!repository.folder().join("build/review.md").exists(), "nothing was there to compare with");
    for name in ["Vise lamp", "Anvil lamp", "Hammer lamp"] {
        repository.house(&[("bench-lamp", name, 1), LAMPS[1]]);
        repository.build();
        let built = verify(&repository.folder().join("build")).unwrap();
        assert_eq!(built.predecessor, Some(Digest::of(last.as_bytes())), "{name}");
        for form in ["md", "json", "html"] {
            let review = repository.read(&format!("build/review.{form}"));
            assert!(review.contains(name), "{form}: {review}");
        }
        last = manifest();
        // A build that changes nothing replaces nothing: the chain and the review stay.
        assert_eq!(repository.build(), "no change\n");
        assert_eq!(manifest(), last);
        repository.commit(name);
    }
    // Every build of the history can be held against the one before it.
    let commits = repository.git(&["rev-list", "HEAD"]);
    let at = |commit: &str| repository.git(&["show", &format!("{commit}:build/manifest.json")]);
    let commits: Vec<&str> = commits.lines().collect();
    for pair in commits.windows(2) {
        let named = Digest::of(at(pair[1]).as_bytes()).to_string();
        assert!(at(pair[0]).contains(&format!("\"predecessor\": \"{named}\"")));
    }
    assert_eq!(commits.len(), 4);
}

#[test]
fn a_build_that_is_committed_is_a_side_by_its_revision() {
    let repository = Repository::with(&LAMPS);
    repository.house(&[("bench-lamp", "Vise lamp", 1), LAMPS[1]]);
    repository.build();
    for (old, new) in [("HEAD:build", "build"), ("HEAD:build/hut.bridge.json", "build/hut.bridge.json")] {
        let (code, said) = repository.housewright(&["review", old, new, "--brief"]);
        assert!(code == 0 && said.contains("Bench lamp is now called Vise lamp"), "{said}");
    }
    let json = repository.read("build/hut.bridge.json");
    repository.write("build/hut.bridge.json", &json.replace("Stove", "Stave"));
    repository.commit("Touch the build");
    let (code, said) = repository.housewright(&["review", "HEAD:build", "build"]);
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        code == 2 && said.contains("old `HEAD:build`: `hut.bridge.json` is not as it was built"),
        "{said}"
    );
    assert!(said.contains("take `HEAD:build` back") && !said.contains("tmp"), "{said}");
}

/// A file of the house may be a link to another one of it; what is too large for a house is not even read.
#[cfg(unix)]
#[test]
fn a_revision_has_its_links_and_none_of_what_is_too_large() {
    let repository = Repository::with(&LAMPS);
    let house = repository.read("house.yaml");
    std::fs::create_dir(repository.folder().join("stock")).unwrap();
    repository.write("stock/house.yaml", &house);
    std::fs::remove_file(repository.folder().join("house.yaml")).unwrap();
    std::os::unix::fs::symlink("stock/house.yaml", repository.folder().join("house.yaml")).unwrap();
    repository.write("film.bin", &"x".repeat(70 << 20));
    repository.commit("Keep the house in stock");
    let (code, said) = repository.housewright(&["review", "HEAD:.", "."]);
    assert!(code == 0 && said.contains("no change"), "{said}");
}

/// A folder of the house may be a link to another one of it, as on disk; one that leads out of the house, or round and round,
/// leads nowhere.
#[cfg(unix)]
#[test]
fn a_revision_has_what_its_links_to_folders_lead_to() {
    use std::os::unix::fs::symlink;
    let repository = Repository::with(&LAMPS);
    let folder = repository.folder();
    let (head, rooms) = {
        let house = repository.read("house.yaml");
        let at = house.find("rooms:").expect("the house has rooms");
        (format!("{}include: [rooms/*.yaml]\n", &house[..at]), house[at..].to_owned())
    };
    std::fs::create_dir_all(folder.join("parts/rooms")).unwrap();
    repository.write("house.yaml", &head);
    repository.write("parts/rooms/all.yaml", &rooms);
    symlink("parts/rooms", folder.join("rooms")).unwrap();
    symlink("..", folder.join("parts/round")).unwrap();
    symlink("../round", folder.join("parts/rooms/round")).unwrap();
    symlink("/etc", folder.join("out")).unwrap();
    repository.commit("Keep the rooms apart");
    let (code, said) = repository.housewright(&["review", "HEAD:.", "."]);
    assert!(code == 0 && said.contains("no change"), "{said}");
    repository.write("parts/rooms/all.yaml", &rooms.replace("Bench lamp", "Bench light"));
    let (code, said) = repository.housewright(&["review", "HEAD:.", "."]);
    assert!(code == 0 && said.contains("1 change"), "{said}");
}

/// A link to no file of the house is an error on disk; of a revision its rooms are not taken for ones that were never there.
#[cfg(unix)]
#[test]
fn a_link_of_a_revision_that_leads_nowhere_is_told() {
    use std::os::unix::fs::symlink;
    for to in ["../../rooms.yaml", "/rooms.yaml", "none.yaml", "round.yaml"] {
        let repository = Repository::with(&LAMPS);
        let house = repository.read("house.yaml");
        let at = house.find("rooms:").expect("the house has rooms");
        repository.write("house.yaml", &format!("{}include: [rooms/*.yaml]\n", &house[..at]));
        std::fs::create_dir(repository.folder().join("rooms")).unwrap();
        repository.write("rooms/none-yet.yaml", "rooms: { attic: { name: Attic } }\n");
        symlink(to, repository.folder().join("rooms/round.yaml")).unwrap();
        repository.commit("Keep the rooms elsewhere");
        std::fs::remove_file(repository.folder().join("rooms/round.yaml")).unwrap();
        repository.write("rooms/round.yaml", &house[at..]);
        let (code, said) = repository.housewright(&["review", ".", "--since", "HEAD"]);
        let told = said.contains("`rooms/round.yaml` is a link to no file of the house");
        assert!(code == 2 && told, "{to}: {said}");
    }
}
