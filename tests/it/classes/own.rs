//! Classes of a house's own: what is wrong with them is told at its place; what is right works.

use crate::marked::take;
use housewright::classes::{Class, ClassLibrary, Problem, choices, starter};
use housewright::source::Sources;
use std::sync::Arc;

/// A sound class to spoil, with a lamp's cluster and three wires.
pub(super) const LAMP: &str = "\
class: lamp
title: Lamp
group: lighting
summary: A lamp.
explanation: None.
parts:
  main:
    title: the lamp
    device-types: { OnOffLight: 3 }
    clusters:
      OnOff: { features: [LT], attributes: { OnTime: 0 } }
points:
  switching:
    title: switches
    need: required
    command: { need: required, dpts: [1.001], flags: CW }
    feedback: { need: recommended, dpts: [1.001], flags: CRT }
    links:
      - { from: state, attribute: OnOff.OnOff }
      - { command: OnOff.Off, convert: [{ step: constant, value: false }] }
      - { command: OnOff.On, convert: [{ step: constant, value: true }] }
";

/// Reads classes, each `(name, text)`; gives what is wrong as `file:line:column variant`.
pub(super) fn load(classes: &[(&str, &str)]) -> (ClassLibrary, Vec<String>) {
    let house = "housewright: 1\nhouse: { id: a-house, name: A house }\n".to_owned();
    let mut texts = vec![("house.yaml".to_owned(), house)];
    texts.extend(classes.iter().map(|(name, text)| (format!("classes/{name}.yaml"), (*text).to_owned())));
    let texts: Vec<_> = texts.iter().map(|(path, text)| (path.as_str(), text.as_str())).collect();
    let (sources, documents, _) = Sources::from_texts(&texts);
    let (library, problems) = ClassLibrary::load(&documents, &sources);
    let told = problems.iter().map(|problem| {
        let place = problem.place();
        let at = sources.line_column(place.file, place.start);
        format!("{}:{}:{} {}", sources.path(place.file), at.line, at.column, variant(problem))
    });
    (library, told.collect())
}

/// The name of the variant: `Unknown Cluster`, `Breach Need`.
pub(super) fn variant(problem: &Problem) -> String {
    let inner = match problem {
        Problem::Unknown { what, .. } => format!(" {what:?}"),
        Problem::Breach { breach, .. } => format!(" {}", first_word(&format!("{breach:?}"))),
        Problem::Ends { fault, .. } => format!(" {fault:?}"),
        _ => String::new(),
    };
    format!("{}{inner}", first_word(&format!("{problem:?}")))
}

fn first_word(text: &str) -> &str {
    text.split([' ', '(', '{']).next().unwrap_or_default()
}

/// Puts `new` in place of `old` in [`LAMP`]; marks in `new` say where what must be told.
fn check(old: &str, new: &str) {
    assert!(LAMP.contains(old), "{old}");
    let (text, marks) = take("classes/lamp.yaml", &LAMP.replace(old, new));
    let (_, mut told) = load(&[("lamp", &text)]);
    let mut expected: Vec<_> = marks
        .iter()
        .map(|mark| format!("{}:{}:{} {}", mark.path, mark.line, mark.column, mark.rule))
        .collect();
    told.sort();
    expected.sort();
    assert_eq!(told, expected, "\n{text}");
}

#[test]
fn the_sound_class_is_sound() {
    check("class: lamp", "class: lamp");
    let (library, _) = load(&[("lamp", LAMP)]);
    assert!(library.is_own("lamp") && !library.is_own("on-off-light"));
    assert_eq!(library.get("lamp").map(|class| class.title.clone()).as_deref(), Some("Lamp"));
    assert!(library.names().contains(&"lamp") && library.names().contains(&"on-off-light"));
}

/// The line of `OnOff` in [`LAMP`].
const ON_OFF: &str = "      OnOff: { features: [LT], attributes: { OnTime: 0 } }\n";

/// The first wire of [`LAMP`].
const WIRE: &str = "      - { from: state, attribute: OnOff.OnOff }\n";

