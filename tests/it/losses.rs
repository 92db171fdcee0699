//! What the built-in classes lose between the bus and the controller: known, and nothing that anybody would notice.

use housewright::classes::{
    Chosen, Class, ClassLibrary, Number, SettingKind, SettingValue, choices, each_subject, known_proofs,
    losses,
};
use housewright::convert::proof::{Key, Proof, ProofCache, Subject, known_text, prove};
use snapbox::{assert_data_eq, file};
use std::collections::{BTreeMap, BTreeSet};

/// Choices of a class that are looked at; more are proven when a house asks for them.
const MOST: usize = 200;

/// Calls `with` for each subject of each choice of each built-in class, each subject once a class: classes share some.
fn over_all(mut with: impl FnMut(&str, Key, &Subject<'_>)) {
    let library = ClassLibrary::built_in();
    for name in library.names() {
        let mut seen = BTreeSet::new();
        let class = library.get(name).unwrap();
        for chosen in choices(&class, MOST) {
            let Ok(shape) = class.shape(&chosen) else { continue };
            for part in &shape.parts {
                each_subject(part, &chosen, &mut |_, subject| {
                    let key = Key::of(subject);
                    if seen.insert(key.clone()) {
                        with(name, key, subject);
                    }
                });
            }
        }
    }
}

/// The proofs of the file.
fn file_proofs() -> BTreeMap<String, Proof> {
    let text = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/schema/proofs.json")).unwrap();
    let file: serde_json::Value = serde_json::from_str(&text).unwrap();
    serde_json::from_value(file["proofs"].clone()).unwrap()
}

/// The file has the proofs of all built-in classes and no other. A proof whose key is there already is not made anew; to
/// make all of them anew, empty the file first.
#[test]
fn the_file_of_proofs_is_up_to_date() {
    let file = file_proofs();
    let mut proofs = BTreeMap::new();
    over_all(|_, key, subject| {
        let known = file.get(key.as_str());
        proofs.entry(key).or_insert_with(|| known.cloned().unwrap_or_else(|| prove(subject)));
    });
    let text = known_text(proofs, "SNAPSHOTS=overwrite cargo test --test it losses");
    assert_data_eq!(text, file!["../../schema/proofs.json"].raw());
}

/// What is built into the program is the file, and can be read there.
#[test]
fn the_program_has_the_proofs_of_the_file() {
    let file = file_proofs();
    assert_eq!(known_proofs().known(), file.len());
    let mut asked = BTreeSet::new();
    over_all(|name, key, _| {
        assert!(known_proofs().knows(&key), "{name}: {}", key.as_str());
        asked.insert(key);
    });
    assert_eq!(asked.len(), file.len());
}

/// Every small proof of the file comes out again as it stands there, and some of the large ones.
#[test]
fn proofs_come_out_as_they_stand_in_the_file() {
    const SMALL: u64 = 3_000;
    let file = file_proofs();
    let mut made = BTreeSet::new();
    over_all(|class, key, subject| {
        if made.contains(&key) {
            return;
        }
        let Some(known) = file.get(key.as_str()) else { return };
        let size: u64 =
            [&known.from_bus, &known.to_bus].into_iter().flatten().map(|tally| tally.looked_at).sum();
        // One in sixteen of the others, by the key's first digit; a colour has too many values for a test.
        if size <= SMALL || size <= 200_000 && key.as_str().starts_with('0') {
            assert_eq!(prove(subject), *known, "{class}, {}", key.as_str());
            made.insert(key);
        }
    });
    assert!(made.len() > 20, "only {} proofs were made again", made.len());
}

/// Classes of which the proof tells something, and why it does. One that is quiet by now fails.
const TOLD: [(&str, &str); 6] = [
    ("extractor-hood", "as a fan, which it is based on"),
    ("fan", "three or four stages on the bus: the controller's percent and mode jump"),
    ("flow-sensor", "the attribute counts in 0.1 m3/h, so a trickle is coarse"),
    ("pressure-sensor", "the attribute counts in hPa, so a pressure near nothing is coarse"),
    ("vehicle-charger", "7.012 ends at 65.535 A, and a circuit of 80 A is the greatest: a house is told"),
    ("ventilation-unit", "as a fan, which it is based on"),
];

#[test]
fn nobody_notices_what_the_built_in_classes_lose() {
    let file = file_proofs();
    let mut told: Vec<String> = Vec::new();
    over_all(|class, key, _| {
        // Whether all are there is for another test.
        let Some(proof) = file.get(key.as_str()) else { return };
        let noticeable = proof.noticeable();
        if !noticeable.is_empty() {
            let known = TOLD.iter().any(|(name, _)| *name == class);
            assert!(known, "{class} is not in `TOLD` with the reason: {noticeable:?} ({})", key.as_str());
            told.push(class.to_owned());
        }
    });
    told.sort();
    told.dedup();
    assert_eq!(told, TOLD.map(|(class, _)| class), "a class is quiet by now");
}

#[test]
fn links_are_proven_in_pairs() {
    let check = |class: &str, expected: &[&str]| {
        let class = ClassLibrary::built_in().get(class).unwrap();
        let chosen: Chosen = choices(&class, 1).into_iter().next().unwrap();
        let shape = class.shape(&chosen).unwrap();
        let told: Vec<String> = shape
            .parts
            .iter()
            .flat_map(|part| losses(part, &chosen, known_proofs()))
            .map(|loss| {
                let point = &class.points[usize::from(loss.point)].name;
                let ways = [(&loss.proof.from_bus, " shown"), (&loss.proof.to_bus, " written")];
                let ways: String =
                    ways.iter().filter(|(tally, _)| tally.is_some()).map(|(_, word)| *word).collect();
                format!("{point} {} {}{ways}", loss.dpt, loss.attributes.join(" "))
            })
            .collect();
        assert_eq!(told, expected);
    };
    check(
        "dimmable-light",
        &["brightness 5.001 LevelControl.CurrentLevel shown written", "switching 1.001 OnOff.OnOff shown"],
    );
    check(
        "room-thermostat",
        &[
            "setpoint 9.001 Thermostat.OccupiedHeatingSetpoint shown written",
            "mode 20.102 Thermostat.SystemMode shown written",
            "temperature 9.001 Thermostat.LocalTemperature shown",
            "valve 5.001 Thermostat.ThermostatRunningState shown",
            "humidity 9.007 RelativeHumidityMeasurement.MeasuredValue shown",
        ],
    );
    check(
        "colour-light",
        &[
            "colour 232.600 ColorControl.CurrentX ColorControl.CurrentY shown written",
            "colour 232.600 ColorControl.CurrentHue ColorControl.CurrentSaturation shown written",
            "colour-temperature 7.600 ColorControl.ColorTemperatureMireds shown written",
            "brightness 5.001 LevelControl.CurrentLevel shown written",
            "switching 1.001 OnOff.OnOff shown",
        ],
    );
}

/// Choices as a house may override them: another range of a point, another value of a number among the settings.
fn overridden(class: &Class, chosen: &Chosen) -> Vec<Chosen> {
    const RANGES: [[f64; 2]; 3] = [[0.0, 1.0], [10.0, 30.0], [0.0, 1_000.0]];
    let mut all = Vec::new();
    for (at, point) in chosen.points.iter().enumerate() {
        if class.points[usize::from(point.point)].range.is_some() {
            for range in RANGES {
                let mut changed = chosen.clone();
                changed.points[at].range = Some(range.map(|end| Number::new(end).unwrap()));
                all.push(changed);
            }
        }
    }
    for (index, setting) in (0..).zip(&class.settings) {
        let SettingKind::Number { range: [low, high], .. } = setting.kind else { continue };
        for part in [0.05, 0.2, 0.5, 0.9] {
            let value = SettingValue::Number(Number::new((low + (high - low) * part).round()).unwrap());
            all.push(Chosen { settings: vec![(index, value)], ..chosen.clone() });
        }
    }
    all
}

/// A check of a house proves only what a glance at some of the values shows to be lossy: whatever the proof tells, the
/// glance has to see.
#[test]
fn a_glance_sees_what_a_proof_tells() {
    let (library, cache) = (ClassLibrary::built_in(), ProofCache::default());
    let (mut looked, mut told, mut seen) = (0, 0, BTreeSet::new());
    for name in library.names() {
        let class = library.get(name).unwrap();
        for chosen in choices(&class, 2).iter().flat_map(|chosen| overridden(&class, chosen)) {
            let Ok(shape) = class.shape(&chosen) else { continue };
            for part in &shape.parts {
                each_subject(part, &chosen, &mut |_, subject| {
                    // A proof of more takes long; an eighth of the others is enough.
                    let key = Key::of(subject);
                    let some = key.as_str().starts_with(['0', '1']);
                    if subject.bus.bits() <= 16 && some && seen.insert(key.clone()) {
                        looked += 1;
                        if !prove(subject).noticeable().is_empty() {
                            assert!(cache.shows_loss(subject), "{name}, {}", key.as_str());
                            told += 1;
                        }
                    }
                });
            }
        }
    }
    assert!(looked > 30 && told > 3, "{told} of {looked}");
}
