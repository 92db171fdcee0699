//! Laws, properties and tables, in one binary.

mod convert;
mod marked;
mod matter;
mod rules;
mod tidy;
mod ledger;
mod matter;
