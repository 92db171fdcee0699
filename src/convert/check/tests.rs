//! The check of chains written as JSON: what comes out, or the fault in words.

use super::super::{Quantity, Unit};
use super::*;

/// What comes out of a chain written as JSON, or the fault with its step.
fn check(steps: &str, input: Kind, expected: Result<&str, &str>) {
    let chain: Chain = serde_json::from_str(steps).unwrap();
    let attributes: BTreeMap<String, Kind> = [
        ("LevelControl.CurrentLevel".to_owned(), Kind::number(1.0, 254.0, 1.0)),
        ("Thermostat.OccupiedHeatingSetpoint".to_owned(), hundredths()),
    ]
    .into();
    let found = chain.check(input, &attributes).map(|kind| shown(&kind)).map_err(|error| error.to_string());
    assert_eq!(found.as_deref().map_err(String::as_str), expected, "{steps}");
}

fn shown(kind: &Kind) -> String {
    let Kind::Number(quantity) = kind else { return kind.to_string() };
    let unit = quantity.unit.as_ref().map(|unit| format!(", 1 is {}", unit.of(1.0))).unwrap_or_default();
    format!("{} by {}{unit}", quantity.range, quantity.resolution)
}

fn percent() -> Kind {
    Kind::quantity("%", 0.0, 100.0, 0.0)
}

fn celsius() -> Kind {
    Kind::quantity("°C", -273.0, 670_433.28, 0.01)
}

fn hundredths() -> Kind {
    Kind::Number(Quantity {
        unit: Some(Unit::scaled("°C", 0.01)),
        range: Range { min: 700.0, max: 3_000.0 },
        resolution: 1.0,
    })
}

fn rgb(max: f64) -> Kind {
    Kind::Structure(
        ["red", "green", "blue"].map(|name| (name.to_owned(), Kind::number(0.0, max, 1.0))).into(),
    )
}

