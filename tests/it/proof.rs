//! Proofs of conversions: what they find, what a person would notice of it, and that they are known by content.

use housewright::convert::attribute;
use housewright::convert::proof::{
    AttributeSide, AttributeValues, BusSide, DptSide, Input, Key, Noticeable, Person, Proof, ProofCache,
    Shown, Subject, ToBus, known_text, prove,
};
use housewright::convert::{Chain, Fields, Range, Step, Value};
use housewright::knx::dpt;
use housewright::matter;
use snapbox::{assert_data_eq, file};
use std::sync::Arc;

fn chain(steps: &str) -> Chain {
    serde_json::from_str(steps).unwrap()
}

fn side(name: &str, bounds: &[(&str, f64)]) -> AttributeSide {
    let (cluster, attribute) = name.split_once('.').unwrap();
    let cluster = matter::cluster(cluster).unwrap();
    let attribute = cluster.attributes.iter().find(|one| one.name == attribute).unwrap();
    let lookup = |name: &str| bounds.iter().find(|(bound, _)| *bound == name).map(|(_, value)| *value);
    attribute::side(cluster, attribute, &lookup).unwrap()
}

/// A conversion to prove.
struct Case {
    dpt: &'static str,
    attribute: &'static str,
    bounds: &'static [(&'static str, f64)],
    from_bus: &'static str,
    /// Empty where nothing is written.
    to_bus: &'static str,
    bus_range: Option<Range>,
}

impl Case {
    /// Calls `with` with the case's subject.
    fn subject<T>(&self, with: impl FnOnce(&Subject<'_>) -> T) -> T {
        let bus = DptSide::new(dpt::lookup(self.dpt).unwrap()).unwrap();
        let side = side(self.attribute, self.bounds);
        let from_bus = chain(self.from_bus);
        let to_bus = (!self.to_bus.is_empty()).then(|| chain(self.to_bus));
        let shown = [Shown { side: &side, from_bus: Some(&from_bus) }];
        let (input, around) = (Input::Attribute(0), Fields::new());
        let to_bus = to_bus.as_ref().map(|chain| ToBus { input: &input, chain });
        with(&Subject { bus: &bus, shown: &shown, to_bus, around: &around, bus_range: self.bus_range })
    }

    fn proof(&self) -> Proof {
        self.subject(prove)
    }
}

const LIGHT: &[(&str, f64)] = &[("MinLevel", 1.0), ("MaxLevel", 254.0)];
const WHITE: &[(&str, f64)] = &[("ColorTempPhysicalMinMireds", 153.0), ("ColorTempPhysicalMaxMireds", 500.0)];
const ROOM: &[(&str, f64)] = &[("MinHeatSetpointLimit", 700.0), ("MaxHeatSetpointLimit", 3_000.0)];

fn words(noticeable: &Noticeable) -> String {
    match noticeable {
        Noticeable::OutOfReach { end, reached, whole, unit } => {
            format!("{end:?} out of reach: {reached} of {whole} {unit}")
        }
        Noticeable::CutOff { way, end, values, unit } => {
            format!("{way:?} {end:?} cut off: {}..{} {unit}", values.from, values.to)
        }
        Noticeable::Coarse { way, step, unit, .. } => format!("{way:?} in steps of {step} {unit}"),
        Noticeable::ComesBackChanged { attribute, asked, shown, unit, .. } => {
            format!("{attribute} {asked} shown as {shown} {unit}")
        }
        Noticeable::Refused { way, count, first, why, .. } => {
            format!("{way:?} refuses {count}, first {first}: {why}")
        }
        Noticeable::NothingArrives { way } => format!("{way:?} nothing arrives"),
    }
}

fn dimmer(from_bus: &'static str, to_bus: &'static str) -> Case {
    let attribute = "LevelControl.CurrentLevel";
    Case { dpt: "5.001", attribute, bounds: LIGHT, from_bus, to_bus, bus_range: None }
}

fn white(from_bus: &'static str, to_bus: &'static str, bus_range: Option<Range>) -> Case {
    let attribute = "ColorControl.ColorTemperatureMireds";
    Case { dpt: "7.600", attribute, bounds: WHITE, from_bus, to_bus, bus_range }
}

fn room(dpt: &'static str, from_bus: &'static str, to_bus: &'static str) -> Case {
    let attribute = "Thermostat.OccupiedHeatingSetpoint";
    Case { dpt, attribute, bounds: ROOM, from_bus, to_bus, bus_range: None }
}

const LEVEL: &str = r#"[{"step":"ignore","values":[0]},{"step":"scale","from":[0,100],"to":[0,254]},
    {"step":"round","to":1},{"step":"clamp","min":1,"max":254}]"#;
const PERCENT: &str = r#"[{"step":"scale","from":[0,254],"to":[0,100]}]"#;
const MIREDS: &str = r#"[{"step":"reciprocal","numerator":1000000},{"step":"round","to":1},
    {"step":"clamp","min":153,"max":500}]"#;
