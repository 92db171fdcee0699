//! The nearest right word, for people who mistyped one.

/// The word that was probably meant: the one with the fewest changed, added, missing or exchanged letters, if these
/// are few enough for its length. Upper and lower case, hyphens and underscores count for nothing.
pub fn nearest<'a>(written: &str, words: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let plain = plain(written);
    let allowed = match plain.chars().count() {
        0..=3 => 1,
        4..=7 => 2,
        8..=14 => 3,
        _ => 4,
    };
    let distance = |word: &str| strsim::damerau_levenshtein(&plain, &self::plain(word));
    words
        .into_iter()
        .map(|word| (distance(word), word))
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
    fn words_are_listed_as_a_sentence_has_them() {
        assert_eq!(super::list([]), "nothing");
        assert_eq!(super::list(["a"]), "`a`");
        assert_eq!(super::list(["a", "b", "c"]), "`a`, `b` and `c`");
    }
}
