//! What a plain scalar is when a type asks: YAML 1.2 core schema, with numbers as JSON writes them and a little more.
//!
//! Different from the core schema, on purpose: a number with a leading zero (`05`) is text, since older readers take
//! it for octal; `.inf` and `.nan` are text, since nothing in a house is.
//! Source: YAML 1.2.2, section 10.3.2.

/// Whether it stands for no value.
pub(super) fn is_null(text: &str) -> bool {
    matches!(text, "" | "~" | "null" | "Null" | "NULL")
}

/// Whether it is true or false.
pub(super) fn boolean(text: &str) -> Option<bool> {
    match text {
        "true" | "True" | "TRUE" => Some(true),
        "false" | "False" | "FALSE" => Some(false),
        _ => None,
    }
}

/// A whole number: decimal, `0o17` or `0x1F`, or a decimal fraction that is whole (`5.0`).
pub(super) fn integer(text: &str) -> Option<i128> {
    let digits = |digits: &str, radix| {
        let first = digits.bytes().next()?;
        first.is_ascii_alphanumeric().then(|| i128::from_str_radix(digits, radix).ok())?
    };
    if let Some(octal) = text.strip_prefix("0o") {
        return digits(octal, 8);
    }
    if let Some(hexadecimal) = text.strip_prefix("0x") {
        return digits(hexadecimal, 16);
    }
    if !is_decimal(text) {
        return None;
    }
    let whole = text.split_once('.').map_or(text, |(whole, fraction)| {
        if fraction.bytes().all(|digit| digit == b'0') { whole } else { "" }
    });
    whole.parse().ok()
}

/// A number, finite.
pub(super) fn number(text: &str) -> Option<f64> {
    if is_decimal(text) {
        return text.parse().ok().filter(|number: &f64| number.is_finite());
    }
    #[allow(clippy::cast_precision_loss, reason = "0x and 0o numbers beyond 53 bits are no measurements")]
    integer(text).map(|number| number as f64)
}

/// Whether the text is `-12`, `+1.5`, `.5`, `5.`, `1e-3` … without a leading zero.
fn is_decimal(text: &str) -> bool {
    let unsigned = text.strip_prefix(['-', '+']).unwrap_or(text);
    let (mantissa, exponent) = match unsigned.split_once(['e', 'E']) {
        Some((mantissa, exponent)) => (mantissa, Some(exponent)),
        None => (unsigned, None),
    };
    let all_digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    let (whole, fraction) = mantissa.split_once('.').unwrap_or((mantissa, ""));
    let leading_zero = whole.len() > 1 && whole.starts_with('0');
    let exponent_ok = exponent.is_none_or(|exponent| {
        let digits = exponent.strip_prefix(['-', '+']).unwrap_or(exponent);
        !digits.is_empty() && all_digits(digits)
    });
    let some_digit = !(whole.is_empty() && fraction.is_empty());
    some_digit && !leading_zero && all_digits(whole) && all_digits(fraction) && exponent_ok
}
