//! A text that is being read around its faults: what is left out of it, which lines are moved, and what comes of it.

use super::around::Judge;
use super::brackets;
use super::build::Builder;
use super::diagnose::Line;
use super::disguised;
use super::events::{Refused, parse_text};
use super::merge;
use super::realign::{self, Candidate, Columns};
use super::region::{Region, entry_at, outwards, without};
use super::shift::{self, Shift, Shifts};
use super::tabs;
use super::tree::Tree;
use crate::sort;
use crate::source::place::narrow;
use crate::source::{FileId, Limits, Place, Problem, Shape, SyntaxFault};
use rustc_hash::FxHashSet;
use std::cmp::Reverse;

/// Bytes that are parsed again at most, over all attempts.
const MOST_BYTES: usize = 8 << 20;

/// Steps outwards for one fault.
const MOST_STEPS: usize = 6;

/// What came of reading a text.
pub(super) type Read = Result<Sound, Refused>;

/// A tree, and what is told of it.
type Sound = (Tree, Vec<Problem>);

/// A text and what is known by now of how to read it.
pub(super) struct Reading<'s> {
    source: &'s str,
    file: FileId,
    limits: &'s Limits,
    judge: Option<Judge<'s>>,
    /// What is left out.
    regions: Vec<Region>,
    /// Lines that are read as if they began elsewhere.
    shifts: Vec<Shift>,
    columns: Option<Columns<'s>>,
    bytes_left: usize,
}

/// What an attempt does to a text.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Means {
    /// Moves a line.
    Move,
    /// Moves a line to where its key stands less often than where it is.
    UnusualMove,
    /// Puts a key above a line.
    Key,
}

/// What came of reading with lines moved, and how good it is.
struct Attempt {
    read: Read,
    /// Where it ended.
    reach: usize,
    /// What is wrong all the same.
    wrong: Vec<Problem>,
}

/// The same for one line moved.
struct Trial {
    candidate: Candidate,
    attempt: Attempt,
}

impl Attempt {
    /// The more, the better.
    fn order(&self) -> impl Ord + use<> {
        (self.reach, Reverse(self.wrong.len()))
    }

    /// Whether all of the text was read.
    fn is_whole(&self) -> bool {
        self.reach == usize::MAX
    }

    /// Whether there is no need to look for another.
    fn is_fair(&self) -> bool {
        self.is_whole() && self.wrong.len() < 2
    }

    /// Whether it is so much better than another that it does not only hide a mistake.
    fn is_much_better(&self, other: &Self) -> bool {
        self.reach > other.reach || (self.reach == other.reach && self.wrong.len() + 1 < other.wrong.len())
    }
}

impl<'s> Reading<'s> {
    pub(super) fn of(source: &'s str, file: FileId, limits: &'s Limits, judge: Option<Judge<'s>>) -> Self {
        Self {
            source,
            file,
            limits,
            judge,
            regions: Vec::new(),
            shifts: Vec::new(),
            columns: None,
            bytes_left: MOST_BYTES,
        }
    }

    /// What makes no sense in a tree.
    pub(super) fn judged(&self, tree: &Tree) -> Vec<Problem> {
        self.judge.map(|judge| judge(tree)).unwrap_or_default()
    }

