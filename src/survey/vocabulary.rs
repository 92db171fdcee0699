//! Words of the trade: what stands in the names of an address table for a status, a point, a room.
//!
//! The lists are `schema/words/*.yaml`, one file a language, and the house's own `words/*.yaml`. A house teaches most of
//! its words by itself; these help where it has too few of something to learn from.

use super::tokens;
use crate::resolve::WordList;
use rustc_hash::FxHashMap;
use std::borrow::Cow;
use std::sync::OnceLock;

static FILES: &[(&str, &str)] = include!(concat!(env!("OUT_DIR"), "/embedded_schema_words.rs"));

/// What a word may stand for.
#[derive(Clone, Debug, Default)]
pub(super) struct Meaning {
    pub(super) status: bool,
    pub(super) central: bool,
    pub(super) spare: bool,
    /// Names of points.
    pub(super) points: Vec<String>,
    /// Names of rooms and floors, ours.
    pub(super) places: Vec<String>,
}

/// All words that are known beforehand, folded as [`tokens::fold`] does.
#[derive(Clone, Debug, Default)]
pub(super) struct Vocabulary {
    words: FxHashMap<String, Meaning>,
}

/// Puts together the words of the trade, which every survey needs: for a thread that has nothing else to do yet.
pub fn prepare() {
    Vocabulary::built_in();
}

impl Vocabulary {
    /// The words of the trade; put together when they are first asked for.
    pub(super) fn built_in() -> &'static Self {
        static BUILT_IN: OnceLock<Vocabulary> = OnceLock::new();
        BUILT_IN.get_or_init(|| {
            let mut vocabulary = Self::default();
            for (_, text) in FILES {
                // The tests read them all.
                vocabulary.add(&serde_json::from_str(text).unwrap_or_default());
            }
            vocabulary
        })
    }

    /// The words of the trade, and a house's own.
    pub(super) fn with(own: &[WordList]) -> Cow<'static, Self> {
        let built_in = Self::built_in();
        if own.is_empty() {
            return Cow::Borrowed(built_in);
        }
        let mut vocabulary = built_in.clone();
        for list in own {
            vocabulary.add(list);
        }
        Cow::Owned(vocabulary)
    }

    fn add(&mut self, list: &WordList) {
        for word in &list.status {
            self.meaning(word).status = true;
        }
        for word in &list.central {
            self.meaning(word).central = true;
        }
        for word in &list.spare {
            self.meaning(word).spare = true;
        }
        for (point, words) in &list.points {
            for word in words {
                self.meaning(word).points.push(point.clone());
            }
        }
        for (kind, places) in [("room", &list.rooms), ("floor", &list.floors)] {
            for (place, words) in places {
                for word in words {
                    self.meaning(word).places.push(format!("{kind} {place}"));
                }
            }
        }
    }

    fn meaning(&mut self, word: &str) -> &mut Meaning {
        // "CO2" is not the "CO" in it.
        let mut words = tokens::split(word);
        let numbered = words.iter().position(|word| word.contains('#')).unwrap_or_default();
        let folded = if words.is_empty() { String::new() } else { words.swap_remove(numbered) };
        self.words.entry(folded).or_default()
    }

    /// What every word may stand for, in any order.
    pub(super) fn meanings(&self) -> impl Iterator<Item = &Meaning> {
        self.words.values()
    }

    /// What a folded word may stand for.
    pub(super) fn of(&self, word: &str) -> Option<&Meaning> {
        self.words.get(word)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::{FileId, Limits};

    #[test]
    fn every_list_can_be_read() {
        assert!(FILES.len() >= 3);
        for (name, text) in FILES {
            let (list, problems) = WordList::read(text, FileId(0), &Limits::default());
            assert!(list.is_some() && problems.is_empty(), "{name}: {problems:?}");
            let list: WordList = serde_json::from_str(text).expect(name);
            assert!(!list.status.is_empty() && !list.points.is_empty(), "{name}");
        }
    }

    #[test]
    fn a_house_adds_words() {
        let text = "language: nl\nstatus: [terug]\nrooms: { kitchen: [keuken] }\n";
        let (list, problems) = WordList::read(text, FileId(0), &Limits::default());
        assert!(problems.is_empty(), "{problems:?}");
        let vocabulary = Vocabulary::with(&list.into_iter().collect::<Vec<_>>());
        assert!(vocabulary.of("terug").is_some_and(|meaning| meaning.status));
        let places = |word| vocabulary.of(word).map(|meaning| meaning.places.clone());
        assert_eq!(places("keuken"), Some(vec!["room kitchen".to_owned()]));
        assert!(Vocabulary::with(&[]).of("terug").is_none());
    }

    #[test]
    fn a_number_belongs_to_its_word() {
        let vocabulary = Vocabulary::with(&[]);
        let points = |word| vocabulary.of(word).map_or(&[][..], |meaning| meaning.points.as_slice());
        assert!(points("co#2").iter().all(|point| point == "carbon-dioxide"));
        assert!(!points("co").iter().any(|point| point == "carbon-dioxide"));
        assert_eq!(vocabulary.of("og#1").map(|meaning| meaning.places.len()), Some(1));
    }

    #[test]
    fn umlauts_do_not_matter() {
        let vocabulary = Vocabulary::with(&[]);
        for word in ["rückmeldung", "rueckmeldung"] {
            let folded = tokens::fold(&super::super::names::heard(word));
            assert!(vocabulary.of(&folded).is_some_and(|meaning| meaning.status), "{word}");
        }
    }
}
