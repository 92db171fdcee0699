//! YAML as a plain tree with byte ranges, read for the planter alone: it must find its way in a text even where the
//! tool's own reader would be wrong.

use granit_parser::{Event, Parser, StructureStyle};
use std::ops::Range;

/// A node.
#[derive(Clone, Debug)]
pub(crate) struct Node {
    /// Its bytes; a block collection ends with its last scalar.
    pub(crate) bytes: Range<usize>,
    /// What it is.
    pub(crate) kind: Kind,
}

/// What a node is.
#[derive(Clone, Debug)]
pub(crate) enum Kind {
    /// Text, decoded.
    Scalar(String),
    /// Items.
    Sequence(Vec<Node>),
    /// Keys and values; written `{…}` or in lines.
    Mapping(Vec<Entry>, Flow),
}

/// How a mapping is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Flow {
    /// `{ key: value }`
    Braces,
    /// One entry a line.
    Lines,
}

/// A key with its value.
#[derive(Clone, Debug)]
pub(crate) struct Entry {
    /// The key.
    pub(crate) key: Node,
    /// The value.
    pub(crate) value: Node,
}

impl Node {
    /// The text of a scalar.
    pub(crate) fn text(&self) -> Option<&str> {
        match &self.kind {
            Kind::Scalar(text) => Some(text),
            Kind::Sequence(_) | Kind::Mapping(..) => None,
        }
    }

    /// The entries of a mapping.
    pub(crate) fn entries(&self) -> &[Entry] {
        match &self.kind {
            Kind::Mapping(entries, _) => entries,
            Kind::Scalar(_) | Kind::Sequence(_) => &[],
        }
    }

    /// The items of a sequence, or the node itself as the only one.
    pub(crate) fn items(&self) -> &[Self] {
        match &self.kind {
            Kind::Sequence(items) => items,
            Kind::Scalar(_) | Kind::Mapping(..) => std::slice::from_ref(self),
        }
    }

    /// The entry of a key.
    pub(crate) fn entry(&self, key: &str) -> Option<&Entry> {
        self.entries().iter().find(|entry| entry.key.text() == Some(key))
    }

    /// The value of a key.
    pub(crate) fn get(&self, key: &str) -> Option<&Self> {
        self.entry(key).map(|entry| &entry.value)
    }
}

/// The tree of a text; none when it is not one well-formed document.
pub(crate) fn tree(text: &str) -> Option<Node> {
    let mut events = Vec::new();
    for event in Parser::new_from_str(text) {
        let (event, span) = event.ok()?;
        let counts = event.is_node() || matches!(event, Event::SequenceEnd | Event::MappingEnd);
        if counts {
            events.push((event, span.byte_range()?));
        }
    }
    node(&mut events.into_iter()).ok()
}

type Events<'a> = std::vec::IntoIter<(Event<'a>, Range<usize>)>;

/// The next node, or the bytes of the mark that ends the collection it would be in.
fn node(events: &mut Events<'_>) -> Result<Node, Range<usize>> {
    let Some((event, bytes)) = events.next() else { return Err(0..0) };
    if let Event::Scalar(text, ..) = event {
        return Ok(Node { bytes, kind: Kind::Scalar(text.into_owned()) });
    }
    if let Event::SequenceStart(style, ..) = event {
        let mut items = Vec::new();
        let closed = loop {
            match node(events) {
                Ok(item) => items.push(item),
                Err(end) => break end.end,
            }
        };
        let last = items.last().map_or(bytes.end, |item| item.bytes.end);
        let end = if style == StructureStyle::Flow { closed } else { last };
        return Ok(Node { bytes: bytes.start..end, kind: Kind::Sequence(items) });
    }
    if let Event::MappingStart(style, ..) = event {
        let mut entries: Vec<Entry> = Vec::new();
        let closed = loop {
            match node(events) {
                Ok(key) => entries.push(Entry { key, value: node(events)? }),
                Err(end) => break end.end,
            }
        };
        let start = entries.first().map_or(bytes.start, |entry| entry.key.bytes.start);
        let end = entries.last().map_or(bytes.end, |entry| entry.value.bytes.end);
        let (bytes, flow) = match style {
            StructureStyle::Flow => (bytes.start..closed, Flow::Braces),
            StructureStyle::Block => (start..end, Flow::Lines),
        };
        return Ok(Node { bytes, kind: Kind::Mapping(entries, flow) });
    }
    Err(bytes)
}
