//! What the words of a row say in the words of the trade: which points they name, and whether it is a status.

use super::tokens::{PerWord, Tokens, Word};
use super::vocabulary::{Meaning, Vocabulary};
use super::wires::{Function, Wires};
use std::cmp::Ordering;

/// The bit of a status; those below are kinds of weather and points.
const STATUS: u32 = 127;

/// The bits of wind and of rain.
const WIND: u32 = 126;
const RAIN: u32 = 125;

/// The bit of a status in the house's own words. Those of the trade say more: a status that names no point is that of
/// switching, if the language of the points is known.
const ANSWER: u32 = 124;

/// So many points have a bit, half as many again as all classes of the program have together; in a house of more own ones
/// the last say nothing.
const POINTS: usize = 124;

/// What an alarm is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weather {
    /// Wind.
    Wind,
    /// Rain.
    Rain,
}

impl Weather {
    /// What a point is told of.
    pub fn of(point: &str) -> Option<Self> {
        match point {
            "wind-alarm" => Some(Self::Wind),
            "rain-alarm" | "rain" => Some(Self::Rain),
            _ => None,
        }
    }
}

/// Points and a status, a bit for each.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Said(u128);

impl Said {
    pub(super) fn is_status(self) -> bool {
        self.0 & (1 << STATUS | 1 << ANSWER) != 0
    }

    /// Whether it names one of these points.
    pub(super) fn names(self, points: u128) -> bool {
        self.0 & points != 0
    }

    fn points(self) -> u128 {
        self.0 & ((1 << POINTS) - 1)
    }

    /// A status of nothing else is that of switching.
    fn or(self, switching: u128) -> Self {
        let is_status = self.0 >> STATUS != 0;
        if is_status && self.points() == 0 { Self(self.0 | switching) } else { self }
    }

    fn and(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }
}

/// What every word of a house says.
#[derive(Debug, Default)]
pub(super) struct Speech {
    words: PerWord<u128>,
    /// The bit of each function's point.
    points: Vec<u128>,
    /// For each bit of a point, the points that have all of its words too.
    wider: Vec<u128>,
    /// What a status is of that names no point.
    switching: u128,
}

/// What words of a row say that its neighbour does not have, or that both have.
#[derive(Clone, Copy, Debug, Default)]
struct Share {
    said: Said,
    /// The same without the words that name the appliance.
    besides: Said,
    /// Has a word that is neither the trade's nor for a function.
    strange: bool,
    /// Has a word for a function that the trade does not know.
    unknown: bool,
}

/// What tells two rows apart.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Apart {
    one: Share,
    other: Share,
    both: Share,
    /// What a status is of that names no point.
    switching: u128,
}

impl Speech {
    /// `answers` are the words that the house itself has for a status.
    pub(super) fn of(
        wires: &Wires,
        tokens: &Tokens,
        vocabulary: &Vocabulary,
        answers: &PerWord<bool>,
    ) -> Self {
        let mut names: Vec<&str> = Vec::new();
        let mut points = Vec::new();
        let bit = |place: usize| if place < POINTS { 1_u128 << place } else { 0 };
        for (_, point, _) in wires.functions() {
            let place = names.iter().position(|name| *name == point).unwrap_or_else(|| {
                names.push(point);
                names.len() - 1
            });
            points.push(bit(place));
        }
        let named = |point: &str| names.iter().position(|name| *name == point).map_or(0, bit);
        let said = |meaning: &Meaning| {
            let status = u128::from(meaning.status) << STATUS;
            let said = |point: &String| match Weather::of(point) {
                Some(Weather::Wind) => named(point) | 1 << WIND,
                Some(Weather::Rain) => named(point) | 1 << RAIN,
                None => named(point),
            };
            meaning.points.iter().fold(status, |all, point| all | said(point))
        };
        let of_word = |(word, text): (Word, &str)| {
            vocabulary.of(text).map_or(0, said) | u128::from(answers.of(word)) << ANSWER
        };
        let words = tokens.words().map(of_word).collect();
        let mut wider = vec![u128::MAX; names.len()];
        for meaning in vocabulary.meanings().filter(|meaning| !meaning.points.is_empty()) {
            let all = said(meaning);
            for (place, wider) in wider.iter_mut().enumerate().filter(|(place, _)| all & bit(*place) != 0) {
                *wider &= all & !bit(place);
            }
        }
        Self { words: PerWord::with(words), points, wider, switching: named("switching") }
    }

    /// The point of a function, as a bit.
    pub(super) fn point(&self, function: Function) -> u128 {
        self.points.get(function.0 as usize).copied().unwrap_or(0)
    }

