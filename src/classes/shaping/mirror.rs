//! Attributes that repeat what the features say, so that no template need write it twice.

use serde_json::Value;

/// The value of an attribute that follows from the features that are on; `None` for any other.
pub(super) fn mirror(cluster: &str, attribute: &str, features: &[String]) -> Option<Value> {
    let on = |code: &str| features.iter().any(|feature| feature == code);
    let mask = |codes: &[&str]| codes.iter().rev().fold(0_u32, |sum, code| sum * 2 + u32::from(on(code)));
    let value = match (cluster, attribute) {
        // Source: cluster§3.2.7.19.
        ("ColorControl", "ColorCapabilities") => mask(&["HS", "EHUE", "CL", "XY", "CT"]),
        // Operational, and position aware as the features say. Source: cluster§5.3.5.1.
        ("WindowCovering", "ConfigStatus") => 1 + 8 * mask(&["PA_LF", "PA_TL"]),
        // 0 PIR, 1 ultrasonic, 2 both, 3 physical contact; PIR where none of these fits. Source: cluster§2.7.6.
        ("OccupancySensing", "OccupancySensorType") => match mask(&["PIR", "US", "PHY"]) {
            2 => 1,
            3 => 2,
            4.. => 3,
            _ => 0,
        },
        ("OccupancySensing", "OccupancySensorTypeBitmap") => mask(&["PIR", "US", "PHY"]).max(1),
        // The group names bit follows GN. Source: cluster§1.3.6.1.
        ("Groups", "NameSupport") => 128 * mask(&["GN"]),
        _ => return None,
    };
    Some(value.into())
}
