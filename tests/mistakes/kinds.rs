//! The list of all kinds of mistakes.

use super::plant::Subject::{Address, Alone, Other};
use super::plant::{Kind, Subject};
use super::{addresses, behaviour, datapoints, naming, wiring, writing};
use housewright::rules::Family::{
    self, Address as Addresses, Behaviour, CrossWiring, DatapointType, Feedback, Habit, Identity, Naming,
    Safety, Table, Writing,
};

/// Families that may find an address that belongs to something else.
const WIRED: &[Family] = &[Addresses, DatapointType, Feedback, CrossWiring, Habit, Table];

macro_rules! kinds {
    ($($name:literal, $subject:expr, $families:expr, $plant:path;)*) => {
        /// All kinds, in the order of the table.
        pub(crate) static KINDS: &[Kind] = &[$(Kind {
            name: $name,
            subject: $subject,
            families: $families,
            plant: $plant,
        }),*];
    };
}

const ADDRESS: Subject = Address;

kinds! {
    "digit wrong, address absent", ADDRESS, WIRED, addresses::absent_digit;
    "digit wrong, address present", ADDRESS, WIRED, addresses::present_digit;
    "digits or groups exchanged", ADDRESS, WIRED, addresses::transposed_digits;
    "next row of the table", ADDRESS, WIRED, addresses::next_row;
    "unused address as status", ADDRESS, WIRED, addresses::spare_feedback;
    "reserved address", ADDRESS, &[Addresses], addresses::reserved;
    "other notation", ADDRESS, &[Addresses], addresses::other_notation;
    "group out of range", ADDRESS, &[Addresses], addresses::out_of_range;
    "leading zero", ADDRESS, &[Addresses], addresses::leading_zero;
    "rooms swapped", ADDRESS, WIRED, wiring::swapped_rooms;
    "neighbours swapped", ADDRESS, WIRED, wiring::swapped_neighbours;
    "statuses swapped", ADDRESS, WIRED, wiring::swapped_feedbacks;
    "commands swapped", ADDRESS, WIRED, wiring::swapped_commands;
    "status is the command", ADDRESS, WIRED, wiring::feedback_is_command;
    "command and status exchanged", ADDRESS, WIRED, wiring::ends_exchanged;
    "status of another", ADDRESS, WIRED, wiring::duplicate_feedback;
    "command of another", ADDRESS, WIRED, wiring::shared_command;
    "central address as status", ADDRESS, WIRED, wiring::central_feedback;
    "central address as command", ADDRESS, WIRED, wiring::central_command;
    "position and slat exchanged", ADDRESS, WIRED, wiring::position_slat;
    "temperature and setpoint exchanged", ADDRESS, WIRED, wiring::temperature_setpoint;
    "status and brightness exchanged", ADDRESS, WIRED, wiring::status_brightness;
    "stop through up and down", ADDRESS, WIRED, wiring::stop_is_move;
    "listens to a status", Other, WIRED, wiring::status_heard;
    "table type of other length", Other, &[DatapointType, Table, Habit], datapoints::other_length;
    "table type of same length", Other, &[DatapointType, Table, Habit], datapoints::same_length;
    "type against the table", Other, &[DatapointType, Table, Habit], datapoints::overridden;
    "status not readable", Other, &[Feedback, Table], datapoints::unreadable;
    "status not reporting", Other, &[Feedback, Table], datapoints::silent;
    "command not writable", Other, &[Feedback, Table], datapoints::unwritable;
    "row missing", Other, &[Addresses, Table], datapoints::missing_row;
    "row twice", Other, &[Table, Addresses], datapoints::double_row;
    "row with wrong address", Other, WIRED, datapoints::mistyped_row;
    "row names swapped", Other, &[Table, Habit, CrossWiring, Naming], datapoints::swapped_row_names;
    "no status", Other, &[Feedback], behaviour::missing_feedback;
    "over capacity", Other, &[Identity], behaviour::over_capacity;
    "not confirmed", Other, &[Safety], behaviour::unconfirmed;
    "colour temperatures reversed", Other, &[Behaviour, Writing], behaviour::kelvin_reversed;
    "setpoint limits reversed", Other, &[Behaviour, Writing], behaviour::setpoint_limits;
    "range reversed", Other, &[Behaviour, Writing], behaviour::range_reversed;
    "range beyond its type", Other, &[Behaviour, Writing], behaviour::range_beyond;
    "shift for setpoint", Other, &[DatapointType, Behaviour, CrossWiring, Writing, Habit], behaviour::shift_for_setpoint;
    "name twice in a room", Other, &[Naming], naming::duplicate;
    "names differ by case", Other, &[Naming], naming::other_case;
    "names differ by accent", Other, &[Naming], naming::other_accent;
    "name too long", Other, &[Naming, Identity], naming::too_long;
    "name of too many bytes", Other, &[Naming, Identity], naming::too_many_bytes;
    "room repeated in name", Other, &[Naming], naming::room_repeated;
    "invisible letter in name", Other, &[Naming], naming::invisible;
    "names swapped", Other, WIRED, naming::exchanged;
    "point misspelt", Other, &[Writing], writing::point_name;
    "class misspelt", Other, &[Writing], writing::class_name;
    "key misspelt", Other, &[Writing], writing::appliance_key;
    "end misspelt", Other, &[Writing], writing::end_key;
    "rule misspelt", Other, &[Writing], writing::unknown_rule;
    "required point missing", Other, &[Writing, Behaviour, Feedback], writing::missing_point;
    "class too small", Other, &[Writing, Behaviour], writing::small_class;
    "key given twice", Other, &[Writing, Identity], writing::double_key;
    "allow without effect", Other, &[Writing], writing::idle_allow;
    "entry repeated", Other, &[Writing], writing::repeated_entry;
    "tab", Alone, &[Writing], writing::tab;
}

/// Mistakes that no reading of a description and its table can find: they need the bus.
pub(crate) const NEEDS_THE_BUS: &[(&str, &str)] = &[
    (
        "the table is wrong as well",
        "table and description agree on an address that the actuator does not have",
    ),
    ("two channels exchanged in the cabinet", "the wires, not the addresses, are swapped"),
    ("a drive that counts the other way", "0 % is closed in the actuator and nobody wrote `reversed`"),
    ("a contact wired the other way", "open is reported as closed"),
    ("two devices answer one read", "the table has one row for an address, whoever has the R flag"),
    ("a flag that the table does not have", "tables without a column of flags, or with a stale one"),
    ("a type of the same length everywhere", "table, description and habit agree on kWh, the meter sends Wh"),
    ("a status that is sent never or late", "cyclic sending or sending on change not set in the device"),
    ("an address that no coupler passes on", "the filter table of a line coupler"),
    ("an alarm at rest", "wind or rain alarm of the wrong polarity"),
];