/// The last wire of [`LAMP`].
const COMMAND: &str = "      - { command: OnOff.On, convert: [{ step: constant, value: true }] }\n";

/// The command address of [`LAMP`].
const ADDRESS: &str = "    command: { need: required, dpts: [1.001], flags: CW }\n";

#[test]
fn names_that_the_data_model_lacks() {
    check(ON_OFF, &format!("      Onoff: {{}}\n#     ^^^^^ Unknown Cluster\n{ON_OFF}"));
    check(
        ON_OFF,
        "      OnOff: { features: [LT, XX], attributes: { OnTime: 0 } }
#                             ^^ Unknown Feature
",
    );
    check(
        ON_OFF,
        "      OnOff: { features: [LT], attributes: { OnTimer: 0 } }
#                                            ^^^^^^^ Unknown Attribute
",
    );
    check(
        ON_OFF,
        "      OnOff: { features: [LT], commands: [Blink] }
#                                         ^^^^^ Unknown Command
",
    );
    check(
        WIRE,
        "      - { from: state, attribute: OnOff.Onoff }
#                                 ^^^^^^^^^^^ Unknown Attribute
",
    );
    check(
        COMMAND,
        "      - { command: OnOff.Onn, convert: [{ step: constant, value: true }] }
#                  ^^^^^^^^^ Unknown Command
",
    );
    check(
        "    device-types: { OnOffLight: 3 }\n",
        "    device-types: { OnOffLamp: 3 }
#                   ^^^^^^^^^ Unknown DeviceType
",
    );
    check(
        "    device-types: { OnOffLight: 3 }\n",
        "    device-types: { OnOffLight: 2 }
#                               ^ Revision
",
    );
}

#[test]
fn what_the_data_model_forbids() {
    // A feature that the device type demands.
    check(ON_OFF, "      OnOff: { features: [] }\n#     ^^^^^ Breach Element\n");
    // A feature that excludes the other, with the commands and attributes of the other.
    check(
        ON_OFF,
        "      OnOff: { features: [LT, OFFONLY], attributes: { OnTime: 0 } }
#                             ^^^^^^^ Breach Element
#                         ^^ Breach Element
#     ^^^^^ Breach Element
",
    );
    // A value out of range, one of another kind, and one that is no member.
    check(
        ON_OFF,
        "      OnOff: { features: [LT], attributes: { OnTime: 65536 } }
#                                                    ^^^^^ Breach Value
",
    );
    check(
        ON_OFF,
        "      OnOff: { features: [LT], attributes: { OnTime: soon } }
#                                                    ^^^^ Breach Value
",
    );
    check(
        ON_OFF,
        "      OnOff: { features: [LT], attributes: { StartUpOnOff: 7 } }
#                                                          ^ Breach Value
",
    );
    // A cluster that the device type demands.
    check(
        "    device-types: { OnOffLight: 3 }\n",
        "    device-types: { DimmableLight: 3 }
#                   ^^^^^^^^^^^^^ Breach Need
",
    );
}

#[test]
fn conversions_that_cannot_fit() {
    check(WIRE, "      - { from: state, attribute: OnOff.OnTime }\n#       ^ Unfit\n");
    check(
        COMMAND,
        "      - { command: OnOff.On, convert: [{ step: constant, value: 1 }] }
#                                      ^ Unfit
",
    );
    check(
        COMMAND,
        "      - { command: OnOff.On, convert: [{ step: constnat, value: 1 }] }
#                                      ^ Step
",
    );
}

#[test]
fn wires_that_lead_nowhere_or_two_ways() {
    let check = |wire: &str| check(WIRE, &format!("{WIRE}{wire}"));
    check("      - { from: feedback }\n#       ^ Ends NoTarget\n");
    check(
        "      - { from: feedback, attribute: OnOff.OnOff, command: OnOff.On }\n#       ^ Ends ManyTargets\n",
    );
    check("      - { attribute: OnOff.OnTime }\n#       ^ Ends NoDirection\n");
    check(
        "      - { from: feedback, to: command, attribute: OnOff.OnTime }\n#       ^ Ends BothDirections\n",
    );
    check("      - { from: feedback, command: OnOff.On }\n#       ^ Ends WrongWay\n");
    check(
        "      - { to: command, attribute: OnOff.OnOff }
#                                 ^^^^^^^^^^^ ReadOnly
",
    );
}

