//! The specification's constraint notation: which values are allowed.

use serde::{Deserialize, Deserializer};
use std::fmt;

/// Which values an attribute, field or entry may have, in the specification's own notation.
///
/// `max 254`, `min 1`, `1 to 64`, `2`; `minLevel to maxLevel` by other attributes; `0, 1 to 5` one or the other;
/// `max 16[max 2]` and `all[min 1]` for a list and its entries; `max 128{32}` for a text (bytes, characters); `desc` told
/// in the text only. Counts numbers, bytes of text, or entries of a list, as the type is. Source: core§7.18.
#[derive(Clone, PartialEq)]
pub struct Constraint {
    text: String,
    alternatives: Vec<Alternative>,
}

/// The value of another attribute (`MinLevel`) or a field of one (`HoldTimeLimits.HoldTimeMin`), if it is known.
pub type Lookup<'a> = &'a dyn Fn(&str) -> Option<f64>;

/// What a quantity with a unit is counted in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// How many steps of the type make a degree Celsius.
    pub celsius: f64,
    /// How many steps of the type make a percent.
    pub percent: f64,
}

/// A text that is no constraint.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is no constraint")]
pub struct ConstraintError(pub String);

#[derive(Clone, Debug, Default, PartialEq)]
struct Alternative {
    least: Option<Term>,
    most: Option<Term>,
    /// Told in the text only, or a named value: everything passes.
    open: bool,
    entries: Option<Box<Constraint>>,
}

#[derive(Clone, Debug, PartialEq)]
enum Term {
    Number(f64),
    Celsius(f64),
    Percent(f64),
    Name(String),
    Sum(Box<Term>, f64, Box<Term>),
    Least(Vec<Term>),
    Greatest(Vec<Term>),
}

impl Constraint {
    /// Reads the notation.
    ///
    /// # Errors
    /// A text that is not in it.
    pub fn parse(text: &str) -> Result<Self, ConstraintError> {
        let parts = split(text, ',');
        let alternatives =
            parts.into_iter().map(|part| read_alternative(part.trim())).collect::<Option<Vec<_>>>();
        let alternatives = alternatives.ok_or_else(|| ConstraintError(text.to_owned()))?;
        Ok(Self { text: text.to_owned(), alternatives })
    }

    /// The notation.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The constraint on the entries of a list.
    pub fn entries(&self) -> Option<&Self> {
        self.alternatives.iter().find_map(|alternative| alternative.entries.as_deref())
    }

    /// Whether a number, a number of bytes or a number of entries is allowed. A bound whose attribute is not known
    /// holds nobody.
    pub fn allows(&self, value: f64, unit: Unit, lookup: Lookup<'_>) -> bool {
        self.alternatives.iter().any(|alternative| {
            let bound = |term: &Option<Term>| term.as_ref().and_then(|term| term.value(unit, lookup));
            alternative.open
                || (bound(&alternative.least).is_none_or(|least| value >= least)
                    && bound(&alternative.most).is_none_or(|most| value <= most))
        })
    }

    /// The smallest and largest value that are allowed, where there are such.
    pub fn range(&self, unit: Unit, lookup: Lookup<'_>) -> (Option<f64>, Option<f64>) {
        let open = self.alternatives.iter().any(|alternative| alternative.open);
        let mut low = Vec::new();
        let mut high = Vec::new();
        for alternative in &self.alternatives {
            low.push(alternative.least.as_ref().and_then(|term| term.value(unit, lookup)));
            high.push(alternative.most.as_ref().and_then(|term| term.value(unit, lookup)));
        }
        let all = |bounds: Vec<Option<f64>>| bounds.into_iter().collect::<Option<Vec<_>>>().filter(|_| !open);
        (
            all(low).and_then(|all| all.into_iter().reduce(f64::min)),
            all(high).and_then(|all| all.into_iter().reduce(f64::max)),
        )
    }
}

