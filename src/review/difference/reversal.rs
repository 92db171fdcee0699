//! Whether a conversion became its opposite: what was true is false, what was the top of a scale is its bottom.

use crate::bridge::definition::Link;
use crate::convert::{Chain, Step, Value};

/// More values than this are not tried: a longer table is not turned round by hand.
const TRIED: usize = 32;

/// Whether the values of a link are converted the other way round: two values that exchanged their results, or a scale
/// that falls where it rose.
pub(super) fn is_turned_round(old: &Link, new: &Link) -> bool {
    if old.conversion == new.conversion {
        return false;
    }
    let [before, after] = apart(&old.conversion.steps, &new.conversion.steps);
    // What another type of the bus means by its numbers is for its table to say.
    let same_type = old.dpt == new.dpt;
    let scales = [before, after].into_iter().flatten().all(is_scale);
    let tried = tried(before, after);
    let (before, after) = (Chain { steps: before.to_vec() }, Chain { steps: after.to_vec() });
    let result =
        |chain: &Chain, value: &Value| chain.run(value, &()).ok().filter(|value| *value != Value::Null);
    let results: Vec<(Value, Value)> =
        tried.iter().filter_map(|value| Some((result(&before, value)?, result(&after, value)?))).collect();
    let opposite = |one: &(Value, Value), two: &(Value, Value)| {
        let exchanged = one.0 != two.0 && one.0 == two.1 && one.1 == two.0;
        exchanged || same_type && scales && rise(&one.0, &two.0) * rise(&one.1, &two.1) < 0
    };
    results.iter().enumerate().any(|(at, one)| results.iter().skip(at + 1).any(|two| opposite(one, two)))
}

/// The steps of two chains without those that are the same at their beginnings and at their ends.
fn apart<'a>(old: &'a [Step], new: &'a [Step]) -> [&'a [Step]; 2] {
    let head = old.iter().zip(new).take_while(|(before, after)| before == after).count();
    let most = old.len().min(new.len()) - head;
    let ends = old.iter().rev().zip(new.iter().rev()).take(most);
    let tail = ends.take_while(|(before, after)| before == after).count();
    [old, new].map(|steps| steps.get(head..steps.len() - tail).unwrap_or_default())
}

fn is_scale(step: &Step) -> bool {
    matches!(step, Step::Same | Step::Scale { .. } | Step::Round { .. } | Step::Clamp { .. })
}

/// Values to try on the steps: both truth values, and what their scales and tables name.
fn tried(before: &[Step], after: &[Step]) -> Vec<Value> {
    let mut values = vec![Value::Bool(false), Value::Bool(true), Value::Number(0.0), Value::Number(1.0)];
    for step in before.iter().chain(after) {
        let named: Vec<Value> = match step {
            Step::Scale { from, .. } => from.iter().copied().map(Value::Number).collect(),
            Step::Table { pairs, .. } => {
                pairs.iter().filter_map(|(input, _)| Value::from_json(input).ok()).collect()
            }
            _ => Vec::new(),
        };
        for value in named {
            if values.len() < TRIED && !values.contains(&value) {
                values.push(value);
            }
        }
    }
    values
}

/// Whether numbers rise from one to the other (1), fall (-1) or neither (0).
fn rise(one: &Value, two: &Value) -> i8 {
    let (Some(one), Some(two)) = (one.number(), two.number()) else { return 0 };
    i8::from(two > one) - i8::from(two < one)
}

#[cfg(test)]
mod tests {
    use super::is_turned_round;
    use crate::bridge::definition::Link;
    use serde_json::{Value as Json, json};

    fn link(dpt: &str, conversion: &Json) -> Link {
        serde_json::from_value(json!({"point": "position", "cluster": "WindowCovering",
            "attribute": "CurrentPositionLiftPercent100ths", "direction": "from-bus", "bus": "main", "group": "1/1/1",
            "dpt": dpt, "conversion": conversion}))
        .expect("it keeps to the format")
    }

    fn check(old: &Json, new: &Json, expected: bool) {
        let (old, new) = (link("5.001", old), link("5.001", new));
        assert_eq!(is_turned_round(&old, &new), expected, "{old:?} {new:?}");
        assert_eq!(is_turned_round(&new, &old), expected, "{new:?} {old:?}");
    }

    fn scale(from: [f64; 2], to: [f64; 2]) -> Json {
        json!({"step": "scale", "from": from, "to": to})
    }

    #[test]
    fn a_not_a_turned_scale_and_exchanged_pairs_are_the_other_way_round() {
        let not = json!({"step": "not"});
        let pairs = |one: u8, two: u8| json!({"step": "table", "pairs": [[true, one], [false, two]]});
        let on = json!({"step": "constant", "value": true});
        check(&json!([]), &json!([not]), true);
        check(&json!([on]), &json!([on, not]), true);
        check(&json!([pairs(1, 2)]), &json!([not, pairs(1, 2)]), true);
        check(&json!([pairs(1, 2)]), &json!([pairs(2, 1)]), true);
        check(&json!([not, pairs(1, 2)]), &json!([pairs(2, 1)]), false);
        let (up, down) = (scale([0.0, 100.0], [0.0, 10000.0]), scale([0.0, 100.0], [100.0, 0.0]));
        let field = json!({"step": "field", "name": "LiftPercent100thsValue"});
        check(&json!([up]), &json!([down, up]), true);
        check(&json!([field, up]), &json!([field, up, down]), true);
        check(&json!([up]), &json!([scale([0.0, 255.0], [9000.0, 0.0])]), true);
    }

    #[test]
    fn another_scale_or_table_is_only_another_one() {
        let same = json!([scale([0.0, 100.0], [0.0, 254.0])]);
        check(&same, &json!([scale([0.0, 255.0], [0.0, 254.0]), {"step": "round", "to": 1.0}]), false);
        check(&json!([]), &json!([{"step": "same"}]), false);
        let modes = |one: u8, two: u8| json!([{"step": "table", "pairs": [[1, one], [2, two]]}]);
        check(&modes(1, 2), &modes(4, 3), false);
        let kelvin = json!([{"step": "reciprocal", "numerator": 1_000_000.0}]);
        check(&same, &kelvin, false);
    }

    #[test]
    fn a_scale_of_another_type_says_nothing_of_the_way_round() {
        let old = link("5.001", &json!([scale([0.0, 100.0], [0.0, 10000.0])]));
        let new = link("6.001", &json!([scale([-100.0, 100.0], [9000.0, 0.0])]));
        assert!(!is_turned_round(&old, &new));
    }
}
