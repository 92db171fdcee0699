//! The review for a terminal or a plain text file: by consequence, then by room.

use super::view::{
    clean, counts, gateway, gateway_of, groups, hint, keys, only_side, remedy, side, sides, summary, telling,
    title,
};
use crate::findings::breaking::broken;
use crate::review::change::{Change, Kind, Review};
use crate::review::judgement::{Consequence, Judgement, judgement, judgements};
use crate::review::words::{Telling, capital, list, unified};
use anstyle::{AnsiColor, Style};
use rayon::prelude::*;

/// Whether a form uses colour. Nothing is said by colour alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Colour {
    /// Plain text.
    Plain,
    /// With escape sequences for a terminal.
    Coloured,
}

/// How much a form tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Detail {
    /// A line a change.
    Brief,
    /// With details and reasons.
    Usual,
    /// With names, values and conversions before and after, line by line.
    Lines,
}

/// How the text is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TextOptions {
    /// Columns to fill; below 30 it is taken for 30.
    pub width: usize,
    /// Colour.
    pub colour: Colour,
    /// How much is told.
    pub detail: Detail,
}

impl Default for TextOptions {
    fn default() -> Self {
        Self { width: 80, colour: Colour::Plain, detail: Detail::Usual }
    }
}

/// Writes the review as text. It ends with a line end.
pub fn text(review: &Review, options: &TextOptions) -> String {
    let mut paper = Paper { out: String::new(), width: options.width.max(30), colour: options.colour };
    paper.head(review);
    if options.detail == Detail::Brief {
        paper.each(&review.changes, Paper::brief);
        return paper.out;
    }
    for group in groups(review) {
        paper.out.push('\n');
        let heading = format!("{}: {}", group.consequence.word(), group.consequence.meaning());
        paper.styled(0, &heading, style(group.consequence));
        paper.each(&group.rooms, |paper, room| {
            paper.out.push('\n');
            paper.styled(2, &clean(room.name), Style::new().bold());
            for change in &room.changes {
                paper.change(change, options.detail);
            }
        });
        paper.out.push('\n');
        for kind in group.kinds {
            let gateway = capital(&gateway_of(kind.gateway));
            paper.wrapped(2, 4, &format!("{}: {} {gateway}. ({})", kind.name, kind.reason, kind.cited()));
        }
    }
    paper.out
}

fn style(consequence: Consequence) -> Style {
    let colour = match consequence {
        Consequence::Lost => AnsiColor::Red,
        Consequence::Regained => AnsiColor::Yellow,
        Consequence::Shown => AnsiColor::Cyan,
        Consequence::Unseen => AnsiColor::Green,
    };
    colour.on_default().bold()
}

/// The table of judgement as text: each kind of change, worst consequence first, with its consequences and the reason.
/// With `holding`, only the kinds whose words hold that text.
pub fn changes(holding: Option<&str>, width: usize) -> String {
    let mut out = String::new();
    for consequence in Consequence::WORST_FIRST {
        for row in judgements().iter().filter(|row| row.consequence == consequence) {
            let text = sentence(row);
            if holding.is_none_or(|wanted| text.to_lowercase().contains(&wanted.to_lowercase())) {
                out.push_str(&change(row.kind, width));
            }
        }
    }
    out
}

/// One kind of change as text, with its consequences and the reason.
pub fn change(kind: Kind, width: usize) -> String {
    let mut paper = Paper { out: String::new(), width: width.max(30), colour: Colour::Plain };
    paper.wrapped(0, 2, &sentence(judgement(kind)));
    paper.out
}

fn sentence(row: &Judgement) -> String {
    let gateway = capital(&gateway_of(row.gateway));
    let (name, title, consequence) = (row.name, row.title, row.consequence.word());
    format!("{name}: {title}, {consequence}. {} {gateway}. ({})", row.reason, row.cited())
}

struct Paper {
    out: String,
    width: usize,
    colour: Colour,
}

impl Paper {
    /// Writes some things, each of which stands for itself, side by side.
    fn each<T: Sync>(&mut self, all: &[T], write: impl Fn(&mut Self, &T) + Sync) {
        const SOME: usize = 16;
        let (width, colour) = (self.width, self.colour);
        let written = all.par_chunks(SOME).map(|some| {
            let mut paper = Self { out: String::new(), width, colour };
            some.iter().for_each(|one| write(&mut paper, one));
            paper.out
        });
        let written: Vec<String> = written.collect();
        self.out.extend(written);
    }

