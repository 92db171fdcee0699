//! A datapoint type as a side of a proof.
#![allow(
    clippy::wildcard_enum_match_arm,
    reason = "bits hold a value, or say something of one, or are reserved"
)]

use super::super::Value;
use super::super::bus::{value_from_bus, value_to_bus};
use super::BusSide;
use crate::knx::dpt::{Field, Kind, Size};
use crate::knx::{Dpt, Payload, codec};

/// A datapoint type as a side of a proof.
///
/// Its raw numbers are those of the bits that hold values: reserved bits are 0, and validity bits say that all is valid,
/// so that a spread is not spent on payloads that no device sends.
#[derive(Clone, Copy, Debug)]
pub struct DptSide {
    dpt: &'static Dpt,
    /// Whether every bit holds a value.
    plain: bool,
}

impl DptSide {
    /// The side of a type of at most 8 bytes; none of texts and longer ones, which have no numbers to prove.
    #[must_use]
    pub fn new(dpt: &'static Dpt) -> Option<Self> {
        match dpt.size {
            Size::Bits(_) | Size::Bytes(1..=8) => {
                Some(Self { dpt, plain: dpt.fields.iter().all(Field::holds_value) })
            }
            Size::Bytes(_) | Size::Variable => None,
        }
    }

    fn length(&self) -> usize {
        if let Size::Bytes(bytes) = self.dpt.size { usize::from(bytes) } else { 1 }
    }

    /// The payload's bits for a number of the value bits.
    fn spread_out(&self, raw: u64) -> u64 {
        let mut left = self.bits();
        self.dpt.fields.iter().fold(0, |bits, field| {
            let width = u32::from(field.bits);
            let part = match field.kind {
                Kind::Valid => u64::MAX,
                Kind::Invalid | Kind::Reserved => 0,
                _ => {
                    left = left.saturating_sub(width);
                    raw.checked_shr(left).unwrap_or(0)
                }
            };
            bits.checked_shl(width).unwrap_or(0) | part & mask(width)
        })
    }

    /// The number of the value bits of a payload's bits.
    fn gather(&self, bits: u64) -> u64 {
        let mut left: u32 = self.dpt.fields.iter().map(|field| u32::from(field.bits)).sum();
        self.dpt.fields.iter().fold(0, |raw, field| {
            let width = u32::from(field.bits);
            left = left.saturating_sub(width);
            if !field.holds_value() {
                return raw;
            }
            raw.checked_shl(width).unwrap_or(0) | bits.checked_shr(left).unwrap_or(0) & mask(width)
        })
    }
}

fn mask(width: u32) -> u64 {
    u64::MAX.checked_shr(64_u32.saturating_sub(width)).unwrap_or(0)
}

impl BusSide for DptSide {
    fn name(&self) -> String {
        self.dpt.id.to_string()
    }

    fn bits(&self) -> u32 {
        self.dpt.value_fields().map(|field| u32::from(field.bits)).sum()
    }

    fn unit(&self, field: Option<&str>) -> String {
        let named = field.and_then(|name| self.dpt.value_fields().find(|field| field.name == name));
        named.map_or(self.dpt.unit(), |field| field.unit).to_owned()
    }

    fn decode(&self, raw: u64) -> Option<Value> {
        let bits = if self.plain { raw } else { self.spread_out(raw) };
        let payload = match self.dpt.size {
            Size::Bits(_) => Payload::small(u8::try_from(bits).ok()?)?,
            Size::Bytes(_) | Size::Variable => {
                Payload::bytes(bits.to_be_bytes().get(8_usize.checked_sub(self.length())?..)?)
            }
        };
        codec::decode(self.dpt, &payload).ok().map(|value| value_from_bus(self.dpt, &value))
    }

    fn encode(&self, value: &Value) -> Result<u64, String> {
        let value = value_to_bus(self.dpt, value).map_err(|error| error.to_string())?;
        let value = value.ok_or_else(|| "nothing to send".to_owned())?;
        let payload = codec::encode(self.dpt, &value).map_err(|error| error.to_string())?;
        let bits = payload.as_bytes().iter().fold(0, |bits, byte| bits << 8 | u64::from(*byte));
        Ok(if self.plain { bits } else { self.gather(bits) })
    }
}
