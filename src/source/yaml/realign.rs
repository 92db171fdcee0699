//! The one line that begins too far left or right: which it may be, and where it was meant to begin.
//!
//! In: the line that fits nowhere. Out: shifts that may be what was meant, the likeliest first. Only a trial shows which
//! of them makes sense; what orders them is where the same key, lines of the same form, and lines at all begin
//! elsewhere in the file.

use super::diagnose::Line;
use super::shift::Shift;
use crate::sort;
use rustc_hash::FxHashMap;
use std::cmp::Reverse;

/// Lines looked at before the one in question, for what is open there, and behind it.
const MOST_LINES: usize = 2000;

/// Columns that a line is moved by at most.
const MOST_COLUMNS: usize = 4;

/// Shifts that are tried for one line.
const MOST_SHIFTS: usize = 10;

/// Levels of nesting in the text above a line that count.
const MOST_LEVELS: usize = 4;

/// What stands behind the key of a line.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
enum Form {
    /// Nothing: what belongs to it stands below.
    Open,
    /// A bracket.
    Bracket,
    /// A value, or the line has no key.
    Value,
}

impl Form {
    fn of(line: Line) -> Self {
        let behind =
            line.text.split_once(':').map_or(line.text, |(_, behind)| behind).trim_start_matches(' ');
        match behind.bytes().next() {
            None | Some(b'#') => Self::Open,
            Some(b'{' | b'[') => Self::Bracket,
            Some(_) => Self::Value,
        }
    }
}

/// Where the keys and lines of a file begin.
pub(super) struct Columns<'s> {
    keys: FxHashMap<(&'s str, usize), usize>,
    forms: FxHashMap<(Form, usize), usize>,
    lines: FxHashMap<usize, usize>,
    /// How much further in what belongs to a key mostly begins.
    pub(super) step: usize,
}

impl<'s> Columns<'s> {
    pub(super) fn of(source: &'s str) -> Self {
        let (mut keys, mut forms, mut lines) =
            (FxHashMap::default(), FxHashMap::default(), FxHashMap::default());
        let mut steps: FxHashMap<usize, usize> = FxHashMap::default();
        let mut above: Option<Line> = None;
        let all = std::iter::successors(Some(Line::at(source, 0)), |line| line.after(source));
        for line in all.filter(|line| line.has_content()) {
            *keys.entry((key(line, source), line.indent)).or_default() += 1;
            *forms.entry((Form::of(line), line.indent)).or_default() += 1;
            *lines.entry(line.indent).or_default() += 1;
            let further = above.map_or(0, |above| line.indent.saturating_sub(above.indent));
            *steps.entry(further).or_default() += usize::from(further > 0);
            above = Some(line);
        }
        let step = steps.into_iter().max_by_key(|(step, count)| (*count, Reverse(*step)));
        Self { keys, forms, lines, step: step.map_or(2, |(step, _)| step.max(1)) }
    }

    /// How well a line stands at a column compared with where it is, itself not counted.
    fn fit(&self, line: Line<'s>, to: usize, source: &'s str) -> Fit {
        let key = key(line, source);
        let (there, here) = (self.keys.get(&(key, to)), self.keys.get(&(key, line.indent)));
        let form = Form::of(line);
        let next = content_after(line, source).map_or(0, |next| next.indent);
        Fit {
            keys: more(there, here),
            in_step: !line.indent.is_multiple_of(self.step) && to.is_multiple_of(self.step),
            above_its_own: if form == Form::Open { next == to + self.step } else { next <= to },
            comes_to_its_own: form == Form::Open && next == to + self.step && next > line.indent + self.step,
            forms: more(self.forms.get(&(form, to)), self.forms.get(&(form, line.indent))),
            lines: more(self.lines.get(&to), self.lines.get(&line.indent)),
        }
    }
}

/// How many more there are where a line would be than where it is.
fn more(there: Option<&usize>, here: Option<&usize>) -> i64 {
    let count = |number: usize| i64::try_from(number).unwrap_or(i64::MAX);
    count(there.copied().unwrap_or(0)) - count(here.copied().unwrap_or(1).saturating_sub(1))
}

/// What speaks for a shift.
#[derive(Clone, Copy, Debug)]
struct Fit {
    keys: i64,
    in_step: bool,
    above_its_own: bool,
    comes_to_its_own: bool,
    forms: i64,
    lines: i64,
}

impl Fit {
    fn order(self) -> impl Ord {
        Reverse((self.keys > 0, self.in_step, self.above_its_own, self.forms, self.lines))
    }
}

fn key<'s>(line: Line, source: &'s str) -> &'s str {
    source.get(line.key()).unwrap_or("")
}

/// The next line with content.
pub(super) fn content_after<'s>(line: Line<'s>, source: &'s str) -> Option<Line<'s>> {
    let after = std::iter::successors(line.after(source), |line| line.after(source));
    after.take(MOST_LINES).find(|line| line.has_content())
}

