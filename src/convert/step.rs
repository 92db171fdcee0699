//! The named steps a conversion is made of, as they stand in templates and in the bridge JSON.
//!
//! This page is the whole of what another interpreter must know; `tests/outside/conversion-steps.json` holds samples
//! of every step to test one with.
//!
//! - A value is null, a truth value, a number (IEEE 754 double), a text, or a structure of named values.
//! - **Null passes every step unchanged**, except [`Step::IfNull`]. Null at the end of a chain means that nothing is
//!   passed on: no telegram, no change of the attribute.
//! - Steps are strict: a value of another sort than the one named is the error `wrong-kind`, a structure without a
//!   named field is `no-field`, an endpoint without a named attribute is `no-attribute`, a result that is no finite
//!   number is `not-finite`. After an error nothing is passed on either; an interpreter should report it.
//! - Values are *equal* if they are of one sort and their contents are equal: numbers as numbers (1 is 1.0), structures
//!   whatever the order of their fields.
//! - An attribute "as it stands now" is the value before the command or telegram that is being converted had effect.
//!   Fields of a command that the controller left out are null.
//! - Formulas are evaluated in doubles in the order written, so that every machine gives the same bits; logarithms and
//!   powers may differ in the last place.

use super::Chain;
use super::number;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value as Json};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Where a value that [`Step::Gather`] collects comes from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Origin {
    /// A field of the step's input (of the command's fields, by the data model's name, or of a bus structure).
    Field(String),
    /// An attribute of the same endpoint as it stands now, written `Cluster.Attribute`.
    Attribute(String),
    /// A fixed value.
    Constant(Json),
}