#[test]
fn two_points_that_report_the_same_attribute() {
    check(
        COMMAND,
        &format!(
            "{COMMAND}  second:
    title: tells it too
    need: optional
    feedback: {{ need: required, dpts: [1.001], flags: CRT }}
    links:
      - {{ from: feedback, attribute: OnOff.OnOff }}
#                                    ^^^^^^^^^^^ SameAttribute
"
        ),
    );
}

/// Both must say how the attribute comes from the two, and say the same.
#[test]
fn points_that_share_an_attribute_say_how() {
    let lamp = |first: &str, second: &str| {
        LAMP.replace(
            "{ from: state, attribute: OnOff.OnOff }",
            &format!("{{ from: state, attribute: OnOff.OnOff{first} }}"),
        ) + &format!(
            "  second:
    title: tells it too
    need: optional
    feedback: {{ need: required, dpts: [1.001], flags: CRT }}
    links:
      - {{ from: feedback, attribute: OnOff.OnOff{second} }}
"
        )
    };
    let told = |first: &str, second: &str| load(&[("lamp", &lamp(first, second))]).1.len();
    let ranked = ", joint: { first-of: [true, false] }";
    for joint in [", joint: true", ", joint: bits", ranked] {
        assert_eq!(told(joint, joint), 0, "{joint}");
        assert_eq!(told(joint, ""), 1, "{joint} and nothing");
        assert_eq!(told(joint, ", joint: { first-of: [false, true] }"), 1, "{joint} and another order");
    }
}

#[test]
fn points_conditions_types_and_settings_that_there_are_not() {
    check(
        ADDRESS,
        "    command: { need: required, dpts: [1.999], flags: CW }
#                                     ^^^^^ Unknown Dpt
",
    );
    check(
        ADDRESS,
        "    command: { need: required, dpts: [1.01], flags: CW }
#                                     ^^^^ BadDpt
",
    );
    let wire = |more: &str| check(WIRE, &format!("      - {{ from: state, attribute: OnOff.OnOff, {more}"));
    wire("when: [dimming] }\n#                                                     ^^^^^^^ Unknown Point\n");
    wire(
        "when: [switching.status] }\n#                                                     ^^^^^^^^^^^^^^^^ Unknown Point\n",
    );
    wire(
        "when: [{ setting: speed }] }\n#                                                                ^^^^^ Unknown Setting\n",
    );
    wire("part: meter }\n#                                                    ^^^^^ Unknown Part\n");
    check(
        ON_OFF,
        "      OnOff: { features: [LT], attributes: { OnTime: { setting: speed } } }
#                                                    ^ Unknown Setting
",
    );
    check(
        "parts:\n",
        "settings:
  speed: { description: How fast., type: whole, range: [1, 9], default: 10 }
#                                                                       ^^ Default
parts:
",
    );
    check("title: Lamp\n", "title: Lamp\nwithout: [dimming]\n#         ^^^^^^^ Unknown Point\n");
}

#[test]
fn keys_that_mean_nothing_and_keys_that_lack() {
    check("group: lighting\n", "group: lighting\ncolor: red\n#^^^^ Written\n");
    check("group: lighting\n", "group: lightning\n#      ^^^^^^^^^ Written\n");
    check("class: lamp\ntitle: Lamp\n", "class: lamp\n#      ^^^^ Missing\n");
    check("  switching:\n    title: switches\n", "  switching:\n# ^^^^^^^^^ Missing\n");
}

