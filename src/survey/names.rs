//! Names as people hear them: without case, accents and punctuation.

use unicode_normalization::UnicodeNormalization as _;
use unicode_normalization::char::is_combining_mark;

/// A name as it is heard: small letters without accents, single spaces for everything that is no letter or digit.
pub fn heard(name: &str) -> String {
    let mut heard = String::with_capacity(name.len());
    for character in
        name.nfkd().filter(|character| !is_combining_mark(*character)).flat_map(char::to_lowercase)
    {
        match character {
            'ß' => heard.push_str("ss"),
            _ if character.is_alphanumeric() => heard.push(character),
            _ if heard.ends_with(' ') || heard.is_empty() => {}
            _ => heard.push(' '),
        }
    }
    heard.truncate(heard.trim_end().len());
    heard
}

/// Each text that is left when one letter is taken out, and the text itself.
pub fn without_one_letter(text: &str) -> impl Iterator<Item = String> {
    let places: Vec<usize> = text.char_indices().map(|(place, _)| place).collect();
    let shorter = places.into_iter().map(move |place| {
        let (before, after) = text.split_at(place);
        let after = after.chars().next().map_or("", |first| after.get(first.len_utf8()..).unwrap_or(""));
        format!("{before}{after}")
    });
    std::iter::once(text.to_owned()).chain(shorter)
}

/// Whether two heard names differ by one letter that was changed, added or left out. A digit is no letter: "socket 1"
/// and "socket 2" are told apart by everybody.
pub fn is_one_letter_apart(one: &str, other: &str) -> bool {
    if one == other || strsim::levenshtein(one, other) != 1 {
        return false;
    }
    let digits = |text: &str| text.chars().filter(char::is_ascii_digit).collect::<String>();
    digits(one) == digits(other)
}

/// An appliance's name without the name of its room in front or behind; none where it does not have it, or is nothing
/// else.
pub fn without_room(name: &str, room: &str) -> Option<String> {
    let (name_words, room_words): (Vec<&str>, Vec<&str>) =
        (name.split_whitespace().collect(), room.split_whitespace().collect());
    let same = |words: &[&str]| {
        words.len() == room_words.len() && words.iter().zip(&room_words).all(|(a, b)| heard(a) == heard(b))
    };
    let count = room_words.len();
    if count == 0 || name_words.len() <= count {
        return None;
    }
    let (front, behind) = (name_words.get(..count)?, name_words.get(name_words.len() - count..)?);
    let rest = if same(front) {
        name_words.get(count..)?.join(" ")
    } else if same(behind) {
        name_words.get(..name_words.len() - count)?.join(" ")
    } else {
        return None;
    };
    let rest = rest.trim_matches(|edge: char| !edge.is_alphanumeric());
    let mut letters = rest.chars();
    let first = letters.next()?;
    Some(first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(name: &str, expected: &str) {
        assert_eq!(heard(name), expected, "{name}");
    }

    #[test]
    fn case_accents_and_punctuation_are_not_heard() {
        check("Küche – Süd", "kuche sud");
        check("  Lamp,  left ", "lamp left");
        check("Straße", "strasse");
    }

    #[test]
    fn a_letter_apart() {
        assert!(is_one_letter_apart("reading lamp", "reeding lamp"));
        assert!(!is_one_letter_apart("socket 1", "socket 2"));
        assert!(!is_one_letter_apart("lamp", "lamp"));
    }

    #[test]
    fn the_room_is_taken_out_of_a_name() {
        assert_eq!(without_room("Kitchen pendant", "Kitchen").as_deref(), Some("Pendant"));
        assert_eq!(without_room("Pendant kitchen", "Kitchen").as_deref(), Some("Pendant"));
        assert_eq!(without_room("Kitchen", "Kitchen"), None);
        assert_eq!(without_room("Kitchenette lamp", "Kitchen"), None);
    }
}
