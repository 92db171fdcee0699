//! Endpoints of one appliance that took each other's wires.

use super::house::House;
use housewright::bridge::definition::Endpoint;
use housewright::review::forms::{self, TextOptions};
use housewright::review::{Build, Kind, apply, review, same};

/// The house with a further lamp below the bench lamp, each with links of its own point.
fn two_lamps() -> House {
    let mut house = House::new();
    for link in &mut house.at("bench-lamp").links {
        link.point = "left".to_owned();
    }
    let main = house.at("bench-lamp").clone();
    let mut other = Endpoint {
        number: 40,
        parent: main.number,
        key: "bench-lamp/right".to_owned(),
        unique_id: "uid-40".to_owned(),
        ..main
    };
    for (link, group) in other.links.iter_mut().zip(["1/1/60", "1/1/60", "1/4/60"]) {
        (link.point, link.group) = ("right".to_owned(), group.to_owned());
    }
    house.put(other);
    house
}

#[test]
fn endpoints_that_took_each_others_wires_are_a_swap_to_be_tried() {
    let (old, mut new) = (two_lamps(), two_lamps());
    let left = new.at("bench-lamp").links.clone();
    let right = std::mem::replace(&mut new.at("bench-lamp/right").links, left);
    new.at("bench-lamp").links = right;
    let review = review(&Build::of(&old.0), &Build::of(&new.0));
    let kinds: Vec<Kind> = review.changes.iter().map(|change| change.kind).collect();
    assert_eq!(kinds, [Kind::Swap]);
    let told = forms::text(&review, &TextOptions { width: 200, ..TextOptions::default() });
    assert!(told.contains("Bench lamp has endpoints that took each other's wires"), "{told}");
    assert!(
        told.contains("Endpoint 40 goes by 1/1/20 (`left`) and 1/4/20 (`left`) instead of 1/1/60"),
        "{told}"
    );
    assert!(told.contains("try them on site") && !told.contains("does what it did"), "{told}");
    assert!(same(&apply(&review, &old.0).expect("it fits"), &new.0));
}

#[test]
fn a_wire_that_only_went_to_another_endpoint_is_no_swap() {
    let (old, mut new) = (two_lamps(), two_lamps());
    let status = new.at("bench-lamp").links.pop();
    new.at("bench-lamp/right").links.extend(status);
    let review = review(&Build::of(&old.0), &Build::of(&new.0));
    assert!(review.changes.iter().all(|change| change.kind != Kind::Swap), "{review:?}");
}
