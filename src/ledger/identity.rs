//! What an appliance is known by: its bridge, endpoint number, device types and unique id.

use sha2::{Digest, Sha256};
use std::fmt;
use std::sync::Arc;

/// The number of a bridged endpoint: 2 to 65534.
///
/// 0 is the root endpoint, 1 the aggregator, 65535 is no endpoint. Source: Matter core §7.19.2.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct EndpointNumber(u16);

impl EndpointNumber {
    /// The first number that a bridged endpoint can have.
    pub const FIRST: Self = Self(2);
    /// The last one.
    pub const LAST: Self = Self(65534);

    /// Makes a number, if it is in range.
    pub fn new(number: u16) -> Option<Self> {
        (Self::FIRST.0..=Self::LAST.0).contains(&number).then_some(Self(number))
    }

    /// The number.
    pub fn get(self) -> u16 {
        self.0
    }

    /// The number after this one, if there is one.
    pub fn next(self) -> Option<Self> {
        self.0.checked_add(1).and_then(Self::new)
    }
}

impl fmt::Display for EndpointNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// The `UniqueID` of an endpoint: 16 bytes, written as 32 lower-case hexadecimal digits.
///
/// It is opaque to controllers. Source: Matter core §11.1.5.19 (string of at most 32 bytes; not easily derived
/// from a permanent identifier of the device).
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct UniqueId([u8; 16]);

impl UniqueId {
    /// Reads 32 hexadecimal digits; `None` for anything else.
    pub fn parse(text: &str) -> Option<Self> {
        let digits: &[u8; 32] = text.as_bytes().try_into().ok()?;
        let mut bytes = [0; 16];
        for (byte, pair) in bytes.iter_mut().zip(digits.chunks_exact(2)) {
            for digit in pair {
                let value = match digit {
                    b'0'..=b'9' => digit - b'0',
                    b'a'..=b'f' => digit - b'a' + 10,
                    _ => return None,
                };
                *byte = *byte << 4 | value;
            }
        }
        Some(Self(bytes))
    }

    /// The id of the `generation`th identity that a part of an appliance had in a house.
    ///
    /// The first half of the SHA-256 digest of house, key, part and generation, each with its length before it. A
    /// build that lost its ledger thus gives the same ids again, and two branches that both add an appliance
    /// give it the same one. [`allocate`](super::allocate) takes the first generation whose id the ledger has
    /// not seen, so that an appliance made anew, moved to another bridge or turned into another kind of device gets a
    /// fresh one, also when its old one went to another key.
    pub fn derive(house: &str, key: &str, part: &str, generation: u32) -> Self {
        let mut digest = Sha256::new_with_prefix(b"housewright unique id 1");
        for text in [house, key, part] {
            digest.update((text.len() as u64).to_le_bytes());
            digest.update(text);
        }
        digest.update(generation.to_le_bytes());
        let mut bytes = [0; 16];
        for (to, from) in bytes.iter_mut().zip(digest.finalize()) {
            *to = from;
        }
        Self(bytes)
    }
}

impl fmt::Display for UniqueId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:032x}", u128::from_be_bytes(self.0))
    }
}

impl fmt::Debug for UniqueId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

/// The ids of the device types on an endpoint that say what it is, sorted, each once.
///
/// Bridged Node and Power Source are left out by whoever makes one: gaining or losing those does not make another
/// device of an endpoint. So it is empty for the top endpoint of a composed appliance, written `-`.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct DeviceTypes(Arc<[u32]>);

impl DeviceTypes {
    /// Sorts the ids.
    pub fn new(ids: impl IntoIterator<Item = u32>) -> Self {
        let mut ids: Vec<u32> = ids.into_iter().collect();
        ids.sort_unstable();
        ids.dedup();
        Self(ids.into())
    }

    /// The ids, in order.
    pub fn ids(&self) -> &[u32] {
        &self.0
    }
}

impl fmt::Display for DeviceTypes {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.0.is_empty() {
            return f.write_str("-");
        }
        for (position, id) in self.0.iter().enumerate() {
            if position > 0 {
                f.write_str("+")?;
            }
            write!(f, "0x{id:04x}")?;
        }
        Ok(())
    }
}

/// What one part of an appliance is known by. It never changes: what needs another one gets a new identity.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Identity {
    /// Key of the bridge whose endpoint it is.
    pub bridge: Arc<str>,
    /// Its endpoint number on that bridge.
    pub number: EndpointNumber,
    /// What kind of device controllers take it for.
    pub device_types: DeviceTypes,
    /// Its unique id.
    pub unique_id: UniqueId,
}
