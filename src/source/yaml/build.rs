//! Makes a [`Tree`] from a stream of nodes: duplicate keys, aliases and the number of nodes are dealt with here.

use rustc_hash::FxHashMap;

use super::shift::Shifts;
use super::tree::{Kind, Slot, Tree};
use crate::source::problem::tell;
use crate::source::{AliasFault, Counted, FileId, Limits, Place, Problem};

/// `link` of a collection that has not ended.
const OPEN: u32 = u32::MAX;

/// A range of bytes in the file that is being read.
#[derive(Clone, Copy)]
pub(super) struct Range {
    pub(super) start: u32,
    pub(super) end: u32,
}

/// A collection that has begun and not ended.
struct Frame {
    slot: u32,
    /// Where the last member ends.
    end: u32,
    has_members: bool,
    has_dashes: bool,
    /// The key whose value comes next stands for something that could not be read.
    after_hole: bool,
    /// It is the value of such a key.
    is_broken: bool,
}

/// A part of the text that could not be read and that another text was parsed in place of.
#[derive(Clone, Copy, Debug)]
pub(super) struct Hole {
    /// Where it begins: at what should have been a key or an item.
    pub(super) start: u32,
    /// Where the key ends, as far as it can be made out.
    pub(super) key_end: u32,
}

/// The key that is parsed in place of a hole.
pub(super) const HOLE_KEY: &str = "_";

/// The stream has more nodes than allowed; the rest is not read.
pub(super) struct Full;

pub(super) struct Builder<'s> {
    pub(super) source: &'s str,
    file: FileId,
    pub(super) tree: Tree,
    frames: Vec<Frame>,
    anchors: FxHashMap<usize, u32>,
    most_nodes: usize,
    alias_nodes_left: usize,
    alias_bytes_left: u64,
    holes: &'s [Hole],
    /// Whether the text that is parsed is another one than the source, of the same length.
    is_around: bool,
    shifts: Option<&'s Shifts>,
    pub(super) problems: Vec<Problem>,
}

impl<'s> Builder<'s> {
    pub(super) fn new(source: &'s str, file: FileId, limits: &Limits) -> Self {
        let most_nodes = limits.nodes.min(u32::MAX as usize / 2);
        Self {
            source,
            file,
            tree: Tree::with_room(source, most_nodes),
            frames: Vec::new(),
            anchors: FxHashMap::default(),
            most_nodes,
            alias_nodes_left: limits.alias_nodes,
            alias_bytes_left: limits.alias_bytes,
            holes: &[],
            is_around: false,
            shifts: None,
            problems: Vec::new(),
        }
    }

    /// The same for a text that is parsed with something else in place of `holes`, which are sorted.
    pub(super) fn around(self, holes: &'s [Hole]) -> Self {
        Self { holes, is_around: true, ..self }
    }

    /// The same for a text in which lines begin elsewhere than in the file. What is given and kept are places of the
    /// text; what comes out, in problems and in the tree, are those of the file.
    pub(super) fn shifted(self, shifts: &'s Shifts) -> Self {
        Self { shifts: Some(shifts), ..self }
    }

    /// The place in the file of a range of the text.
    pub(super) fn place(&self, range: Range) -> Place {
        let Range { start, end } = self.in_file(range);
        Place { file: self.file, start, end }
    }

    fn in_file(&self, range: Range) -> Range {
        let range = if self.is_around { whole(range, self.source) } else { range };
        self.shifts.map_or(range, |shifts| shifts.in_file(range))
    }

    /// A value that was not written. It stands where its key ends, or at its dash.
    pub(super) fn empty(&mut self, anchor: usize) -> Result<(), Full> {
        let at = self.frames.last().map_or(0, |frame| {
            let later_item = frame.has_dashes && frame.has_members;
            let dash = if later_item { next_dash(self.source, frame.end) } else { None };
            dash.unwrap_or(frame.end)
        });
        let kind = if self.hole_at(at).is_some() { Kind::Broken } else { Kind::Empty };
        self.scalar(kind, Range { start: at, end: at }, "", anchor)
    }

