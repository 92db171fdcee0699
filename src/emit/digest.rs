//! SHA-256 of files, computed while they are written.

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};
use std::borrow::Cow;
use std::fmt;
use std::io::{self, Write};

/// A SHA-256 digest, written as 64 lower-case hexadecimal digits.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Digest([u8; 32]);

impl Digest {
    /// The digest of some bytes.
    pub fn of(bytes: &[u8]) -> Self {
        Self::finish(Sha256::new_with_prefix(bytes))
    }

    fn finish(state: Sha256) -> Self {
        let mut bytes = [0; 32];
        for (to, from) in bytes.iter_mut().zip(state.finalize()) {
            *to = from;
        }
        Self(bytes)
    }
}

impl fmt::Display for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl From<Digest> for String {
    fn from(digest: Digest) -> Self {
        digest.to_string()
    }
}

impl JsonSchema for Digest {
    fn schema_name() -> Cow<'static, str> {
        "Digest".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "A SHA-256 digest: 64 lower-case hexadecimal digits.",
            "type": "string",
            "pattern": "^[0-9a-f]{64}$",
        })
    }
}

impl TryFrom<String> for Digest {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        let fault = || format!("`{text}` is not a SHA-256 digest of 64 hexadecimal digits");
        let digits = text.as_bytes();
        if digits.len() != 64 || !digits.iter().all(|digit| matches!(digit, b'0'..=b'9' | b'a'..=b'f')) {
            return Err(fault());
        }
        let mut bytes = [0; 32];
        for (byte, pair) in bytes.iter_mut().zip(digits.chunks_exact(2)) {
            let pair = std::str::from_utf8(pair).map_err(|_| fault())?;
            *byte = u8::from_str_radix(pair, 16).map_err(|_| fault())?;
        }
        Ok(Self(bytes))
    }
}

/// The digest of a source file: of its bytes with each CR LF taken as LF, so that a checkout that changes line ends
/// makes no other build.
pub fn digest_source(bytes: &[u8]) -> Digest {
    let mut state = Sha256::new();
    let mut rest = bytes;
    if bytes.contains(&b'\r') {
        while let Some(at) = rest.windows(2).position(|pair| pair == b"\r\n") {
            let (before, after) = rest.split_at(at);
            state.update(before);
            rest = after.get(1..).unwrap_or_default();
        }
    }
    state.update(rest);
    Digest::finish(state)
}

/// Digests and counts what passes through it.
pub(super) struct Digesting<W> {
    inner: W,
    state: Sha256,
    count: u64,
}

impl<W: Write> Digesting<W> {
    pub(super) fn new(inner: W) -> Self {
        Self { inner, state: Sha256::new(), count: 0 }
    }

    /// What it wrote to, the digest and how many bytes there were.
    pub(super) fn finish(self) -> (W, Digest, u64) {
        (self.inner, Digest::finish(self.state), self.count)
    }
}

impl<W: Write> Write for Digesting<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.inner.write(bytes)?;
        if let Some(bytes) = bytes.get(..written) {
            self.state.update(bytes);
            self.count += bytes.len() as u64;
        }
        Ok(written)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.inner.flush()
    }
}
