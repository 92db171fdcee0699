//! Endpoints of which only group addresses are others: what is found of one is said of all that are alike, and is what would
//! have been found of each by itself.

use super::house::{House, dimmer, lamp};
use housewright::bridge::definition::BridgeDefinition;
use housewright::review::{Build, BuildFile, apply, read_both, review, same};
use proptest::prelude::*;

/// Addresses of which some are one, written in two ways, and one that is none.
const GROUPS: [&str; 8] = ["1/1/1", "1/257", "1/1/2", "1/1/3", "2/1/1", "2/1/2", "4353", "north"];

/// A house with lamps that are alike, with these addresses.
fn house(groups: &[[usize; 4]]) -> Vec<BridgeDefinition> {
    let mut house = House::new();
    for (number, choice) in (100..).zip(groups) {
        let key = format!("lamp-{number}");
        let name = (number, key.as_str(), "Lamp", "Hall", "ground");
        let [a, b, c, d] = choice.map(|at| GROUPS[at]);
        house.put(if number % 3 == 0 { lamp(name, a, b) } else { dimmer(name, [a, b, c, d]) });
    }
    house.0
}

fn files(definitions: &[BridgeDefinition]) -> Vec<BuildFile<'static>> {
    let text = |one: &BridgeDefinition| serde_json::to_vec(one).expect("it has a JSON form");
    definitions.iter().map(|one| BuildFile::of("wharf.bridge.json", text(one))).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]
    #[test]
    fn alike_endpoints_are_told_as_each_by_itself(
        groups in prop::collection::vec((prop::array::uniform4(0..8usize), prop::array::uniform4(0..8usize)), 1..12)
    ) {
        let (old, new): (Vec<_>, Vec<_>) = groups.into_iter().unzip();
        let (old, new) = (house(&old), house(&new));
        let each = review(&Build::of(&old), &Build::of(&new));
        let (before, after) = read_both(files(&old), files(&new));
        let together = review(&before, &after);
        prop_assert_eq!(&each.changes, &together.changes);
        prop_assert!(same(&apply(&together, &old).expect("it fits"), &new));
    }
}
