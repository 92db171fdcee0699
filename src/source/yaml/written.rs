//! What stands where another shape belongs, as it is written.

use super::flaw::Flaw;
use super::fused;
use super::read::Reader;
use super::tree::{IN_SOURCE, Kind, Node};
use crate::source::{Shape, Written};

/// Items of a list that are taken over.
const MOST_ITEMS: usize = 8;

/// Bytes of a text that is taken over.
const LONGEST: usize = 80;

impl Reader<'_, '_> {
    /// The value with its key, for what to write in its place.
    pub(super) fn written(self) -> Option<Box<Written>> {
        let texts = match self.node.shape() {
            Shape::Text => texts(std::iter::once(self.node)),
            Shape::Sequence => texts(self.node.items()),
            Shape::Nothing | Shape::Mapping => Vec::new(),
        };
        let mut items = self.node.items().take(MOST_ITEMS).peekable();
        let is_of_mappings = items.peek().is_some() && items.all(|item| item.shape() == Shape::Mapping);
        self.written_as(texts, is_of_mappings)
    }

    fn written_as(self, texts: Vec<String>, is_of_mappings: bool) -> Option<Box<Written>> {
        let key = self.key?.raw_text();
        let place = self.node.place();
        let text = self.node.source.get(place.start as usize..place.end as usize)?;
        let place = (!text.is_empty() && !text.contains(['\n', '\r'])).then_some(place);
        let fits = !key.is_empty() && key.len() <= LONGEST;
        fits.then(|| Box::new(Written { key: key.to_owned(), texts, place, is_of_mappings }))
    }

    /// Between braces nothing but words and numbers without keys, as in `{ 1/1/1, 1/4/1 }`: that is a list, whatever the
    /// braces say.
    pub(super) fn list_in_braces(self, fields: &[&str]) -> Option<Flaw> {
        let is_lone = |(key, value): (Node<'_>, Node<'_>)| {
            let is_text =
                matches!(key.slot().kind, Kind::Plain | Kind::Quoted) && key.slot().link == IN_SOURCE;
            let has_key =
                key.raw_text().contains(':') || fused::begins_with_key(key.raw_text(), Some(fields));
            is_text && fused::is_lone(key, value) && !has_key
        };
        let mut entries = self.node.entries();
        if !entries.next().is_some_and(is_lone) || !entries.all(is_lone) {
            return None;
        }
        let written = self.written_as(texts(self.node.entries().map(|(key, _)| key)), false);
        Some(Flaw::shape(self.spot(), Shape::Mapping, Shape::Sequence, written))
    }
}

/// The text of a value, where it is a short one.
pub(super) fn text(value: Node<'_>) -> Option<String> {
    value.text().filter(|text| text.len() <= LONGEST).map(str::to_owned)
}

/// The texts of some values, where all of them are short ones.
fn texts<'a>(of: impl Iterator<Item = Node<'a>>) -> Vec<String> {
    let texts: Option<Vec<String>> = of
        .take(MOST_ITEMS + 1)
        .map(|node| {
            let is_text = matches!(node.slot().kind, Kind::Plain | Kind::Quoted);
            Some(node.raw_text()).filter(|text| is_text && text.len() <= LONGEST).map(str::to_owned)
        })
        .collect();
    texts.filter(|texts| texts.len() <= MOST_ITEMS).unwrap_or_default()
}