impl Term {
    fn value(&self, unit: Unit, lookup: Lookup<'_>) -> Option<f64> {
        let all =
            |terms: &[Self]| terms.iter().map(|term| term.value(unit, lookup)).collect::<Option<Vec<_>>>();
        match self {
            Self::Number(number) => Some(*number),
            Self::Celsius(number) => Some(number * unit.celsius),
            Self::Percent(number) => Some(number * unit.percent),
            Self::Name(name) => lookup(name),
            Self::Sum(left, sign, right) => {
                Some(left.value(unit, lookup)? + sign * right.value(unit, lookup)?)
            }
            Self::Least(terms) => all(terms)?.into_iter().reduce(f64::min),
            Self::Greatest(terms) => all(terms)?.into_iter().reduce(f64::max),
        }
    }
}

/// Splits at a sign that stands outside of brackets.
fn split(text: &str, sign: char) -> Vec<&str> {
    let mut parts = Vec::new();
    let (mut depth, mut start) = (0_i32, 0);
    for (at, c) in text.char_indices() {
        match c {
            '(' | '[' | '{' => depth += 1,
            ')' | ']' | '}' => depth -= 1,
            _ if c == sign && depth == 0 => {
                parts.push(text.get(start..at).unwrap_or_default());
                start = at + c.len_utf8();
            }
            _ => {}
        }
    }
    parts.push(text.get(start..).unwrap_or_default());
    parts
}

fn read_alternative(text: &str) -> Option<Alternative> {
    let (text, entries) = match text.strip_suffix(']').and_then(|rest| rest.split_once('[')) {
        Some((text, inner)) => (text.trim(), Some(Box::new(Constraint::parse(inner).ok()?))),
        None => (text, None),
    };
    // Characters in braces: never more than the bytes, which are checked.
    let text =
        text.strip_suffix('}').and_then(|rest| rest.split_once('{')).map_or(text, |(text, _)| text.trim());
    let mut bounds = match text.split_once(' ') {
        _ if matches!(text, "desc" | "all" | "ms") => Alternative { open: true, ..Alternative::default() },
        Some(("max", most)) => Alternative { most: Some(read_term(most)?), ..Alternative::default() },
        Some(("min", least)) => Alternative { least: Some(read_term(least)?), ..Alternative::default() },
        _ => match text.split_once(" to ") {
            Some((least, most)) => Alternative {
                least: Some(read_term(least)?),
                most: Some(read_term(most)?),
                ..Alternative::default()
            },
            None => {
                let term = read_term(text)?;
                // A lone word names a value of an enumeration.
                let open = matches!(term, Term::Name(_));
                Alternative { least: Some(term.clone()), most: Some(term), open, entries: None }
            }
        },
    };
    bounds.entries = entries;
    Some(bounds)
}

fn read_term(text: &str) -> Option<Term> {
    let text = text.trim();
    for (sign, factor) in [(" + ", 1.0), (" - ", -1.0)] {
        if let Some((left, right)) =
            text.rsplit_once(sign).filter(|(left, _)| left.matches('(').count() == left.matches(')').count())
        {
            return Some(Term::Sum(Box::new(read_term(left)?), factor, Box::new(read_term(right)?)));
        }
    }
    for (word, make) in [("minOf", Term::Least as fn(Vec<Term>) -> Term), ("maxOf", Term::Greatest)] {
        if let Some(inner) = text.strip_prefix(word) {
            let inner = inner.strip_prefix('(')?.strip_suffix(')')?;
            return split(inner, ',').into_iter().map(read_term).collect::<Option<Vec<_>>>().map(make);
        }
    }
    if let Some(inner) = text.strip_prefix('(').and_then(|rest| rest.strip_suffix(')')) {
        return read_term(inner);
    }
    if let Some(number) = text.strip_suffix("°C") {
        return number.parse().ok().map(Term::Celsius);
    }
    if let Some(number) = text.strip_suffix('%') {
        return number.parse().ok().map(Term::Percent);
    }
    if let Some((base, power)) = text.split_once('^') {
        let (sign, base) = base.strip_prefix('-').map_or((1.0, base), |base| (-1.0, base));
        let power: i32 = power.parse().ok()?;
        return (base == "2" && (0..64).contains(&power))
            .then(|| Term::Number(sign * libm::scalbn(1.0, power)));
    }
    if let Ok(number) = text.parse::<f64>() {
        return number.is_finite().then_some(Term::Number(number));
    }
    let named = text.starts_with(|c: char| c.is_ascii_lowercase())
        && text.chars().all(|c| c.is_ascii_alphanumeric() || c == '.');
    (named && !matches!(text, "max" | "min" | "to")).then(|| Term::Name(capitalised(text)))
}