const KELVIN: &str = r#"[{"step":"reciprocal","numerator":1000000}]"#;
const HUNDREDTHS: &str = r#"[{"step":"scale","from":[0,1],"to":[0,100]},{"step":"round","to":1},
    {"step":"clamp","min":700,"max":3000}]"#;
const DEGREES: &str = r#"[{"step":"scale","from":[0,100],"to":[0,1]}]"#;

/// A lamp that cannot be dimmed below 4 %.
const LOWEST: &str = r#"[{"step":"clamp","min":10,"max":254},{"step":"scale","from":[0,254],"to":[0,100]}]"#;
/// A lamp that never gets all it is asked for.
const WEAK: &str = r#"[{"step":"scale","from":[0,254],"to":[0,90]}]"#;
/// A lamp with a smaller range than its class says.
const WARM: &str = r#"[{"step":"reciprocal","numerator":1000000},{"step":"clamp","min":2700,"max":5000}]"#;
/// Setpoints in steps of half a degree.
const HALVES: &str = r#"[{"step":"scale","from":[0,100],"to":[0,1]},{"step":"round","to":0.5}]"#;
/// A byte's scale for an attribute that ends at 254.
const BYTE: &str = r#"[{"step":"scale","from":[0,100],"to":[0,255]},{"step":"round","to":1}]"#;
/// Bright for dark.
const TURNED: &str = r#"[{"step":"scale","from":[0,100],"to":[254,1]},{"step":"round","to":1}]"#;
/// What never arrives.
const NEVER: &str = r#"[{"step":"table","pairs":[[1000,1]]}]"#;
const LUX: &str = r#"[{"step":"log10","factor":10000,"offset":1,"smallest":1,"below":0},{"step":"round","to":1},
    {"step":"clamp","min":0,"max":65534}]"#;
const METER: &str = r#"[{"step":"clamp","min":0,"max":2147483647},{"step":"scale","from":[0,1],"to":[0,1000]},
    {"step":"wrap","name":"Energy"}]"#;

#[test]
fn proofs_say_what_is_lost_and_what_of_it_a_person_would_notice() {
    let read_only = |dpt, attribute, from_bus| Case {
        dpt,
        attribute,
        bounds: &[],
        from_bus,
        to_bus: "",
        bus_range: None,
    };
    let lamp = Range { min: 1_500.0, max: 6_500.0 };
    let cases = [
        ("a dimmer as it should be", dimmer(LEVEL, PERCENT)),
        ("a dimmer that does not go below 4 %", dimmer(LEVEL, LOWEST)),
        ("a dimmer that gets 90 % of what is asked for", dimmer(LEVEL, WEAK)),
        ("a dimmer shown by another scale", dimmer(BYTE, PERCENT)),
        ("a dimmer shown turned round", dimmer(TURNED, PERCENT)),
        ("a dimmer of which nothing is shown", dimmer(NEVER, PERCENT)),
        ("tunable white as it should be", white(MIREDS, KELVIN, None)),
        ("tunable white, cut off on the way to the lamp", white(MIREDS, WARM, None)),
        ("tunable white whose lamp goes further", white(MIREDS, KELVIN, Some(lamp))),
        ("a setpoint as it should be", room("9.001", HUNDREDTHS, DEGREES)),
        ("a setpoint in halves", room("9.001", HUNDREDTHS, HALVES)),
        ("illuminance", read_only("9.004", "IlluminanceMeasurement.MeasuredValue", LUX)),
        (
            "a meter of 32 bits, by a spread",
            read_only("13.010", "ElectricalEnergyMeasurement.CumulativeEnergyImported", METER),
        ),
        (
            "a switch",
            Case {
                dpt: "1.001",
                attribute: "OnOff.OnOff",
                bounds: &[],
                from_bus: "[]",
                to_bus: "[]",
                bus_range: None,
            },
        ),
    ];
    let tell = |(name, case): &(&str, Case)| {
        let proof = case.proof();
        let noticed: Vec<String> =
            proof.noticeable().iter().map(|one| format!("! {}\n", words(one))).collect();
        format!("== {name}\n{proof}\n{}", noticed.concat())
    };
    let told: Vec<String> = cases.iter().map(tell).chain([format!("== a colour\n{}\n", colour())]).collect();
    assert_data_eq!(told.join("\n"), file!["proof/proofs.txt"].raw());
}

/// A colour of four bits each, small enough to look at all.
struct SmallRgb;

impl BusSide for SmallRgb {
    fn name(&self) -> String {
        "rgb".to_owned()
    }

    fn bits(&self) -> u32 {
        12
    }

    fn unit(&self, _field: Option<&str>) -> String {
        String::new()
    }

    fn decode(&self, raw: u64) -> Option<Value> {
        #[allow(clippy::cast_precision_loss, reason = "four bits")]
        let part = |low: u32| Value::Number((raw >> low & 15) as f64);
        Some(Value::Structure(
            [("red", part(8)), ("green", part(4)), ("blue", part(0))].into_iter().collect(),
        ))
    }

