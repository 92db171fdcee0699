//! Texts in double quotes.

/// A text in double quotes has escapes: `\n`, `\"`, `\\`, `\u{e9}`. Any other is taken as it stands.
///
/// `None` if an escape is none of these.
pub(super) fn unquoted(text: &str) -> Option<String> {
    let Some(inner) = text.strip_prefix('"').and_then(|rest| rest.strip_suffix('"')) else {
        return Some(text.to_owned());
    };
    let mut plain = String::with_capacity(inner.len());
    let mut rest = inner.chars();
    while let Some(letter) = rest.next() {
        let read = if letter == '\\' { escape(&mut rest) } else { Some(letter) };
        plain.push(read?);
    }
    Some(plain)
}

fn escape(rest: &mut std::str::Chars<'_>) -> Option<char> {
    match rest.next()? {
        'n' => Some('\n'),
        'r' => Some('\r'),
        't' => Some('\t'),
        '0' => Some('\0'),
        'u' => {
            let code = rest.as_str().strip_prefix('{')?.split_once('}')?.0;
            let letter = char::from_u32(u32::from_str_radix(code, 16).ok()?);
            rest.nth(code.len() + 1)?;
            letter
        }
        other @ ('"' | '\'' | '\\') => Some(other),
        _ => None,
    }
}