    /// Reads on with lines moved that begin too far left or right, or with a tab, if that is what is wrong.
    pub(super) fn align(&mut self, fault: &Problem) -> Option<(Problem, Read)> {
        if let Problem::Tab { place, .. } = fault {
            return self.untab(*place);
        }
        #[allow(clippy::wildcard_enum_match_arm, reason = "those that moving lines may help")]
        match fault {
            Problem::Syntax { place, fault: SyntaxFault::Indentation } => {
                self.align_line(Line::at(self.source, place.start as usize))
            }
            Problem::Syntax { place, fault: SyntaxFault::StrayDash { .. } } => self.without_dash(*place),
            Problem::Syntax { place, fault: SyntaxFault::NoBreakSpace { .. } } => {
                let (told, read) = self.untab(*place)?;
                let meant = if let Problem::Tab { meant, .. } = told { meant } else { None };
                Some((Problem::Syntax { place: *place, fault: SyntaxFault::NoBreakSpace { meant } }, read))
            }
            Problem::Syntax { fault: SyntaxFault::WrongBracket { .. }, place } => self.close(*place),
            Problem::Syntax { fault: SyntaxFault::StrayComma, place } => {
                self.regions.push(Region::blank(place.start as usize, place.end as usize));
                self.parse().map(|read| (fault.clone(), read))
            }
            Problem::Syntax { fault: SyntaxFault::Slashes, place } => {
                self.regions.extend(disguised::comments(self.source, place.start as usize));
                self.parse().map(|read| (fault.clone(), read))
            }
            Problem::Syntax { fault: SyntaxFault::Unmerged, .. } => {
                self.regions.extend(merge::other_sides(self.source));
                self.parse().map(|read| (fault.clone(), read))
            }
            _ => None,
        }
    }

    /// The next line of those that the parser takes for something else.
    pub(super) fn disguised(&self) -> Option<Problem> {
        let (text, _) = without(self.source, &self.regions);
        let shifted: FxHashSet<usize> = self.shifts.iter().map(|shift| shift.start).collect();
        let (fault, span) = disguised::first(&text, |start| shifted.contains(&start))?;
        let place = Place { file: self.file, start: narrow(span.start), end: narrow(span.end) };
        Some(Problem::Syntax { place, fault })
    }

    /// Reads on without the dash in front of a key, which then begins where the dash does.
    fn without_dash(&mut self, dash: Place) -> Option<(Problem, Read)> {
        let line = Line::at(self.source, dash.start as usize);
        let (start, width) = (dash.end as usize, dash.end.saturating_sub(dash.start) as usize);
        let shift = Shift { start, from: line.indent + width, to: line.indent, key_above: None };
        let beyond = realign::content_after(line, self.source).unwrap_or(line).span().end;
        let attempt = self.attempt(&[shift]).filter(|attempt| attempt.reach > beyond)?;
        self.shifts.push(shift);
        Some((
            Problem::Syntax { place: dash, fault: SyntaxFault::StrayDash { before_key: true } },
            attempt.read,
        ))
    }

    /// Reads on as if the bracket that closes one of the other kind were its partner; where that does not help, the
    /// partner is missing, and what closes belongs to a bracket around it.
    fn close(&mut self, opened: Place) -> Option<(Problem, Read)> {
        let start = opened.start as usize;
        if let Some((at, meant)) = brackets::wrong_partner(self.source, start) {
            let line = Line::at(self.source, at);
            let beyond = realign::content_after(line, self.source).unwrap_or(line).span().end;
            self.regions.push(Region::bracket(at, meant));
            match self.parse()? {
                Err(refused) if refused.at() <= beyond => self.regions.truncate(self.regions.len() - 1),
                read => {
                    let place = Place { start: narrow(at), end: narrow(at + 1), ..opened };
                    let fault = SyntaxFault::WrongBracket { meant: Some(meant) };
                    return Some((Problem::Syntax { place, fault }, read));
                }
            }
        }
        let told = Problem::Syntax { place: opened, fault: SyntaxFault::UnclosedBracket };
        self.leave_out(start).map(|read| (told, read))
    }

    fn align_line(&mut self, line: Line<'s>) -> Option<(Problem, Read)> {
        let beyond = realign::content_after(line, self.source).unwrap_or(line).span().end;
        let is_good = |trial: &Trial| trial.attempt.reach > beyond;
        let mut found = self.best(line, Means::Move, is_good);
        for means in [Means::UnusualMove, Means::Key] {
            // Unjudged, an unusual move is as good as none.
            let is_done = found.as_ref().is_some_and(|best| best.attempt.is_fair());
            if !is_done && (means == Means::Key || self.judge.is_some()) {
                let other = self.best(line, means, is_good);
                found = match (found, other) {
                    (Some(found), Some(other)) if other.attempt.is_much_better(&found.attempt) => Some(other),
                    (found, other) => found.or(other),
                };
            }
        }
        let trial = found?;
        Some((self.keep(trial.candidate.shift), trial.attempt.read))
    }

