//! Which classes somebody meant who wrote the name of none.
//!
//! What people call the things is a table, `schema/class-words.yaml`, read when it is first asked for.

use crate::findings::nearest;
use rustc_hash::FxHashMap;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// Words for each built-in class beside those of its name.
static WORDS: LazyLock<BTreeMap<String, Vec<String>>> = LazyLock::new(|| {
    serde_json::from_str(include_str!(concat!(env!("OUT_DIR"), "/class-words.json")))
        .expect("embedded when the program was built, and read by a test")
});

/// What is said of things that no class is for.
static WITHOUT: LazyLock<Vec<Thing>> = LazyLock::new(|| {
    serde_json::from_str(include_str!(concat!(env!("OUT_DIR"), "/things-without-class.json")))
        .expect("embedded when the program was built, and read by a test")
});

/// Things that no class is for.
#[derive(Debug, Deserialize)]
struct Thing {
    called: Vec<String>,
    say: String,
}

/// What is said of a thing that no class is for, if a name is that of one and of none of the classes there are: a house may
/// have one of its own.
pub(super) fn without_class(written: &str, names: &[&str]) -> Option<&'static str> {
    let written = words(written);
    let all_in = |some: &[String], all: &[String]| {
        some.iter().all(|word| all.iter().any(|other| is_same(other, word)))
    };
    let called = |name: &String| all_in(&words(name), &written);
    let thing = WITHOUT.iter().find(|thing| thing.called.iter().any(called))?;
    let is_there = names.iter().any(|name| all_in(&written, &words(name)));
    (!is_there).then_some(thing.say.as_str())
}

/// More classes than this are no answer.
const MOST: usize = 8;

/// Shorter words with another letter are other words.
const SHORTEST: usize = 5;

/// The classes among `names` that were probably meant by `written`: the one that is called so but for a letter of a word; else
/// those that have most of its words, where a word counts the less the more classes have it, and the last one, which says what
/// the thing is, where any has that; else the one that is spelt like it, but for a letter or two.
pub(super) fn meant<'a>(written: &str, names: &[&'a str]) -> Vec<&'a str> {
    let words = words(written);
    let mut slips = names.iter().filter(|name| is_slip_of_words(&words, name));
    if let (Some(only), None) = (slips.next(), slips.next()) {
        return vec![*only];
    }
    let mut marks: FxHashMap<&str, f64> = FxHashMap::default();
    let of_kind: Vec<&'a str> = words.last().map_or_else(Vec::new, |kind| having(names, kind));
    let names = if of_kind.is_empty() { names } else { &of_kind };
    for word in &words {
        let having = having(names, word);
        for name in &having {
            // As many as there can be are few enough to be exact.
            *marks.entry(*name).or_default() +=
                1.0 / f64::from(u32::try_from(having.len()).unwrap_or(u32::MAX));
        }
    }
    let best = marks.values().copied().fold(0.0, f64::max);
    let most = |name: &&&str| marks.get(**name).is_some_and(|mark| *mark >= best);
    // One word of several that may be a slip is another word: a cooler is no cooker.
    let is_plain = |name: &&&str| has_all(name, &words) || words.iter().any(|word| has_plainly(name, word));
    let found: Vec<&str> = names.iter().filter(most).filter(is_plain).copied().collect();
    match found.len() {
        0 => nearest(written, names.iter().copied())
            .filter(|name| is_slip(written, name))
            .into_iter()
            .collect(),
        1..=MOST => found,
        _ => Vec::new(),
    }
}

/// Whether a class is called by all words of a name, but for a slip: where it has one of them alone, another thing may be meant.
pub(super) fn is_all_of(written: &str, name: &str) -> bool {
    let words = words(written);
    has_all(name, &words) || is_slip_of_words(&words, name) || is_slip(written, name)
}

fn has_all(name: &str, words: &[String]) -> bool {
    words.iter().all(|word| has(name, word))
}

/// Whether a class is called by a word, letter for letter but for the plural.
fn has_plainly(name: &str, word: &str) -> bool {
    called(name).any(|other| is_plainly_same(other, word))
}

/// Whether the words of a name are those of a class, but for a letter of longer ones, the first too.
fn is_slip_of_words(words: &[String], name: &str) -> bool {
    let same = |(own, word): (&str, &String)| {
        own == word
            || own.len().min(word.len()) >= SHORTEST
                && own.len().abs_diff(word.len()) <= 1
                && strsim::damerau_levenshtein(own, word) <= 1
    };
    name.split('-').count() == words.len() && name.split('-').zip(words).all(same)
}

fn having<'a>(names: &[&'a str], word: &str) -> Vec<&'a str> {
    names.iter().copied().filter(|name| has(name, word)).collect()
}

/// Whether a class is called by a word, in its name or otherwise.
fn has(name: &str, word: &str) -> bool {
    called(name).any(|other| is_same(other, word))
}

/// The words of a class, those of its name and others.
fn called(name: &str) -> impl Iterator<Item = &str> {
    name.split('-').chain(WORDS.get(name).into_iter().flatten().map(String::as_str))
}