    /// A scalar with its text after escapes; the text is kept only where the source does not have it as it is.
    pub(super) fn scalar(&mut self, kind: Kind, range: Range, text: &str, anchor: usize) -> Result<(), Full> {
        let mut slot = Slot::new(kind, range.start, range.end);
        if self.take_after_hole() {
            slot.kind = Kind::Broken;
        } else if let Some(hole) =
            self.hole_at(range.start).filter(|_| kind == Kind::Plain && text == HOLE_KEY)
        {
            slot.end = hole.key_end;
            self.tree.is_partial = true;
            if let Some(frame) = self.frames.last_mut() {
                frame.after_hole = true;
                let mapping = frame.slot as usize;
                self.tree.slots.get_mut(mapping).into_iter().for_each(|mapping| mapping.has_hole = true);
            }
        } else if !matches!(kind, Kind::Empty | Kind::Broken) && self.tree.text(slot, self.source) != text {
            slot.link = index(self.tree.texts.len());
            self.tree.texts.push(text.into());
        }
        self.push(slot, anchor)?;
        self.reach(slot.end);
        Ok(())
    }

    /// Whether what comes now is the value of a hole.
    fn take_after_hole(&mut self) -> bool {
        self.frames.last_mut().is_some_and(|frame| std::mem::take(&mut frame.after_hole))
    }

    pub(super) fn hole_at(&self, start: u32) -> Option<Hole> {
        if self.holes.is_empty() {
            return None;
        }
        let at = self.holes.binary_search_by_key(&start, |hole| hole.start).ok()?;
        self.holes.get(at).copied()
    }

    pub(super) fn begin(&mut self, kind: Kind, start: u32, anchor: usize) -> Result<(), Full> {
        let is_broken = self.take_after_hole();
        let slot = self.push(Slot { link: OPEN, ..Slot::new(kind, start, start) }, anchor)?;
        // One with a bracket may go on for the rest of a long line, in which no dash is to be looked for.
        let has_dashes = kind == Kind::Sequence && self.source.as_bytes().get(start as usize) != Some(&b'[');
        self.frames.push(Frame {
            slot,
            end: start,
            has_members: false,
            has_dashes,
            after_hole: false,
            is_broken,
        });
        Ok(())
    }

    /// Ends the innermost collection: at `bracket`, or where its last member ends.
    pub(super) fn end(&mut self, bracket: Option<u32>) {
        let Some(frame) = self.frames.pop() else { return };
        let end = bracket.unwrap_or(frame.end);
        let after = index(self.tree.slots.len());
        let mut mapping = false;
        if let Some(slot) = self.tree.slots.get_mut(frame.slot as usize) {
            slot.end = end.max(slot.start);
            slot.link = after;
            mapping = slot.kind == Kind::Mapping;
            let members = if mapping { 0 } else { after.saturating_sub(frame.slot + 1) };
            self.tree.weight.list_nodes += members as usize;
        }
        if mapping {
            self.look_at_keys(frame.slot);
        }
        if let Some(slot) = self.tree.slots.get_mut(frame.slot as usize).filter(|_| frame.is_broken) {
            slot.kind = Kind::Broken;
        }
        self.reach(end);
    }

    /// Puts what an alias stands for in its place, as long as that is not too much.
    pub(super) fn alias(&mut self, range: Range, anchor: Option<usize>) -> Result<(), Full> {
        let found = anchor.and_then(|anchor| self.anchors.get(&anchor).copied());
        let copied = match found {
            None => Err(AliasFault::Unknown),
            Some(target) if self.tree.slot(target).link == OPEN && self.is_collection(target) => {
                Err(AliasFault::Itself)
            }
            Some(target) => self.copy(target),
        };
        self.reach(range.end);
        self.take_after_hole();
        if let Err(fault) = copied {
            self.tell(Problem::Alias { place: self.place(range), fault });
            self.push(Slot::new(Kind::Broken, range.start, range.end), 0)?;
        }
        if self.is_full() { Err(Full) } else { Ok(()) }
    }

    /// Whether it has as many nodes as are allowed.
    pub(super) fn is_full(&self) -> bool {
        self.tree.slots.len() >= self.most_nodes
    }

    /// The problem of having more nodes than allowed.
    pub(super) fn too_many(&self, place: Place) -> Problem {
        let limit = self.most_nodes as u64;
        Problem::TooMany { place, counted: Counted::Nodes, limit, path: None }
    }