    /// Reads on with spaces instead of tabs before a line, and before those behind it that begin with tabs as well.
    fn untab(&mut self, place: Place) -> Option<(Problem, Read)> {
        let lines = tabs::lines(self.source, place.start as usize);
        let first = *lines.first()?;
        let beyond = realign::content_after(first, self.source).unwrap_or(first).span().end;
        let columns = self.columns.take().unwrap_or_else(|| Columns::of(self.source));
        let attempts = tabs::attempts(&lines, self.source, &columns);
        self.columns = Some(columns);
        let mut best: Option<(Vec<Shift>, Attempt)> = None;
        for shifts in attempts {
            let Some(attempt) = self.attempt(&shifts) else { continue };
            let is_better = best.as_ref().is_none_or(|(_, best)| attempt.order() > best.order());
            if attempt.reach > beyond && is_better {
                best = Some((shifts, attempt));
            }
        }
        let (shifts, attempt) = best?;
        let meant = shifts.first().filter(|_| shifts.len() == 1).map(|shift| shift.to);
        self.shifts.extend(shifts);
        Some((Problem::Tab { place, meant }, attempt.read))
    }

    /// Reads with one line moved where that explains what is wrong, looking at the first lines with something wrong.
    pub(super) fn explain(&mut self, wrong: &[Problem], most_lines: usize) -> Option<(Problem, Sound)> {
        self.judge?;
        let mut lines: Vec<(Line, &Problem)> = Vec::new();
        for problem in wrong {
            let line = Line::at(self.source, problem.place().start as usize);
            if lines.len() < most_lines && !lines.iter().any(|(other, _)| other.start == line.start) {
                lines.push((line, problem));
            }
        }
        let source = self.source;
        let is_in_braces = |line: &Line, problem: &Problem| {
            let before = source.get(line.start..problem.place().start as usize);
            before.is_some_and(|before| before.contains('{'))
        };
        for means in [Means::Move, Means::Key, Means::UnusualMove] {
            for (line, problem) in &lines {
                // A key that is not known, or missing, may as well be misspelt.
                let is_doubtful = matches!(
                    problem,
                    Problem::UnknownKey { .. } | Problem::MissingKey { .. } | Problem::HeadingLeftOut { .. }
                );
                // A key that has more behind it than a value belongs where it stands.
                let is_value = matches!(problem, Problem::WrongShape { expected: Shape::Text, .. });
                let explains =
                    |trial: &Trial| match (means, wrong.len().saturating_sub(trial.attempt.wrong.len())) {
                        (_, 0) | (Means::Key, 1) => false,
                        // What is wrong between braces has no line above it missing.
                        (Means::Key, _) if is_in_braces(line, problem) => false,
                        (Means::Move, 1) => {
                            !is_doubtful || trial.candidate.keys > 0 || trial.candidate.suits_better
                        }
                        (Means::Key, _) => !is_doubtful && !is_value || trial.candidate.suits_better,
                        (Means::UnusualMove, 1) => !is_doubtful,
                        (Means::Move | Means::UnusualMove, _) => true,
                    };
                if let Some(Trial { candidate, attempt: Attempt { read: Ok(sound), .. } }) =
                    self.best(*line, means, explains)
                {
                    return Some((self.keep(candidate.shift), sound));
                }
            }
        }
        None
    }

