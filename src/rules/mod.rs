//! What the checks have to say.
//!
//! In: a [`Plan`], what the earlier stages could not make sense of, and the ledger. Out: [`Findings`](crate::findings::Findings),
//! and the plan as [`Checked`] when none is an error. One file a rule, in its family's folder. Reads no file, changes no plan.
#![allow(
    clippy::wildcard_enum_match_arm,
    reason = "`wording` matches every problem; a rule names only those that are its own"
)]

mod address {
    pub(super) mod address_not_in_table;
    pub(super) mod address_out_of_range;
    pub(super) mod malformed_address;
    pub(super) mod other_notation;
    pub(super) mod reserved_address;
    pub(super) mod wrong_notation;
}

mod behaviour {
    pub(super) mod idle_address;
    pub(super) mod idle_bridged;
    pub(super) mod idle_range;
    pub(super) mod idle_reversed;
    pub(super) mod idle_setting;
    pub(super) mod noticeable_loss;
    pub(super) mod range_outside_type;
    pub(super) mod settings_do_not_go_together;
}

mod class {
    pub(super) mod called_another_thing;
    pub(super) mod unfit_class;
}

mod cross_wiring {
    pub(super) mod address_twice_in_appliance;
    pub(super) mod addresses_beside_their_rows;
    pub(super) mod addresses_exchanged;
    pub(super) mod central_address_as_feedback;
    pub(super) mod command_is_others_feedback;
    pub(super) mod listens_to_feedback;
    pub(super) mod listens_to_own_command;
    pub(super) mod room_on_wrong_bridge;
    pub(super) mod room_on_wrong_bus;
    pub(super) mod row_of_another_appliance;
    pub(super) mod row_of_another_function;
    pub(super) mod rows_of_another_room;
    pub(super) mod shared_command;
    pub(super) mod wired_as_another;
}

mod datapoint_type {
    pub(super) mod address_read_two_ways;
    pub(super) mod malformed_datapoint_type;
    pub(super) mod type_differs_from_table;
    pub(super) mod type_not_of_class;
    pub(super) mod unknown_datapoint_type;
}

mod feedback {
    pub(super) mod command_not_writable;
    pub(super) mod communication_off;
    pub(super) mod feedback_is_command;
    pub(super) mod feedback_not_readable;
    pub(super) mod feedback_not_sent;
    pub(super) mod missing_feedback;
    pub(super) mod points_worth_adding;
    pub(super) mod shared_feedback;
}

mod habit {
    pub(super) mod address_breaks_habit;
    pub(super) mod lacks_what_others_have;
}

mod identity {
    pub(super) mod bridge_over_capacity;
    pub(super) mod bridge_without_appliances;
    pub(super) mod endpoint_left_behind;
    pub(super) mod former_key_in_use;
    pub(super) mod formerly_too_late;
    pub(super) mod house_without_appliances;
    pub(super) mod kept_place_left;
    pub(super) mod ledger_of_another_house;
    pub(super) mod ledger_unmerged;
    pub(super) mod ledger_unreadable;
    pub(super) mod number_given_twice;
    pub(super) mod unique_id_given_twice;
    pub(super) mod unknown_former_key;
}

mod naming {
    pub(super) mod empty_name;
    pub(super) mod floor_spelt_differently;
    pub(super) mod invisible_character_in_name;
    pub(super) mod name_easily_confused;
    pub(super) mod name_in_quotation_marks;
    pub(super) mod name_too_long;
    pub(super) mod name_used_twice;
    pub(super) mod room_in_name;
    pub(super) mod room_name_used_twice;
    pub(super) mod room_names_exchanged;
    pub(super) mod stray_space_in_name;
}

mod safety {
    pub(super) mod unconfirmed_safety;
}

mod table {
    pub(super) mod empty_table;
    pub(super) mod garbled_name;
    pub(super) mod group_of_mixed_types;
    pub(super) mod nameless_row;
    pub(super) mod nameless_table;
    pub(super) mod row_name_twice;
    pub(super) mod row_names_exchanged;
    pub(super) mod row_outside_its_group;
    pub(super) mod row_twice;
    pub(super) mod rows_left_over;
    pub(super) mod table_room_differs;
    pub(super) mod tables_contradict;
    pub(super) mod unreadable_row;
    pub(super) mod unused_rows;
}

