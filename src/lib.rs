//! housewright compiles a house description into Matter bridge definitions.
pub mod bridge;
pub mod classes;
pub mod cli;
pub mod convert;
pub mod emit;
pub mod findings;
pub mod house;
pub mod knx;
pub mod ledger;
pub mod matter;
pub mod render;
pub mod resolve;
pub mod review;
pub mod rules;
pub mod source;
pub mod survey;