/// `holdTimeLimits.holdTimeMin` to `HoldTimeLimits.HoldTimeMin`: constraints begin names with a small letter.
fn capitalised(path: &str) -> String {
    let mut first = true;
    let mut out = String::with_capacity(path.len());
    for c in path.chars() {
        out.push(if first { c.to_ascii_uppercase() } else { c });
        first = c == '.';
    }
    out
}

impl fmt::Debug for Constraint {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.text)
    }
}

impl<'de> Deserialize<'de> for Constraint {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let text = String::deserialize(from)?;
        Self::parse(&text).map_err(serde::de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const UNIT: Unit = Unit { celsius: 10.0, percent: 100.0 };

    fn lookup(name: &str) -> Option<f64> {
        match name {
            "MinLevel" => Some(3.0),
            "MaxLevel" => Some(200.0),
            "Limits.HoldMin" => Some(7.0),
            _ => None,
        }
    }

    /// The values that are just allowed and those that are just not.
    fn check(text: &str, good: &[f64], bad: &[f64]) {
        let read = Constraint::parse(text).expect(text);
        for value in good {
            assert!(read.allows(*value, UNIT, &lookup), "{text}: {value}");
        }
        for value in bad {
            assert!(!read.allows(*value, UNIT, &lookup), "{text}: {value}");
        }
    }

    #[test]
    fn the_notation_means_what_the_specification_says() {
        check("desc", &[-1e9, 1e9], &[]);
        check("max 254", &[0.0, 254.0], &[255.0]);
        check("min 1", &[1.0], &[0.0]);
        check("-27315 to 32767", &[-27315.0, 32767.0], &[-27316.0, 32768.0]);
        check("2", &[2.0], &[1.0, 3.0]);
        check("minLevel to maxLevel", &[3.0, 200.0], &[2.0, 201.0]);
        check("min minLevel + 1", &[4.0], &[3.0]);
        check("max maxLevel - 1", &[199.0], &[200.0]);
        check("0, minLevel to maxLevel", &[0.0, 3.0], &[1.0, 2.0]);
        check("max numberUnknown", &[1e9], &[]);
        check("limits.holdMin to 10", &[7.0], &[6.0, 11.0]);
        check("min maxOf(limits.holdMin, 10)", &[10.0], &[9.0]);
        check("max minOf(minLevel, 10) - 1", &[2.0], &[3.0]);
        check("0 to 12.7°C", &[127.0], &[128.0]);
        check("min 0.01%", &[1.0], &[0.0]);
        check("-2^62 to 2^62", &[-4.6e18, 4.6e18], &[-4.7e18, 4.7e18]);
        check("max (2^62) - 1", &[4.6e18], &[4.7e18]);
        check("max 16[max 2]", &[16.0], &[17.0]);
        check("add, modify", &[0.0], &[]);
        check("max 128{32}", &[128.0], &[129.0]);
    }

    #[test]
    fn ranges_span_all_alternatives() {
        let range = |text: &str| Constraint::parse(text).expect(text).range(UNIT, &lookup);
        assert_eq!(range("0, minLevel to maxLevel"), (Some(0.0), Some(200.0)));
        assert_eq!(range("max 254"), (None, Some(254.0)));
        assert_eq!(range("desc"), (None, None));
        let entries = Constraint::parse("all[min 1]").expect("read");
        assert_eq!(entries.entries().map(Constraint::text), Some("min 1"));
    }

    #[test]
    fn what_is_no_constraint_is_refused() {
        for text in ["", "max", "1 to", "to 3", "min 1]", "maxOf(1", "3 < 4", "5^2"] {
            assert_eq!(Constraint::parse(text), Err(ConstraintError(text.to_owned())));
        }
    }
}