#[test]
fn names_of_files_and_classes() {
    let (_, told) = load(&[("lantern", LAMP)]);
    assert_eq!(told, ["classes/lantern.yaml:1:8 FileName"]);
    let (_, told) = load(&[("on-off-light", &LAMP.replace("class: lamp", "class: on-off-light"))]);
    assert_eq!(told, ["classes/on-off-light.yaml:1:8 Taken"]);
}

#[test]
fn based_on_goes_round_in_no_circle() {
    let based = |name: &str, base: &str| format!("class: {name}\nbased-on: {base}\n");
    let (a, b, c) = (based("a", "b"), based("b", "c"), based("c", "a"));
    let (library, told) = load(&[("a", &a), ("b", &b), ("c", &c)]);
    assert_eq!(told, ["classes/c.yaml:2:11 Recursion"]);
    assert!(["a", "b", "c"].iter().all(|name| library.get(name).is_none()));
    let (_, told) = load(&[("a", &based("a", "lantern"))]);
    assert_eq!(told, ["classes/a.yaml:2:11 Unknown Class"]);
}

pub(super) fn own(name: &str, text: &str) -> Arc<Class> {
    let (library, told) = load(&[(name, text)]);
    assert_eq!(told, [] as [&str; 0]);
    library.get(name).expect(name)
}

#[test]
fn based_on_adds_and_narrows() {
    let narrowed = own(
        "plain-lamp",
        "class: plain-lamp\nbased-on: dimmable-light\nwithout: [dimming]\ntitle: Plain lamp\npoints:\n  brightness: { need: required, command: { need: required } }\n",
    );
    assert_eq!(
        narrowed.points.iter().map(|point| point.name.as_str()).collect::<Vec<_>>(),
        ["switching", "brightness"]
    );
    let built_in = ClassLibrary::built_in().get("dimmable-light").expect("there");
    // What the base says of the dropped point is gone with it.
    assert!(narrowed.links.iter().all(|link| usize::from(link.point) < 2));
    assert!(choices(&narrowed, 100).iter().all(|chosen| narrowed.shape(chosen).is_ok()));
    let (_, told) = load(&[("odd", "class: odd\nbased-on: on-off-light\nwithout: [dimming]\n")]);
    assert_eq!(told, ["classes/odd.yaml:3:11 Unknown Point"]);
    assert_eq!(narrowed.summary, built_in.summary);
    assert_eq!(narrowed.title, "Plain lamp");
    // Through two of the house's own.
    let first = "class: first\nbased-on: on-off-light\ntitle: First\n";
    let second = "class: second\nbased-on: first\nsummary: The second.\n";
    let (library, told) = load(&[("first", first), ("second", second)]);
    assert_eq!(told, [] as [&str; 0]);
    let second = library.get("second").expect("there");
    assert_eq!((second.title.as_str(), second.summary.as_str()), ("First", "The second."));
}

/// A problem that only the class it is based on shows is told in the house's own file.
#[test]
fn what_a_base_shows_is_told_where_it_is_named() {
    let text = "class: odd\nbased-on: dimmable-light\npoints:\n  brightness: { command: { dpts: [16.001] }, feedback: { dpts: [16.001] } }\n";
    let (_, told) = load(&[("odd", text)]);
    assert!(!told.is_empty());
    assert!(told.iter().all(|told| told.starts_with("classes/odd.yaml:2:11 ")), "{told:?}");
}

#[test]
fn the_starter_is_a_sound_class() {
    let class = own("hall-lamp", &starter("hall-lamp"));
    assert_eq!(class.title, "Hall lamp");
    assert!(!choices(&class, 10).is_empty());
    // What stands behind `#` is sound too, once it is taken in.
    let text = starter("hall-lamp");
    let (head, rest) = text.split_once("# A new point").expect("there");
    let lines =
        rest.lines().skip(1).map(|line| line.strip_prefix("# ").unwrap_or(line.trim_start_matches('#')));
    let more: String = lines.map(|line| format!("{line}\n")).collect();
    let class = own("hall-lamp", &format!("{head}{more}"));
    assert!(class.point("brightness").is_some());
}
