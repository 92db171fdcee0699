//! Laws, properties and tables, in one binary.
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::disallowed_methods,
    clippy::wildcard_enum_match_arm,
    clippy::too_many_lines,
    reason = "a test that fails this way says where, and tests make their own files"
)]

mod again;
mod bounds;
mod classes;
mod convert;
mod corrections;
mod cost;
mod emit;
mod exit_codes;
mod findings;
mod knx;
mod knx_table;
mod knx_vectors;
mod ledger;
mod lines;
mod losses;
mod marked;
mod matter;
mod narrow;
mod pipe;
mod proof;
mod report;
mod review;
mod rules;
mod same_bytes;
mod schemas;
mod source;
mod supply;
mod tables;
mod threads;
mod tidy;
mod version_control;
mod watch;
