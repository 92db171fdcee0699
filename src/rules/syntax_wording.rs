//! What is said of text that is not YAML, or is other YAML than was meant.

use super::Said;
use super::writing::malformed_yaml;
use crate::findings::Certainty;
use crate::source::{Place, SyntaxFault};

const NO_BREAK_SPACE: &str = "no-break spaces indent this line";
const KEY_AND_VALUE: &str = "write `key: value`, with a space behind the colon";
const CLOSE: &str = "close it: `]` for `[`, `}` for `{`";
const STRAY_DASH: &str = "a `-` stands where none may";

/// A fault of the writing.
pub(super) fn said(fault: &SyntaxFault, place: Place) -> Said {
    let (message, help) = words(fault);
    let said = Said::new(message, place, "here").help(help);
    match fault {
        SyntaxFault::Column { spaces, meant } => column(*spaces, *meant, place),
        SyntaxFault::ForgottenKey { spaces } => {
            let help = format!("{help}, {}", begun(*spaces));
            Said::new(words(fault).0, place, "below no key of its own").help(help)
        }
        SyntaxFault::KeyWithoutColon { meant: Some(meant) }
        | SyntaxFault::ColonWithoutSpace { meant: Some(meant) } => said.help(format!("write `{meant}`")),
        // What begins with a dash may have been meant as a list.
        SyntaxFault::Unquoted { by, text: Some(text) } if *by != '-' => {
            said.quote(text, Certainty::ToBeLookedAt)
        }
        SyntaxFault::Parted { key, text, left_out } => parted(key, text, *left_out, said),
        SyntaxFault::Unbraced { meant } => {
            said.help(format!("write `{meant}`")).replace(meant, Certainty::ToBeLookedAt)
        }
        SyntaxFault::WrongBracket { meant: Some(meant) } => {
            said.help(format!("write `{meant}`")).replace(*meant, Certainty::ToBeLookedAt)
        }
        SyntaxFault::StrayComma => said.replace("", Certainty::ToBeLookedAt),
        SyntaxFault::StrayDash { before_key: true } => {
            said.edit(vec![(place, String::new())], Certainty::ToBeLookedAt)
        }
        SyntaxFault::Slashes => {
            let slashes = Place { end: place.start.saturating_add(2), ..place };
            said.edit(vec![(slashes, "#".to_owned())], Certainty::ToBeLookedAt)
        }
        SyntaxFault::NoBreakSpace { meant: Some(spaces) } => said
            .help(format!("begin it {}, and no other", begun(*spaces)))
            .replace(" ".repeat(*spaces), Certainty::ToBeLookedAt),
        _ => said,
    }
}

/// A line that a tab indents.
pub(super) fn tab(meant: Option<usize>, place: Place) -> Said {
    let help = meant.map(|spaces| format!("begin it {}, and no tab", begun(spaces)));
    Said::new("a tab indents this line", place, "here")
        .help(help.unwrap_or_else(|| "write spaces instead of the tab, two a level".to_owned()))
}

/// A value that a comma parts: what may have been meant depends on its key, and on the one behind it.
fn parted(key: &str, text: &str, left_out: Option<&str>, said: Said) -> Said {
    let is_whole = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    let number = text
        .split_once(',')
        .filter(|(whole, rest)| is_whole(whole.strip_prefix('-').unwrap_or(whole)) && is_whole(rest));
    if let (Some((first, second)), Some(lacking)) = (two_addresses(text), left_out) {
        let meant = format!("{first}, {lacking}: {second}");
        return said.help(format!("write `{meant}`")).replace(meant, Certainty::ToBeLookedAt);
    }
    let meant = match (key, number) {
        ("listens" | "range", _) => format!("[{text}]"),
        ("dpt" | "feedback-dpt", Some((main, sub))) => format!("{main}.{sub}"),
        ("command" | "feedback", _) if is_address(text) => text.replace(',', "/"),
        (
            "command" | "feedback" | "dpt" | "feedback-dpt" | "class" | "bus" | "bridge" | "capacity"
            | "stages",
            _,
        ) => {
            let listens = two_addresses(text).filter(|_| key == "command").map(|(first, second)| {
                format!("write `{first}`, and what else moves it behind `listens`: `{second}`")
            });
            return said.help(listens.unwrap_or_else(|| format!("write one value: `{key}` takes no more")));
        }
        (_, Some((whole, rest))) => format!("{whole}.{rest}"),
        (_, None) => return said.quote(text, Certainty::ToBeLookedAt),
    };
    said.help(format!("write `{meant}`")).replace(meant, Certainty::ToBeLookedAt)
}

/// Two group addresses with a comma between them.
pub(super) fn two_addresses(text: &str) -> Option<(&str, &str)> {
    let (first, second) = text.split_once(',')?;
    let (first, second) = (first.trim(), second.trim());
    (like_address(first) && like_address(second)).then_some((first, second))
}

/// Whether a text can only be a group address: two or three numbers with slashes.
pub(super) fn like_address(text: &str) -> bool {
    is_address(text) && text.contains('/') && !text.contains(',')
}