    /// The best of all attempts that are good enough.
    fn best(&mut self, line: Line<'s>, means: Means, is_good: impl Fn(&Trial) -> bool) -> Option<Trial> {
        let columns = self.columns.take().unwrap_or_else(|| Columns::of(self.source));
        let mut candidates = match means {
            Means::Move | Means::UnusualMove => realign::candidates(line, self.source, &columns),
            Means::Key => realign::forgotten_keys(line, self.source, &columns),
        };
        self.columns = Some(columns);
        candidates.retain(|candidate| (candidate.keys < 0) == (means == Means::UnusualMove));
        let mut best: Option<Trial> = None;
        for candidate in candidates {
            let Some(attempt) = self.attempt(&[candidate.shift]) else { continue };
            let trial = Trial { candidate, attempt };
            let moved = Line::at(self.source, trial.candidate.shift.start);
            let is_wrong_there = trial.attempt.wrong.iter().any(|problem| {
                let at = problem.place().start as usize;
                moved.span().contains(&at) || line.span().contains(&at)
            });
            let is_best = trial.attempt.is_whole() && trial.attempt.wrong.is_empty();
            let is_better = best.as_ref().is_none_or(|best| trial.attempt.order() > best.attempt.order());
            if !is_wrong_there && is_better && is_good(&trial) {
                best = Some(trial);
                if is_best {
                    break;
                }
            }
        }
        best
    }

    fn attempt(&mut self, shifts: &[Shift]) -> Option<Attempt> {
        // A line is moved once.
        let line = |shift: &Shift| shift.start.saturating_sub(shift.from);
        let moved: FxHashSet<usize> = self.shifts.iter().map(line).collect();
        if shifts.iter().any(|shift| moved.contains(&line(shift))) {
            return None;
        }
        let before = self.shifts.len();
        self.shifts.extend_from_slice(shifts);
        let read = self.parse();
        self.shifts.truncate(before);
        let read = read?;
        let (reach, wrong) = match &read {
            Ok((tree, told)) => (usize::MAX, told.iter().cloned().chain(self.judged(tree)).collect()),
            Err(refused) => (refused.at(), refused.earlier().to_vec()),
        };
        Some(Attempt { read, reach, wrong })
    }

    /// Reads the line so from now on, and gives the fault to tell.
    fn keep(&mut self, shift: Shift) -> Problem {
        self.shifts.push(shift);
        let key = Line::at(self.source, shift.start).key();
        let place = Place { file: self.file, start: narrow(key.start), end: narrow(key.end) };
        let fault = match shift.key_above {
            Some(spaces) => SyntaxFault::ForgottenKey { spaces },
            None => SyntaxFault::Column { spaces: shift.from, meant: shift.to },
        };
        Problem::Syntax { place, fault }
    }

    /// Reads on without the entry that has a byte or, where that does not help, without one around it.
    pub(super) fn leave_out(&mut self, byte: usize) -> Option<Read> {
        let before = self.regions.len();
        let mut next = Some(entry_at(self.source, byte));
        for _ in 0..MOST_STEPS {
            let region = next?;
            self.regions.truncate(before);
            self.regions.retain(|earlier| earlier.start < region.start || earlier.start >= region.end);
            self.regions.push(region);
            match self.parse()? {
                Err(refused) if refused.at() < region.end => next = outwards(self.source, region),
                read => return Some(read),
            }
        }
        None
    }

    /// Reads the text as it is known by now; nothing when too much has been read already.
    pub(super) fn parse(&mut self) -> Option<Read> {
        self.bytes_left = self.bytes_left.checked_sub(self.source.len())?;
        let (text, holes) = without(self.source, &self.regions);
        // A side of a merge may stand for anything.
        let is_cut = !self.regions.is_empty();
        if self.shifts.is_empty() {
            let builder = Builder::new(self.source, self.file, self.limits).around(&holes);
            let read = parse_text(&text, builder, self.limits);
            return Some(
                read.map(|(tree, told)| (Tree { is_partial: tree.is_partial || is_cut, ..tree }, told)),
            );
        }
        let mut sorted = self.shifts.clone();
        sort::by_key(&mut sorted, |shift| shift.start);
        let shifts = Shifts::new(&sorted);
        let holes = shifts.holes(&holes);
        let source = shift::apply(self.source, &sorted);
        let builder = Builder::new(&source, self.file, self.limits).around(&holes).shifted(&shifts);
        Some(parse_text(&shift::apply(&text, &sorted), builder, self.limits))
    }
}
