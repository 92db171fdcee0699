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

/// A unit that a number may be in beside the one of its setting.
struct OtherUnit {
    /// The setting's.
    of: &'static str,
    unit: &'static str,
    /// Other ways to write it, in small letters.
    written: &'static [&'static str],
    /// A number of it in the setting's.
    convert: fn(f64) -> f64,
    /// Whether people leave it away and think that the setting is in it.
    is_left_away: bool,
}

/// Common practice.
const OTHER_UNITS: [OtherUnit; 11] = {
    const fn unit(
        of: &'static str,
        unit: &'static str,
        written: &'static [&'static str],
        convert: fn(f64) -> f64,
        is_left_away: bool,
    ) -> OtherUnit {
        OtherUnit { of, unit, written, convert, is_left_away }
    }
    [
        unit("s", "s", &["sec", "second", "seconds"], |number| number, false),
        unit("s", "min", &["minute", "minutes"], |number| number * 60.0, false),
        unit("s", "h", &["hour", "hours"], |number| number * 3600.0, false),
        unit("s", "ms", &[], |number| number / 1000.0, true),
        unit("W", "kW", &[], |number| number * 1000.0, true),
        unit("A", "mA", &[], |number| number / 1000.0, true),
        unit("kWh", "Wh", &[], |number| number / 1000.0, true),
        unit("K", "K", &["kelvin"], |number| number, false),
        unit("K", "mired", &[], |number| 1_000_000.0 / number, true),
        unit("°C", "°C", &["c"], |number| number, false),
        unit("°C", "°F", &["f"], |number| ((number - 32.0) / 0.18).round() / 10.0, true),
    ]
};

impl OtherUnit {
    fn is_written(&self, text: &str) -> bool {
        self.unit.to_lowercase() == text || self.written.contains(&text)
    }
}

impl SettingSpec {
    /// The unit that a bare number out of range may be in, and the value of the setting that it then is.
    pub fn in_another_unit(&self, text: &str) -> Option<(&'static str, String)> {
        let SettingKind::Number { .. } = self.kind else { return None };
        let number: f64 = text.trim().parse().ok()?;
        let other = OTHER_UNITS.iter().find(|other| other.of == self.unit && other.is_left_away)?;
        Some((other.unit, self.converted(number, Some(other))?))
    }

    /// How a number, in another unit or none, is written as a value of the setting.
    fn converted(&self, number: f64, other: Option<&OtherUnit>) -> Option<String> {
        let value = other.map_or(number, |other| (other.convert)(number));
        let whole = matches!(self.kind, SettingKind::Number { whole: true, .. });
        let places = if whole { 1.0 } else { 100.0 };
        // Mired seldom come out even.
        let is_rounded = other.is_some_and(|other| other.is_left_away);
        let written = if is_rounded { (value * places).round() / places } else { value }.to_string();
        self.read(&written).ok().map(|_| written)
    }

    /// The number that was probably meant by a text that is none: without its unit, or with the decimal comma and the
    /// thousands written otherwise. It is a value of the setting.
    pub fn meant(&self, text: &str) -> Option<String> {
        let SettingKind::Number { .. } = self.kind else { return None };
        let text = text.trim();
        let number =
            text.trim_end_matches(|letter: char| letter.is_alphabetic() || matches!(letter, '°' | '%'));
        let unit = text.get(number.len()..)?.to_lowercase();
        let other = OTHER_UNITS.iter().find(|other| other.of == self.unit && other.is_written(&unit));
        if other.is_none() && !unit.is_empty() && unit != self.unit.to_lowercase() {
            return None;
        }
        let number = number.trim();
        let mut groups = number.split(['.', ',', ' ', '\'', '_']);
        let first = groups.next().unwrap_or("");
        let thousands: Vec<&str> = groups.take_while(|group| group.len() == 3).collect();
        let together = format!("{first}{}", thousands.concat());
        let is_thousands = together.len() + thousands.len() == number.len();
        let together = if is_thousands { together } else { String::new() };
        let candidates = [number.to_owned(), number.replacen(',', ".", 1), together];
        candidates.iter().find_map(|number| self.converted(number.parse().ok()?, other))
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