#[test]
fn numbers_keep_range_unit_and_resolution() {
    check("[]", percent(), Ok("0..100 by 0, 1 is 1 %"));
    check(r#"[{"step":"scale","from":[0,100],"to":[0,200]}]"#, percent(), Ok("0..200 by 0, 1 is 0.5 %"));
    check(r#"[{"step":"scale","from":[0,100],"to":[100,0]}]"#, percent(), Ok("0..100 by 0, 1 is 99 %"));
    check(r#"[{"step":"scale","from":[0,1],"to":[0,2]}]"#, Kind::number(0.0, 10.0, 0.5), Ok("0..20 by 0"));
    check(r#"[{"step":"scale","from":[0,2],"to":[1,3]}]"#, Kind::number(0.0, 10.0, 1.0), Ok("1..11 by 1"));
    check(
        r#"[{"step":"scale","from":[0,2],"to":[0.5,2.5]}]"#,
        Kind::number(0.0, 10.0, 1.0),
        Ok("0.5..10.5 by 0"),
    );
    let hundred = r#"[{"step":"scale","from":[0,1],"to":[0,100]}]"#;
    check(hundred, celsius(), Ok("-27300..67043328 by 0, 1 is 0.01 °C"));
    check(r#"[{"step":"round","to":1}]"#, Kind::number(0.2, 9.7, 0.0), Ok("0..10 by 1"));
    check(r#"[{"step":"round","to":1}]"#, Kind::number(0.0, 10.0, 5.0), Ok("0..10 by 5"));
    check(r#"[{"step":"clamp","min":7,"max":30}]"#, celsius(), Ok("7..30 by 0.01, 1 is 1 °C"));
    check(r#"[{"step":"clamp","min":7.001,"max":30}]"#, celsius(), Ok("7.001..30 by 0, 1 is 1 °C"));
    check(r#"[{"step":"ignore","values":[0]}]"#, Kind::number(0.0, 255.0, 1.0), Ok("1..255 by 1"));
    check(r#"[{"step":"if-null","value":300}]"#, Kind::number(0.0, 255.0, 1.0), Ok("0..300 by 1"));
    check(r#"[{"step":"above","limit":0}]"#, percent(), Ok("a truth value"));
    check(r#"[{"step":"scale","from":[0,1],"to":[0,1]}]"#, Kind::Any, Ok("-inf..inf by 0"));
}

#[test]
fn units_go_through_reciprocals_and_logarithms() {
    let mireds = r#"[{"step":"reciprocal","numerator":1000000}]"#;
    check(mireds, Kind::quantity("K", 2_000.0, 5_000.0, 1.0), Ok("200..500 by 0, 1 is 1 mired"));
    check(mireds, Kind::quantity("K", 0.0, 5_000.0, 1.0), Ok("200..1000000 by 0, 1 is 1 mired"));
    check(mireds, Kind::quantity("mired", 200.0, 500.0, 1.0), Ok("2000..5000 by 0, 1 is 1 K"));
    check(mireds, Kind::quantity("K", 0.0, 5_000.0, 0.0), Ok("200..inf by 0, 1 is 1 mired"));
    check(mireds, Kind::quantity("lx", 1.0, 10.0, 0.0), Ok("100000..1000000 by 0"));
    let log = r#"{"step":"log10","factor":100,"offset":0,"smallest":1,"below":-1}"#;
    check(
        &format!("[{log}]"),
        Kind::quantity("lx", 0.0, 1_000.0, 0.0),
        Ok("-1..300 by 0, 1 is 0.01 log10 of lx"),
    );
    let power = r#"{"step":"power10","factor":100,"offset":0}"#;
    check(
        &format!("[{log},{power}]"),
        Kind::quantity("lx", 1.0, 1_000.0, 0.0),
        Ok("1..1000 by 0, 1 is 1 lx"),
    );
}

#[test]
fn tables_and_bits_give_codes() {
    check(
        r#"[{"step":"table","pairs":[[0,4],[1,3]],"otherwise":0}]"#,
        Kind::codes([0.0, 1.0, 2.0]),
        Ok("one of 0 3 4"),
    );
    check(r#"[{"step":"table","pairs":[[0,"a"],[1,1]]}]"#, Kind::Any, Ok("any value"));
    check(r#"[{"step":"table","pairs":[[0,null],[1,1]]}]"#, Kind::Any, Ok("one of 1"));
    check(
        r#"[{"step":"table","pairs":[[7,1]]}]"#,
        Kind::codes([0.0, 1.0]),
        Err("step 1: `7` is never met: one of 0 1 comes here"),
    );
    check(
        r#"[{"step":"table","pairs":[[true,1]]}]"#,
        percent(),
        Err("step 1: `true` is never met: a number 0..100 in % comes here"),
    );
    check(
        r#"[{"step":"ignore","values":[101]}]"#,
        percent(),
        Err("step 1: `101` is never met: a number 0..100 in % comes here"),
    );
    check(r#"[{"step":"bands","rows":[[0,1],[50,2]]}]"#, percent(), Ok("one of 1 2"));
    check(
        r#"[{"step":"scale","from":[0,1],"to":[0,2]},{"step":"round","to":4}]"#,
        Kind::codes([1.0, 3.0]),
        Ok("one of 0 8"),
    );
    check(r#"[{"step":"bit","number":3},{"step":"test-bit","number":3}]"#, Kind::Bool, Ok("a truth value"));
    check(
        r#"[{"step":"bit","number":3},{"step":"test-bit","number":2}]"#,
        Kind::Bool,
        Err("step 2: `bit 2` is never met: a bitmap comes here"),
    );
    check(
        r#"[{"step":"test-bit","number":2}]"#,
        percent(),
        Err("step 1: values that are not rounded to multiples of 1"),
    );
}

#[test]
fn structures_keep_their_fields() {
    check(r#"[{"step":"field","name":"green"}]"#, rgb(255.0), Ok("0..255 by 1"));
    check(
        r#"[{"step":"field","name":"white"}]"#,
        rgb(255.0),
        Err("step 1: the structure has no field `white`"),
    );
    check(
        r#"[{"step":"field","name":"white"}]"#,
        percent(),
        Err("step 1: a number 0..100 in % where a structure is asked for"),
    );
    check(
        r#"[{"step":"wrap","name":"a"},{"step":"set","fields":{"b":1}}]"#,
        percent(),
        Ok("a structure of `a` `b`"),
    );
    check(r#"[{"step":"rgb-to-hsv"}]"#, rgb(1.0), Ok("a structure of `hue` `saturation` `value`"));
    check(
        r#"[{"step":"rgb-to-hsv"}]"#,
        rgb(255.0),
        Err("step 1: field `red`: values 0..255 where only 0..1 can stand"),
    );
    let scaled = r#"{"step":"scale-fields","of":["red","green","blue"],"from":[0,255],"to":[0,1]}"#;
    check(
        &format!(r#"[{scaled},{{"step":"rgb-to-xyy"}},{{"step":"field","name":"Y"}}]"#),
        rgb(255.0),
        Ok("0..1 by 0"),
    );
    check(
        r#"[{"step":"within","name":"red","steps":[{"step":"same"},{"step":"not"}]}]"#,
        rgb(1.0),
        Err("step 1.2: a number 0..1 where a truth value is asked for"),
    );
    check(
        r#"[{"step":"kelvin-to-xy"},{"step":"xy-to-kelvin"}]"#,
        Kind::quantity("K", 2e3, 5e3, 1.0),
        Ok("1667..25000 by 0, 1 is 1 K"),
    );
    check(r#"[{"step":"kelvin-to-xy"}]"#, percent(), Err("step 1: a value in % where K is asked for"));
}

#[test]
fn attributes_and_sums() {
    check(r#"[{"step":"attribute","of":"LevelControl.CurrentLevel"}]"#, Kind::Any, Ok("1..254 by 1"));
    check(
        r#"[{"step":"attribute","of":"LevelControl.Level"}]"#,
        Kind::Any,
        Err("step 1: the endpoint has no attribute `LevelControl.Level`"),
    );
    let shift = |scale: &str| {
        format!(
            r#"[{{"step":"wrap","name":"by"}},{{"step":"gather","fields":{{"by":{{"field":"by"}},"now":{{"attribute":"Thermostat.OccupiedHeatingSetpoint"}}}}}},{{"step":"within","name":"by","steps":[{scale}]}},{{"step":"sum","of":["now","by"]}}]"#
        )
    };
    let kelvin = || Kind::quantity("K", -5.0, 5.0, 0.01);
    check(
        &shift(r#"{"step":"scale","from":[0,1],"to":[0,100]}"#),
        kelvin(),
        Ok("200..3500 by 0, 1 is 0.01 °C"),
    );
    check(&shift(""), kelvin(), Err("step 4: 0.01 °C and 1 K cannot be added or subtracted"));
    check(
        &shift(r#"{"step":"scale","from":[0,1],"to":[0,100]}"#),
        percent(),
        Err("step 4: 0.01 °C and 0.01 % cannot be added or subtracted"),
    );
}

#[test]
fn parameters_that_make_no_sense_are_refused() {
    check(
        r#"[{"step":"scale","from":[1,1],"to":[0,1]}]"#,
        Kind::Any,
        Err("step 1: the two numbers of `from` must differ"),
    );
    check(r#"[{"step":"same"},{"step":"round","to":0}]"#, Kind::Any, Err("step 2: `to` must be above 0"));
    check(r#"[{"step":"clamp","min":2,"max":1}]"#, Kind::Any, Err("step 1: `min` must not be above `max`"));
    check(
        r#"[{"step":"clamp","min":200,"max":300}]"#,
        percent(),
        Err("step 1: all of 0..100 is cut off by 200..300"),
    );
    check(r#"[{"step":"reciprocal","numerator":0}]"#, Kind::Any, Err("step 1: `numerator` must not be 0"));
    check(
        r#"[{"step":"log10","factor":1,"offset":0,"smallest":0}]"#,
        Kind::Any,
        Err("step 1: `smallest` must be above 0"),
    );
    check(
        r#"[{"step":"bands","rows":[[1,0],[1,2]]}]"#,
        Kind::Any,
        Err("step 1: each row of `rows` must begin above the row before"),
    );
    check(r#"[{"step":"bit","number":32}]"#, Kind::Bool, Err("step 1: bits are numbered 0 to 31"));
    check(r#"[{"step":"table","pairs":[]}]"#, Kind::Any, Err("step 1: `pairs` must not be empty"));
    check(r#"[{"step":"constant","value":[1]}]"#, Kind::Any, Err("step 1: `value` must not hold a list"));
    check(r#"[{"step":"constant","value":null}]"#, Kind::Any, Err("step 1: `value` must not be null"));
    check(r#"[{"step":"sum","of":["a","a"]}]"#, Kind::Any, Err("step 1: `a` stands twice in `of`"));
    check(
        r#"[{"step":"attribute","of":"Level"}]"#,
        Kind::Any,
        Err("step 1: an attribute is written `Cluster.Attribute`, not `Level`"),
    );
    check(
        &format!("[{}]", vec![r#"{"step":"same"}"#; 65].join(",")),
        Kind::Any,
        Err("step 65: a conversion has at most 64 steps"),
    );
    let ignore = Step::Ignore { values: (0..600).map(serde_json::Value::from).collect() };
    let long = Chain { steps: vec![ignore.clone(), Step::Same, ignore] };
    let found = long.check(Kind::number(0.0, 65_535.0, 1.0), &()).map_err(|error| error.to_string());
    assert_eq!(found, Err("step 3: a conversion has at most 1024 values in its tables and lists".to_owned()));
    let deep = (0..5)
        .fold("[]".to_owned(), |inner, _| format!(r#"[{{"step":"within","name":"a","steps":{inner}}}]"#));
    check(&deep, Kind::Any, Err("step 1.1.1.1.1: at most 4 chains stand within each other"));
}
