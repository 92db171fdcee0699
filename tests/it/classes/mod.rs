//! Device classes: all that each of them can become is what the data model demands; what is wrong with a class file is told
//! at its place; what is said of classes is whole.

mod built;
mod charging;
mod closures;
mod colours;
mod gateway;
mod indoors;
mod lamps;
mod measured;
mod one_colour;
mod own;
mod scalings;
mod states;
mod texts;

use housewright::classes::{
    Breach, Class, ClassLibrary, Exposure, Group, Need, Shape, breaches, built_in_problems, choices,
};
use housewright::matter::{self, Conformance, ElementKind};
use std::sync::Arc;

fn library() -> ClassLibrary {
    ClassLibrary::built_in()
}

fn classes() -> Vec<Arc<Class>> {
    let library = library();
    library.names().into_iter().map(|name| library.get(name).expect(name)).collect()
}

fn bridged() -> Vec<Arc<Class>> {
    classes().into_iter().filter(|class| matches!(class.exposure, Exposure::Bridged)).collect()
}

#[test]
fn built_in_classes_have_no_problem() {
    for class in classes() {
        let problems = built_in_problems(&class.name).expect("built in");
        assert!(problems.is_empty(), "{}: {problems:#?}", class.name);
    }
}

/// Beyond what the check at load looks at: every combination of points, as far as that can be counted.
#[test]
fn every_choice_of_every_class_conforms() {
    let mut looked_at = 0;
    for class in bridged() {
        for chosen in choices(&class, 25_000) {
            if let Ok(shape) = class.shape(&chosen) {
                let found = breaches(&shape);
                assert!(found.is_empty(), "{} with {chosen:?}: {found:#?}", class.name);
                looked_at += 1;
            }
        }
    }
    assert!(looked_at > 15_000, "only {looked_at} choices");
}

#[test]
fn there_is_a_class_for_everything_a_wired_house_has() {
    let classes = classes();
    assert!(classes.len() >= 48, "{} classes", classes.len());
    for group in Group::ALL {
        assert!(classes.iter().any(|class| class.group == group), "no class for {}", group.word());
    }
    for class in &classes {
        let name = &class.name;
        assert!(class.summary.ends_with('.') && class.summary.len() > 20, "{name}: {}", class.summary);
        assert!(!class.explanation.is_empty(), "{name} explains nothing");
        assert!(
            class.points.iter().any(|point| point.need != Need::Optional) || class.combinations.len() == 1,
            "{name}"
        );
        if let Exposure::NotBridged { why } = &class.exposure {
            assert!(why.ends_with('.'), "{name}: {why}");
            assert!(class.parts.is_empty() && class.links.is_empty(), "{name}");
        }
    }
    assert!(classes.iter().filter(|class| !matches!(class.exposure, Exposure::Bridged)).count() >= 3);
}

/// What moves, heats, locks or carries water or people's trust says what can happen, and how strongly somebody must have
/// looked at it. Every class is in one of these lists or nothing of it can hurt: a new one has to be thought about.
#[test]
fn what_can_hurt_somebody_says_so() {
    use housewright::classes::Precaution;
    let must = [
        (Precaution::Error, &["door-lock", "door-opener", "garage-door", "gate"][..]),
        (
            Precaution::Warning,
            &[
                "awning",
                "curtain",
                "extractor-hood",
                "floor-heating-valve",
                "heat-pump",
                "pump",
                "radiator-valve",
                "roller-shutter",
                "roof-window",
                "room-air-conditioner",
                "room-thermostat",
                "vehicle-charger",
                "venetian-blind",
                "water-heater",
                "water-valve",
                "window-screen",
            ],
        ),
        (
            Precaution::Told,
            &[
                "carbon-monoxide-alarm",
                "dimmable-load",
                "dimmable-outlet",
                "freeze-sensor",
                "leak-sensor",
                "metered-outlet",
                "mode-selector",
                "on-off-load",
                "on-off-outlet",
                "scene",
                "scene-selector",
                "smoke-alarm",
                "ventilation-unit",
            ],
        ),
    ];
    for class in classes() {
        let name = class.name.as_str();
        let wanted = must.iter().find(|(_, names)| names.contains(&name)).map(|(confirm, _)| *confirm);
        assert_eq!(class.caution.as_ref().map(|caution| caution.confirm), wanted, "{name}");
        let types =
            ["WindowCovering", "Closure", "DoorLock", "Thermostat", "WaterHeater", "Pump", "WaterValve"];
        let moves = matches!(class.exposure, Exposure::Bridged)
            && fullest(&class)
                .parts
                .iter()
                .flat_map(|part| &part.device_types)
                .any(|used| types.contains(&used.name.as_str()));
        assert!(!moves || wanted.is_some_and(|confirm| confirm != Precaution::Told), "{name}");
    }
    for name in ["smoke-alarm", "carbon-monoxide-alarm"] {
        let class = library().get(name).expect(name);
        let text = &class.caution.as_ref().expect(name).text;
        assert!(text.contains("never replaces the certified alarm"), "{name}");
        let told = housewright::classes::explain(&class, 80).split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(told.contains("never replaces the certified alarm"), "{name}");
    }
}