    /// A builder for the same text that has seen nothing yet, in the room of this one, which has met no alias.
    pub(super) fn again(self) -> Self {
        let mut tree = Tree { slots: self.tree.slots, ..Tree::default() };
        tree.slots.clear();
        Self { tree, frames: Vec::new(), anchors: FxHashMap::default(), problems: Vec::new(), ..self }
    }

    /// The tree, with every collection ended.
    pub(super) fn finish(mut self) -> (Tree, Vec<Problem>) {
        while !self.frames.is_empty() {
            self.end(None);
        }
        if self.tree.slots.is_empty() {
            self.tree.slots.push(Slot::new(Kind::Empty, 0, 0));
        }
        self.tree.slots.shrink_to_fit();
        if self.is_around {
            self.tree.is_partial |= self.shifts.is_some();
            let mut slots = std::mem::take(&mut self.tree.slots);
            for slot in &mut slots {
                let range = self.in_file(Range { start: slot.start, end: slot.end });
                (slot.start, slot.end) = (range.start, range.end);
            }
            self.tree.slots = slots;
        }
        (self.tree, self.problems)
    }

    fn push(&mut self, slot: Slot, anchor: usize) -> Result<u32, Full> {
        if self.is_full() {
            return Err(Full);
        }
        let at = index(self.tree.slots.len());
        self.tree.push(slot, self.source, self.most_nodes);
        if anchor != 0 {
            self.anchors.insert(anchor, at);
        }
        Ok(at)
    }

    fn reach(&mut self, end: u32) {
        if let Some(frame) = self.frames.last_mut() {
            frame.end = frame.end.max(end);
            frame.has_members = true;
        }
    }

    pub(super) fn is_collection(&self, at: u32) -> bool {
        matches!(self.tree.slot(at).kind, Kind::Sequence | Kind::Mapping)
    }

    fn copy(&mut self, target: u32) -> Result<(), AliasFault> {
        let after = self.tree.after(target);
        let count = (after - target) as usize;
        if count > self.alias_nodes_left {
            return Err(AliasFault::TooMuch);
        }
        // The tree has such a text once; what reads the tree takes one for each alias.
        let text = |at: u32| self.tree.text(self.tree.slot(at), self.source).len() as u64;
        let bytes: u64 = (target..after).map(text).sum();
        if bytes > self.alias_bytes_left {
            return Err(AliasFault::TooMuch);
        }
        self.alias_nodes_left -= count;
        self.alias_bytes_left -= bytes;
        self.tree.weight.alias_nodes += count;
        self.tree.weight.alias_bytes += bytes;
        let shift = index(self.tree.slots.len()) - target;
        for at in target..after {
            let mut slot = self.tree.slot(at);
            if slot.has_members() {
                slot.link += shift;
            }
            self.tree.push(slot, self.source, self.most_nodes);
        }
        Ok(())
    }

    pub(super) fn tell(&mut self, problem: Problem) {
        tell(&mut self.problems, problem);
    }
}

/// The dash of the item behind one that ends at `from`: the first thing on a later line.
fn next_dash(source: &str, from: u32) -> Option<u32> {
    let rest = source.get(from as usize..)?;
    let mut at = from as usize;
    for (nth, line) in rest.split_inclusive(['\n', '\r']).enumerate() {
        let spaces = line.len() - line.trim_start_matches(' ').len();
        let first = line.as_bytes().get(spaces);
        match first {
            Some(b'-') if nth > 0 => return u32::try_from(at + spaces).ok(),
            Some(b'#' | b'\n' | b'\r') | None => {}
            Some(_) if nth > 0 => return None,
            Some(_) => {}
        }
        at += line.len();
    }
    None
}

/// A range with all of each character that it has a part of: what is parsed in place of a text may be shorter than the
/// character that it stands for.
fn whole(range: Range, source: &str) -> Range {
    let start = source.floor_char_boundary(range.start as usize);
    Range { start: index(start), end: index(source.ceil_char_boundary(range.end as usize)) }
}

/// A position in the arena. The number of nodes is bounded well below.
fn index(position: usize) -> u32 {
    u32::try_from(position).unwrap_or(u32::MAX)
}