mod writing {
    pub(super) mod allow_without_reason;
    pub(super) mod empty_room;
    pub(super) mod end_not_of_class;
    pub(super) mod file_not_included;
    pub(super) mod idle_allow;
    pub(super) mod include_loop;
    pub(super) mod key_used_twice;
    pub(super) mod malformed_yaml;
    pub(super) mod misplaced_key;
    pub(super) mod missing_end;
    pub(super) mod missing_file;
    pub(super) mod missing_key;
    pub(super) mod missing_point;
    pub(super) mod no_bridge;
    pub(super) mod not_text;
    pub(super) mod outside_folder;
    pub(super) mod over_limit;
    pub(super) mod point_without_address;
    pub(super) mod points_do_not_go_together;
    pub(super) mod repeated_key;
    pub(super) mod text_cut_short;
    pub(super) mod unfit_key;
    pub(super) mod unfit_range;
    pub(super) mod unfit_setting;
    pub(super) mod unfit_value;
    pub(super) mod unknown_bridge;
    pub(super) mod unknown_bus;
    pub(super) mod unknown_class;
    pub(super) mod unknown_key;
    pub(super) mod unknown_point;
    pub(super) mod unknown_rule;
    pub(super) mod unknown_setting;
    pub(super) mod unknown_version;
    pub(super) mod unnamed_bridge;
    pub(super) mod unnamed_bus;
    pub(super) mod unreadable_file;
}

mod absent;
mod card;
mod cell_wording;
mod class_left_out;
mod class_wording;
mod copies;
mod corrections;
mod crossing;
mod explain;
mod flags;
mod judged;
mod looks;
mod named;
mod of_another_class;
mod placeholders;
mod renumbered;
mod report;
mod rule;
mod run;
mod sharing;
mod suspicion;
mod syntax_wording;
mod table_type;
mod table_wording;
mod undescribed;
mod wording;

pub use card::{Card, Family, Frame, Source};
pub use explain::{explain, facts, list, page};
pub use judged::{Checked, Judged, check};
pub use report::{Report, Said};
pub use rule::{Context, Problems, Rule};
pub use wording::structure;

use rule::Look;

/// The rule of that name.
pub fn find(name: &str) -> Option<&'static Rule> {
    RULES.binary_search_by(|rule| rule.card.name.cmp(name)).ok().and_then(|index| RULES.get(index)).copied()
}

/// All rules, by name.
pub fn all() -> &'static [&'static Rule] {
    RULES
}

/// Rules that there were, and what became of them. A name is never used again.
pub static RETIRED: &[(&str, &str)] = &[];

