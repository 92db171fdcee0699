//! What an appliance may set: Kelvin limits, running times, the kind of sensing.

/// A setting of a class.
#[derive(Clone, Debug)]
pub struct SettingSpec {
    /// Name, as a description writes it: `warmest`.
    pub name: String,
    /// What it is, in a sentence.
    pub description: String,
    /// Unit of a number, such as `K` or `s`; empty where there is none.
    pub unit: String,
    /// What values there are.
    pub kind: SettingKind,
    /// The value where none is given; `None` leaves the setting away.
    pub default: Option<SettingValue>,
}

/// The values that a setting takes.
#[derive(Clone, Debug)]
pub enum SettingKind {
    /// A number from the first to the second, both allowed.
    Number {
        /// Smallest and largest value.
        range: [f64; 2],
        /// Whether only whole numbers are.
        whole: bool,
    },
    /// One of these words.
    Choice {
        /// The words, each with what it means.
        words: Vec<(String, String)>,
    },
    /// `true` or `false`.
    Flag,
    /// Text of at most so many bytes.
    Text {
        /// Bytes of UTF-8.
        longest: u16,
    },
}

/// The value of a setting.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum SettingValue {
    /// A number, in the setting's unit.
    Number(Number),
    /// A word or a text.
    Text(String),
    /// Yes or no.
    Flag(bool),
}

/// A number that can be compared and hashed: two are the same when their bits are. Never NaN, never −0.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Number(u64);

impl Number {
    /// Takes a number; `None` for NaN and the infinities.
    pub fn new(number: f64) -> Option<Self> {
        // Adding zero turns −0 into 0.
        number.is_finite().then(|| Self((number + 0.0).to_bits()))
    }

    /// The number.
    pub fn get(self) -> f64 {
        f64::from_bits(self.0)
    }
}

/// Why a text is no value of a setting.
#[derive(Clone, Debug, PartialEq)]
pub enum SettingFault {
    /// No number, flag …, but what the kind asks for.
    Kind,
    /// A number out of the range.
    Range,
    /// A fraction where a whole number is asked for.
    Fraction,
    /// None of the words.
    Word,
    /// More bytes than fit.
    Long,
    /// A text without a visible character.
    Empty,
}

/// Other ways to write a unit, and how many of the unit each is. Common practice.
const UNITS: [(&str, &str, f64); 11] = [
    ("s", "sec", 1.0),
    ("s", "second", 1.0),
    ("s", "seconds", 1.0),
    ("s", "min", 60.0),
    ("s", "minute", 60.0),
    ("s", "minutes", 60.0),
    ("s", "h", 3600.0),
    ("K", "kelvin", 1.0),
    ("°C", "c", 1.0),
    ("A", "ma", 0.001),
    ("kWh", "wh", 0.001),
];

/// A unit, another one that its numbers may have been thought in, and how these are converted.
type Converted = (&'static str, &'static str, fn(f64) -> f64);

/// What a number out of range may be in. Common practice.
const OTHER_UNITS: [Converted; 6] = [
    ("W", "kW", |number| number * 1000.0),
    ("A", "mA", |number| number / 1000.0),
    ("kWh", "Wh", |number| number / 1000.0),
    ("K", "mired", |number| 1_000_000.0 / number),
    ("°C", "°F", |number| (number - 32.0) / 1.8),
    ("s", "ms", |number| number / 1000.0),
];

impl SettingSpec {
    /// The unit that a bare number out of range may be in, and the value of the setting that it then is.
    pub fn in_another_unit(&self, text: &str) -> Option<(&'static str, String)> {
        let SettingKind::Number { whole, .. } = &self.kind else { return None };
        let number: f64 = text.trim().parse().ok()?;
        let (_, unit, convert) = OTHER_UNITS.iter().find(|(of, ..)| *of == self.unit)?;
        let value = convert(number);
        let value = if *whole { value.round() } else { (value * 10.0).round() / 10.0 };
        let written = value.to_string();
        self.read(&written).ok().map(|_| (*unit, written))
    }

    /// The number that was probably meant by a text that is none: without its unit, or with the decimal comma and the
    /// thousands written otherwise. It is a value of the setting.
    pub fn meant(&self, text: &str) -> Option<String> {
        let SettingKind::Number { .. } = self.kind else { return None };
        let text = text.trim();
        let number =
            text.trim_end_matches(|letter: char| letter.is_alphabetic() || matches!(letter, '°' | '%'));
        let unit = text.get(number.len()..)?.to_lowercase();
        let known = UNITS.iter().find(|(of, written, _)| *of == self.unit && *written == unit);
        let factor = match known {
            Some((.., factor)) => *factor,
            None if unit.is_empty() || unit == self.unit.to_lowercase() => 1.0,
            None => return None,
        };
        let number = number.trim();
        let mut groups = number.split(['.', ',', ' ', '\'', '_']);
        let first = groups.next().unwrap_or("");
        let thousands: Vec<&str> = groups.take_while(|group| group.len() == 3).collect();
        let together = format!("{first}{}", thousands.concat());
        let is_thousands = together.len() + thousands.len() == number.len();
        let together = if is_thousands { together } else { String::new() };
        let candidates = [number.to_owned(), number.replacen(',', ".", 1), together];
        candidates.iter().find_map(|number| {
            let written = (number.parse::<f64>().ok()? * factor).to_string();
            self.read(&written).ok().map(|_| written)
        })
    }

    /// Reads a scalar as it stands in a description.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn read(&self, text: &str) -> Result<SettingValue, SettingFault> {
        match &self.kind {
            SettingKind::Number { range: [low, high], whole } => {
                let number: f64 = text.trim().parse().map_err(|_| SettingFault::Kind)?;
                let value = Number::new(number).ok_or(SettingFault::Kind)?;
                if number < *low || number > *high {
                    return Err(SettingFault::Range);
                }
                if *whole && number.fract() != 0.0 {
                    return Err(SettingFault::Fraction);
                }
                Ok(SettingValue::Number(value))
            }
            SettingKind::Choice { words } => {
                let known = words.iter().any(|(word, _)| word == text);
                if known { Ok(SettingValue::Text(text.to_owned())) } else { Err(SettingFault::Word) }
            }
            SettingKind::Flag => match text {
                "true" => Ok(SettingValue::Flag(true)),
                "false" => Ok(SettingValue::Flag(false)),
                _ => Err(SettingFault::Kind),
            },
            SettingKind::Text { longest } => {
                let fits = text.len() <= usize::from(*longest);
                if text.trim().is_empty() {
                    Err(SettingFault::Empty)
                } else if fits {
                    Ok(SettingValue::Text(text.to_owned()))
                } else {
                    Err(SettingFault::Long)
                }
            }
        }
    }
}
