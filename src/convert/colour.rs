//! Colour spaces: sRGB, HSV, CIE 1931 xyY and colour temperature. Pure functions of doubles.
//!
//! One white point throughout: D65, x 0.3127, y 0.3290 (IEC 61966-2-1). Components run from 0 to 1, hue in degrees,
//! temperature in kelvin. Lamps are not colour-managed displays: what a bus calls red, green and blue is taken for sRGB
//! because both standards leave it open and nothing better is known (common practice).

/// Red, green and blue, linear, to CIE 1931 XYZ.
///
/// Made of the primaries red 0.64 0.33, green 0.30 0.60, blue 0.15 0.06 and white 0.3127 0.3290 by exact fractions; the
/// four places printed in IEC 61966-2-1 are these, rounded.
pub const RGB_TO_XYZ: [[f64; 3]; 3] = [
    [0.412_390_799_265_959_5, 0.357_584_339_383_877_96, 0.180_480_788_401_834_3],
    [0.212_639_005_871_510_36, 0.715_168_678_767_755_9, 0.072_192_315_360_733_71],
    [0.019_330_818_715_591_85, 0.119_194_779_794_625_99, 0.950_532_152_249_660_6],
];

/// The inverse of [`RGB_TO_XYZ`].
pub const XYZ_TO_RGB: [[f64; 3]; 3] = [
    [3.240_969_941_904_521_3, -1.537_383_177_570_093_5, -0.498_610_760_293_003_3],
    [-0.969_243_636_280_879_8, 1.875_967_501_507_720_6, 0.041_555_057_407_175_61],
    [0.055_630_079_696_993_61, -0.203_976_958_888_976_57, 1.056_971_514_242_878_6],
];

/// Lowest colour temperature with a place on the line of [`kelvin_to_xy`], in kelvin.
pub const KELVIN_MIN: f64 = 1_667.0;
/// Highest colour temperature with a place on the line of [`kelvin_to_xy`], in kelvin.
pub const KELVIN_MAX: f64 = 25_000.0;

/// Hue in degrees (none for grey), saturation (none for black) and value of red, green and blue.
#[must_use]
pub fn rgb_to_hsv(rgb: [f64; 3]) -> (Option<f64>, Option<f64>, f64) {
    let [red, green, blue] = rgb.map(unit);
    let value = red.max(green).max(blue);
    let chroma = value - red.min(green).min(blue);
    if value <= 0.0 {
        return (None, None, 0.0);
    }
    if chroma <= 0.0 {
        return (None, Some(0.0), value);
    }
    let sixth = if red >= value {
        (green - blue) / chroma
    } else if green >= value {
        (blue - red) / chroma + 2.0
    } else {
        (red - green) / chroma + 4.0
    };
    let hue = sixth * 60.0;
    (Some(if hue < 0.0 { hue + 360.0 } else { hue }), Some(chroma / value), value)
}

/// Red, green and blue of hue (degrees, any turn), saturation and value.
#[must_use]
pub fn hsv_to_rgb(hue: f64, saturation: f64, value: f64) -> [f64; 3] {
    let (saturation, value) = (unit(saturation), unit(value));
    let sixth = hue.rem_euclid(360.0) / 60.0;
    [5.0, 3.0, 1.0].map(|shift| {
        let at = (sixth + shift) % 6.0;
        value - value * saturation * unit(at.min(4.0 - at))
    })
}

/// Chromaticity (none for black) and luminance of red, green and blue.
#[must_use]
pub fn rgb_to_xyy(rgb: [f64; 3]) -> (Option<[f64; 2]>, f64) {
    let [x, y, z] = multiply(&RGB_TO_XYZ, rgb.map(|component| linear(unit(component))));
    let sum = x + y + z;
    (if sum > 0.0 { Some([x / sum, y / sum]) } else { None }, y)
}

