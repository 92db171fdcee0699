//! Proofs of conversions: what they find, what a person would notice of it, and that they are known by content.

use housewright::convert::attribute;
use housewright::convert::proof::{
    AttributeSide, BusSide, DptSide, Input, Key, Noticeable, Proof, ProofCache, Shown, Subject, ToBus, known_text, prove,
};
use housewright::convert::{Chain, Fields, Range, Value};
use housewright::knx::dpt;
use housewright::matter;
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
    to_bus: &'static str,
    bus_range: Option<Range>,
}

impl Case {
    /// Calls `with` with the case's subject.
    fn subject<T>(&self, with: impl FnOnce(&Subject<'_>) -> T) -> T {
        let bus = DptSide::new(dpt::lookup(self.dpt).unwrap()).unwrap();
        let side = side(self.attribute, self.bounds);
        let (from_bus, to_bus) = (chain(self.from_bus), chain(self.to_bus));
        let shown = [Shown { side: &side, from_bus: Some(&from_bus) }];
        let (input, around) = (Input::Attribute(0), Fields::new());
        let to_bus = Some(ToBus { input: &input, chain: &to_bus });
        with(&Subject { bus: &bus, shown: &shown, to_bus, around: &around, bus_range: self.bus_range })
    }

    fn proof(&self) -> Proof {
        self.subject(prove)
    }
}

const LIGHT: &[(&str, f64)] = &[("MinLevel", 1.0), ("MaxLevel", 254.0)];
const WHITE: &[(&str, f64)] = &[("ColorTempPhysicalMinMireds", 153.0), ("ColorTempPhysicalMaxMireds", 500.0)];
const ROOM: &[(&str, f64)] = &[("MinHeatSetpointLimit", 700.0), ("MaxHeatSetpointLimit", 3_000.0)];

/// The case's proof as a table, and what is noticeable.
fn check(case: &Case, table: &str, noticeable: &[&str]) {
    let proof = case.proof();
    assert_eq!(proof.to_string(), table.trim_matches('\n'), "{}", case.dpt);
    notices(case, &proof, noticeable);
}

fn notices(case: &Case, proof: &Proof, noticeable: &[&str]) {
    let noticed: Vec<String> = proof.noticeable().iter().map(words).collect();
    assert_eq!(noticed, noticeable, "{} {}", case.dpt, case.to_bus);
}

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

#[test]
fn losses_that_nobody_notices_are_told_in_the_table_only() {
    check(&dimmer(LEVEL, PERCENT), "T1", &[]);
    check(&white(MIREDS, KELVIN, None), "T2", &[]);
    check(&room("9.001", HUNDREDTHS, DEGREES), "T3", &[]);
}

#[test]
fn what_a_person_would_notice_is_told_once() {
    let says = |case: Case, noticeable: &[&str]| notices(&case, &case.proof(), noticeable);
    // A lamp that cannot be dimmed below 4 %.
    let lowest = r#"[{"step":"clamp","min":10,"max":254},{"step":"scale","from":[0,254],"to":[0,100]}]"#;
    says(dimmer(LEVEL, lowest), &["Low out of reach: 3.921569 of 0 %"]);
    // One that never reaches full brightness: a byte taken for per cent.
    says(dimmer(LEVEL, r#"[{"step":"scale","from":[0,255],"to":[0,100]},{"step":"clamp","min":0,"max":90}]"#), &["?"]);
    // A Kelvin range cut off, on the way there and on the way back.
    let warm = r#"[{"step":"reciprocal","numerator":1000000},{"step":"clamp","min":2700,"max":5000}]"#;
    says(white(MIREDS, warm, None), &["?"]);
    says(white(MIREDS, KELVIN, Some(Range { min: 1_500.0, max: 6_500.0 })), &["?"]);
    // Setpoints in steps of half a degree, and in whole degrees on a byte.
    let halves = r#"[{"step":"scale","from":[0,100],"to":[0,1]},{"step":"round","to":0.5}]"#;
    says(room("9.001", HUNDREDTHS, halves), &["?"]);
    // A way back by another scale than the way there.
    says(dimmer(LEVEL, r#"[{"step":"scale","from":[0,254],"to":[0,90]}]"#), &["?"]);
    // Values that the other side cannot hold, and a way that nothing goes.
    says(dimmer(r#"[{"step":"scale","from":[0,100],"to":[0,255]},{"step":"round","to":1}]"#, PERCENT), &["?"]);
    says(dimmer(r#"[{"step":"table","pairs":[[101,1]]}]"#, PERCENT), &["?"]);
}

#[test]
fn a_spread_of_more_than_a_million_stands_for_what_is_too_much_to_enumerate() {
    let energy = Case {
        dpt: "13.010",
        attribute: "ElectricalEnergyMeasurement.CumulativeEnergyImported",
        bounds: &[],
        from_bus: r#"[{"step":"clamp","min":0,"max":2147483647},{"step":"scale","from":[0,1],"to":[0,1000]},
            {"step":"wrap","name":"Energy"}]"#,
        to_bus: "[]",
        bus_range: None,
    };
    let proof = energy.subject(|subject| prove(&Subject { to_bus: None, ..*subject }));
    assert_eq!(proof.to_string(), "T4");
    assert_eq!(proof, energy.subject(|subject| prove(&Subject { to_bus: None, ..*subject })));
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
        Some(Value::Structure([("red", part(8)), ("green", part(4)), ("blue", part(0))].into_iter().collect()))
    }

    fn encode(&self, value: &Value) -> Result<u64, String> {
        let Value::Structure(fields) = value else { return Err("no structure".to_owned()) };
        ["red", "green", "blue"].into_iter().try_fold(0, |raw, name| {
            let part = fields.get(name).and_then(Value::number).ok_or("no number")?;
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a cast stops at the ends")]
            Ok(raw << 4 | (part.round() as u64).min(15))
        })
    }
}

#[test]
fn a_colour_is_proven_with_all_its_attributes_at_once() {
    let sides = [
        side("ColorControl.CurrentHue", &[]),
        side("ColorControl.CurrentSaturation", &[]),
        side("LevelControl.CurrentLevel", LIGHT),
    ];
    let way = |field: &str, top: u32| {
        chain(&format!(
            r#"[{{"step":"scale-fields","of":["red","green","blue"],"from":[0,15],"to":[0,1]}},{{"step":"rgb-to-hsv"}},
            {{"step":"field","name":"{field}"}},{{"step":"scale","from":[0,{top}],"to":[0,254]}},{{"step":"round","to":1}},
            {{"step":"ignore","values":[{}]}}]"#,
            if field == "value" { 0 } else { -1 }
        ))
    };
    let ways = [way("hue", 360), way("saturation", 1), way("value", 1)];
    let shown: Vec<Shown<'_>> =
        sides.iter().zip(&ways).map(|(side, way)| Shown { side, from_bus: Some(way) }).collect();
    let to_bus = chain(
        r#"[{"step":"gather","fields":{"hue":{"field":"Hue"},"saturation":{"field":"Saturation"},
            "value":{"attribute":"LevelControl.CurrentLevel"}}},
        {"step":"scale-fields","of":["hue"],"from":[0,254],"to":[0,360]},
        {"step":"scale-fields","of":["saturation","value"],"from":[0,254],"to":[0,1]},{"step":"hsv-to-rgb"},
        {"step":"scale-fields","of":["red","green","blue"],"from":[0,1],"to":[0,15]}]"#,
    );
    let input = Input::Fields(vec![("Hue".to_owned(), 0), ("Saturation".to_owned(), 1)]);
    let to_bus = Some(ToBus { input: &input, chain: &to_bus });
    let around = Fields::new();
    let proof = prove(&Subject { bus: &SmallRgb, shown: &shown, to_bus, around: &around, bus_range: None });
    assert_eq!(proof.to_string(), "T5");
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
    let table: serde_json::Value = serde_yaml::from_str(include_str!("../../schema/attribute-units.yaml")).unwrap();
    for name in table["attributes"].as_object().unwrap().keys() {
        assert!(!side(name, &[]).person.unit.is_empty() || name.starts_with("ColorControl") || name.ends_with("Factor"), "{name}");
    }
    for datatype in table["datatypes"].as_object().unwrap().keys() {
        let used = |name: &str| matter::cluster(name).unwrap().attributes.iter().any(|one| one.datatype == *datatype);
        assert!(matter::cluster_names().any(used), "no attribute is of type `{datatype}`");
    }
}