fn fullest(class: &Class) -> Shape {
    let chosen = choices(class, 1).into_iter().next().expect("a choice");
    Shape::clone(&class.shape(&chosen).expect("a shape"))
}

/// Whether the data model says without condition that something must be there.
fn plainly_mandatory(said: Option<&Conformance>) -> bool {
    said.is_some_and(|said| matches!(said.text(), "M" | "M, D"))
}

/// Takes each mandatory thing away, one by one: the check must complain each time. The facts are read anew here, without
/// the evaluator that the check uses.
#[test]
fn without_a_mandatory_element_the_check_complains() {
    let mut taken_away = [0_usize; 5];
    let mut must_complain = |kind: usize, what: &str, shape: &Shape| {
        taken_away[kind] += 1;
        assert!(!breaches(shape).is_empty(), "{what} may be missing");
    };
    for class in bridged() {
        let whole = fullest(&class);
        for (at, part) in whole.parts.iter().enumerate() {
            for (index, shaped) in part.clusters.iter().enumerate() {
                let what = format!("{} {} {}", class.name, part.name, shaped.name);
                let needs = part
                    .device_types
                    .iter()
                    .filter_map(|used| matter::device_type(&used.name).expect("known").cluster(&shaped.name));
                let needs: Vec<_> = needs.collect();
                if needs.iter().any(|need| plainly_mandatory(need.conformance.as_ref())) {
                    let mut broken = whole.clone();
                    broken.parts[at].clusters.remove(index);
                    must_complain(0, &what, &broken);
                }
                for element in needs.iter().flat_map(|need| &need.elements) {
                    let revised =
                        element.conformance.as_ref().is_some_and(|said| said.text().starts_with("Rev >="));
                    if !plainly_mandatory(element.conformance.as_ref()) && !revised {
                        continue;
                    }
                    let mut broken = whole.clone();
                    let cluster = Arc::make_mut(&mut broken.parts[at].clusters[index]);
                    match element.kind {
                        ElementKind::Feature => cluster.features.retain(|code| *code != element.name),
                        ElementKind::Attribute => drop(cluster.attributes.remove(&element.name)),
                        ElementKind::Command => cluster.commands.retain(|name| *name != element.name),
                        // The event goes with its feature.
                        ElementKind::Event => cluster.features.clear(),
                    }
                    must_complain(1, &format!("{what} {}", element.name), &broken);
                }
                let known = matter::cluster(&shaped.name).expect("known");
                for name in shaped.attributes.keys() {
                    if plainly_mandatory(known.attribute(name).expect("known").conformance.as_ref()) {
                        let mut broken = whole.clone();
                        Arc::make_mut(&mut broken.parts[at].clusters[index]).attributes.remove(name);
                        must_complain(2, &format!("{what} {name}"), &broken);
                    }
                }
                for name in &shaped.commands {
                    if plainly_mandatory(known.command(name).expect("known").conformance.as_ref()) {
                        let mut broken = whole.clone();
                        Arc::make_mut(&mut broken.parts[at].clusters[index])
                            .commands
                            .retain(|other| other != name);
                        must_complain(3, &format!("{what} {name}"), &broken);
                    }
                }
            }
            for (index, used) in part.device_types.iter().enumerate() {
                let mut broken = whole.clone();
                broken.parts[at].device_types[index].revision += 1;
                must_complain(4, &format!("{} {} revision", class.name, used.name), &broken);
            }
        }
    }
    assert!(taken_away.iter().all(|count| *count > 50), "too little was tried: {taken_away:?}");
}

