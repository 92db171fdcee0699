//! What is described and not shown: its place is kept, taken again or given up, and each is told as that.

use super::house::House;
use housewright::review::forms::{self, Detail, TextOptions};
use housewright::review::{Build, Change, Consequence, KeptPlace, Kind, Review, Unshown, gate, review};

/// The lathe lamp, not shown, under some key.
fn hidden(key: &str, kept: &[u16]) -> Unshown {
    let place = |number: &u16| KeptPlace {
        part: "main".to_owned(),
        bridge: "wharf".to_owned(),
        endpoint: *number,
        unique_id: format!("uid-{number}"),
        device_types: vec![256],
    };
    let (name, room) = ("Lathe lamp".to_owned(), "Boat workshop".to_owned());
    Unshown { key: key.to_owned(), name, room, floor: None, kept: kept.iter().map(place).collect() }
}

/// The house without the lathe lamp.
fn without() -> (House, u16) {
    let mut house = House::new();
    let lamp = house.take("lathe-lamp");
    (house, lamp.number)
}

fn reviewed((old, was): (&House, Vec<Unshown>), (new, is): (&House, Vec<Unshown>)) -> Review {
    review(&Build::of(&old.0).with_unshown(Some(was)), &Build::of(&new.0).with_unshown(Some(is)))
}

fn kinds(review: &Review) -> Vec<Kind> {
    review.changes.iter().map(|change| change.kind).collect()
}

fn told(review: &Review) -> String {
    forms::text(review, &TextOptions { detail: Detail::Usual, width: 200, ..TextOptions::default() })
}

fn remedy(change: &Change) -> Option<&str> {
    change.remedy.as_ref().map(|remedy| remedy.line.as_str())
}

#[test]
fn what_is_no_longer_shown_keeps_its_place_and_is_not_gone() {
    let (less, number) = without();
    let review = reviewed((&House::new(), Vec::new()), (&less, vec![hidden("lathe-lamp", &[number])]));
    assert_eq!(kinds(&review), [Kind::NoLongerShown]);
    assert!(
        told(&review).contains("Lathe lamp is no longer shown, and keeps its place"),
        "{}",
        told(&review)
    );
    assert_eq!(review.worst(), Some(Consequence::Lost));
    let review = reviewed((&less, vec![hidden("lathe-lamp", &[number])]), (&House::new(), Vec::new()));
    assert_eq!(kinds(&review), [Kind::ShownAgain]);
    assert!(told(&review).contains("in the place that it had"), "{}", told(&review));
}

/// Who has another key by now is found by both: the old one is in the description no more, the new one in no old build.
#[test]
fn what_is_no_longer_shown_is_known_by_both_of_its_keys() {
    let (less, number) = without();
    let keys = |review: &Review| -> Vec<(String, Option<String>)> {
        let members = review.changes.iter().flat_map(Change::members);
        members.map(|member| (member.key.clone(), member.former_key.clone())).collect()
    };
    let review = reviewed((&House::new(), Vec::new()), (&less, vec![hidden("lathe-spot", &[number])]));
    assert_eq!(kinds(&review), [Kind::NoLongerShown]);
    assert_eq!(keys(&review), [("lathe-spot".to_owned(), Some("lathe-lamp".to_owned()))]);
    assert!(told(&review).contains("Has the key `lathe-spot` instead of `lathe-lamp`"), "{}", told(&review));

    let review = reviewed((&less, vec![hidden("lathe-spot", &[number])]), (&House::new(), Vec::new()));
    assert_eq!(kinds(&review), [Kind::ShownAgain]);
    assert_eq!(keys(&review), [("lathe-lamp".to_owned(), Some("lathe-spot".to_owned()))]);
    assert!(told(&review).contains("Has the key `lathe-lamp` instead of `lathe-spot`"), "{}", told(&review));
}

/// One that is gone, and of whose name and room one is described that is not shown and new, has probably only another key.
#[test]
fn what_is_not_shown_under_another_key_is_not_gone() {
    let (less, number) = without();
    let review = reviewed((&House::new(), Vec::new()), (&less, vec![hidden("lathe-spot", &[])]));
    assert_eq!(kinds(&review), [Kind::ProbableRename]);
    assert_eq!(review.changes.iter().find_map(remedy), Some("formerly: lathe-lamp"));
    let text = told(&review);
    assert!(text.contains("is no longer shown and has probably only got the key `lathe-spot`"), "{text}");

    // What has a place is another one, and of two nobody knows which.
    let other = hidden("lathe-spot", &[number + 40]);
    let review = reviewed((&House::new(), Vec::new()), (&less, vec![other]));
    assert_eq!(kinds(&review), [Kind::Removed]);
    let two = vec![hidden("lathe-spot", &[]), hidden("lathe-light", &[])];
    let review = reviewed((&House::new(), Vec::new()), (&less, two));
    assert_eq!(kinds(&review), [Kind::Removed]);
}

