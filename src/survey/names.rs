//! Names as people hear them: without case, accents and punctuation.

use unicode_normalization::UnicodeNormalization as _;
use unicode_normalization::char::is_combining_mark;

/// A name as it is heard: small letters without accents, single spaces for everything that is no letter or digit.
pub fn heard(name: &str) -> String {
    if name.is_ascii() {
        return heard_ascii(name);
    }
    let mut heard = String::with_capacity(name.len());
    for character in
        name.nfkd().filter(|character| !is_combining_mark(*character)).flat_map(char::to_lowercase)
    {
        match character {
            'ß' => heard.push_str("ss"),
            // Letters with a stroke, and ligatures, have no mark that could be taken off.
            'ł' => heard.push('l'),
            'ø' => heard.push('o'),
            'đ' | 'ð' => heard.push('d'),
            'ħ' => heard.push('h'),
            'ı' => heard.push('i'),
            'æ' => heard.push_str("ae"),
            'œ' => heard.push_str("oe"),
            'þ' => heard.push_str("th"),
            _ if character.is_alphanumeric() => heard.push(character),
            _ if heard.ends_with(' ') || heard.is_empty() => {}
            _ => heard.push(' '),
        }
    }
    heard.truncate(heard.trim_end().len());
    heard
}

/// [`heard`] where nothing has to be taken apart.
fn heard_ascii(name: &str) -> String {
    let mut heard = String::with_capacity(name.len());
    let mut gap = false;
    for letter in name.chars() {
        if letter.is_ascii_alphanumeric() {
            if std::mem::take(&mut gap) && !heard.is_empty() {
                heard.push(' ');
            }
            heard.push(letter.to_ascii_lowercase());
        } else {
            gap = true;
        }
    }
    heard
}

/// A number for the text itself and for each text that is left when one letter is taken out: two texts that become the
/// same have a number in common, and hardly ever two others.
pub fn shortened(text: &str) -> impl Iterator<Item = u64> {
    /// Odd, and otherwise of no account: it spreads the letters over 64 bits.
    const SPREAD: u64 = 0x9e37_79b9_7f4a_7c15;
    // Up to each letter, the letters before it as the digits of a number.
    let mut before = vec![0_u64];
    let mut last = 0_u64;
    for letter in text.chars() {
        last = last.wrapping_mul(SPREAD).wrapping_add(u64::from(u32::from(letter)) + 1);
        before.push(last);
    }
    let mut power = 1_u64;
    let mut shorter: Vec<u64> = Vec::with_capacity(before.len());
    for pair in before.windows(2).rev() {
        let [without, with] = [pair.first(), pair.last()].map(|end| end.copied().unwrap_or_default());
        let behind = last.wrapping_sub(with.wrapping_mul(power));
        shorter.push(without.wrapping_mul(power).wrapping_add(behind));
        power = power.wrapping_mul(SPREAD);
    }
    std::iter::once(last).chain(shorter.into_iter().rev())
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

/// Words that join a thing to its room, in the languages of the trade: the "de" of "Lampe de bureau". Source: common practice.
const JOINING: [&str; 29] = [
    "of", "in", "at", "the", "im", "am", "der", "des", "vom", "von", "zum", "zur", "de", "du", "la", "le",
    "les", "aux", "di", "del", "della", "dello", "dei", "el", "los", "las", "do", "da", "dos",
];

/// An appliance's name without the name of its room in front or behind, and what joined the two; none where it does not have
/// it, or is nothing else.
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
    // Only what joined the two is taken out with the room: a bracket or a unit at the other end is the name's own.
    let rest = if same(front) {
        name_words.get(count..)?.join(" ").trim_start_matches(joins).to_owned()
    } else if same(behind) {
        let mut rest = name_words.get(..name_words.len() - count)?;
        while let [before @ .., last] = rest
            && JOINING.contains(last)
            && !before.is_empty()
        {
            rest = before;
        }
        rest.join(" ").trim_end_matches(joins).to_owned()
    } else {
        return None;
    };
    // A number alone is no name.
    if !rest.chars().any(char::is_alphabetic) {
        return None;
    }
    let mut letters = rest.chars();
    let first = letters.next()?;
    Some(first.to_uppercase().chain(letters).collect())
}

/// Whether a character stands between a room and a name and belongs to neither.
fn joins(edge: char) -> bool {
    matches!(
        edge,
        ' ' | '-'
            | '\u{2013}'
            | '\u{2014}'
            | '/'
            | '|'
            | ','
            | ';'
            | ':'
            | '.'
            | '\u{b7}'
            | '_'
            | '>'
            | '\u{2192}'
    )
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
        check("Łazienka, Kjøkken, Sjælland", "lazienka kjokken sjaelland");
    }

    #[test]
    fn plain_letters_are_heard_like_others() {
        for name in ["", " ", "--", "A b", " a--B 1 ", "Lamp 2/left", "x_", "(a)"] {
            // A letter that is not heard takes the long way.
            let other = format!("{name}\u{301}");
            assert_eq!(heard(name), heard(&other), "{name}");
        }
    }

    #[test]
    fn what_is_left_without_a_letter_is_known_again() {
        let shares = |one: &str, other: &str| {
            let known: Vec<u64> = shortened(one).collect();
            shortened(other).any(|number| known.contains(&number))
        };
        for (one, other) in
            [("lamp", "lamb"), ("lamp", "lam"), ("amp", "lamp"), ("kuche", "kuchen"), ("aé", "a")]
        {
            assert!(shares(one, other), "{one} {other}");
        }
        assert!(!shares("lamp", "pond"));
        assert_eq!(shortened("abc").nth(2), shortened("ac").next());
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
        assert_eq!(without_room("Kitchen - pendant", "Kitchen").as_deref(), Some("Pendant"));
        assert_eq!(without_room("Lampe de bureau", "Bureau").as_deref(), Some("Lampe"));
        assert_eq!(without_room("Porte de la cave", "Cave").as_deref(), Some("Porte"));
        assert_eq!(without_room("De la cave", "Cave").as_deref(), Some("De"));
    }

    #[test]
    fn nothing_else_is_taken_out_with_the_room() {
        for (name, left) in [
            ("Hall lamp (left)", "Lamp (left)"),
            ("Hall dimmer 50 %", "Dimmer 50 %"),
            ("Hall \"Mia\"", "\"Mia\""),
            ("Lamp (big), Hall", "Lamp (big)"),
        ] {
            assert_eq!(without_room(name, "Hall").as_deref(), Some(left), "{name}");
        }
        assert_eq!(without_room("Hall 1", "Hall"), None);
    }
}
