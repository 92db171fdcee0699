//! Classes of a house's own: what they narrow, and what is built of them.

use super::own::{LAMP, load, own, variant};
use housewright::classes::{ClassLibrary, choices};

/// What a base says of datapoint types that a class does not take any more is gone with them.
#[test]
fn based_on_narrows_types() {
    let strip = own(
        "strip",
        "class: strip\nbased-on: colour-light\nwithout: [brightness, dimming]\npoints:\n  colour: { command: { dpts: [251.600] }, feedback: { need: required, dpts: [251.600] } }\n",
    );
    let wide = ClassLibrary::built_in().get("colour-light").expect("there");
    assert!(!strip.links.is_empty() && strip.links.len() < wide.links.len());
    let shutter = own(
        "shutter",
        "class: shutter\nbased-on: roller-shutter\npoints:\n  stop: { command: { dpts: [1.007] } }\n",
    );
    assert_eq!(
        shutter.point("stop").map(|(_, stop)| stop.command.clone().map(|end| end.dpts.len())),
        Some(Some(1))
    );
    // A type that it never took is no less a slip.
    let text = "class: odd\nbased-on: on-off-light\npoints:\n  switching:\n    links: [{ from: state, attribute: OnOff.OnOff, dpt: [5.001] }]\n";
    let (_, told) = load(&[("odd", text)]);
    assert_eq!(told, ["classes/odd.yaml:5:58 Unknown Accepted"]);
}

/// Only what an appliance has shows that two types come to one attribute.
#[test]
fn what_is_built_is_looked_at() {
    let points = "  second:
    title: tells it instead
    need: optional
    feedback: { need: required, dpts: [1.002, 5.001], flags: CRT }
    links:
      - { from: feedback, attribute: OnOff.OnOff, unless: [switching.feedback] }
";
    let text = LAMP.replace("{ from: state, attribute", "{ from: feedback, attribute") + points;
    let class = own("lamp", &text);
    let (library, _) = load(&[("lamp", &text)]);
    let (second, _) = class.point("second").expect("there");
    let built = |dpt: &str| {
        let mut chosen = choices(&class, 100).into_iter().find(|chosen| {
            let bare = chosen.points.iter().all(|point| point.point == second || point.feedback.is_none());
            bare && chosen.points.len() == 2
        });
        let chosen_points = chosen.iter_mut().flat_map(|chosen| &mut chosen.points);
        for point in chosen_points.filter(|point| point.point == second) {
            point.feedback = dpt.parse().ok();
        }
        let told = library.problems_of(chosen.into_iter().map(|chosen| (&*class, chosen)));
        told.iter().map(variant).collect::<Vec<_>>()
    };
    assert_eq!(built("1.002"), [] as [&str; 0]);
    assert_eq!(built("5.001"), ["Unfit"]);
    // A type that the class does not take is told of the appliance.
    assert_eq!(built("9.001"), [] as [&str; 0]);
}
