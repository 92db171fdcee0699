//! What a charging point shows after several telegrams. `StateEnum`: 0 not plugged in, 1 no demand, 3 charging, 6 fault;
//! `SupplyStateEnum`: 0 disabled, 1 charging enabled, 3 disabled by an error (cluster§9.3.7).

use super::gateway::{Gateway, appliance};
use serde_json::{Value as Json, json};

const RELEASED: (&str, bool) = ("charging", true);
const BLOCKED: (&str, bool) = ("charging", false);
const PLUGGED: (&str, bool) = ("plugged", true);
const GONE: (&str, bool) = ("plugged", false);
const FAULT: (&str, bool) = ("fault", true);
const WELL: (&str, bool) = ("fault", false);
const CHARGES: (&str, bool) = ("power", true);
const WAITS: (&str, bool) = ("power", false);

fn charger(more: &[&str]) -> Gateway {
    let ends = ["charging.command", "charging.feedback", "plugged.feedback"];
    appliance("vehicle-charger", &[&ends, more].concat(), &[])
}

/// The state after each of some telegrams, with whether anything is known of it.
fn states(more: &[&str], telegrams: &[(&str, bool)]) -> Vec<Json> {
    let mut point = charger(more);
    let heard = telegrams.iter().map(|(name, told)| {
        let telegram = if *name == "power" { json!(if *told { 7000 } else { 12 }) } else { json!(told) };
        point.told(name, telegram);
        point.shows("EnergyEvse.State")
    });
    heard.collect()
}

#[test]
fn a_charging_point_charges_while_power_flows() {
    for more in [&["power.feedback"][..], &["power.feedback", "fault.feedback"]] {
        let nothing = Json::Null;
        assert_eq!(states(more, &[WAITS, GONE, WAITS]), [nothing, json!(0), json!(0)], "{more:?}");
        // Full, then gone.
        let day = [RELEASED, PLUGGED, WAITS, CHARGES, WAITS, CHARGES, GONE];
        assert_eq!(states(more, &day)[1..], [1, 1, 3, 1, 3, 0], "{more:?}");
        // Told again while it charges, and a power that comes late.
        assert_eq!(states(more, &[PLUGGED, CHARGES, PLUGGED, GONE, CHARGES]), [1, 3, 3, 0, 0], "{more:?}");
    }
}

/// Without a meter the release decides, in either order.
#[test]
fn without_a_meter_the_release_decides() {
    for more in [&[][..], &["fault.feedback"]] {
        assert_eq!(states(more, &[RELEASED, PLUGGED, BLOCKED, RELEASED])[1..], [3, 1, 3], "{more:?}");
        assert_eq!(states(more, &[PLUGGED, RELEASED, PLUGGED, GONE])[1..], [3, 3, 0], "{more:?}");
        assert_eq!(states(more, &[GONE, RELEASED, BLOCKED]), [0, 0, 0], "{more:?}");
    }
}

/// cluster§9.3.8.1 and §9.3.8.3: a fault is a state of its own and disables the supply, and what stood before comes back.
#[test]
fn a_fault_of_a_charging_point_weighs_most() {
    let with_power = states(
        &["power.feedback", "fault.feedback"],
        &[PLUGGED, CHARGES, FAULT, CHARGES, PLUGGED, WAITS, WELL],
    );
    assert_eq!(with_power, [1, 3, 6, 6, 6, 6, 1]);
    let without = states(&["fault.feedback"], &[RELEASED, PLUGGED, FAULT, PLUGGED, WELL, FAULT, GONE, WELL]);
    assert_eq!(without[1..], [3, 6, 6, 3, 6, 6, 0]);

    let mut point = charger(&["fault.feedback"]);
    for (name, told, supply, fault) in [
        (WELL.0, WELL.1, 0, 0),
        (RELEASED.0, RELEASED.1, 1, 0),
        (FAULT.0, FAULT.1, 3, 255),
        (RELEASED.0, RELEASED.1, 3, 255),
        (WELL.0, WELL.1, 1, 0),
        (BLOCKED.0, BLOCKED.1, 0, 0),
    ] {
        point.told(name, json!(told));
        let shown = ["SupplyState", "FaultState"].map(|name| point.shows(&format!("EnergyEvse.{name}")));
        assert_eq!(shown, [supply, fault], "{name} {told}");
        // ESAStateEnum: 1 online, 2 fault.
        let state = if fault == 0 { 1 } else { 2 };
        assert_eq!(point.shows("DeviceEnergyManagement.EsaState"), state, "{name} {told}");
    }
}

/// cluster§9.3.8.8: the smaller of circuit and limit.
#[test]
fn a_limit_above_the_circuit_is_shown_as_the_circuit() {
    let ends = ["charging.command", "current-limit.feedback"];
    let mut point = appliance("vehicle-charger", &ends, &[("greatest-current", json!(20.0))]);
    for (told, shown) in [(10000, 10000), (32000, 20000)] {
        point.told("current-limit", json!(told));
        assert_eq!(point.shows("EnergyEvse.MaximumChargeCurrent"), json!(shown));
    }
}

/// cluster§9.3.8.1: a fault is a state without a vehicle too, and what is not known when it is over is null.
#[test]
fn a_fault_is_shown_where_nothing_tells_of_a_vehicle() {
    for more in [&[][..], &["power.feedback"]] {
        let ends = ["charging.command", "charging.feedback", "fault.feedback"];
        let mut point = appliance("vehicle-charger", &[&ends, more].concat(), &[]);
        for (told, shown) in [(false, Json::Null), (true, json!(6)), (false, Json::Null)] {
            point.told("fault", json!(told));
            assert_eq!(point.shows("EnergyEvse.State"), shown, "{more:?} {told}");
        }
    }
    // Nor is anything known of a vehicle that nobody told of yet.
    let states = states(&["fault.feedback"], &[FAULT, WELL, PLUGGED]);
    assert_eq!(states, [json!(6), Json::Null, json!(3)]);
}

/// cluster§9.3.9.2: a limit that nothing carries is refused, and one at which no vehicle charges; nothing is released then.
#[test]
fn a_limit_is_sent_or_refused() {
    let released = || ("charging".to_owned(), json!(true));
    let limits = |point: &Gateway, limit: u32| {
        let fields = json!({"MinimumChargeCurrent": 6000, "MaximumChargeCurrent": limit});
        point.asked("EnergyEvse.EnableCharging", fields)
    };
    let settings = [("greatest-current", json!(20.0))];
    let bare = appliance("vehicle-charger", &["charging", "current-limit.feedback"], &settings);
    for limit in [0, 6000, 19999] {
        assert_eq!(limits(&bare, limit), [], "{limit}");
    }
    for limit in [20000, 32000] {
        assert_eq!(limits(&bare, limit), [released()], "{limit}");
    }
    let limited = appliance("vehicle-charger", &["charging", "current-limit"], &settings);
    for limit in [0, 5999] {
        assert_eq!(limits(&limited, limit), [], "{limit}");
    }
    for (limit, sent) in [(6000, 6000), (10000, 10000), (32000, 20000)] {
        let told = ("current-limit".to_owned(), json!(sent));
        assert_eq!(limits(&limited, limit), [told, released()], "{limit}");
    }
}

/// cluster§9.3.8.4: null would say that charging is enabled without an end.
#[test]
fn a_charging_point_starts_as_one_that_is_disabled() {
    let point = charger(&[]);
    assert_eq!(
        [point.shows("EnergyEvse.SupplyState"), point.shows("EnergyEvse.ChargingEnabledUntil")],
        [0, 0]
    );
}
