//! Laws, properties and tables, in one binary.

mod classes;
mod convert;
mod emit;
mod knx;
mod knx_table;
mod knx_vectors;
mod ledger;
mod marked;
mod matter;
mod proof;
mod review;
mod rules;
mod source;
mod tidy;