/// Every rule, by name.
static RULES: &[&Rule] = &[
    &habit::address_breaks_habit::RULE,
    &address::address_not_in_table::RULE,
    &address::address_out_of_range::RULE,
    &datapoint_type::address_read_two_ways::RULE,
    &cross_wiring::address_twice_in_appliance::RULE,
    &cross_wiring::addresses_beside_their_rows::RULE,
    &cross_wiring::addresses_exchanged::RULE,
    &writing::allow_without_reason::RULE,
    &identity::bridge_over_capacity::RULE,
    &identity::bridge_without_appliances::RULE,
    &class::called_another_thing::RULE,
    &cross_wiring::central_address_as_feedback::RULE,
    &cross_wiring::command_is_others_feedback::RULE,
    &feedback::command_not_writable::RULE,
    &feedback::communication_off::RULE,
    &naming::empty_name::RULE,
    &writing::empty_room::RULE,
    &table::empty_table::RULE,
    &writing::end_not_of_class::RULE,
    &identity::endpoint_left_behind::RULE,
    &feedback::feedback_is_command::RULE,
    &feedback::feedback_not_readable::RULE,
    &feedback::feedback_not_sent::RULE,
    &writing::file_not_included::RULE,
    &naming::floor_spelt_differently::RULE,
    &identity::former_key_in_use::RULE,
    &identity::formerly_too_late::RULE,
    &table::garbled_name::RULE,
    &table::group_of_mixed_types::RULE,
    &identity::house_without_appliances::RULE,
    &behaviour::idle_address::RULE,
    &writing::idle_allow::RULE,
    &behaviour::idle_bridged::RULE,
    &behaviour::idle_range::RULE,
    &behaviour::idle_reversed::RULE,
    &behaviour::idle_setting::RULE,
    &writing::include_loop::RULE,
    &naming::invisible_character_in_name::RULE,
    &identity::kept_place_left::RULE,
    &writing::key_used_twice::RULE,
    &habit::lacks_what_others_have::RULE,
    &identity::ledger_of_another_house::RULE,
    &identity::ledger_unmerged::RULE,
    &identity::ledger_unreadable::RULE,
    &cross_wiring::listens_to_feedback::RULE,
    &cross_wiring::listens_to_own_command::RULE,
    &address::malformed_address::RULE,
    &datapoint_type::malformed_datapoint_type::RULE,
    &writing::malformed_yaml::RULE,
    &writing::misplaced_key::RULE,
    &writing::missing_end::RULE,
    &feedback::missing_feedback::RULE,
    &writing::missing_file::RULE,
    &writing::missing_key::RULE,
    &writing::missing_point::RULE,
    &naming::name_easily_confused::RULE,
    &naming::name_in_quotation_marks::RULE,
    &naming::name_too_long::RULE,
    &naming::name_used_twice::RULE,
    &table::nameless_row::RULE,
    &table::nameless_table::RULE,
    &writing::no_bridge::RULE,
    &writing::not_text::RULE,
    &behaviour::noticeable_loss::RULE,
    &identity::number_given_twice::RULE,
    &address::other_notation::RULE,
    &writing::outside_folder::RULE,
    &writing::over_limit::RULE,
    &writing::point_without_address::RULE,
    &writing::points_do_not_go_together::RULE,
    &feedback::points_worth_adding::RULE,
    &behaviour::range_outside_type::RULE,
    &writing::repeated_key::RULE,
    &address::reserved_address::RULE,
    &naming::room_in_name::RULE,
    &naming::room_name_used_twice::RULE,
    &naming::room_names_exchanged::RULE,
    &cross_wiring::room_on_wrong_bridge::RULE,
    &cross_wiring::room_on_wrong_bus::RULE,
    &table::row_name_twice::RULE,
    &table::row_names_exchanged::RULE,
    &cross_wiring::row_of_another_appliance::RULE,
    &cross_wiring::row_of_another_function::RULE,
    &table::row_outside_its_group::RULE,
    &table::row_twice::RULE,
    &table::rows_left_over::RULE,
    &cross_wiring::rows_of_another_room::RULE,
    &behaviour::settings_do_not_go_together::RULE,
    &cross_wiring::shared_command::RULE,
    &feedback::shared_feedback::RULE,
    &naming::stray_space_in_name::RULE,
    &table::table_room_differs::RULE,
    &table::tables_contradict::RULE,
    &writing::text_cut_short::RULE,
    &datapoint_type::type_differs_from_table::RULE,
    &datapoint_type::type_not_of_class::RULE,
    &safety::unconfirmed_safety::RULE,
    &class::unfit_class::RULE,
    &writing::unfit_key::RULE,
    &writing::unfit_range::RULE,
    &writing::unfit_setting::RULE,
    &writing::unfit_value::RULE,
    &identity::unique_id_given_twice::RULE,
    &writing::unknown_bridge::RULE,
    &writing::unknown_bus::RULE,
    &writing::unknown_class::RULE,
    &datapoint_type::unknown_datapoint_type::RULE,
    &identity::unknown_former_key::RULE,
    &writing::unknown_key::RULE,
    &writing::unknown_point::RULE,
    &writing::unknown_rule::RULE,
    &writing::unknown_setting::RULE,
    &writing::unknown_version::RULE,
    &writing::unnamed_bridge::RULE,
    &writing::unnamed_bus::RULE,
    &writing::unreadable_file::RULE,
    &table::unreadable_row::RULE,
    &table::unused_rows::RULE,
    &cross_wiring::wired_as_another::RULE,
    &address::wrong_notation::RULE,
];
