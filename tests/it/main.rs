//! Laws, properties and tables, in one binary.

mod classes;
mod convert;
mod ledger;
mod marked;
mod knx;
mod knx_table;
mod knx_vectors;
mod matter;
mod rules;
mod tidy;
