//! The datapoint types of a link before and after: what they have in common.

use crate::convert::Value;
use crate::convert::attribute::in_common_unit;
use crate::knx::Dpt;
use crate::knx::dpt::Shape;

/// The datapoint types of a link, before and after.
pub(super) struct Types {
    pub(super) old: &'static Dpt,
    pub(super) new: &'static Dpt,
    pub(super) moved: bool,
}

/// What a value of the one type is as one of the other.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Shared {
    /// The same telegram.
    Telegrams,
    /// A value, so many times the other's.
    Values(f64),
    /// Off is nothing of a percentage, and on is all of it.
    Truth,
    /// Zero alone: nothing is nothing, in steps and in kelvin.
    Zero,
}

impl Types {
    /// Whether the same devices get telegrams of another size.
    pub(super) fn are_of_other_sizes(&self) -> bool {
        !self.moved && self.old.size != self.new.size
    }

    /// What the two have in common; none where a value of one says nothing of the other.
    pub(super) fn shared(&self) -> Option<Shared> {
        let [old, new] = [self.old, self.new];
        if old.id == new.id || !self.moved && old.size == new.size {
            return Some(Shared::Telegrams);
        }
        let same_devices = self.are_of_other_sizes();
        if is_number(old) && is_number(new) {
            let has_units = !old.unit().is_empty() && !new.unit().is_empty();
            let times = in_common_unit(old.unit(), new.unit()).filter(|_| has_units).map(Shared::Values);
            let counts_from_nothing = [old, new].iter().all(|dpt| !FROM_ELSEWHERE.contains(&dpt.unit()));
            return times.or((same_devices && counts_from_nothing).then_some(Shared::Zero));
        }
        let truth_for =
            |one: &Dpt, other: &Dpt| one.shape == Shape::Bool && is_number(other) && other.unit() == "%";
        (same_devices && (truth_for(old, new) || truth_for(new, old))).then_some(Shared::Truth)
    }

    /// A value that the bus tells in the old type, in the new one; none where that has none for it.
    pub(super) fn told_anew(&self, shared: Shared, value: &Value) -> Option<Value> {
        Some(match (shared, value) {
            (Shared::Values(times), Value::Number(number)) => Value::Number(number / times),
            (Shared::Truth, Value::Bool(truth)) => Value::Number(if *truth { ALL } else { 0.0 }),
            (Shared::Truth, Value::Number(number)) if *number <= 0.0 => Value::Bool(false),
            (Shared::Truth, Value::Number(number)) if *number >= ALL => Value::Bool(true),
            (Shared::Zero, Value::Number(number)) if number.abs() <= 0.0 => value.clone(),
            (Shared::Truth | Shared::Zero, _) => return None,
            (Shared::Telegrams | Shared::Values(_), _) => value.clone(),
        })
    }

    /// A value that is sent in the new type, in the old one.
    pub(super) fn sent_before(&self, shared: Shared, value: &Value) -> Value {
        match (shared, value) {
            (Shared::Values(times), Value::Number(number)) => Value::Number(number * times),
            (Shared::Truth, Value::Bool(truth)) => Value::Number(if *truth { ALL } else { 0.0 }),
            (Shared::Truth, Value::Number(number)) => Value::Bool(*number > 0.0),
            _ => value.clone(),
        }
    }

    /// The step below which nobody tells two values on the bus apart, in the unit of the old type.
    pub(super) fn step(&self, shared: Option<Shared>) -> f64 {
        let step = |dpt: &Dpt| dpt.resolution().unwrap_or(0.0);
        match shared {
            Some(Shared::Values(times)) => step(self.old).max(step(self.new) * times),
            Some(Shared::Telegrams | Shared::Truth | Shared::Zero) | None => step(self.old),
        }
    }
}

/// All of a percentage.
const ALL: f64 = 100.0;
/// Units whose zero is not nothing.
const FROM_ELSEWHERE: [&str; 2] = ["°C", "°F"];

/// Whether its values are numbers.
pub(super) fn is_number(dpt: &Dpt) -> bool {
    matches!(dpt.shape, Shape::Integer | Shape::Decimal)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::knx::dpt::lookup;

    fn types(old: &str, new: &str) -> Types {
        let of = |dpt: &str| lookup(dpt).expect("a type of the table");
        Types { old: of(old), new: of(new), moved: false }
    }

    fn check(old: &str, new: &str, expected: Option<Shared>) {
        assert!(types(old, new).shared() == expected, "{old} {new}");
    }

    #[test]
    fn values_of_two_sizes_are_compared_in_the_units_of_people() {
        check("7.012", "14.019", Some(Shared::Values(1000.0)));
        check("5.001", "9.007", Some(Shared::Values(1.0)));
        check("1.001", "5.001", Some(Shared::Truth));
        check("9.002", "6.010", Some(Shared::Zero));
        check("5.001", "5.004", Some(Shared::Telegrams));
        check("9.001", "6.010", None);
        check("1.001", "9.001", None);
    }

    #[test]
    fn on_is_all_of_a_percentage_and_what_lies_between_is_not_told_by_a_bit() {
        let (to, from) = (types("1.001", "5.001"), types("5.001", "1.001"));
        let number = |number| Value::Number(number);
        assert_eq!(to.told_anew(Shared::Truth, &Value::Bool(true)), Some(number(100.0)));
        assert_eq!(from.told_anew(Shared::Truth, &number(0.0)), Some(Value::Bool(false)));
        assert_eq!(from.told_anew(Shared::Truth, &number(40.0)), None);
        assert_eq!(to.sent_before(Shared::Truth, &number(40.0)), Value::Bool(true));
    }
}