/// Red, green and blue of a chromaticity and luminance, brought into the gamut; none if the chromaticity is no colour.
#[must_use]
pub fn xyy_to_rgb(xy: Option<[f64; 2]>, luminance: f64) -> Option<[f64; 3]> {
    if luminance <= 0.0 {
        return Some([0.0; 3]);
    }
    let [x, y] = xy?;
    if y <= 0.0 {
        return None;
    }
    let xyz = [x * luminance / y, luminance, (1.0 - x - y) * luminance / y];
    let positive = multiply(&XYZ_TO_RGB, xyz).map(|component| component.max(0.0));
    let [red, green, blue] = positive;
    let largest = red.max(green).max(blue).max(1.0);
    Some(positive.map(|component| encoded(component / largest)))
}

/// Place of a colour temperature on the black body's line, by the cubic splines of Kang and others (2002).
#[must_use]
pub fn kelvin_to_xy(kelvin: f64) -> [f64; 2] {
    let t = kelvin.clamp(KELVIN_MIN, KELVIN_MAX);
    let x = if t <= 4_000.0 {
        -0.266_123_9e9 / (t * t * t) - 0.234_358_9e6 / (t * t) + 0.877_695_6e3 / t + 0.179_910
    } else {
        -3.025_846_9e9 / (t * t * t) + 2.107_037_9e6 / (t * t) + 0.222_634_7e3 / t + 0.240_390
    };
    let [a, b, c, d] = if t <= 2_222.0 {
        [-1.106_381_4, -1.348_110_20, 2.185_558_32, -0.202_196_83]
    } else if t <= 4_000.0 {
        [-0.954_947_6, -1.374_185_93, 2.091_370_15, -0.167_488_67]
    } else {
        [3.081_758_0, -5.873_386_70, 3.751_129_97, -0.370_014_83]
    };
    [x, ((a * x + b) * x + c) * x + d]
}

/// Correlated colour temperature of a chromaticity, by the cubic of `McCamy` (1992); none where the cubic has none.
#[must_use]
pub fn xy_to_kelvin([x, y]: [f64; 2]) -> Option<f64> {
    let below = y - 0.1858;
    if below.abs() <= 0.0 {
        return None;
    }
    let n = (x - 0.3320) / below;
    Some((((-449.0 * n + 3525.0) * n - 6823.3) * n + 5520.33).clamp(KELVIN_MIN, KELVIN_MAX))
}

/// How far [`xy_to_kelvin`] is from a temperature that [`kelvin_to_xy`] placed, at most, as a share of it.
///
/// Measured over each whole kelvin of the range, and pinned by a test.
pub(super) fn mccamy_share(lowest_kelvin: f64, highest_kelvin: f64) -> f64 {
    if lowest_kelvin >= 2_000.0 && highest_kelvin <= 8_000.0 {
        0.011
    } else if highest_kelvin <= 10_000.0 {
        0.023
    } else {
        0.22
    }
}

/// Red, green and blue of a lamp with a white of its own.
#[must_use]
pub fn rgbw_to_rgb([red, green, blue, white]: [f64; 4]) -> [f64; 3] {
    [red, green, blue].map(|component| unit(unit(component) + unit(white)))
}

/// Red, green, blue and white of a colour, with as much white as there is.
#[must_use]
pub fn rgb_to_rgbw(rgb: [f64; 3]) -> [f64; 4] {
    let [red, green, blue] = rgb.map(unit);
    let white = red.min(green).min(blue);
    [red - white, green - white, blue - white, white]
}

fn unit(component: f64) -> f64 {
    component.clamp(0.0, 1.0)
}

fn multiply(matrix: &[[f64; 3]; 3], [a, b, c]: [f64; 3]) -> [f64; 3] {
    matrix.map(|[x, y, z]| x * a + y * b + z * c)
}

/// The linear component of one encoded by IEC 61966-2-1.
fn linear(component: f64) -> f64 {
    if component <= 0.040_45 { component / 12.92 } else { libm::pow((component + 0.055) / 1.055, 2.4) }
}

/// The inverse of [`linear`].
fn encoded(component: f64) -> f64 {
    if component <= 0.003_130_8 { component * 12.92 } else { 1.055 * libm::pow(component, 1.0 / 2.4) - 0.055 }
}
