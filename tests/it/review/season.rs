//! Many changes of a small house at once, in every form; what is seen stands in `expected/spring.*`.

use super::cases::{CASES, check};
use super::house::{House, lamp};
use housewright::review::forms::{self, Colour, Detail, TextOptions};
use housewright::review::{Build, json_patch, review};
use serde_json::json;

/// A season of changes at once.
fn spring(house: &mut House) {
    let case = |name: &str, house: &mut House| {
        let found = CASES.iter().find(|(case, ..)| *case == name);
        found.unwrap_or_else(|| panic!("no case {name}")).2(house);
    };
    for name in ["swap", "class-changed", "conversion", "limits", "rewired"] {
        case(name, house);
    }
    house.at("bench-lamp").number = 15;
    for name in ["probable-rename", "telegram-order"] {
        case(name, house);
    }
    house.at("kettle-socket").node_label = "Kettle <&> *pot*".to_owned();
    house.at("kettle-socket").links.pop();
    house.take("lathe-lamp");
    house.put(lamp((14, "stair-lamp", "Stair lamp", "Hall", "first"), "1/1/33", "1/4/33"));
}

#[test]
fn a_season_of_changes_reads_well_in_every_form() {
    let (old, mut new) = (House::new(), House::new());
    spring(&mut new);
    let review = review(&Build::of(&old.0), &Build::of(&new.0));
    let text = |width, detail| forms::text(&review, &TextOptions { width, detail, colour: Colour::Plain });
    check("spring.txt", &text(80, Detail::Usual));
    check("spring.narrow.txt", &text(40, Detail::Usual));
    check("spring.brief.txt", &text(80, Detail::Brief));
    check("spring.md", &forms::markdown(&review));
    check("spring.json", &forms::json(&review));
    check("spring.html", &forms::html(&review));
    let patch = json_patch(&review, &old.0).unwrap();
    check("spring.patch.json", &(serde_json::to_string_pretty(&patch).unwrap() + "\n"));
    let whole = |house: &House| {
        let bridges: serde_json::Map<_, _> =
            house.0.iter().map(|one| (one.bridge.key.clone(), json!(one))).collect();
        serde_json::to_string(&bridges).unwrap() + "\n"
    };
    check("spring.old.json", &whole(&old));
    check("spring.new.json", &whole(&new));
}
