//! How the author of an address table writes names.

use super::house::Order;
use super::random::Random;
use super::scheme::Scheme;
use super::words::{Language, words};

/// The names of a room in a table.
#[derive(Clone, Debug)]
pub(crate) struct Label {
    /// In full, with its number.
    pub(crate) full: String,
    /// In short, with its number.
    pub(crate) short: String,
    /// Short form of its floor.
    pub(crate) storey: &'static str,
}

/// The order of the words in a name.
#[derive(Clone, Copy, Debug)]
enum Words {
    RoomThingFunction,
    FunctionRoomThing,
    StoreyRoomThingFunction,
    Hyphens,
}

/// A table author's habits.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Hand {
    words: Words,
    /// Percentage of appliances named in short forms.
    short: usize,
    /// Percentage of names written without umlauts.
    plain: usize,
    language: Language,
}

impl Hand {
    /// The habits of a house's author.
    pub(crate) fn of(order: Order, random: &mut Random) -> Self {
        let (language, orders) = (
            order.language,
            [
                Words::RoomThingFunction,
                Words::FunctionRoomThing,
                Words::StoreyRoomThingFunction,
                Words::Hyphens,
            ],
        );
        if order.scheme == Scheme::Irregular {
            return Self { words: Words::RoomThingFunction, short: 30, plain: 25, language };
        }
        let words = random.pick(&orders).copied().unwrap_or(Words::RoomThingFunction);
        Self { words, short: if random.chance(20) { 100 } else { 0 }, plain: 0, language }
    }

    /// Percentage of appliances named in short forms.
    pub(crate) fn short(&self) -> usize {
        self.short
    }

    /// What the table calls an address of an appliance.
    pub(crate) fn called(
        &self,
        label: &Label,
        appliance: &str,
        function: usize,
        short: bool,
        random: &mut Random,
    ) -> String {
        let (long_word, short_word) =
            words(self.language).functions.get(function).copied().unwrap_or_default();
        let word = if short { short_word } else { long_word };
        let room = if short { &label.short } else { &label.full };
        let thing = lower(appliance, self.language);
        let told = word.len() > 3 && thing.to_lowercase().ends_with(&word.to_lowercase());
        let parts: Vec<&str> = match self.words {
            Words::RoomThingFunction | Words::Hyphens => vec![room, &thing, word],
            Words::StoreyRoomThingFunction => vec![label.storey, room, &thing, word],
            Words::FunctionRoomThing if told => vec![room, &thing, word],
            Words::FunctionRoomThing => vec![word, room, &thing],
        };
        let parts = parts.get(..parts.len() - usize::from(told)).unwrap_or_default();
        let name = parts.join(if matches!(self.words, Words::Hyphens) { " - " } else { " " });
        if random.chance(self.plain) { plain(&name) } else { name }
    }
}

/// In the middle of a name English writes small; German keeps its nouns.
fn lower(name: &str, language: Language) -> String {
    if language == Language::German {
        return name.to_owned();
    }
    let mut letters = name.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// Without umlauts, as some keyboards write.
fn plain(name: &str) -> String {
    let mut out = String::with_capacity(name.len() + 4);
    for letter in name.chars() {
        match letter {
            'ä' => out.push_str("ae"),
            'ö' => out.push_str("oe"),
            'ü' => out.push_str("ue"),
            'Ä' => out.push_str("Ae"),
            'Ö' => out.push_str("Oe"),
            'Ü' => out.push_str("Ue"),
            'ß' => out.push_str("ss"),
            other => out.push(other),
        }
    }
    out
}

/// A key made from a name.
pub(crate) fn slug(name: &str) -> String {
    let letters = plain(name).to_lowercase();
    letters.chars().map(|letter| if letter.is_ascii_alphanumeric() { letter } else { '-' }).collect()
}
