//! Reviews of bridge definitions: laws over generated pairs, and named cases with what must be seen.

#[path = "review/adverse.rs"]
mod adverse;
#[path = "review/cases.rs"]
mod cases;
#[path = "review/cost.rs"]
mod cost;
#[path = "review/crossed.rs"]
mod crossed;
#[path = "review/edits.rs"]
mod edits;
#[path = "review/every_house.rs"]
mod every_house;
#[path = "review/gate.rs"]
mod gate;
#[path = "review/house.rs"]
mod house;
#[path = "review/houses.rs"]
mod houses;
#[path = "review/json.rs"]
mod json;
#[path = "review/laws.rs"]
mod laws;
#[path = "review/pointer.rs"]
mod pointer;
#[path = "review/random.rs"]
mod random;
#[path = "review/reading.rs"]
mod reading;
#[path = "review/regrouped.rs"]
mod regrouped;
#[path = "review/season.rs"]
mod season;
#[path = "review/unshown.rs"]
mod unshown;
