//! In which notation a house writes its addresses: as `notation` says, unless its addresses say otherwise as one.

use super::problem::{Problem, ProblemKind};
use crate::house::House;
use crate::house::model::{Appliance, NotationWord, OneOrMany, Point};
use crate::knx::Notation;
use crate::pieces;
use crate::source::Given;

/// Fewer addresses than this say nothing against what is written.
const FEWEST: usize = 4;
/// Of so many addresses one may be mistyped.
const ONE_IN: usize = 10;

/// The notation to read a house in. Where nearly all addresses are written in another one than `notation` says, that
/// one, and a problem: one word is wrong then, and not every address. Where `notation` could not be read, which was told,
/// the one that most addresses are in.
pub(super) fn notation(house: &House) -> (Notation, Option<Problem>) {
    let given = &house.head.notation;
    let written = given.value().map_or(Notation::ThreeLevel, |word| match word {
        NotationWord::ThreeLevel => Notation::ThreeLevel,
        NotationWord::TwoLevel => Notation::TwoLevel,
        NotationWord::Free => Notation::Free,
    });
    let forms = Forms::of(house);
    let (seen, count) = forms.most();
    if matches!(given, Given::Broken(_)) {
        return (seen, None);
    }
    let others = forms.all() - count;
    if seen == written || count < FEWEST || others * ONE_IN > forms.all() {
        return (written, None);
    }
    let place = given.place().or(house.head_place).unwrap_or(house.root);
    let kind =
        ProblemKind::WrongNotation { written: given.value().map(|_| written), seen, count, of: forms.all() };
    (seen, Some(Problem { place, appliance: None, room: None, kind }))
}

/// How many addresses of a description are written in each notation.
#[derive(Default)]
struct Forms {
    three: usize,
    two: usize,
    free: usize,
}

impl Forms {
    fn of(house: &House) -> Self {
        let counted = pieces::ranges(house.rooms.len(), pieces::HEAVY, |range| {
            let mut forms = Self::default();
            let rooms = house.rooms.get(range).unwrap_or_default().iter();
            let rooms = rooms.filter_map(|(_, room)| room.appliances.value());
            for (_, appliance) in rooms.flat_map(|appliances| appliances.sound()) {
                forms.add_appliance(&appliance.value);
            }
            forms
        });
        counted.into_iter().fold(Self::default(), |one, other| Self {
            three: one.three + other.three,
            two: one.two + other.two,
            free: one.free + other.free,
        })
    }

    fn add_appliance(&mut self, appliance: &Appliance) {
        for (_, point) in appliance.points.value().into_iter().flat_map(|points| points.sound()) {
            self.add_point(&point.value);
        }
    }

    fn add_point(&mut self, point: &Point) {
        for text in [&point.command, &point.feedback].into_iter().filter_map(Given::value) {
            self.add(text);
        }
        match point.listens.value() {
            Some(OneOrMany::One(text)) => self.add(text),
            Some(OneOrMany::Many(texts)) => texts.iter().for_each(|text| self.add(&text.value)),
            None => {}
        }
    }

    fn add(&mut self, text: &str) {
        let (mut parts, mut between) = (1, true);
        for byte in text.bytes() {
            match byte {
                b'0'..=b'9' => between = false,
                b'/' if !between => (parts, between) = (parts + 1, true),
                _ => return,
            }
        }
        match parts {
            _ if between => {}
            1 => self.free += 1,
            2 => self.two += 1,
            3 => self.three += 1,
            _ => {}
        }
    }

    fn all(&self) -> usize {
        self.three + self.two + self.free
    }

    /// The notation of most, and how many these are; the usual one where two have as many.
    fn most(&self) -> (Notation, usize) {
        let mut most = (Notation::ThreeLevel, self.three);
        for (notation, count) in [(Notation::TwoLevel, self.two), (Notation::Free, self.free)] {
            if count > most.1 {
                most = (notation, count);
            }
        }
        most
    }
}
