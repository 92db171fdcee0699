//! Reads and checks the datapoint-type table, one YAML file a main type.
//!
//! What a file may hold is in the serde types below; `schema/datapoint-types/README.md` explains it to a person.

use serde::Deserialize;
use std::collections::BTreeMap;
use std::path::Path;

/// One file: a main type.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(crate) struct Main {
    pub(crate) main: u16,
    pub(crate) title: String,
    /// Section of 03/07/02; a sub-type may have its own.
    #[serde(default)]
    pub(crate) section: String,
    pub(crate) source: Source,
    /// What the value is as a whole, where it is more than its fields say.
    #[serde(default)]
    pub(crate) shape: Option<Shape>,
    /// Fields from the highest bit down, for all sub-types that bring none of their own.
    #[serde(default)]
    pub(crate) fields: Vec<Field>,
    /// The field that a sub-type's `unit`, `range`, `resolution`, `members` and `special` describe.
    #[serde(default = "value")]
    pub(crate) varies: String,
    pub(crate) types: Vec<Sub>,
}

fn value() -> String {
    "value".to_owned()
}

/// Where a fact comes from.
#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Source {
    /// Compared with data made by another implementation.
    Compared,
    /// From memory: not compared with anything.
    Memory,
    /// Common practice: not in the standard's table.
    Practice,
}

/// What a value is as a whole.
#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Shape {
    Step,
    Date,
    Time,
    DateTime,
    Structure,
}

/// A sub-type.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(crate) struct Sub {
    pub(crate) sub: u16,
    pub(crate) name: String,
    pub(crate) title: String,
    #[serde(default)]
    pub(crate) unit: Option<String>,
    #[serde(default)]
    pub(crate) range: Option<[Decimal; 2]>,
    #[serde(default)]
    pub(crate) resolution: Option<Ratio>,
    #[serde(default)]
    pub(crate) members: Option<BTreeMap<u32, String>>,
    #[serde(default)]
    pub(crate) special: Option<BTreeMap<u32, String>>,
    #[serde(default)]
    pub(crate) code_set: Option<CodeSet>,
    #[serde(default)]
    pub(crate) fields: Option<Vec<Field>>,
    #[serde(default)]
    pub(crate) section: Option<String>,
    #[serde(default)]
    pub(crate) source: Option<Source>,
    /// Houses use it often (common practice): listed first where a payload is guessed.
    #[serde(default)]
    pub(crate) usual: bool,
    #[serde(default)]
    pub(crate) note: String,
}

/// A field of the payload.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(crate) struct Field {
    #[serde(default)]
    pub(crate) name: String,
    /// Width; 0 for text of any length.
    pub(crate) bits: u16,
    pub(crate) kind: Kind,
    #[serde(default)]
    pub(crate) meaning: String,
    #[serde(default)]
    pub(crate) unit: String,
    #[serde(default)]
    pub(crate) range: Option<[Decimal; 2]>,
    #[serde(default)]
    pub(crate) resolution: Option<Ratio>,
    /// Added to the raw number: 1900 for years.
    #[serde(default)]
    pub(crate) offset: i32,
    #[serde(default)]
    pub(crate) members: BTreeMap<u32, String>,
    #[serde(default)]
    pub(crate) special: BTreeMap<u32, String>,
    #[serde(default)]
    pub(crate) code_set: Option<CodeSet>,
    /// Raw value taken where a structure leaves the field out.
    #[serde(default)]
    pub(crate) default: Option<u32>,
    /// Fields that a `valid` or `invalid` bit speaks for.
    #[serde(default)]
    pub(crate) of: Vec<String>,
}

/// How a field's bits are read.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Kind {
    Bool,
    Unsigned,
    Signed,
    Float16,
    Float32,
    Enum,
    Text,
    YearOfCentury,
    /// A bit that is 1 where the fields it speaks for hold something.
    Valid,
    /// A bit that is 1 where the fields it speaks for hold nothing.
    Invalid,
    Reserved,
}

/// Which characters a text may hold.
#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum CodeSet {
    Ascii,
    Latin1,
    Utf8,
}

/// A decimal number, kept as it is written.
#[derive(Clone, Debug, Deserialize)]
#[serde(untagged)]
pub(crate) enum Decimal {
    Whole(i64),
    Fraction(f64),
}

impl Decimal {
    /// As a double.
    pub(crate) fn number(&self) -> f64 {
        match *self {
            Self::Whole(number) => number as f64,
            Self::Fraction(number) => number,
        }
    }
}

/// Unit per raw step: `10`, `0.01` or `100/255`.
#[derive(Clone, Debug, Deserialize)]
#[serde(untagged)]
pub(crate) enum Ratio {
    Whole(u32),
    Fraction(f64),
    Text(String),
}

impl Ratio {
    /// Numerator and denominator.
    pub(crate) fn parts(&self) -> Result<(u32, u32), String> {
        let wrong = || format!("resolution {self:?} is neither a number nor `a/b`");
        match self {
            Self::Whole(number) => Ok((*number, 1)),
            Self::Fraction(number) => {
                let denominator = (1.0 / number).round();
                if (number * denominator - 1.0).abs() > 1e-12 {
                    return Err(wrong());
                }
                Ok((1, denominator as u32))
            }
            Self::Text(text) => {
                let (above, below) = text.split_once('/').ok_or_else(wrong)?;
                Ok((above.parse().map_err(|_| wrong())?, below.parse().map_err(|_| wrong())?))
            }
        }
    }
}

/// Reads all files of the folder, sorted by main type.
pub(crate) fn read(folder: &Path) -> Result<Vec<Main>, String> {
    let unreadable = |cause| format!("cannot read {}: {cause}", folder.display());
    let mut table: Vec<Main> = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(unreadable)? {
        let path = entry.map_err(unreadable)?.path();
        if path.extension().is_none_or(|extension| extension != "yaml") {
            continue;
        }
        let text = std::fs::read_to_string(&path)
            .map_err(|cause| format!("cannot read {}: {cause}", path.display()))?;
        let main: Main =
            serde_yaml::from_str(&text).map_err(|cause| format!("{}: {cause}", path.display()))?;
        if path.file_stem().and_then(|stem| stem.to_str()) != Some(format!("{:03}", main.main).as_str()) {
            return Err(format!("{} holds main type {}", path.display(), main.main));
        }
        if main.types.windows(2).any(|pair| matches!(pair, [a, b] if a.sub >= b.sub)) {
            return Err(format!("{}: sub-types are not in ascending order", path.display()));
        }
        table.push(main);
    }
    table.sort_by_key(|main| main.main);
    Ok(table)
}
