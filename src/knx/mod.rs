//! Facts of the KNX bus: addresses, datapoint types and their codec, flags.
//!
//! In: text and payloads. Out: addresses, values, payloads, or a typed error that says what is allowed.
//! The datapoint types are the table in `schema/datapoint-types`, made into statics when the crate is built: nothing is
//! parsed at start, and nothing about a type is written twice. Knows nothing of Matter, of houses or of files.
//!
//! ```
//! use housewright::knx::{codec, dpt, parse_value, Payload};
//!
//! let temperature = dpt::lookup("9.001")?;
//! let value = codec::decode(temperature, &Payload::bytes(&[0x0c, 0x1a]))?;
//! assert_eq!(value.text(temperature), "21 °C");
//! let payload = codec::encode(temperature, &parse_value(temperature, "21.5")?)?;
//! assert_eq!(payload.to_string(), "0c33");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod address;
mod address_cell;
mod address_index;
pub mod batch;
pub mod codec;
pub mod describe;
pub mod dpt;
mod dpt_cell;
mod dpt_id;
mod flags;
mod guess;
mod parse;
mod payload;
mod value;
mod written;

pub use address::{AddressError, DisplayAddress, GroupAddress, Notation};
pub use address_cell::{DateCell, Spelling};
pub use address_index::AddressIndex;
pub use codec::{DecodeError, EncodeError, days_of_month, decode, encode};
pub use dpt::{Dpt, Field};
pub use dpt_cell::{DptCell, says_nothing};
pub use dpt_id::{DptId, DptIdError, DptRef};
pub use flags::{Flags, FlagsError};
pub use guess::{Guess, guess};
pub use parse::{ValueError, parse_value};
pub use payload::{Payload, PayloadError};
pub use value::{Date, Structure, Time, Value, ValueKind};