/// One step of a conversion. In JSON an object with `step` and the step's own parameters.
///
/// Null passes every step unchanged except `if-null`; what is written at each step is for other values.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "step", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Step {
    /// Passes the value on.
    ///
    /// Input and output: anything. Inverse: itself, exact.
    Same,
    /// Turns a truth value round.
    ///
    /// Input and output: truth value. Inverse: itself, exact.
    Not,
    /// Straight line through two points: `from[0]` becomes `to[0]`, `from[1]` becomes `to[1]`. Nothing is cut off.
    ///
    /// Input and output: number. Formula: `(value - from[0]) * (to[1] - to[0]) / (from[1] - from[0]) + to[0]`, from left
    /// to right; not rounded. The two numbers of `from` differ, and those of `to`. Inverse: the same with `from` and `to`
    /// exchanged, exact but for the last places of the double.
    Scale {
        /// Two input values.
        #[serde(serialize_with = "number::plain_pair")]
        from: [f64; 2],
        /// Their outputs.
        #[serde(serialize_with = "number::plain_pair")]
        to: [f64; 2],
    },
    /// To the nearest multiple of `to`; a tie goes to the even multiple.
    ///
    /// Input and output: number. Formula: `n * to` with `n` the whole number nearest to `value / to`, and of two as near
    /// the even one (IEEE 754 round to nearest, ties to even): 0.5 gives 0, 1.5 and 2.5 give 2, -1.5 gives -2. A negative
    /// zero is written as zero. Inverse: itself (what it gave is a multiple already), within half of `to`.
    Round {
        /// The multiple, above zero; 1 gives whole numbers.
        #[serde(serialize_with = "number::plain")]
        to: f64,
    },
    /// Cuts off below `min` and above `max`.
    ///
    /// Input and output: number; `min` is not above `max`. Inverse: itself, exact for what it did not cut off. Where a
    /// rounding meets a bound, clamp after rounding.
    Clamp {
        /// Smallest output.
        #[serde(serialize_with = "number::plain")]
        min: f64,
        /// Largest output.
        #[serde(serialize_with = "number::plain")]
        max: f64,
    },
    /// `numerator / value`: kelvin to mireds and mireds to kelvin with 1 000 000. A value of 0 has no result: null.
    ///
    /// Input and output: number; not rounded. Inverse: itself, exact but for the last places of the double.
    /// Source: Matter Application Cluster Specification, Color Control, `ColorTemperatureMireds`.
    Reciprocal {
        /// What is divided, not zero.
        #[serde(serialize_with = "number::plain")]
        numerator: f64,
    },
    /// `factor * log10(value) + offset`; a value below `smallest` gives `below`, or null without it.
    ///
    /// Input and output: number; not rounded. Inverse: `power10` with the same factor and offset, for values not below
    /// `smallest`. Source: Matter Application Cluster Specification, Illuminance Measurement, `MeasuredValue`
    /// (`10000 * log10(lux) + 1`, 0 for anything under 1 lx).
    Log10 {
        /// Factor of the logarithm, not zero.
        #[serde(serialize_with = "number::plain")]
        factor: f64,
        /// Added to it.
        #[serde(serialize_with = "number::plain")]
        offset: f64,
        /// Smallest input with a logarithm of its own, above zero.
        #[serde(serialize_with = "number::plain")]
        smallest: f64,
        /// Output for anything smaller.
        #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "number::plain_option")]
        below: Option<f64>,
    },
    /// The inverse of `log10`: `10 ^ ((value - offset) / factor)`.
    ///
    /// Input and output: number; not rounded. Inverse: `log10` with a `smallest` of 1e-30 and no `below`.
    Power10 {
        /// Factor of the logarithm, not zero.
        #[serde(serialize_with = "number::plain")]
        factor: f64,
        /// Taken away first.
        #[serde(serialize_with = "number::plain")]
        offset: f64,
    },
    /// Pairs of input and output; the first pair whose input equals the value counts. Without one `otherwise`, else
    /// null: nothing is passed on.
    ///
    /// Input and output: anything; structures can be compared as a whole. Inverse: the pairs turned round, exact, if no
    /// two outputs are equal and there is no `otherwise`; pairs to null fall away. Else one-way.
    Table {
        /// Input and output, in order.
        pairs: Vec<(Json, Json)>,
        /// Output where nothing matches.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        otherwise: Option<Json>,
    },
    /// Outputs by ranges of a number: the last row whose `from` is not above the value counts; below the first row null.
    ///
    /// Input: number; output: anything. One-way.
    Bands {
        /// Lowest value of a band and its output, ascending.
        #[serde(serialize_with = "number::plain_rows")]
        rows: Vec<(f64, Json)>,
    },
    /// Gives null for a value that equals one of these: nothing is passed on. Others pass unchanged.
    ///
    /// Input and output: anything. Inverse: `same`, exact for what passes. A dimmer's 0 %, which means off and tells
    /// nothing of the level, is ignored so.
    Ignore {
        /// The values, none of them null.
        values: Vec<Json>,
    },
    /// Gives `value` for null; anything else passes unchanged. The only step that sees null.
    ///
    /// Input and output: anything. Inverse: `same`, exact for what was not null.
    IfNull {
        /// What stands for null.
        value: Json,
    },
    /// A truth value as bit `number` of a bitmap: `2 ^ number` for true, 0 for false.
    ///
    /// Input: truth value; output: whole number. Inverse: `test-bit` with the same number, exact.
    Bit {
        /// Bit number, 0 the lowest, 31 the highest.
        number: u8,
    },
    /// Bit `number` of a bitmap (or whole number) as a truth value: whether `floor(value / 2 ^ number)` is odd.
    ///
    /// Input: whole number, not negative (else `wrong-kind`); output: truth value. One-way: the other bits are lost.
    TestBit {
        /// Bit number, 0 the lowest, 31 the highest.
        number: u8,
    },
    /// True for a number above `limit`.
    ///
    /// Input: number; output: truth value. One-way.
    Above {
        /// The limit itself gives false.
        #[serde(serialize_with = "number::plain")]
        limit: f64,
    },
    /// A fixed value, whatever comes in (except null, which passes).
    ///
    /// Input and output: anything. One-way.
    Constant {
        /// The value.
        value: Json,
    },
    /// One field of a structure.
    ///
    /// Input: structure; output: the field's value. One-way: the other fields are lost.
    Field {
        /// Name of the field.
        name: String,
    },
    /// A structure of one field, which holds the value.
    ///
    /// Input: anything; output: structure. Inverse: `field` with the same name, exact.
    Wrap {
        /// Name of the field.
        name: String,
    },
    /// Runs steps on one field of a structure and puts the result in its place; the other fields stay.
    ///
    /// Input and output: structure. A null field runs through the steps like any null, and stays a null field. Inverse:
    /// the inverse of the steps within the same field, as exact as they are.
    Within {
        /// Name of the field.
        name: String,
        /// The steps.
        steps: Chain,
    },
    /// A structure put together from fields of the input, attributes and fixed values; what is not named is left out.
    ///
    /// Input: a structure if a field is named, else anything; output: structure. An attribute that is null makes the
    /// whole result null (what is unknown is not sent); a field that is null stays a null field. Inverse: where every
    /// origin is a field or fixed, and none is used twice, the fields under their old names; else one-way.
    Gather {
        /// Name and origin of each field.
        fields: Arc<BTreeMap<String, Origin>>,
    },
    /// One attribute of the endpoint as it stands now, written `Cluster.Attribute`, in place of the input.
    ///
    /// Input: anything but null; output: the attribute's value. One-way.
    Attribute {
        /// Which.
        of: String,
    },
    /// Adds fields of a structure, in the order named, and gives the sum; null if one of them is null.
    ///
    /// Input: structure of numbers; output: number. One-way.
    Sum {
        /// Names of the fields.
        of: Vec<String>,
    },
    /// First field minus second field of a structure; null if one of them is null.
    ///
    /// Input: structure of numbers; output: number. One-way.
    Difference {
        /// Names of the two fields.
        of: [String; 2],
    },
    /// Adds fixed fields to a structure (a validity mask, a reserved byte), or replaces them.
    ///
    /// Input and output: structure. Inverse: `same`: the fixed fields stay.
    Set {
        /// Fields and values.
        fields: Map<String, Json>,
    },
    /// `scale` on every named field of a structure (0..255 to 0..1 and the like); a null field stays null.
    ///
    /// Input and output: structure of numbers; other fields stay. Inverse: the same with `from` and `to` exchanged.
    ScaleFields {
        /// Names of the fields.
        of: Vec<String>,
        /// Two input values.
        #[serde(serialize_with = "number::plain_pair")]
        from: [f64; 2],
        /// Their outputs.
        #[serde(serialize_with = "number::plain_pair")]
        to: [f64; 2],
    },
    /// `red`, `green`, `blue` (0..1) to `hue` (degrees, 0 to below 360), `saturation` and `value` (0..1).
    ///
    /// Components are cut off at 0 and 1 first. `value` is the largest component, `saturation` is (largest - smallest) /
    /// largest. Grey has no hue: `hue` is null; black has no saturation either: `saturation` is null too. So a lamp that
    /// goes dark keeps its colour. Other fields are left out; null if a component is null. Inverse: `hsv-to-rgb`, within
    /// 1e-12. Source: the hexagonal model, common practice.
    RgbToHsv,
    /// The inverse of `rgb-to-hsv`: `hue` (degrees, any turn), `saturation`, `value` to `red`, `green`, `blue` (0..1).
    ///
    /// `hue` is taken modulo 360; `saturation` and `value` are cut off at 0 and 1; a null hue or saturation counts as 0;
    /// a null value gives null. Other fields are left out. Inverse: `rgb-to-hsv`, within 1e-9 degrees for a saturation and
    /// value above 0.001.
    HsvToRgb,
    /// `red`, `green`, `blue` (0..1, sRGB, white point D65) to CIE 1931 `x`, `y` and luminance `Y` (0..1).
    ///
    /// Components are cut off at 0 and 1 first, and made linear (c / 12.92 up to 0.04045, else ((c + 0.055) / 1.055) ^ 2.4).
    /// Matrix from the chromaticities red 0.64 0.33, green 0.30 0.60, blue 0.15 0.06, white D65 0.3127 0.3290, to the
    /// last place of a double, see [`colour`](super::colour). Black has no chromaticity: `x` and `y` are null. Other
    /// fields are left out; null if a component is null. Inverse: `xyy-to-rgb`, within 1e-7 (the two parts of
    /// the standard's transfer function do not quite meet).
    /// Source: IEC 61966-2-1 (sRGB), CIE 15 (xyY).
    RgbToXyy,
    /// CIE 1931 `x`, `y`, `Y` to `red`, `green`, `blue` (0..1, sRGB, white point D65), brought into the gamut.
    ///
    /// Linear components below 0 become 0; if the largest is then above 1 all are divided by it, so that the hue stays. A
    /// `Y` of 1 therefore gives the brightest colour of this chromaticity. `Y` not above 0 gives black; otherwise a null
    /// `x` or `y`, or a `y` not above 0, has no result: null. A null `Y` gives null. Other fields are left out. Inverse:
    /// `rgb-to-xyy`, within 1e-7 inside the gamut. Source: as `rgb-to-xyy`.
    XyyToRgb,
    /// Colour temperature in kelvin to CIE 1931 `x` and `y` on the black body's line, from 1667 K to 25000 K.
    ///
    /// Input: number, cut off at 1667 and 25000; output: structure of `x` and `y`. Inverse: `xy-to-kelvin`, an
    /// approximation: within 1.1 % from 2000 K to 8000 K, 2.3 % up to 10000 K, 22 % up to 25000 K.
    /// Source: Kang and others, J. Korean Phys. Soc. 41 (2002), the cubic splines.
    KelvinToXy,
    /// CIE 1931 `x` and `y` to the correlated colour temperature in kelvin.
    ///
    /// Formula: with `n = (x - 0.3320) / (y - 0.1858)`, `-449 n^3 + 3525 n^2 - 6823.3 n + 5520.33`, cut off at 1667 and
    /// 25000; null if `y` is 0.1858 or a field is null. Input: structure; output: number. One-way: only colours near the
    /// black body's line have a temperature. Source: `McCamy`, Color Research and Application 17 (1992).
    XyToKelvin,
    /// `red`, `green`, `blue`, `white` (0..1) to `red`, `green`, `blue`: white is added to each, cut off at 1.
    ///
    /// Components are cut off at 0 and 1 first. Other fields are left out; null if a component is null. One-way: a part
    /// that can be mixed in two ways comes back as white. Source: common practice.
    RgbwToRgb,
    /// `red`, `green`, `blue` (0..1) to `red`, `green`, `blue`, `white`, with as much of white as there is.
    ///
    /// Components are cut off at 0 and 1 first; `white` is the smallest, and taken away from each. Other fields are left
    /// out; null if a component is null. Inverse: `rgbw-to-rgb`, exact but for the last places. Source: common practice.
    RgbToRgbw,
}
