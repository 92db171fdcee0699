//! The nearest right word, for people who mistyped one.

/// The word that was probably meant: the one with the fewest changed, added, missing or exchanged letters, if these
/// are few enough for its length. Upper and lower case, hyphens and underscores count for nothing.
pub fn nearest<'a>(written: &str, words: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let plain = plain(written);
    let length = plain.chars().count();
    let allowed = match length {
        0..=3 => 1,
        4..=7 => 2,
        8..=14 => 3,
        _ => 4,
    };
    // As many letters are added or missing at least as the lengths differ: what is far too long is compared with nothing,
    // however long it is.
    let distance = |word: &str| {
        let other = self::plain(word);
        let may_be_near = other.chars().count().abs_diff(length) <= allowed;
        may_be_near.then(|| strsim::damerau_levenshtein(&plain, &other))
    };
    words
        .into_iter()
        .filter_map(|word| Some((distance(word)?, word)))
        .filter(|&(distance, word)| distance <= allowed && distance < word.chars().count())
        .min()
        .map(|(_, word)| word)
}

fn plain(word: &str) -> String {
    word.chars()
        .filter(|character| !matches!(character, '-' | '_' | ' '))
        .flat_map(char::to_lowercase)
        .collect()
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
    fn what_is_far_too_long_is_compared_with_nothing() {
        // Letter by letter this would take minutes.
        check(&"switching ".repeat(2_000_000), None);
    }

    #[test]
    fn words_are_listed_as_a_sentence_has_them() {
        assert_eq!(super::list([]), "nothing");
        assert_eq!(super::list(["a"]), "`a`");
        assert_eq!(super::list(["a", "b", "c"]), "`a`, `b` and `c`");
    }
}