/// What must not be there, and values that are none.
#[test]
fn with_something_too_much_the_check_complains() {
    let library = library();
    let check = |name: &str, spoil: &dyn Fn(&mut Shape), expected: &dyn Fn(&Breach) -> bool| {
        let mut shape = fullest(&library.get(name).expect(name));
        spoil(&mut shape);
        let found = breaches(&shape);
        assert!(found.iter().any(expected), "{name}: {found:#?}");
    };
    fn of<'a>(shape: &'a mut Shape, name: &str) -> &'a mut housewright::classes::ShapedCluster {
        let found = shape.parts[0].clusters.iter_mut().find(|cluster| cluster.name == name);
        Arc::make_mut(found.expect("there"))
    }
    check("on-off-light", &|shape| of(shape, "OnOff").features.push("OFFONLY".into()), &|breach| {
        matches!(breach, Breach::Element { kind: ElementKind::Feature, demanded: false, .. })
    });
    check(
        "door-lock",
        &|shape| {
            let groups = fullest(&ClassLibrary::built_in().get("on-off-light").expect("there"));
            let groups = groups.parts[0].clusters.iter().find(|cluster| cluster.name == "Groups").cloned();
            shape.parts[0].clusters.extend(groups);
        },
        &|breach| matches!(breach, Breach::Need { demanded: false, .. }),
    );
    check("roller-shutter", &|shape| of(shape, "WindowCovering").features.clear(), &|breach| {
        matches!(breach, Breach::Choice { found: 0, .. })
    });
    check(
        "roller-shutter",
        &|shape| drop(of(shape, "WindowCovering").attributes.insert("ConfigStatus".into(), 1.into())),
        &|breach| matches!(breach, Breach::Told { .. }),
    );
    check(
        "dimmable-light",
        &|shape| drop(of(shape, "LevelControl").attributes.insert("CurrentLevel".into(), 255.into())),
        &|breach| matches!(breach, Breach::Value { .. }),
    );
    check(
        "dimmable-light",
        &|shape| drop(of(shape, "LevelControl").attributes.insert("MinLevel".into(), 0.into())),
        &|breach| matches!(breach, Breach::Value { .. }),
    );
    // The last accuracy of the fullest meter is that of the frequency.
    check(
        "electricity-meter",
        &|shape| {
            let attributes = &mut of(shape, "ElectricalPowerMeasurement").attributes;
            let list = attributes["Accuracy"].as_array_mut().expect("a list");
            list.pop();
            let count = list.len().into();
            attributes.insert("NumberOfMeasurementTypes".into(), count);
        },
        &|breach| matches!(breach, Breach::Told { .. }),
    );
    check(
        "room-thermostat",
        &|shape| {
            drop(of(shape, "Thermostat").attributes.insert("OccupiedHeatingSetpoint".into(), 4_000.into()))
        },
        &|breach| matches!(breach, Breach::Told { .. }),
    );
    check(
        "smoke-alarm",
        &|shape| shape.parts[0].device_types.retain(|used| used.name != "PowerSource"),
        &|breach| matches!(breach, Breach::Component { .. }),
    );
    check(
        "on-off-light",
        &|shape| drop(of(shape, "OnOff").attributes.insert("Colour".into(), 1.into())),
        &|breach| matches!(breach, Breach::NoElement { .. }),
    );
    check(
        "on-off-light",
        &|shape| shape.parts[0].clusters.retain(|cluster| cluster.name != "OnOff"),
        &|breach| matches!(breach, Breach::LinkEnd { .. }),
    );
    check("on-off-light", &|shape| shape.parts[0].device_types[0].name = "Lantern".into(), &|breach| {
        matches!(breach, Breach::DeviceType { revision: None, .. })
    });
}

#[test]
fn equal_choices_share_one_shape() {
    let class = library().get("dimmable-light").expect("there");
    let chosen = choices(&class, 1).into_iter().next().expect("a choice");
    let (one, other) =
        (class.shape(&chosen).expect("a shape"), class.shape(&chosen.clone()).expect("a shape"));
    assert!(Arc::ptr_eq(&one, &other));
}
