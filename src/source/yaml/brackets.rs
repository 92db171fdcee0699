//! Brackets, quotation marks and comments seen to: which are open, and which are closed by one of the other kind.

/// Characters looked at behind a bracket for its partner.
const MOST_CHARACTERS: usize = 10_000;

/// Walks over the brackets of a text. Quotation marks count where a value may begin.
struct Walk {
    open: Vec<(usize, char)>,
    /// What ends the quotation or the comment that the walk is in.
    until: Option<char>,
    last: char,
}

impl Walk {
    fn new() -> Self {
        Self { open: Vec::new(), until: None, last: ' ' }
    }

    /// Takes the next character; gives the bracket that it closes.
    fn step(&mut self, at: usize, character: char) -> Option<(usize, char)> {
        let last = std::mem::replace(&mut self.last, character);
        let begins = matches!(last, ' ' | '\n' | '[' | '{' | ',');
        match (self.until, character) {
            (Some(end), _) => self.until = (end != character).then_some(end),
            (None, '#') if matches!(last, ' ' | '\n') => self.until = Some('\n'),
            (None, '"' | '\'') if begins => self.until = Some(character),
            (None, '[' | '{') if begins => self.open.push((at, character)),
            (None, ']' | '}') => return self.open.pop(),
            _ => {}
        }
        None
    }
}

/// The last bracket that a line opens and does not close.
pub(super) fn open(line: &str) -> Option<usize> {
    let mut walk = Walk::new();
    for (at, character) in line.char_indices() {
        walk.step(at, character);
    }
    walk.open.pop().map(|(at, _)| at)
}

/// Of the bracket at a byte: where one of the other kind closes it, and which was meant there.
pub(super) fn wrong_partner(source: &str, opened: usize) -> Option<(usize, char)> {
    let mut walk = Walk::new();
    for (at, character) in source.get(opened..)?.char_indices().take(MOST_CHARACTERS) {
        let closed = walk.step(at, character);
        if let Some((0, bracket)) = closed {
            let meant = if bracket == '{' { '}' } else { ']' };
            return (meant != character).then_some((opened + at, meant));
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_partner_of_the_other_kind_is_found_behind_what_is_in_order() {
        let check = |source: &str, expected: Option<&str>| {
            let found = wrong_partner(source, 0).and_then(|(at, meant)| Some((source.get(..at)?, meant)));
            let expected = expected.map(|text| (text, if text.starts_with('{') { '}' } else { ']' }));
            assert_eq!(found, expected, "{source}");
        };
        check("{ a: 1 ] b", Some("{ a: 1 "));
        check("[a, { b: [c] }, 'd}', \"]\" # }\n, e}", Some("[a, { b: [c] }, 'd}', \"]\" # }\n, e"));
        check("{ a: it's, b: 1]", Some("{ a: it's, b: 1"));
        check("{ a: [1, 2 }", None);
        check("{ a: 1 }", None);
        check("{ a: 1", None);
    }
}
