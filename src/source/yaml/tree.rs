//! The tree of a file: what was written and where, 16 bytes a node.
//!
//! Nodes stand in the order of the text, a collection before its members; a collection knows the node after its
//! last member, so that a walk needs no lists. A scalar's text is a slice of the source unless it was written with
//! escapes or folded.

use crate::source::{FileId, Place, Shape};

/// What a slot of the arena is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// No value was written.
    Empty,
    /// A scalar without quotes.
    Plain,
    /// A scalar in quotes, or tagged as text.
    Quoted,
    /// A literal or folded block of text.
    Block,
    Sequence,
    Mapping,
    /// What stood here has been told as a problem.
    Broken,
}

/// `link` of a scalar whose text is a slice of the source.
pub(super) const IN_SOURCE: u32 = u32::MAX;

/// One node.
#[derive(Clone, Copy, Debug)]
pub(super) struct Slot {
    pub(super) start: u32,
    pub(super) end: u32,
    /// Of a collection, broken or not: the slot after its last member. Of a scalar: its text in `texts`, or
    /// [`IN_SOURCE`].
    pub(super) link: u32,
    pub(super) kind: Kind,
    /// A key that does not count, being a duplicate or no text: the reader passes over it and its value.
    pub(super) passed_over: bool,
    /// A mapping in which something could not be read, or a key stands twice: a key that is missing may have been meant.
    pub(super) has_hole: bool,
}

impl Slot {
    /// A scalar whose text is a slice of the source.
    pub(super) fn new(kind: Kind, start: u32, end: u32) -> Self {
        Self { start, end, link: IN_SOURCE, kind, passed_over: false, has_hole: false }
    }

    /// Whether slots behind it belong to it.
    pub(super) fn has_members(self) -> bool {
        match self.kind {
            Kind::Sequence | Kind::Mapping => true,
            Kind::Broken => self.link != IN_SOURCE,
            Kind::Empty | Kind::Plain | Kind::Quoted | Kind::Block => false,
        }
    }
}

/// What a file has of things that all files of a house may have so many of.
#[derive(Clone, Copy, Debug, Default)]
pub(in crate::source) struct Weight {
    /// Nodes that its aliases stand for.
    pub(in crate::source) alias_nodes: usize,
    /// Bytes of text in them.
    pub(in crate::source) alias_bytes: u64,
    /// Nodes in lists.
    pub(in crate::source) list_nodes: usize,
}

/// The tree of one file, without its text.
#[derive(Clone, Debug, Default)]
pub struct Tree {
    pub(super) slots: Vec<Slot>,
    pub(super) texts: Vec<Box<str>>,
    pub(in crate::source) weight: Weight,
    pub(super) is_partial: bool,
}

impl Tree {
    /// An empty tree with room for as many nodes as a description usually has: one for eight bytes of text.
    pub(super) fn with_room(source: &str, most_nodes: usize) -> Self {
        Self { slots: Vec::with_capacity((source.len() / 8 + 1).min(most_nodes)), ..Self::default() }
    }

    /// Adds a node. Where the usual room is too small it grows once, to that of as many nodes as a text can have, each of
    /// which takes two bytes at least: what is not used of it costs nothing, while a list that doubles again and again is in
    /// memory twice at times.
    pub(super) fn push(&mut self, slot: Slot, source: &str, most_nodes: usize) {
        let most = (source.len() / 2 + 1).min(most_nodes);
        if self.slots.len() == self.slots.capacity() && self.slots.len() < most {
            self.slots.reserve_exact(most - self.slots.len());
        }
        self.slots.push(slot);
    }

    /// The file's outermost value. `source` is the text that the tree was made from.
    #[must_use]
    pub fn root<'a>(&'a self, file: FileId, source: &'a str) -> Node<'a> {
        Node { tree: self, source, file, at: 0, from: 0 }
    }

    /// How many keys, values and collections it has.
    #[must_use]
    pub fn len(&self) -> usize {
        self.slots.len()
    }

    /// Whether nothing was written.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.slots.iter().all(|slot| slot.kind == Kind::Empty)
    }

    /// Whether parts of the file are no YAML and were read around: what seems to be missing may stand there.
    #[must_use]
    pub fn is_partial(&self) -> bool {
        self.is_partial
    }

    /// Where the first collection of more than `most` members has one too many. Nothing is counted in a file that is too
    /// small for one.
    pub(crate) fn beyond(&self, most: usize) -> Option<(u32, u32)> {
        let each = if self.slots.len() > most { self.slots.as_slice() } else { &[] };
        each.iter().zip(0u32..).find_map(|(slot, at)| {
            let is_long = matches!(slot.kind, Kind::Sequence | Kind::Mapping)
                && slot.link.saturating_sub(at) as usize > most;
            let is_mapping = matches!(slot.kind, Kind::Mapping);
            let after_value = |member: u32| {
                let next = self.after(member);
                if is_mapping { self.after(next) } else { next }
            };
            let members = std::iter::successors(Some(at + 1), |member| Some(after_value(*member)));
            let beyond = members
                .take_while(|member| *member < slot.link)
                .take(if is_long { most + 1 } else { 0 })
                .nth(most)?;
            let beyond = self.slot(beyond);
            Some((beyond.start, beyond.end))
        })
    }

    /// The slot, or an empty one beyond the end.
    pub(super) fn slot(&self, at: u32) -> Slot {
        self.slots.get(at as usize).copied().unwrap_or(Slot::new(Kind::Empty, 0, 0))
    }

    /// The slot after this one and all its members.
    pub(super) fn after(&self, at: u32) -> u32 {
        let slot = self.slot(at);
        if slot.has_members() { slot.link.max(at + 1) } else { at + 1 }
    }

    /// The text of a scalar, `""` for anything else.
    pub(super) fn text<'a>(&'a self, slot: Slot, source: &'a str) -> &'a str {
        let (start, end) = (slot.start as usize, slot.end as usize);
        let text = match slot.kind {
            Kind::Plain | Kind::Quoted | Kind::Block if slot.link != IN_SOURCE => {
                return self.texts.get(slot.link as usize).map_or("", AsRef::as_ref);
            }
            Kind::Plain | Kind::Block => source.get(start..end),
            Kind::Quoted => source.get(start + 1..end.saturating_sub(1)),
            Kind::Empty | Kind::Sequence | Kind::Mapping | Kind::Broken => None,
        };
        text.unwrap_or("")
    }
}

