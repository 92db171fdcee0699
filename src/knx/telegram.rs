//! Group telegrams: what a payload is sent for, and the octets that carry it.

use super::payload::Payload;

/// What a group telegram asks for.
///
/// Source: KNX 3/3/7, `A_GroupValue` services (from memory, bits seen on the wire).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Service {
    /// Asks for the value: no payload.
    Read,
    /// Answers a read.
    Response,
    /// Sets the value.
    Write,
}

/// A group telegram without its addresses: service and payload.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Telegram {
    /// Asks for the value.
    Read,
    /// Answers a read.
    Response(Payload),
    /// Sets the value.
    Write(Payload),
}

/// Why octets are no group telegram.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TelegramError {
    /// Fewer than the two octets that hold the service.
    #[error("a group telegram has two octets at least, this one has {found}")]
    TooShort {
        /// How many there are.
        found: usize,
    },
    /// Another service, or a telegram with a sequence number.
    #[error(
        "`{first:02x} {second:02x}` is no group service: those are 00 00 (read), 00 40 (response) and 00 80 (write)"
    )]
    OtherService {
        /// First octet.
        first: u8,
        /// Second octet.
        second: u8,
    },
    /// A read that carries something.
    #[error("a read carries no payload, this one has {found} octets of it")]
    ReadWithPayload {
        /// How many.
        found: usize,
    },
    /// Bytes after a 6-bit payload.
    #[error("the payload is in the service octet and {found} octets follow: it is one or the other")]
    BothForms {
        /// How many follow.
        found: usize,
    },
}

const RESPONSE: u8 = 0x40;
const WRITE: u8 = 0x80;

impl Telegram {
    /// The service.
    pub fn service(&self) -> Service {
        match self {
            Self::Read => Service::Read,
            Self::Response(_) => Service::Response,
            Self::Write(_) => Service::Write,
        }
    }

    /// The payload; a read has none.
    pub fn payload(&self) -> Option<&Payload> {
        match self {
            Self::Read => None,
            Self::Response(payload) | Self::Write(payload) => Some(payload),
        }
    }

    /// The octets from the transport control octet on: `00 80 0c 33`. A frame's length field is one less than their
    /// number.
    pub fn octets(&self) -> Vec<u8> {
        let (service, payload) = match self {
            Self::Read => return vec![0, 0],
            Self::Response(payload) => (RESPONSE, payload),
            Self::Write(payload) => (WRITE, payload),
        };
        let mut octets = vec![0, service];
        match payload.as_bytes() {
            [bits] if payload.is_small() => octets = vec![0, service | bits],
            bytes => octets.extend_from_slice(bytes),
        }
        octets
    }

    /// Reads the octets from the transport control octet on.
    ///
    /// # Errors
    /// [`TelegramError`] if there are too few, or they are no group service.
    pub fn from_octets(octets: &[u8]) -> Result<Self, TelegramError> {
        let &[first, second, ref rest @ ..] = octets else {
            return Err(TelegramError::TooShort { found: octets.len() });
        };
        let bits = second & 0x3f;
        let payload = || match (rest, bits) {
            ([], _) => Ok(Payload::small(bits).unwrap_or_else(|| Payload::bytes(&[]))),
            (_, 0) => Ok(Payload::bytes(rest)),
            _ => Err(TelegramError::BothForms { found: rest.len() }),
        };
        match (first, second & 0xc0) {
            (0, 0) if bits != 0 => Err(TelegramError::OtherService { first, second }),
            (0, 0) if !rest.is_empty() => Err(TelegramError::ReadWithPayload { found: rest.len() }),
            (0, 0) => Ok(Self::Read),
            (0, RESPONSE) => payload().map(Self::Response),
            (0, WRITE) => payload().map(Self::Write),
            _ => Err(TelegramError::OtherService { first, second }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(octets: &[u8], expected: Result<Telegram, TelegramError>) {
        let found = Telegram::from_octets(octets);
        assert_eq!(found, expected, "{octets:02x?}");
        if let Ok(telegram) = found {
            assert_eq!(telegram.octets(), octets);
        }
    }

    #[test]
    fn group_services() {
        check(&[0, 0], Ok(Telegram::Read));
        check(&[0, 0x81], Ok(Telegram::Write(Payload::small(1).unwrap())));
        check(&[0, 0x80, 1], Ok(Telegram::Write(Payload::bytes(&[1]))));
        check(&[0, 0x40, 0x66], Ok(Telegram::Response(Payload::bytes(&[0x66]))));
    }

    #[test]
    fn refuses_other_octets() {
        check(&[0], Err(TelegramError::TooShort { found: 1 }));
        check(&[0, 0xc0], Err(TelegramError::OtherService { first: 0, second: 0xc0 }));
        check(&[0x40, 0x80], Err(TelegramError::OtherService { first: 0x40, second: 0x80 }));
        check(&[0, 0, 1], Err(TelegramError::ReadWithPayload { found: 1 }));
        check(&[0, 0x81, 1], Err(TelegramError::BothForms { found: 1 }));
    }
}
