//! Mistakes in houses that had none, and how many of them a checker finds.
//!
//! Houses (the examples, generated ones) are read with their places (`reading`), a mistake of one of many kinds is put
//! into their texts (`kinds`, `plant`), a checker looks at the texts, and what it says is compared with what was planted
//! (`score`). The tests here hold the planter and the scorer to their word; `program` measures the checks of the tool.

#![allow(dead_code, reason = "parts are used by the two programs alone")]

mod addresses;
mod behaviour;
mod checker;
mod datapoints;
#[path = "../generate/mod.rs"]
mod generate;
mod houses;
mod kinds;
mod naming;
mod plant;
mod reading;
mod score;
mod tests;
mod text;
mod tree;
mod wiring;
mod writing;
