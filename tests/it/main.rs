//! Laws, properties and tables, in one binary.

mod classes;
mod convert;
mod ledger;
mod marked;
mod matter;
mod rules;
mod tidy;