/// A value of a tree, with the text it was written in. Cheap to copy.
#[derive(Clone, Copy, Debug)]
pub struct Node<'a> {
    pub(super) tree: &'a Tree,
    pub(super) source: &'a str,
    pub(super) file: FileId,
    pub(super) at: u32,
    /// Bytes of a plain scalar that do not belong to it: those of the key that it was written together with.
    pub(super) from: u32,
}

impl<'a> Node<'a> {
    /// The file.
    #[must_use]
    pub fn file(self) -> FileId {
        self.file
    }

    /// Where it stands: a scalar with its quotes, a collection from its first to its last member or bracket.
    #[must_use]
    pub fn place(self) -> Place {
        let slot = self.slot();
        Place { file: self.file, start: slot.start, end: slot.end }
    }

    /// What it is. A plain `~` or `null` is nothing.
    #[must_use]
    pub fn shape(self) -> Shape {
        match self.slot().kind {
            Kind::Sequence => Shape::Sequence,
            Kind::Mapping => Shape::Mapping,
            Kind::Empty | Kind::Broken => Shape::Nothing,
            Kind::Plain if super::core_schema::is_null(self.raw_text()) => Shape::Nothing,
            Kind::Plain | Kind::Quoted | Kind::Block => Shape::Text,
        }
    }

    /// Whether it could not be read and has been told as a problem already.
    #[must_use]
    pub fn is_broken(self) -> bool {
        self.slot().kind == Kind::Broken
    }

    /// Whether it is a scalar written without quotes.
    #[must_use]
    pub fn is_plain(self) -> bool {
        self.slot().kind == Kind::Plain
    }

    /// The text of a scalar, after escapes and folding. None of nothing and of collections.
    #[must_use]
    pub fn text(self) -> Option<&'a str> {
        (self.shape() == Shape::Text).then(|| self.raw_text())
    }

    /// The value of a key of a mapping.
    #[must_use]
    pub fn get(self, key: &str) -> Option<Node<'a>> {
        self.entries().find(|(name, _)| name.raw_text() == key).map(|(_, value)| value)
    }

    /// Keys and values of a mapping in the order of the text; none of anything else. Of a duplicate key only the
    /// first is given.
    pub fn entries(self) -> impl Iterator<Item = (Node<'a>, Node<'a>)> + use<'a> {
        let mut members = self.members(Kind::Mapping);
        std::iter::from_fn(move || {
            loop {
                let (key, value) = (members.next()?, members.next()?);
                if !key.slot().passed_over {
                    return Some((key, value));
                }
            }
        })
    }

    /// Keys that the mapping has already, with their values, which are broken.
    pub(super) fn doubles(self) -> impl Iterator<Item = (Node<'a>, Node<'a>)> + use<'a> {
        let mut members = self.members(Kind::Mapping);
        let pairs = std::iter::from_fn(move || Some((members.next()?, members.next()?)));
        pairs.filter(|(key, value)| key.slot().passed_over && value.is_broken())
    }

    /// The items of a sequence in the order of the text; none of anything else.
    pub fn items(self) -> impl Iterator<Item = Node<'a>> + use<'a> {
        self.members(Kind::Sequence)
    }

    /// The text of a scalar, `""` for anything else; `null` is text here. What a key is called.
    #[must_use]
    pub fn raw_text(self) -> &'a str {
        self.tree.text(self.slot(), self.source)
    }

    pub(super) fn slot(self) -> Slot {
        let slot = self.tree.slot(self.at);
        Slot { start: slot.start + self.from, ..slot }
    }

    fn members(self, kind: Kind) -> Members<'a> {
        let end = if self.slot().kind == kind { self.tree.after(self.at) } else { 0 };
        Members { node: self, next: self.at + 1, end }
    }
}

/// A walk over the direct members of a collection.
struct Members<'a> {
    node: Node<'a>,
    next: u32,
    end: u32,
}

impl<'a> Iterator for Members<'a> {
    type Item = Node<'a>;

    fn next(&mut self) -> Option<Node<'a>> {
        (self.next < self.end).then(|| {
            let at = self.next;
            self.next = self.node.tree.after(at);
            Node { at, from: 0, ..self.node }
        })
    }
}
