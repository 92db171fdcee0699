//! A datapoint type as a side of a proof.

use super::super::Value;
use super::super::bus::{value_from_bus, value_to_bus};
use super::BusSide;
use crate::knx::dpt::Size;
use crate::knx::{Dpt, Payload, codec};

/// A datapoint type as a side of a proof.
#[derive(Clone, Copy, Debug)]
pub struct DptSide {
    dpt: &'static Dpt,
}

impl DptSide {
    /// The side of a type of at most 8 bytes; none of texts and longer ones, which have no numbers to prove.
    #[must_use]
    pub fn new(dpt: &'static Dpt) -> Option<Self> {
        match dpt.size {
            Size::Bits(_) | Size::Bytes(1..=8) => Some(Self { dpt }),
            Size::Bytes(_) | Size::Variable => None,
        }
    }
}

impl BusSide for DptSide {
    fn name(&self) -> String {
        self.dpt.id.to_string()
    }

    fn bits(&self) -> u32 {
        match self.dpt.size {
            Size::Bits(bits) => u32::from(bits),
            Size::Bytes(bytes) => u32::from(bytes) * 8,
            Size::Variable => 64,
        }
    }

    fn unit(&self, field: Option<&str>) -> String {
        let named = field.and_then(|name| self.dpt.value_fields().find(|field| field.name == name));
        named.map_or(self.dpt.unit(), |field| field.unit).to_owned()
    }

    fn decode(&self, raw: u64) -> Option<Value> {
        let payload = match self.dpt.size {
            Size::Bits(_) => Payload::small(u8::try_from(raw).ok()?)?,
            Size::Bytes(_) | Size::Variable => {
                Payload::bytes(raw.to_be_bytes().get(8_usize.checked_sub(self.length())?..)?)
            }
        };
        codec::decode(self.dpt, &payload).ok().map(|value| value_from_bus(self.dpt, &value))
    }

    fn encode(&self, value: &Value) -> Result<u64, String> {
        let value = value_to_bus(self.dpt, value).map_err(|error| error.to_string())?;
        let value = value.ok_or_else(|| "nothing to send".to_owned())?;
        let payload = codec::encode(self.dpt, &value).map_err(|error| error.to_string())?;
        Ok(payload.as_bytes().iter().fold(0, |raw, byte| raw << 8 | u64::from(*byte)))
    }
}

impl DptSide {
    fn length(&self) -> usize {
        if let Size::Bytes(bytes) = self.dpt.size { usize::from(bytes) } else { 1 }
    }
}
