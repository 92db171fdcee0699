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
    if usual.len() == spellings.len() {
        return;
    }
    for (room, floor) in floors() {
        let Some((_, right)) = usual.get(&heard(floor.value.trim())) else { continue };
        let right_text = right.value.trim();
        if right_text == floor.value.trim() {
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

/// A floor as it is heard. One below the ground (`-1`) is not the one above it.
fn heard(floor: &str) -> String {
    let mut before = ' ';
    let is_below = floor.chars().zip(floor.chars().skip(1)).any(|(sign, digit)| {
        let begins = std::mem::replace(&mut before, sign) == ' ';
        begins && matches!(sign, '-' | '\u{2212}' | '\u{2013}') && digit.is_ascii_digit()
    });
    let sign = if is_below { "-" } else { "" };
    format!("{sign}{}", names::heard(floor))
}

#[cfg(test)]
mod tests {
    use super::heard;

    #[test]
    fn floors_are_the_same_but_for_case_accents_and_what_joins_words() {
        for (one, other) in [("Obergeschoß", "obergeschoss"), ("1. OG", "1 OG"), ("EG-1", "EG 1")] {
            assert_eq!(heard(one), heard(other), "{one} {other}");
        }
        for (one, other) in [("-1", "1"), ("Ebene -1", "Ebene 1"), ("1. OG", "2. OG"), ("EG", "OG")] {
            assert_ne!(heard(one), heard(other), "{one} {other}");
        }
    }
}
