//! Text that is not YAML.

use crate::findings::Severity;
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::Problem;
use crate::source::{AliasFault, SyntaxFault};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "malformed-yaml",
        family: Family::Writing,
        severity: Severity::Error,
        summary: "the file is not YAML, or a line begins where it was not meant to",
        on_site: "Nothing in the file is built: its appliances are missing from every controller.",
        remedy: "Mend the line: YAML 1.2, two spaces a level, no tabs, every bracket and quote with its partner.",
        source: Source::Standard("YAML 1.2.2"),
        frame: Frame::Rooms,
        bad: "\
hall:
  name: \"Hall
  #     ^^^^^
",
        good: "\
hall:
  name: \"Hall\"
  appliances:
    lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
",
        folds: &[],
    },
    look: Look::Problem,
};

const TAB: &str = "a tab indents this line";

/// Puts a problem of reading YAML into words; false when it is about something else.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    let (message, help) = match problem {
        Problem::Syntax { fault: SyntaxFault::Column { spaces, meant }, place } => {
            let (message, help) = column(*spaces, *meant);
            report.add(&RULE.card, Said::new(message, *place, "here").help(help));
            return;
        }
        Problem::Syntax { fault: SyntaxFault::ForgottenKey { spaces }, place } => {
            let message = "the line with the key that this belongs to is missing";
            let help = format!("write the key on a line above this one, {}", begun(*spaces));
            report.add(&RULE.card, Said::new(message, *place, "below no key of its own").help(help));
            return;
        }
        Problem::Syntax {
            fault:
                fault @ (SyntaxFault::KeyWithoutColon { meant: Some(meant) }
                | SyntaxFault::ColonWithoutSpace { meant: Some(meant) }),
            place,
        } => {
            let said = Said::new(syntax(fault).0, *place, "here");
            report.add(&RULE.card, said.help(format!("write `{meant}`")));
            return;
        }
        Problem::Tab { place, meant: Some(spaces) } => {
            let help = format!("begin it {}, and no tab", begun(*spaces));
            report.add(&RULE.card, Said::new(TAB, *place, "here").help(help));
            return;
        }
        Problem::Syntax { fault, .. } => syntax(fault),
        Problem::Tab { .. } => (TAB.to_owned(), "write spaces instead of the tab, two a level"),
        Problem::KeyShape { .. } => {
            ("a key is a list or a mapping".to_owned(), "write the key as plain text before the colon")
        }
        Problem::Tag { .. } => (
            "a tag (`!…`) means nothing in a house description".to_owned(),
            "leave the tag out and write the value alone",
        ),
        Problem::SecondDocument { .. } => (
            "a second document begins here".to_owned(),
            "put it into a file of its own and name that under `include:`; one file holds one document",
        ),
        Problem::Alias { fault: AliasFault::Itself, .. } => {
            ("an alias stands within what it names".to_owned(), "write the value out")
        }
        Problem::Alias { .. } => (
            "an alias names an anchor that does not stand before it".to_owned(),
            "write the value out, or put `&name` before the value that is meant",
        ),
        _ => return,
    };
    report.add(&RULE.card, Said::new(message, problem.place(), "here").help(help));
}

/// A line of which it is known where it was meant to begin.
fn column(spaces: usize, meant: usize) -> (String, String) {
    let side = if spaces > meant { "right" } else { "left" };
    let help = format!("begin it {} instead of {spaces}", begun(meant));
    (format!("the line begins {} too far {side}", count(spaces.abs_diff(meant))), help)
}

fn begun(spaces: usize) -> String {
    if spaces == 0 { "without a space".to_owned() } else { format!("with {}", count(spaces)) }
}

fn count(spaces: usize) -> String {
    if spaces == 1 { "1 space".to_owned() } else { format!("{spaces} spaces") }
}

fn syntax(fault: &SyntaxFault) -> (String, &'static str) {
    let (message, help) = match fault {
        SyntaxFault::UnclosedBracket => ("a bracket has no partner", "close it: `]` for `[`, `}` for `{`"),
        SyntaxFault::StrayBracket => {
            ("a closing bracket has no partner", "take it out, or write its opening partner")
        }
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
        SyntaxFault::Indentation | SyntaxFault::Column { .. } | SyntaxFault::ForgottenKey { .. } => (
            "the line begins left or right of its neighbours",
            "begin it below the first letter of its neighbours",
        ),
        SyntaxFault::KeyWithoutColon { .. } => {
            ("a key has no colon", "write `key: value`, with a space behind the colon")
        }
        SyntaxFault::ColonWithoutSpace { .. } => {
            ("a colon has no space behind it", "write `key: value`, with a space behind the colon")
        }
        SyntaxFault::StrayColon => (
            "a colon stands where none may",
            "put the text into quotes, or break the line after the first key",
        ),
        SyntaxFault::StrayDash => ("a `-` stands where none may", "begin the list on a line of its own"),
        SyntaxFault::Character(character) => {
            return (format!("a value cannot begin with `{character}`"), "put the text into quotes");
        }
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
        SyntaxFault::Other(said) => return (format!("this is not YAML: {said}"), RULE.card.remedy),
    };
    (message.to_owned(), help)
}
