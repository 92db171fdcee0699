//! The named steps a conversion is made of, as they stand in templates and in the bridge JSON.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value as Json};
use std::collections::BTreeMap;

/// Where a value that [`Step::Gather`] collects comes from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Origin {
    /// A field of the chain's input (of the command's fields, by the data model's name, or of a bus structure).
    Field(String),
    /// An attribute of the same endpoint as it stands now, written `Cluster.Attribute`.
    Attribute(String),
    /// A fixed value.
    Constant(Json),
}

/// One step of a conversion. In JSON an object with `step` and the step's own parameters.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "step", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Step {
    /// Passes the value on.
    Same,
    /// Turns a truth value round.
    Not,
    /// Straight line through two points: `from[0]` becomes `to[0]`, `from[1]` becomes `to[1]`. Nothing is cut off.
    Scale {
        /// Two input values.
        from: [f64; 2],
        /// Their outputs.
        to: [f64; 2],
    },
    /// To the nearest multiple of `to`; a tie goes to the even multiple.
    Round {
        /// The multiple, above zero; 1 gives whole numbers.
        to: f64,
    },
    /// Cuts off below `min` and above `max`.
    Clamp {
        /// Smallest output.
        min: f64,
        /// Largest output.
        max: f64,
    },
    /// `numerator / value`: kelvin to mireds with 1 000 000. A value of 0 has no result: null.
    Reciprocal {
        /// What is divided.
        numerator: f64,
    },
    /// `factor * log10(value) + offset`; a value below `smallest` gives `below`.
    Log10 {
        /// Factor of the logarithm.
        factor: f64,
        /// Added to it.
        offset: f64,
        /// Smallest input with a logarithm of its own, above zero.
        smallest: f64,
        /// Output for anything smaller.
        below: f64,
    },
    /// The inverse of `log10`: `10 ^ ((value - offset) / factor)`.
    Power10 {
        /// Factor of the logarithm.
        factor: f64,
        /// Taken away first.
        offset: f64,
    },
    /// Pairs of input and output; first match counts. Without a match `otherwise`, else null: nothing is passed on.
    Table {
        /// Input and output, in order.
        pairs: Vec<(Json, Json)>,
        /// Output where nothing matches.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        otherwise: Option<Json>,
    },
    /// Outputs by ranges of a number: the last row whose `from` is not above the value counts.
    Bands {
        /// Lowest value of a band and its output, ascending.
        rows: Vec<(f64, Json)>,
    },
    /// A truth value as bit `number` of a bitmap.
    Bit {
        /// Bit number, 0 the lowest.
        number: u8,
    },
    /// Bit `number` of a bitmap (or whole number) as a truth value.
    TestBit {
        /// Bit number, 0 the lowest.
        number: u8,
    },
    /// True for a number above `limit`.
    Above {
        /// The limit itself gives false.
        limit: f64,
    },
    /// A fixed value, whatever comes in.
    Constant {
        /// The value.
        value: Json,
    },
    /// One field of a structure.
    Field {
        /// Name of the field.
        name: String,
    },
    /// A structure put together from fields of the input, attributes and fixed values.
    Gather {
        /// Name and origin of each field.
        fields: BTreeMap<String, Origin>,
    },
    /// One attribute of the endpoint as it stands now, written `Cluster.Attribute`, in place of the input.
    Attribute {
        /// Which.
        of: String,
    },
    /// Adds two fields of a structure and gives the sum.
    Sum {
        /// Names of the fields.
        of: Vec<String>,
    },
    /// First field minus second field of a structure.
    Difference {
        /// Names of the two fields.
        of: [String; 2],
    },
    /// Adds fixed fields to a structure (a validity mask, a reserved byte).
    Set {
        /// Fields and values.
        fields: Map<String, Json>,
    },
    /// `red`, `green`, `blue` (0..1) to `hue` (degrees, 0..360), `saturation` and `value` (0..1).
    RgbToHsv,
    /// The inverse of `rgb-to-hsv`.
    HsvToRgb,
    /// `red`, `green`, `blue` (0..1, sRGB, white point D65) to CIE 1931 `x`, `y` and luminance `Y` (0..1).
    RgbToXyy,
    /// CIE 1931 `x`, `y`, `Y` to `red`, `green`, `blue` (0..1, sRGB, white point D65), cut off at the gamut.
    XyyToRgb,
    /// `red`, `green`, `blue`, `white` (0..1) to `red`, `green`, `blue`: white is added to each.
    RgbwToRgb,
    /// The inverse of `rgbw-to-rgb` that makes most use of white.
    RgbToRgbw,
    /// Multiplies every named field of a structure by a factor (0..255 to 0..1 and the like).
    ScaleFields {
        /// Names of the fields.
        of: Vec<String>,
        /// Two input values.
        from: [f64; 2],
        /// Their outputs.
        to: [f64; 2],
    },
}