    /// The one kind of weather that words name.
    pub(super) fn weather(&self, words: &[Word]) -> Option<Weather> {
        let Said(said) = self.said(words);
        match (said >> WIND & 1, said >> RAIN & 1) {
            (1, 0) => Some(Weather::Wind),
            (0, 1) => Some(Weather::Rain),
            _ => None,
        }
    }

    /// What the words of a row say together.
    pub(super) fn said(&self, words: &[Word]) -> Said {
        Said(words.iter().fold(0, |said, word| said | self.words.of(*word))).or(self.switching)
    }

    /// What tells two rows apart, by their words in order, for two points of an appliance. `known` says of a word whether it
    /// names the appliance, and whether it is for a function.
    pub(super) fn apart(
        &self,
        [one, other]: [&[Word]; 2],
        points: [u128; 2],
        known: impl Fn(Word) -> (bool, bool),
    ) -> Apart {
        let mut apart = Apart::default();
        let (narrower, wider) = self.nested(points);
        let (mut one, mut other) = (one.iter().peekable(), other.iter().peekable());
        loop {
            let order = match (one.peek(), other.peek()) {
                (Some(a), Some(b)) => a.cmp(b),
                (Some(_), None) => Ordering::Less,
                (None, Some(_)) => Ordering::Greater,
                (None, None) => break,
            };
            let (share, word) = match order {
                Ordering::Less => (&mut apart.one, one.next()),
                Ordering::Greater => (&mut apart.other, other.next()),
                Ordering::Equal => {
                    other.next();
                    (&mut apart.both, one.next())
                }
            };
            if let Some(&word) = word {
                let said = self.words.of(word);
                let said = if said & narrower == 0 { said } else { said & !wider };
                share.add(Said(said), known(word));
            }
        }
        apart.switching = self.switching;
        apart
    }

    /// Of two points the narrower and the wider one, which has all words of the first and more: what both may be called is
    /// said of the first, where an appliance has both. A gate that is "open" is so by the contact of that end.
    fn nested(&self, [one, other]: [u128; 2]) -> (u128, u128) {
        let is_wider = |wide: u128, narrow: u128| {
            narrow != 0 && self.wider.get(narrow.trailing_zeros() as usize).is_some_and(|all| all & wide != 0)
        };
        match (is_wider(one, other), is_wider(other, one)) {
            (true, false) => (other, one),
            (false, true) => (one, other),
            _ => (0, 0),
        }
    }
}

impl Share {
    fn add(&mut self, said: Said, (is_own, is_function): (bool, bool)) {
        self.said = self.said.and(said);
        if !is_own {
            self.besides = self.besides.and(said);
        }
        self.strange |= said == Said::default() && !is_function;
        self.unknown |= said == Said::default() && is_function;
    }
}

impl Apart {
    /// Whether the row of a point's command says that it is a status and that of its feedback does not; `first` when the
    /// command is the first of the two.
    pub(super) fn ends_crossed(&self, first: bool, point: u128) -> bool {
        let (command, feedback) = if first { (self.one, self.other) } else { (self.other, self.one) };
        let another = |share: Share| share.besides.points() != 0 && !share.besides.names(point);
        let status = command.besides.is_status() && !feedback.said.is_status();
        // "Valeur retour" and "valeur commande": both say which point it is, and one word more is no other one.
        let alike = self.both.besides.names(point) || !(another(command) || another(feedback));
        status && !self.is_strange() && !another(self.both) && alike
    }

    /// Whether each row names the point of the other end and not that of its own: by the words that the other row does not
    /// have, or, where one row has no more than the other, by those of both.
    pub(super) fn points_crossed(&self, one: u128, other: u128) -> bool {
        let names = |said: Said, point: u128, not: u128| said.names(point) && !said.names(not);
        let whole = |share: Share| if share.unknown { share.said } else { share.said.or(self.switching) };
        let each = names(whole(self.one), other, one) && names(whole(self.other), one, other);
        let nothing = |share: Share| share.said.points() == 0 && !share.unknown;
        let both = if self.both.unknown { self.both.besides } else { self.both.besides.or(self.switching) };
        let first = nothing(self.other) && names(self.one.besides, other, one) && names(both, one, other);
        let second = nothing(self.one) && names(self.other.besides, one, other) && names(both, other, one);
        !self.is_strange() && (each || first || second)
    }

    fn is_strange(&self) -> bool {
        self.one.strange || self.other.strange
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::classes::ClassLibrary;
    use std::collections::BTreeSet;

    #[test]
    fn every_point_of_every_class_has_a_bit_in_one_house() {
        let library = ClassLibrary::built_in();
        let classes: Vec<_> = library.names().into_iter().filter_map(|name| library.get(name)).collect();
        let points = classes.iter().flat_map(|class| &class.points).map(|point| point.name.as_str());
        let points: BTreeSet<&str> = points.collect();
        assert!((70..POINTS).contains(&points.len()), "{}", points.len());
    }
}
