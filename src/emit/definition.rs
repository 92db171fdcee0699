//! The bridge JSON on its way into a file: one endpoint a line, made in parallel, never whole in memory.

use crate::bridge::definition::{BridgeDefinition, Endpoint};
use rayon::prelude::*;
use serde::Serialize;
use std::io::{self, Write};
use std::ops::Range;

/// Endpoints that are made into text as one piece.
const PIECE: usize = 64;
/// What an endpoint's text is expected to take.
const USUAL_BYTES: usize = 4096;
/// Pieces that are held in memory at once, twice: some are written while the next are made.
const PIECES: usize = 32;

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
/// `count`, in parallel; a position for which it gives nothing is left out.
///
/// # Errors
///
/// What `out` reports.
pub fn write_endpoints<E: Serialize>(
    out: &mut (dyn Write + Send),
    head: &BridgeDefinition,
    count: usize,
    endpoint: impl Fn(usize) -> Option<E> + Sync,
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
    endpoint: impl Fn(usize, &mut Vec<u8>) -> io::Result<()> + Sync,
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
    let starts: Vec<usize> = (0..count).step_by(PIECE).collect();
    let mut first = true;
    let mut ready: Vec<Vec<u8>> = Vec::new();
    for pieces in starts.chunks(PIECES) {
        let (written, made) = rayon::join(
            || flush(&mut *out, &ready, &mut first),
            || {
                pieces
                    .par_iter()
                    .map(|start| piece(*start..count.min(start + PIECE), &endpoint))
                    .collect::<io::Result<Vec<_>>>()
            },
        );
        written?;
        ready = made?;
    }
    flush(&mut *out, &ready, &mut first)?;
    out.write_all(if first { b"]}\n" } else { b"\n]}\n" })
}

/// The lines of some endpoints, each with `,` and a line end before it.
fn piece(
    positions: Range<usize>,
    endpoint: impl Fn(usize, &mut Vec<u8>) -> io::Result<()>,
) -> io::Result<Vec<u8>> {
    let mut text = Vec::with_capacity(positions.len() * USUAL_BYTES);
    for position in positions {
        let before = text.len();
        text.extend_from_slice(b",\n");
        endpoint(position, &mut text)?;
        if text.len() == before + 2 {
            text.truncate(before);
        }
    }
    Ok(text)
}

fn flush(out: &mut (dyn Write + Send), pieces: &[Vec<u8>], first: &mut bool) -> io::Result<()> {
    for piece in pieces.iter().filter(|piece| !piece.is_empty()) {
        // The first endpoint of all has no comma before it.
        let text = if std::mem::take(first) { piece.get(1..).unwrap_or_default() } else { piece };
        out.write_all(text)?;
    }
    Ok(())
}
