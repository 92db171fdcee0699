//! Laws, properties and tables, in one binary.

mod matter;
mod convert;
