//! The bridge definitions of a lowered house as they are written: each with its name, at once or while it is put in place.

use crate::bridge::Lowered;
use crate::emit::{self, BRIDGE_ENDING, Content, Output, Role};
use crate::pieces;
use std::io::{self, Write};

/// The text of each bridge definition.
pub fn written(lowered: &Lowered<'_>) -> Vec<(String, Vec<u8>)> {
    pieces::each(lowered.len(), 1, |bridge| (name(lowered, bridge), text(lowered, bridge)))
}

/// The text of one.
pub(super) fn text(lowered: &Lowered<'_>, bridge: usize) -> Vec<u8> {
    let mut text = Vec::new();
    // Writing into memory cannot fail.
    let _ = write(lowered, bridge, &mut text);
    text
}

/// The bridge definitions as outputs that are made while they are written: they are never all in memory.
pub(super) fn streamed<'a>(lowered: &'a Lowered<'_>) -> Vec<Output<'a>> {
    let output = |bridge| Output {
        name: name(lowered, bridge),
        role: Role::Made,
        content: Content::Written(Box::new(move |out: &mut (dyn Write + Send)| write(lowered, bridge, out))),
    };
    (0..lowered.len()).map(output).collect()
}

/// The name of its file.
pub(super) fn name(lowered: &Lowered<'_>, bridge: usize) -> String {
    format!("{}{BRIDGE_ENDING}", lowered.key(bridge))
}

fn write(lowered: &Lowered<'_>, bridge: usize, out: &mut (dyn Write + Send)) -> io::Result<()> {
    let count = lowered.endpoints(bridge);
    emit::write_texts(out, &lowered.head(bridge), count, |at, text| lowered.write_endpoint(bridge, at, text))
}
