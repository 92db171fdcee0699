//! One floor that rooms spell in several ways.

use crate::findings::{Certainty, Severity};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::Spanned;
use crate::survey::names;
use rustc_hash::FxHashMap;
use std::collections::BTreeMap;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "floor-spelt-differently",
        family: Family::Naming,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "a room spells its floor in another way than the others",
        on_site: "People find the room on a floor of its own.",
        remedy: "Spell the floor as the other rooms do.",
        source: Source::CommonPractice,
        frame: Frame::Rooms,
        bad: "\
attic:
  name: Attic
  floor: Upper floor
  appliances:
    lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
study:
  name: Study
  floor: Upper floor
  appliances:
    spot: { name: Spot, class: on-off-light, points: { switching: { command: 1/1/2, feedback: 1/4/2 } } }
loft:
  name: Loft
  floor: upper-floor
  #      ^^^^^^^^^^^
  appliances:
    lantern: { name: Lantern, class: on-off-light, points: { switching: { command: 1/1/3, feedback: 1/4/3 } } }
",
        good: "\
attic:
  name: Attic
  floor: Upper floor
  appliances:
    lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
study:
  name: Study
  floor: Upper floor
  appliances:
    spot: { name: Spot, class: on-off-light, points: { switching: { command: 1/1/2, feedback: 1/4/2 } } }
loft:
  name: Loft
  floor: Upper floor
  appliances:
    lantern: { name: Lantern, class: on-off-light, points: { switching: { command: 1/1/3, feedback: 1/4/3 } } }
",
        folds: &[],
    },
    look: Look::Whole(look),
};

/// A spelling: how many rooms have it, and the first place of it.
type Spelling<'a> = (usize, &'a Spanned<String>);

fn look(context: &Context<'_>, report: &mut Report) {
    let floors = || context.plan.rooms.iter().filter_map(|room| Some((room, room.floor.as_ref()?)));
    // Most rooms of a house have a floor that another one has: the texts are looked at once each.
    let mut spellings: BTreeMap<&str, Spelling<'_>> = BTreeMap::new();
    for (_, floor) in floors() {
        spellings.entry(floor.value.trim()).or_insert((0, floor)).0 += 1;
    }
    let mut usual: FxHashMap<String, Spelling<'_>> = FxHashMap::default();
    for (text, (count, first)) in &spellings {
        let known = usual.entry(heard(text)).or_insert((*count, *first));
        // Of two that as many rooms have, the one that stands first.
        let order = |(count, first): &Spelling<'_>| (std::cmp::Reverse(*count), first.place);
        if order(&(*count, *first)) < order(known) {
            *known = (*count, *first);
        }
    }
    let slips = slips(&spellings);
    if usual.len() == spellings.len() && slips.is_empty() {
        return;
    }
    for (room, floor) in floors() {
        let text = floor.value.trim();
        let slip = slips.get(text).copied();
        let Some(right) = slip.or_else(|| usual.get(&heard(text)).map(|(_, right)| *right)) else { continue };
        let right_text = right.value.trim();
        if right_text == text {
            continue;
        }
        let message = format!("the floor of `{}` is `{right_text}` elsewhere", room.key.value);
        let said = Said::new(message, floor.place, "spelt in another way")
            .with(right.place, "the first of the others")
            .about_room(&room.key.value)
            .rename(right_text, Certainty::ToBeLookedAt);
        report.add(&RULE.card, said);
    }
}

/// A house of more floors is not looked at: each would be compared with each.
const MOST: usize = 64;

/// Shorter words with another letter are other words.
const SHORTEST: usize = 5;

/// Floors of one room that are a slip of the finger away from one that several rooms have, each with that one.
fn slips<'a>(spellings: &BTreeMap<&'a str, Spelling<'a>>) -> FxHashMap<&'a str, &'a Spanned<String>> {
    if spellings.len() > MOST {
        return FxHashMap::default();
    }
    let lone = spellings.iter().filter(|(_, (count, _))| *count == 1);
    let slip = |(text, _): (&&'a str, _)| {
        let mut right = spellings.iter().filter(|(other, (count, _))| *count > 1 && is_slip(text, other));
        let first = right.next()?;
        right.next().is_none().then_some((*text, first.1.1))
    };
    lone.filter_map(slip).collect()
}

/// Whether two floors differ in one letter of one longer word, or in the order of two.
fn is_slip(one: &str, other: &str) -> bool {
    let (one, other) = (names::heard(one), names::heard(other));
    let (one, other): (Vec<&str>, Vec<&str>) = (one.split(' ').collect(), other.split(' ').collect());
    let mut apart = one.iter().zip(&other).filter(|(one, other)| one != other);
    let (Some((word, right)), None) = (apart.next(), apart.next()) else { return false };
    let is_long = |word: &str| word.chars().count() >= SHORTEST && word.chars().all(char::is_alphabetic);
    one.len() == other.len()
        && is_long(word)
        && is_long(right)
        && strsim::damerau_levenshtein(word, right) == 1
}

/// A floor as it is heard. One below the ground (`-1`) is not the one above it; letters with dots (`E.G.`) are one word.
fn heard(floor: &str) -> String {
    let mut before = ' ';
    let is_below = floor.chars().zip(floor.chars().skip(1)).any(|(sign, digit)| {
        let begins = std::mem::replace(&mut before, sign) == ' ';
        begins && matches!(sign, '-' | '\u{2212}' | '\u{2013}') && digit.is_ascii_digit()
    });
    let sign = if is_below { "-" } else { "" };
    let (mut joined, mut was_letter) = (sign.to_owned(), true);
    for word in names::heard(floor).split(' ') {
        let is_letter = word.len() == 1 && word.starts_with(char::is_alphabetic);
        if joined.len() > sign.len() && !(was_letter && is_letter) {
            joined.push(' ');
        }
        joined.push_str(word);
        was_letter = is_letter;
    }
    joined
}

#[cfg(test)]
mod tests {
    use super::{heard, is_slip};

    #[test]
    fn a_letter_more_or_less_is_a_slip_in_a_longer_word() {
        for (one, other) in
            [("firts", "first"), ("1. étaeg", "1. étage"), ("basement", "basemetn"), ("uper", "upper")]
        {
            assert_eq!(is_slip(one, other), one != "uper", "{one} {other}");
        }
        for (one, other) in
            [("EG", "OG"), ("Level 1", "Level 2"), ("Wing A", "Wing B"), ("first", "first left")]
        {
            assert!(!is_slip(one, other), "{one} {other}");
        }
    }

    #[test]
    fn floors_are_the_same_but_for_case_accents_and_what_joins_words() {
        for (one, other) in [
            ("Obergeschoß", "obergeschoss"),
            ("1. OG", "1 OG"),
            ("EG-1", "EG 1"),
            ("E.G.", "EG"),
            ("1. O.G.", "1 OG"),
        ] {
            assert_eq!(heard(one), heard(other), "{one} {other}");
        }
        for (one, other) in [("-1", "1"), ("Ebene -1", "Ebene 1"), ("1. OG", "2. OG"), ("EG", "OG")] {
            assert_ne!(heard(one), heard(other), "{one} {other}");
        }
    }
}
