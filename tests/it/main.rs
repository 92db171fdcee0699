//! Laws, properties and tables, in one binary.

mod convert;
mod matter;