/// Whether a text is a group address with commas for slashes: up to three numbers.
fn is_address(text: &str) -> bool {
    let mut numbers = text.split([',', '/']);
    let is_number =
        |part: &str| (1..=5).contains(&part.len()) && part.bytes().all(|byte| byte.is_ascii_digit());
    (&mut numbers).take(3).all(is_number) && numbers.next().is_none()
}

/// A line of which it is known where it was meant to begin.
fn column(spaces: usize, meant: usize, place: Place) -> Said {
    let side = if spaces > meant { "right" } else { "left" };
    let help = format!("begin it {} instead of {spaces}", begun(meant));
    let message = format!("the line begins {} too far {side}", count(spaces.abs_diff(meant)));
    Said::new(message, place, "here").help(help)
}

fn begun(spaces: usize) -> String {
    if spaces == 0 { "without a space".to_owned() } else { format!("with {}", count(spaces)) }
}

fn count(spaces: usize) -> String {
    if spaces == 1 { "1 space".to_owned() } else { format!("{spaces} spaces") }
}

/// What is wrong, and what to do about it.
fn words(fault: &SyntaxFault) -> (String, &'static str) {
    let (message, help) = match fault {
        SyntaxFault::UnclosedBracket => ("a bracket has no partner", CLOSE),
        SyntaxFault::StrayBracket => {
            ("a closing bracket has no partner", "take it out, or write its opening partner")
        }
        SyntaxFault::WrongBracket { .. } => ("a bracket is closed by one of the other kind", CLOSE),
        SyntaxFault::StrayComma => ("a comma stands where none may", "take it out"),
        SyntaxFault::MissingComma => {
            ("a comma is missing between two entries", "write `,` between the entries")
        }
        SyntaxFault::UnclosedQuote => {
            ("a quotation mark has no partner", "close the quotation on the line where it begins")
        }
        SyntaxFault::AfterQuote => {
            ("something stands directly behind a closing quote", "put all of it into the quotes")
        }
        SyntaxFault::Escape => (
            "a backslash is followed by what it cannot be",
            "write `\\\\` for a backslash, or use single quotes",
        ),
        SyntaxFault::ForgottenKey { .. } => (
            "the line with the key that this belongs to is missing",
            "write the key on a line above this one",
        ),
        SyntaxFault::Indentation | SyntaxFault::Column { .. } => (
            "the line begins left or right of its neighbours",
            "begin it below the first letter of its neighbours",
        ),
        SyntaxFault::KeyWithoutColon { .. } => ("a key has no colon", KEY_AND_VALUE),
        SyntaxFault::ColonWithoutSpace { .. } => ("a colon has no space behind it", KEY_AND_VALUE),
        SyntaxFault::Unquoted { by, .. } => return unquoted(*by),
        SyntaxFault::Unbraced { .. } => {
            ("keys with values stand in a line, and no braces around them", KEY_AND_VALUE)
        }
        SyntaxFault::Parted { .. } => ("a comma parts this value in two", "put all of it into quotes"),
        SyntaxFault::StrayDash { before_key } => (STRAY_DASH, without_dash(*before_key)),
        SyntaxFault::Slashes => ("a comment does not begin with `//`", "begin it with `#`"),
        SyntaxFault::Unmerged => (
            "a merge was not finished here",
            "keep what is right of the two sides, and take out the lines `<<<<<<<`, `=======` and `>>>>>>>`",
        ),
        SyntaxFault::NoBreakSpace { .. } => (NO_BREAK_SPACE, "write spaces instead of them, two a level"),
        SyntaxFault::Comment => {
            ("a comment stands directly behind text", "write a space before `#`, or quote the text")
        }
        SyntaxFault::Property => {
            ("an anchor, tag or directive is not written as one", "leave it out; a description needs none")
        }
        SyntaxFault::Block => (
            "a block of text begins in a way that cannot be read",
            "write `|` alone, then the text two spaces further in",
        ),
        SyntaxFault::End => ("the file ends in the middle of something", "finish the last entry"),
        SyntaxFault::Other(said) => {
            return (format!("this is not YAML: {said}"), malformed_yaml::RULE.card.remedy);
        }
    };
    (message.to_owned(), help)
}

/// What to do about a dash that stands where none may.
fn without_dash(before_key: bool) -> &'static str {
    if before_key {
        "take the `-` out: what stands beside it has none"
    } else {
        "take the `-` out, or begin the list on a line of its own"
    }
}

/// A text that means more than text where it has no quotes.
fn unquoted(by: char) -> (String, &'static str) {
    let (message, help) = match by {
        ':' => (
            "a colon stands where none may",
            "put the text into quotes, or part the two keys: by a comma between braces, else by a line break",
        ),
        '-' => (STRAY_DASH, "put the text into quotes, or begin the list on a line of its own"),
        '[' | '{' => (
            "something stands directly behind a closing bracket",
            "write it on a line of its own, or into the brackets",
        ),
        '#' => (
            "a comment stands where a value belongs",
            "put the text into quotes if it is the value, or write the value in front of the comment",
        ),
        _ => return (format!("a value cannot begin with `{by}`"), "put the text into quotes"),
    };
    (message.to_owned(), help)
}
