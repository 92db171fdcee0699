//! Laws, properties and tables, in one binary.

mod classes;
mod convert;
mod knx;
mod knx_table;
mod knx_vectors;
mod ledger;
mod marked;
mod matter;
mod review;
mod emit;
mod ledger;
mod marked;
mod matter;
mod rules;
mod tidy;