/// Whether two words are one, but for the plural or a slip in a longer one.
fn is_same(one: &str, other: &str) -> bool {
    is_plainly_same(one, other) || {
        let shorter = one.len().min(other.len());
        shorter >= SHORTEST
            && one.len().abs_diff(other.len()) <= 1
            && one.bytes().next() == other.bytes().next()
            && strsim::damerau_levenshtein(one, other) <= 1
    }
}

/// Whether two words are one, but for the plural.
fn is_plainly_same(one: &str, other: &str) -> bool {
    fn stem(word: &str) -> &str {
        word.strip_suffix('s').unwrap_or(word)
    }
    stem(one) == stem(other)
}

/// Small letters, cut at everything that is none.
fn words(name: &str) -> Vec<String> {
    const LONGEST: usize = 64;
    let short: String = name.chars().take(LONGEST).flat_map(char::to_lowercase).collect();
    short
        .split(|letter: char| !letter.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_owned)
        .collect()
}

/// Whether a name is another one with a letter or two wrong, and no word of its own.
fn is_slip(written: &str, name: &str) -> bool {
    let plain = |text: &str| words(text).concat();
    let (one, other) = (plain(written), plain(name));
    strsim::damerau_levenshtein(&one, &other) <= if other.len() < 2 * SHORTEST { 1 } else { 2 }
}

#[cfg(test)]
mod tests {
    use crate::classes::ClassLibrary;

    fn check(written: &str, expected: &[&str]) {
        assert_eq!(ClassLibrary::built_in().meant(written), expected, "{written}");
    }

    #[test]
    fn a_slip_is_mended() {
        check("dimable-light", &["dimmable-light"]);
        check("On_Off_Ligth", &["on-off-light"]);
        check("roomthermostat", &["room-thermostat"]);
        check("clok", &["clock"]);
        check("temperature-ensor", &["temperature-sensor"]);
        check("contact-ensor", &["contact-sensor"]);
        check("temperature-sensr", &["temperature-sensor"]);
    }

    #[test]
    fn a_thing_is_known_by_another_word_for_it() {
        check("lock", &["door-lock"]);
        check("thermostat", &["room-thermostat"]);
        check("shutter", &["roller-shutter"]);
        check("presence-sensor", &["occupancy-sensor"]);
        check("motion-detector", &["occupancy-sensor"]);
        check("smoke-detector", &["smoke-alarm"]);
        check("window-contact", &["contact-sensor"]);
        check("rgb-light", &["colour-light", "colour-light-channels"]);
        check("blinds", &["roller-shutter", "venetian-blind", "window-screen"]);
        check("meter", &["electricity-meter", "flow-sensor", "metered-outlet"]);
        check("skylight", &["roof-window"]);
        check("gas-meter", &["electricity-meter", "flow-sensor", "metered-outlet"]);
        check("solar-panel", &["solar-power"]);
        check("kitchen-thermostat", &["room-thermostat"]);
    }

    #[test]
    fn nobody_knows_what_is_meant_by_a_word_of_nothing() {
        check("", &[]);
        check("zzz", &[]);
        check("sensor", &[]);
    }

    #[test]
    fn one_word_of_several_is_no_more_than_a_hint() {
        let library = ClassLibrary::built_in();
        for (written, hint) in [
            ("milk-tank", Some("water-heater")),
            ("hot-plate", Some("water-heater")),
            ("kitchen-thermostat", Some("room-thermostat")),
            ("milk-cooler", None),
        ] {
            assert_eq!(library.meant(written).first().copied(), hint, "{written}");
            assert!(hint.is_none_or(|name| !library.is_all_of(written, name)), "{written}");
        }
        for (written, name) in [("dimable-light", "dimmable-light"), ("motion-detectors", "occupancy-sensor")]
        {
            assert!(library.is_all_of(written, name), "{written}");
        }
    }

    #[test]
    fn some_things_have_no_class() {
        let library = ClassLibrary::built_in();
        let gas = ["gas-detector", "gas-valve", "gas-alarm-cellar"];
        let names =
            ["water-meter", "cold-water-meter", "siren", "garden sirens", "alarm-panel", "sauna-oven"];
        for name in names.into_iter().chain(gas) {
            assert!(library.without_class(name).is_some(), "{name}");
        }
        for name in library.names() {
            assert_eq!(library.without_class(name), None, "{name}");
        }
        check("doorbell", &["push-button"]);
        for thing in super::WITHOUT.iter() {
            let named = thing.say.split('`').skip(1).step_by(2);
            assert!(named.clone().count() > 0 && named.clone().all(|class| library.get(class).is_some()));
        }
    }

    #[test]
    fn words_are_of_classes_and_each_once() {
        let library = ClassLibrary::built_in();
        for (class, words) in super::WORDS.iter() {
            assert!(library.names().contains(&class.as_str()), "{class}");
            for (at, word) in words.iter().enumerate() {
                assert!(
                    !words[..at].contains(word) && !class.split('-').any(|own| own == word),
                    "{class}: {word}"
                );
            }
        }
    }
}