/// A shift that may be what was meant.
#[derive(Clone, Copy, Debug)]
pub(super) struct Candidate {
    pub(super) shift: Shift,
    /// How much more often the same key stands where it would be than where it is.
    pub(super) keys: i64,
    /// Whether something else speaks for it: there are more lines of its form where it would be, it would stand right
    /// above what belongs to it, or, for a key that was forgotten, there is no other line above.
    pub(super) suits_better: bool,
}

/// What may have been meant, given the line that fits nowhere: it, or a line before it, begins elsewhere.
pub(super) fn candidates<'s>(line: Line<'s>, source: &'s str, columns: &Columns<'s>) -> Vec<Candidate> {
    let around = Around::of(line, source);
    let mut moved: Vec<(Line, usize)> = Vec::new();
    let mut add = |line: Line<'s>, to: usize| {
        let is_near = line.indent != to && line.indent.abs_diff(to) <= MOST_COLUMNS;
        if is_near && !moved.iter().any(|(other, column)| (other.start, *column) == (line.start, to)) {
            moved.push((line, to));
        }
    };
    for earlier in [Some(line), around.before, around.first_within, around.above].into_iter().flatten() {
        add(earlier, line.indent);
        let above = Around::of(earlier, source);
        above.open.iter().for_each(|column| add(earlier, *column));
        if above.before.is_none() {
            add(earlier, 0);
        }
        if let Some(key) = above.before.filter(|before| Form::of(*before) == Form::Open) {
            add(earlier, key.indent + columns.step);
        }
    }
    let mut fits: Vec<_> =
        moved.into_iter().map(|(line, to)| (columns.fit(line, to, source), Shift::of(line, to))).collect();
    sort::by_key(&mut fits, |(fit, _)| fit.order());
    fits.truncate(MOST_SHIFTS);
    fits.into_iter()
        .map(|(fit, shift)| Candidate {
            shift,
            keys: fit.keys,
            suits_better: fit.forms > 0 || fit.comes_to_its_own,
        })
        .collect()
}

/// Where one line may have been meant to begin, whatever stands before it; the likeliest first: where its key stands
/// elsewhere, then from the inside.
pub(super) fn columns_of<'s>(line: Line<'s>, source: &'s str, columns: &Columns<'s>) -> Vec<usize> {
    let around = Around::of(line, source);
    let below = around.before.filter(|before| Form::of(*before) == Form::Open);
    let mut found: Vec<usize> = below.map(|key| key.indent + columns.step).into_iter().collect();
    found.extend(around.open.iter().copied().filter(|column| !found.contains(column)).collect::<Vec<_>>());
    if found.is_empty() {
        found.push(0);
    }
    sort::by_key(&mut found, |to| columns.fit(line, *to, source).keys <= 0);
    found.truncate(MOST_SHIFTS);
    found
}

/// The keys whose line may have been forgotten: above the line that fits nowhere, or above those directly before it that
/// begin further in.
pub(super) fn forgotten_keys<'s>(line: Line<'s>, source: &'s str, columns: &Columns<'s>) -> Vec<Candidate> {
    let around = Around::of(line, source);
    let mut found = Vec::new();
    let mut add = |line: Line, column: usize| {
        let shift = Shift { key_above: Some(column), ..Shift::of(line, line.indent) };
        found.extend((column < line.indent).then_some(Candidate {
            shift,
            keys: 0,
            suits_better: around.before.is_none(),
        }));
    };
    if let Some(first) = around.first_within {
        add(first, line.indent);
    }
    if around.before.is_none() {
        add(line, 0);
    }
    if let Some(outer) = around.open.iter().copied().find(|column| *column < line.indent) {
        let is_its_own = |key: Line| key.indent == outer && Form::of(key) == Form::Open;
        add(line, if around.before.is_some_and(is_its_own) { outer + columns.step } else { outer });
    }
    found
}

/// The lines before one that decide where it may begin.
struct Around<'s> {
    /// The last one.
    before: Option<Line<'s>>,
    /// The first of those directly before it that begin further in.
    first_within: Option<Line<'s>>,
    /// The one before those.
    above: Option<Line<'s>>,
    /// Where what is still open begins, from the inside.
    open: Vec<usize>,
}

impl<'s> Around<'s> {
    fn of(line: Line<'s>, source: &'s str) -> Self {
        let earlier = std::iter::successors(line.before(source), |line| line.before(source));
        let mut earlier = earlier.take(MOST_LINES).filter(|line| line.has_content()).peekable();
        let before = earlier.peek().copied();
        let mut around = Self { before, first_within: None, above: None, open: Vec::new() };
        let mut levels_out = 0;
        for earlier in earlier {
            if around.open.last().is_none_or(|column| earlier.indent < *column) {
                around.open.push(earlier.indent);
                levels_out += usize::from(earlier.indent < line.indent);
            }
            if earlier.indent <= line.indent {
                around.above = around.above.or(Some(earlier));
            } else if around.above.is_none() {
                around.first_within = Some(earlier);
            }
            if earlier.indent == 0 || levels_out >= MOST_LEVELS {
                break;
            }
        }
        around
    }
}
