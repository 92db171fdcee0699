//! The nearest right word, for people who mistyped one.

/// The word that was probably meant: the one with the fewest changed, added, missing or exchanged letters, if these
/// are few enough for its length. Upper and lower case, hyphens and underscores count for nothing.
pub fn nearest<'a>(written: &str, words: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let plain = plain(written);
    let length = plain.chars().count();
    if length > LONGEST {
        return None;
    }
    let allowed = match length {
        0..=3 => 1,
        4..=7 => 2,
        8..=14 => 3,
        _ => 4,
    };
    let letters = Letters::of(&plain);
    let distance = |word: &str| {
        let may_be_near = letters.apart(word) <= allowed;
        may_be_near.then(|| strsim::damerau_levenshtein(&plain, &self::plain(word)))
    };
    words
        .into_iter()
        .filter_map(|word| Some((distance(word)?, word)))
        .filter(|&(distance, word)| distance <= allowed && distance < word.chars().count())
        .min()
        .map(|(_, word)| word)
}

/// The nearest of the keys of a house's own, of which there may be as many as there are mistakes: only the first
/// `MOST` are compared.
pub fn nearest_key<'a>(written: &str, keys: &'a [String]) -> Option<&'a str> {
    nearest(written, keys.iter().take(MOST).map(String::as_str))
}

/// The nearest of sorted keys, of which there may be as many as there are mistakes: of more than `AROUND` only those around
/// the place that the word would have among them are compared. A slip is seldom in the first letters.
pub fn nearest_sorted<'a>(written: &str, keys: &'a [impl AsRef<str>]) -> Option<&'a str> {
    let before = keys.partition_point(|key| key.as_ref() < written);
    let first = before.saturating_sub(AROUND / 2).min(keys.len().saturating_sub(AROUND));
    nearest(written, keys.iter().skip(first).take(AROUND).map(AsRef::as_ref))
}

/// Sorted keys that are compared.
const AROUND: usize = 64;

/// Letters of a word that may be a slip. All of a long text would have to be compared with all of another.
const LONGEST: usize = 64;

/// As many lines as an installation has at most: 15 areas of 15 lines (KNX 3/1/2, from memory). No house has as many
/// bridges.
const MOST: usize = 15 * 15;

fn plain(word: &str) -> String {
    plain_letters(word).collect()
}

fn plain_letters(word: &str) -> impl Iterator<Item = char> {
    word.chars().filter(|character| !matches!(character, '-' | '_' | ' ')).flat_map(char::to_lowercase)
}

/// How often a word has each letter. Most words are told apart by it, in a small part of the time that it takes to compare
/// them letter by letter.
#[derive(Clone, Copy)]
struct Letters([i16; Letters::KINDS]);

impl Letters {
    /// Letters of one kind count as one: then words seem nearer than they are, and never further apart.
    const KINDS: usize = 32;

    fn of(plain: &str) -> Self {
        let mut letters = Self([0; Self::KINDS]);
        plain.chars().for_each(|letter| letters.count(letter, 1));
        letters
    }

    fn count(&mut self, letter: char, change: i16) {
        let kind = self.0.get_mut(letter as usize % Self::KINDS);
        kind.into_iter().for_each(|count| *count = count.saturating_add(change));
    }

    /// As many letters at least are changed, added or missing between this word and another.
    fn apart(mut self, word: &str) -> usize {
        if word.is_ascii() {
            let letters = word.bytes().filter(|byte| !matches!(byte, b'-' | b'_' | b' '));
            letters.for_each(|byte| self.count(char::from(byte.to_ascii_lowercase()), -1));
        } else {
            plain_letters(word).for_each(|letter| self.count(letter, -1));
        }
        let (mut more, mut fewer) = (0_usize, 0_usize);
        for count in self.0 {
            let difference = usize::from(count.unsigned_abs());
            if count > 0 { more += difference } else { fewer += difference }
        }
        more.max(fewer)
    }
}

/// Words in a sentence: `a`, `b` and `c`.
pub fn list<'a>(words: impl IntoIterator<Item = &'a str>) -> String {
    let words: Vec<String> = words.into_iter().map(|word| format!("`{word}`")).collect();
    match words.split_last() {
        None => "nothing".to_owned(),
        Some((only, [])) => only.clone(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
    }
}

/// The first words in a sentence, and how many there are beside them.
pub fn some(words: &[String]) -> String {
    const NAMED: usize = 12;
    if words.len() <= NAMED {
        return list(words.iter().map(String::as_str));
    }
    let named: Vec<String> = words.iter().take(NAMED).map(|word| format!("`{word}`")).collect();
    format!("{} and {} more", named.join(", "), words.len() - NAMED)
}

#[cfg(test)]
mod tests {
    fn check(written: &str, expected: Option<&str>) {
        let words = ["switching", "brightness", "position", "slat", "step-stop"];
        assert_eq!(super::nearest(written, words), expected, "{written}");
    }

    #[test]
    fn a_slip_finds_its_word_and_another_word_finds_none() {
        check("brightnes", Some("brightness"));
        check("Step_Stop", Some("step-stop"));
        check("swithcing", Some("switching"));
        check("temperature", None);
        check("", None);
    }

    #[test]
    fn words_are_never_nearer_than_their_letters_say() {
        let words = [
            "",
            "a",
            "ab",
            "ba",
            "switching",
            "swithcing",
            "hwitcsing",
            "Küche",
            "kuche",
            "lamp-10",
            "LAMP 01",
            "pmal",
        ];
        for one in words {
            for other in words {
                let (plain, plain_other) = (super::plain(one), super::plain(other));
                let apart = super::Letters::of(&plain).apart(other);
                assert!(apart <= strsim::damerau_levenshtein(&plain, &plain_other), "{one} {other}: {apart}");
            }
        }
        let far = super::Letters::of("brightness").apart("switching");
        assert!(far > 3, "what is told apart by letters is not compared: {far}");
    }

    #[test]
    fn what_is_far_too_long_is_compared_with_nothing() {
        // Letter by letter this would take minutes.
        check(&"switching ".repeat(2_000_000), None);
        let (key, other) = ("b".repeat(100_000), "b".repeat(100_001));
        assert_eq!(super::nearest(&key, [other.as_str()]), None);
    }

    #[test]
    fn of_many_sorted_keys_those_around_are_compared() {
        let keys: Vec<String> = (0..5_000).map(|at| format!("lamp-{at:04}-hall")).collect();
        let keys: Vec<&str> = keys.iter().map(String::as_str).collect();
        for key in ["lamp-0000-hall", "lamp-2500-hall", "lamp-4999-hall"] {
            let slip = key.replace("hall", "hal");
            assert_eq!(super::nearest_sorted(&slip, &keys), Some(key));
        }
        assert_eq!(super::nearest_sorted("hal", &["cellar", "hall"]), Some("hall"));
        assert_eq!(super::nearest_sorted("hal", &[""; 0]), None);
    }

    #[test]
    fn of_many_words_some_are_named() {
        let words: Vec<String> = (1..=300).map(|at| format!("line-{at}")).collect();
        assert_eq!(super::some(&words[..2]), "`line-1` and `line-2`");
        assert!(super::some(&words).ends_with(", `line-12` and 288 more"), "{}", super::some(&words));
        assert_eq!(super::nearest_key("linne-225", &words), Some("line-225"));
    }

    #[test]
    fn words_are_listed_as_a_sentence_has_them() {
        assert_eq!(super::list([]), "nothing");
        assert_eq!(super::list(["a"]), "`a`");
        assert_eq!(super::list(["a", "b", "c"]), "`a`, `b` and `c`");
    }
}