    fn head(&mut self, review: &Review) {
        self.wrapped(0, 2, &format!("{}: {}", title(review), summary(review)));
        if !review.changes.is_empty() {
            self.wrapped(0, 2, &format!("{}; {}", counts(review), gateway(review)));
        }
        for (side, origin) in sides(review) {
            self.wrapped(0, 2, &format!("{side}: {origin}"));
        }
        if let Some(hint) = hint(review) {
            self.wrapped(0, 2, &hint);
        }
        if !review.unread.is_empty() {
            self.out.push('\n');
            self.styled(0, "not compared:", style(Consequence::Lost));
            for (of, unread) in &review.unread {
                self.wrapped(2, 4, &clean(&format!("{} `{}`: {}", side(*of), unread.name, unread.why)));
                self.wrapped(4, 4, &clean(&format!("help: {}", unread.help)));
            }
        }
    }

    fn brief(&mut self, change: &Change) {
        let word = change.consequence().word();
        let agreed = if change.agreed.is_some() { "; agreed" } else { "" };
        let Telling { headline, details } = telling(change);
        let told = match details.as_slice() {
            // What is only summed up there is nothing to judge by.
            [first, others @ ..] if is_summed_up(change.kind) => {
                let more =
                    if others.is_empty() { String::new() } else { format!(", and {} more", others.len()) };
                format!("{headline}: {first}{more}")
            }
            _ => headline,
        };
        let line = format!("{word:<8}  {told}{}{agreed}", key(change));
        let from = self.out.len();
        self.wrapped(0, 10, &line);
        if self.colour == Colour::Coloured {
            let style = style(change.consequence());
            self.out.insert_str(from + word.len(), &style.render_reset().to_string());
            self.out.insert_str(from, &style.render().to_string());
        }
    }

    fn change(&mut self, change: &Change, detail: Detail) {
        let telling = telling(change);
        self.wrapped(4, 6, &format!("{}{}", telling.headline, key(change)));
        for line in &telling.details {
            self.wrapped(6, 8, line);
        }
        if let Some(remedy) = remedy(change) {
            self.wrapped(6, 8, &format!("help: {remedy}"));
        }
        if detail == Detail::Lines && only_side(change).is_none() {
            for line in clean(&unified(change)).lines().filter(|line| !line.starts_with("@@")) {
                self.wrapped(6, 10, line);
            }
        }
    }

    /// A line in a style, wrapped first so that no escape sequence is cut.
    fn styled(&mut self, indent: usize, text: &str, style: Style) {
        let from = self.out.len();
        self.wrapped(indent, indent + 2, text);
        if self.colour == Colour::Coloured {
            let end = self.out.trim_end_matches('\n').len();
            self.out.insert_str(end, &style.render_reset().to_string());
            self.out.insert_str(from, &style.render().to_string());
        }
    }

    /// Text in lines no wider than the paper, as far as its words allow. A break keeps inner runs of spaces.
    fn wrapped(&mut self, first: usize, next: usize, text: &str) {
        let lines = broken(text, self.width, first, next);
        if !lines.is_empty() {
            self.out.extend(std::iter::repeat_n(' ', first));
        }
        self.out.push_str(&lines);
        self.out.push('\n');
    }
}

fn key(change: &Change) -> String {
    format!(" ({})", named(change))
}

/// What an accept list calls the change: `rewired: island-pendant`.
pub fn named(change: &Change) -> String {
    let keys = keys(change);
    if keys.is_empty() {
        change.kind.name().to_owned()
    } else {
        clean(&format!("{}: {}", change.kind.name(), list(&keys)))
    }
}

/// Whether the headline of several details only says of what sort they are.
fn is_summed_up(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::FunctionUnwired
            | Kind::FunctionReduced
            | Kind::FunctionWired
            | Kind::OtherEffect
            | Kind::ShownOtherwise
            | Kind::TelegramSize
    )
}
#[cfg(test)]
mod tests {
    use super::{Colour, Paper};

    fn check(text: &str, width: usize, expected: &str) {
        let mut paper = Paper { out: String::new(), width, colour: Colour::Plain };
        paper.wrapped(2, 4, text);
        assert_eq!(paper.out, expected);
    }

    #[test]
    fn long_lines_break_between_words_and_hang() {
        check("one two three", 40, "  one two three\n");
        check("one two three", 10, "  one two\n    three\n");
        check("unbreakableword more", 8, "  unbreakableword\n    more\n");
        check("", 40, "\n");
    }

    #[test]
    fn wide_letters_count_twice() {
        check("灯火 灯火 灯火", 12, "  灯火 灯火\n    灯火\n");
    }
}
