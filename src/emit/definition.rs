//! The bridge JSON on its way into a file: one endpoint a line, never whole in memory.

use crate::bridge::definition::{BridgeDefinition, Endpoint};
use serde::Serialize;
use std::io::{self, Write};

/// So many bytes are handed on at once: few enough to be still at hand when they are.
const PIECE: usize = 64 << 10;

/// Writes a definition, one endpoint a line.
///
/// # Errors
///
/// What `out` reports.
pub fn write_definition(out: &mut (dyn Write + Send), definition: &BridgeDefinition) -> io::Result<()> {
    write_endpoints(out, definition, definition.endpoints.len(), |position| {
        definition.endpoints.get(position)
    })
}

/// Writes a definition whose endpoints are made when they are due, so that a house of any size takes the same
/// memory. `head` gives everything else; its own endpoints are passed over. `endpoint` is called once for each position below
/// `count`, in order; a position for which it gives nothing is left out.
///
/// # Errors
///
/// What `out` reports.
pub fn write_endpoints<E: Serialize>(
    out: &mut (dyn Write + Send),
    head: &BridgeDefinition,
    count: usize,
    endpoint: impl Fn(usize) -> Option<E>,
) -> io::Result<()> {
    write_texts(out, head, count, |position, text| match endpoint(position) {
        Some(endpoint) => Ok(serde_json::to_writer(text, &endpoint)?),
        None => Ok(()),
    })
}

/// [`write_endpoints`], where each endpoint writes its own JSON behind what is there already; one that writes nothing is left
/// out.
///
/// # Errors
///
/// What `out` or `endpoint` reports.
pub fn write_texts(
    out: &mut (dyn Write + Send),
    head: &BridgeDefinition,
    count: usize,
    endpoint: impl Fn(usize, &mut Vec<u8>) -> io::Result<()>,
) -> io::Result<()> {
    let head = BridgeDefinition {
        endpoints: Vec::<Endpoint>::new(),
        format: head.format.clone(),
        house: head.house.clone(),
        bridge: head.bridge.clone(),
        matter: head.matter.clone(),
        version: head.version,
    };
    let head = serde_json::to_string(&head)?;
    // `endpoints` is the last field, so the text ends with it.
    out.write_all(head.strip_suffix("]}").unwrap_or(&head).as_bytes())?;
    let mut text = Vec::with_capacity(2 * PIECE);
    let mut first = true;
    for position in 0..count {
        let before = text.len();
        // The first endpoint of all has no comma before it.
        text.extend_from_slice(if first { b"\n" } else { b",\n" });
        let begun = text.len();
        endpoint(position, &mut text)?;
        if text.len() == begun {
            text.truncate(before);
            continue;
        }
        first = false;
        if text.len() >= PIECE {
            out.write_all(&text)?;
            text.clear();
        }
    }
    text.extend_from_slice(if first { b"]}\n" } else { b"\n]}\n" });
    out.write_all(&text)
}
