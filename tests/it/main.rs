//! Laws, properties and tables, in one binary.

mod convert;
mod ledger;
mod marked;
mod matter;
mod rules;
mod tidy;