    fn encode(&self, value: &Value) -> Result<u64, String> {
        let Value::Structure(fields) = value else { return Err("no structure".to_owned()) };
        ["red", "green", "blue"].into_iter().try_fold(0, |raw, name| {
            let part = fields.get(name).and_then(Value::number).ok_or("no number")?;
            #[allow(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "a cast stops at the ends"
            )]
            Ok(raw << 4 | (part.round() as u64).min(15))
        })
    }
}

/// The proof of a colour with all its attributes at once, on a coarse scale: hue of 30 steps, the others of 15.
fn colour() -> Proof {
    let sides = [
        ("ColorControl.CurrentHue", 0, 30, 12.0),
        ("ColorControl.CurrentSaturation", 0, 15, 100.0 / 15.0),
        ("LevelControl.CurrentLevel", 1, 15, 100.0 / 15.0),
    ]
    .map(|(name, min, max, unit)| {
        let steps = vec![Step::Scale { from: [0.0, 1.0], to: [0.0, unit] }];
        let person = side(name, &[]).person;
        let person = Person { steps: Chain { steps }, ..person };
        AttributeSide { name: name.to_owned(), values: AttributeValues::Whole { min, max }, person }
    });
    let way = |field: &str, from: u32, to: u32| {
        chain(&format!(
            r#"[{{"step":"scale-fields","of":["red","green","blue"],"from":[0,15],"to":[0,1]}},{{"step":"rgb-to-hsv"}},
            {{"step":"field","name":"{field}"}},{{"step":"scale","from":[0,{from}],"to":[0,{to}]}},{{"step":"round","to":1}}]"#,
        ))
    };
    let mut ways = [way("hue", 360, 30), way("saturation", 1, 15), way("value", 1, 15)];
    let [_, _, level] = &mut ways;
    level.steps.push(Step::Ignore { values: vec![0.into()] });
    let shown: Vec<Shown<'_>> =
        sides.iter().zip(&ways).map(|(side, way)| Shown { side, from_bus: Some(way) }).collect();
    let to_bus = chain(
        r#"[{"step":"gather","fields":{"hue":{"field":"Hue"},"saturation":{"field":"Saturation"},
            "value":{"attribute":"LevelControl.CurrentLevel"}}},
        {"step":"scale-fields","of":["hue"],"from":[0,30],"to":[0,360]},
        {"step":"scale-fields","of":["saturation","value"],"from":[0,15],"to":[0,1]},{"step":"hsv-to-rgb"},
        {"step":"scale-fields","of":["red","green","blue"],"from":[0,1],"to":[0,15]}]"#,
    );
    let input = Input::Fields(vec![("Hue".to_owned(), 0), ("Saturation".to_owned(), 1)]);
    let to_bus = Some(ToBus { input: &input, chain: &to_bus });
    let around = Fields::new();
    prove(&Subject { bus: &SmallRgb, shown: &shown, to_bus, around: &around, bus_range: None })
}

#[test]
fn proofs_are_known_by_content() {
    let case = dimmer(LEVEL, PERCENT);
    let (key, proof) = case.subject(|subject| (Key::of(subject), prove(subject)));
    let other = dimmer(LEVEL, r#"[{"step":"scale","from":[0,254],"to":[0,99]}]"#);
    assert_ne!(key, other.subject(Key::of));
    // What stands in the file is believed, not proven again.
    let marked = Proof { bus: "from the file".to_owned(), ..proof.clone() };
    let text: &'static str = known_text([(key, marked.clone())], "a test").leak();
    let cache = ProofCache::knowing(text);
    assert_eq!(*case.subject(|subject| cache.prove(subject)), marked);
    let made = other.subject(|subject| cache.prove(subject));
    assert_eq!(made.bus, "5.001");
    assert!(Arc::ptr_eq(&made, &other.subject(|subject| cache.prove(subject))), "proven once");
    // A proof reads back as it was written.
    let read: Proof = serde_json::from_str(&serde_json::to_string(&proof).unwrap()).unwrap();
    assert_eq!(read, proof);
}

#[test]
fn every_attribute_of_the_table_is_known_and_counts_as_it_says() {
    let table: serde_json::Value =
        serde_yaml::from_str(include_str!("../../schema/attribute-units.yaml")).unwrap();
    for name in table["attributes"].as_object().unwrap().keys() {
        assert!(
            !side(name, &[]).person.unit.is_empty()
                || name.starts_with("ColorControl")
                || name.ends_with("Factor"),
            "{name}"
        );
    }
    for datatype in table["datatypes"].as_object().unwrap().keys() {
        let used = |name: &str| {
            matter::cluster(name).unwrap().attributes.iter().any(|one| one.datatype == *datatype)
        };
        assert!(matter::cluster_names().any(used), "no attribute is of type `{datatype}`");
    }
}
