//! Proofs of conversions: what they find, what a person would notice of it, and that they are known by content.

use housewright::convert::attribute;
use housewright::convert::proof::{
    AttributeSide, DptSide, Input, Key, Noticeable, Proof, ProofCache, Shown, Subject, ToBus, known_text, prove,
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

const LIGHT: &[(&str, f64)] = &[("minLevel", 1.0), ("maxLevel", 254.0)];
const ROOM: &[(&str, f64)] = &[("minHeatSetpointLimit", 700.0), ("maxHeatSetpointLimit", 3_000.0)];

/// The case's proof as a table, and what is noticeable.
fn check(case: &Case, table: &str, noticeable: &[&str]) {
    let proof = case.proof();
    assert_eq!(proof.to_string(), table.trim_matches('\n'), "{}", case.dpt);
    let noticed: Vec<String> = proof.noticeable().iter().map(words).collect();
    assert_eq!(noticed, noticeable, "{}", case.dpt);
}

fn words(noticeable: &Noticeable) -> String {
    match noticeable {
        Noticeable::OutOfReach { end, reached, whole, unit } => format!("{end:?} out of reach: {reached} of {whole} {unit}"),
        Noticeable::CutOff { way, end, values, unit } => {
            format!("{way:?} {end:?} cut off: {}..{} {unit}", values.from, values.to)
        }
        Noticeable::Coarse { way, step, unit, .. } => format!("{way:?} in steps of {step} {unit}"),
        Noticeable::ComesBackChanged { attribute, asked, shown, unit, .. } => {
            format!("{attribute} {asked} shown as {shown} {unit}")
        }
        Noticeable::Refused { way, count, first, why, .. } => format!("{way:?} refuses {count}, first {first}: {why}"),
        Noticeable::NothingArrives { way } => format!("{way:?} nothing arrives"),
    }
}

fn dimmer(from_bus: &'static str, to_bus: &'static str) -> Case {
    Case { dpt: "5.001", attribute: "LevelControl.CurrentLevel", bounds: LIGHT, from_bus, to_bus, bus_range: None }
}

const SHOWN: &str = r#"[{"step":"ignore","values":[0]},{"step":"scale","from":[0,100],"to":[0,254]},
    {"step":"round","to":1},{"step":"clamp","min":1,"max":254}]"#;
const WRITTEN: &str = r#"[{"step":"scale","from":[0,254],"to":[0,100]}]"#;

#[test]
fn trial() {
    let mut setpoint = Case { dpt: "9.001", attribute: "Thermostat.OccupiedHeatingSetpoint", bounds: ROOM, from_bus: r#"[{"step":"scale","from":[0,1],"to":[0,100]},{"step":"round","to":1},{"step":"clamp","min":700,"max":3000}]"#, to_bus: r#"[{"step":"scale","from":[0,100],"to":[0,1]}]"#, bus_range: None };
    let cases = [
        dimmer(SHOWN, WRITTEN),
        dimmer(r#"[{"step":"ignore","values":[0]},{"step":"scale","from":[0,100],"to":[0,254]},{"step":"round","to":1},{"step":"clamp","min":10,"max":254}]"#, r#"[{"step":"clamp","min":10,"max":254},{"step":"scale","from":[0,254],"to":[0,100]}]"#),
        Case { dpt: "7.600", attribute: "ColorControl.ColorTemperatureMireds", bounds: &[("colorTempPhysicalMinMireds", 153.0), ("colorTempPhysicalMaxMireds", 500.0)], from_bus: r#"[{"step":"reciprocal","numerator":1000000},{"step":"round","to":1},{"step":"clamp","min":153,"max":500}]"#, to_bus: r#"[{"step":"reciprocal","numerator":1000000},{"step":"clamp","min":2700,"max":6500}]"#, bus_range: Some(Range{min: 2700.0, max: 6500.0}) },
        Case { dpt: "9.004", attribute: "IlluminanceMeasurement.MeasuredValue", bounds: &[("minMeasuredValue", 1.0), ("maxMeasuredValue", 65534.0)], from_bus: r#"[{"step":"log10","factor":10000,"offset":1,"smallest":1,"below":0},{"step":"round","to":1},{"step":"clamp","min":0,"max":65534}]"#, to_bus: r#"[{"step":"power10","factor":10000,"offset":1},{"step":"clamp","min":0,"max":670433}]"#, bus_range: None },
        Case { dpt: "13.010", attribute: "ElectricalEnergyMeasurement.CumulativeEnergyImported", bounds: &[], from_bus: r#"[{"step":"scale","from":[0,1],"to":[0,1000]},{"step":"wrap","name":"Energy"}]"#, to_bus: r#"[{"step":"field","name":"Energy"},{"step":"scale","from":[0,1000],"to":[0,1]}]"#, bus_range: None },
    ];
    for case in cases.iter().chain([&setpoint]) {
        let proof = case.proof();
        println!("{proof}\n{:?}\n", proof.noticeable().iter().map(words).collect::<Vec<_>>());
    }
    setpoint.to_bus = r#"[{"step":"scale","from":[0,100],"to":[0,1]},{"step":"round","to":0.5}]"#;
    println!("{}", setpoint.proof());
}