/// What took over the addresses of one that is not shown is no rename of it: that is described still.
#[test]
fn what_is_not_shown_was_not_renamed() {
    let mut other = House::new();
    let mut lamp = other.take("lathe-lamp");
    let number = lamp.number;
    (lamp.key, lamp.unique_id, lamp.number) = ("other-lamp".to_owned(), "another".to_owned(), 40);
    other.put(lamp);
    let review = reviewed((&House::new(), Vec::new()), (&other, vec![hidden("lathe-lamp", &[number])]));
    assert_eq!(kinds(&review), [Kind::NoLongerShown, Kind::Added]);
}

#[test]
fn a_kept_place_that_is_given_up_is_lost() {
    let (less, number) = without();
    let was = || vec![hidden("lathe-lamp", &[number])];
    let same = reviewed((&less, was()), (&less, was()));
    assert!(same.is_empty());

    let gone = reviewed((&less, was()), (&less, Vec::new()));
    assert_eq!(kinds(&gone), [Kind::PlaceLost]);
    assert!(told(&gone).contains("Lathe lamp, which was not shown, is gone"), "{}", told(&gone));
    assert!(!gate(&gone, &housewright::review::AcceptList::default(), Some(Consequence::Lost)).is_open());

    let renamed = reviewed((&less, was()), (&less, vec![hidden("bench-spot", &[])]));
    assert_eq!(kinds(&renamed), [Kind::PlaceLost]);
    assert_eq!(renamed.changes.iter().find_map(remedy), Some("formerly: lathe-lamp"));

    let taken = reviewed((&less, was()), (&less, vec![hidden("lathe-lamp", &[])]));
    assert!(told(&taken).contains("is not shown, and loses the place"), "{}", told(&taken));
}

#[test]
fn what_is_shown_again_elsewhere_lost_its_place() {
    let (less, number) = without();
    let was = || vec![hidden("lathe-lamp", &[number])];
    let mut elsewhere = House::new();
    let lamp = elsewhere.at("lathe-lamp");
    (lamp.number, lamp.unique_id) = (40, "another".to_owned());
    let review = reviewed((&less, was()), (&elsewhere, Vec::new()));
    assert_eq!(kinds(&review), [Kind::PlaceLost]);
    assert!(told(&review).contains("and not in the place that was kept for it"), "{}", told(&review));
    assert_eq!(review.changes.iter().find_map(remedy), None);

    elsewhere.at("lathe-lamp").key = "lathe-spot".to_owned();
    let renamed = reviewed((&less, was()), (&elsewhere, Vec::new()));
    assert_eq!(kinds(&renamed), [Kind::PlaceLost]);
    assert_eq!(renamed.changes.iter().find_map(remedy), Some("formerly: lathe-lamp"));
}

/// One that was described before, has the same key, or is another kind of device has no new key to write.
#[test]
fn what_cannot_have_been_renamed_is_given_no_former_key() {
    let (less, number) = without();
    let spot = || hidden("lathe-spot", &[]);
    for (was, is) in [(vec![spot()], vec![spot()]), (Vec::new(), vec![hidden("lathe-lamp", &[])])] {
        let review = reviewed((&House::new(), was), (&less, is));
        assert_eq!(kinds(&review), [Kind::Removed]);
        assert_eq!(review.changes.iter().find_map(remedy), None);
    }
    let was = vec![hidden("lathe-lamp", &[number]), spot()];
    let review = reviewed((&less, was), (&less, vec![spot()]));
    assert_eq!(kinds(&review), [Kind::PlaceLost]);
    assert_eq!(review.changes.iter().find_map(remedy), None);

    let mut elsewhere = House::new();
    let lamp = elsewhere.at("lathe-lamp");
    (lamp.key, lamp.number, lamp.unique_id) = ("lathe-spot".to_owned(), 40, "another".to_owned());
    for (bridge, device_type) in [("wharf", 257), ("quay", 256)] {
        let mut was = hidden("lathe-lamp", &[number]);
        (was.kept[0].bridge, was.kept[0].device_types) = (bridge.to_owned(), vec![device_type]);
        let review = reviewed((&less, vec![was]), (&elsewhere, Vec::new()));
        assert_eq!(kinds(&review), [Kind::PlaceLost, Kind::Added]);
        assert_eq!(review.changes.iter().find_map(remedy), None);
    }
}

/// A side of which it is not known what it keeps loses nothing.
#[test]
fn nothing_is_told_of_places_where_a_side_does_not_know_them() {
    let (less, number) = without();
    let old = Build::of(&less.0).with_unshown(Some(vec![hidden("lathe-lamp", &[number])]));
    assert!(review(&old, &Build::of(&less.0)).is_empty());
    let told = review(&Build::of(&House::new().0), &Build::of(&less.0));
    assert_eq!(kinds(&told), [Kind::Removed]);
}
