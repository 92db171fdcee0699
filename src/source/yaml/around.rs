//! Reads around what is no YAML, so that one mistake does not hide the others, nor what is sound.
//!
//! The entry in which the parser stopped is blanked out, with a key in its place whose value is told as broken, and
//! the text is parsed again. Where that does not help, the entry around it is taken, and so on. What was read so is
//! marked as partial: it serves for finding further mistakes and never for building.

use super::build::{Builder, Hole};
use super::diagnose::{Line, content_before};
use super::events::{Refused, parse_text};
use super::tree::Tree;
use crate::source::{FileId, Limits, Problem};

/// Faults that are told of one file.
const MOST_HOLES: usize = 50;

/// Bytes that are parsed again at most, over all attempts.
const MOST_BYTES: usize = 8 << 20;

/// Steps outwards for one fault.
const MOST_STEPS: usize = 6;

/// The [`HOLE_KEY`](super::build::HOLE_KEY) with its colon.
const PLACEHOLDER: &str = "_:";

/// What stands in place of an entry.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Filling {
    /// A key or a dash without a value.
    Placeholder,
    /// Nothing.
    Blank,
}

/// A part of the text that is not parsed.
#[derive(Clone, Copy)]
struct Region {
    start: usize,
    end: usize,
    indent: usize,
    filling: Filling,
}

/// Reads a text that was refused with `first`. Gives what could be read, if anything, and all faults.
pub(super) fn read(
    source: &str,
    file: FileId,
    limits: &Limits,
    first: Problem,
) -> (Option<Tree>, Vec<Problem>) {
    let mut faults = vec![first];
    let mut regions: Vec<Region> = Vec::new();
    let mut bytes_left = MOST_BYTES;
    loop {
        let Some(fault) = faults.last().filter(|fault| is_local(fault)) else { return (None, faults) };
        if regions.len() >= MOST_HOLES {
            return (None, faults);
        }
        let before = regions.len();
        let mut next = Some(entry_at(source, fault.place().start as usize));
        let mut outcome = None;
        for _ in 0..MOST_STEPS {
            let Some(region) = next.filter(|_| source.len() <= bytes_left) else { break };
            bytes_left -= source.len();
            regions.truncate(before);
            regions.retain(|earlier| earlier.start < region.start || earlier.start >= region.end);
            regions.push(region);
            match parse_without(source, &regions, file, limits) {
                Ok(parsed) => outcome = Some(Ok(parsed)),
                Err(refused) if refused.at() >= region.end => outcome = Some(Err(refused)),
                Err(_) => {}
            }
            if outcome.is_some() {
                break;
            }
            next = outwards(source, region);
        }
        match outcome {
            Some(Ok((tree, problems))) => {
                faults.extend(problems);
                return (Some(tree), faults);
            }
            Some(Err(refused)) => faults.push(*refused.problem),
            None => return (None, faults),
        }
    }
}

/// Whether a fault is one of a line, and not one of the whole text.
fn is_local(problem: &Problem) -> bool {
    matches!(problem, Problem::Syntax { .. } | Problem::Tab { .. })
}

fn parse_without(
    source: &str,
    regions: &[Region],
    file: FileId,
    limits: &Limits,
) -> Result<(Tree, Vec<Problem>), Refused> {
    let mut sorted = regions.to_vec();
    sorted.sort_by_key(|region| region.start);
    let mut text = String::with_capacity(source.len());
    let mut holes = Vec::new();
    for region in sorted {
        // Regions may lie within each other when an outer one was taken later.
        if region.start < text.len() {
            continue;
        }
        text.push_str(source.get(text.len()..region.start).unwrap_or(""));
        let skipped = source.get(region.start..region.end).unwrap_or("");
        let line = Line::at(source, region.start);
        let is_item = skipped.starts_with('-');
        let filled = region.filling == Filling::Placeholder && (is_item || line.text.len() > 1);
        let placeholder = match (filled, is_item) {
            (true, true) => "-",
            (true, false) => PLACEHOLDER,
            (false, _) => "",
        };
        text.push_str(placeholder);
        let rest = skipped.get(placeholder.len()..);
        // The rest byte by byte: a placeholder may end within a character.
        let rest = rest.map_or(skipped.as_bytes().get(placeholder.len()..).unwrap_or(&[]), str::as_bytes);
        text.extend(
            rest.iter().map(|byte| if matches!(byte, b'\n' | b'\r') { char::from(*byte) } else { ' ' }),
        );
        if filled {
            holes.push(Hole { start: narrow(region.start), key_end: narrow(line.key().end) });
        }
    }
    text.push_str(source.get(text.len()..).unwrap_or(""));
    parse_text(&text, Builder::new(source, file, limits).around(&holes), limits)
}

/// The entry that has a byte: its line, and the lines behind it that are further in.
/// Lines with a tab in front have no indentation that counts; they are left out alone.
fn entry_at(source: &str, byte: usize) -> Region {
    let line = Line::at(source, byte);
    if !line.text.starts_with('\t') {
        return block(source, line, Filling::Placeholder);
    }
    let tabbed = std::iter::successors(Some(line), |line| line.after(source))
        .take_while(|line| line.text.starts_with('\t'));
    let end = tabbed.last().map_or(line.span().end, |line| line.span().end);
    Region { start: line.start, end, indent: usize::MAX, filling: Filling::Blank }
}

fn block(source: &str, line: Line, filling: Filling) -> Region {
    let mut end = line.span().end;
    for next in std::iter::successors(line.after(source), |line| line.after(source)) {
        if next.has_content() {
            if next.indent <= line.indent {
                break;
            }
            end = next.span().end;
        }
    }
    Region { start: line.start, end, indent: line.indent, filling }
}

/// What to try when leaving out a region did not help: the region without anything in its place, then the entry
/// around it.
fn outwards(source: &str, region: Region) -> Option<Region> {
    if region.filling == Filling::Placeholder {
        return Some(Region { filling: Filling::Blank, ..region });
    }
    let line = Line::at(source, region.start);
    let outer = std::iter::successors(content_before(line, source), |line| content_before(*line, source))
        .find(|line| line.indent < region.indent)?;
    Some(block(source, outer, Filling::Placeholder))
}

fn narrow(position: usize) -> u32 {
    u32::try_from(position).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::super::events::parse_around;
    use super::*;
    use crate::source::Problem;

    /// Each fault with its line, what kind it is and what it points at; then what could be read, as JSON.
    fn check(source: &str, expected: &[&str], read: &str) {
        let (tree, problems) = parse_around(source, FileId(0), &Limits::default());
        let told: Vec<String> = problems
            .iter()
            .map(|problem| {
                let place = problem.place();
                let text = &source[place.start as usize..place.end as usize];
                let line = source[..place.start as usize].matches('\n').count() + 1;
                #[allow(clippy::wildcard_enum_match_arm, reason = "named by its variant")]
                let kind = match problem {
                    Problem::Syntax { fault, .. } => format!("{fault:?}"),
                    other => format!("{other:?}").split([' ', '{']).next().unwrap_or("").to_owned(),
                };
                format!("{line} {kind} {text}").trim_end().to_owned()
            })
            .collect();
        assert_eq!(told, expected, "{source}");
        let json =
            tree.map_or("nothing".to_owned(), |tree| tree.root(FileId(0), source).to_json().to_string());
        assert_eq!(json, read, "{source}");
    }

    #[test]
    fn a_key_without_its_colon() {
        check("rooms\n  kitchen:\n    name: K\n", &["1 KeyWithoutColon rooms"], r#"{"rooms":null}"#);
        check(
            "a:\n  b\n    c: 1\n    d: 2\ne: 3\n",
            &["2 KeyWithoutColon b"],
            // Too short for a placeholder: nothing is in its place.
            r#"{"a":null,"e":3}"#,
        );
        check("a: 1\nlast one\n", &["2 KeyWithoutColon last one"], r#"{"a":1,"last":null}"#);
        check(
            "a:\n  name:Kitchen\n  floor: g\n",
            &["2 ColonWithoutSpace :"],
            r#"{"a":{"name":null,"floor":"g"}}"#,
        );
    }

    #[test]
    fn a_colon_too_many() {
        check("name: Kitchen: left\nb: 1\n", &["1 StrayColon Kitchen: left"], r#"{"name":null,"b":1}"#);
    }

    #[test]
    fn lines_that_begin_where_none_should() {
        check("a:\n  bb: 1\n   cc: 2\n  dd: 3\n", &["3 Indentation cc"], r#"{"a":{"bb":1,"dd":3}}"#);
        check(
            "a:\n  bb:\n    xx: 1\n   cc: 2\n  dd: 3\n",
            &["4 Indentation cc"],
            r#"{"a":{"bb":{"xx":1},"dd":3}}"#,
        );
        check("aa: 1\n\tbb: 2\ncc: 3\n", &["2 Tab"], r#"{"aa":1,"cc":3}"#);
        check("aa: 1 # x\n  bb: 2\ncc: 3\n", &["2 Indentation bb"], r#"{"aa":1,"cc":3}"#);
        check("aa:\n  bb: 1\n  - cc\n", &["3 StrayDash -"], r#"{"aa":{"bb":1}}"#);
    }

    #[test]
    fn brackets_and_quotation_marks() {
        check(
            "pp: { command: 1/1/10, feedback: 1/4/10\nbb: 1\n",
            &["1 UnclosedBracket {"],
            r#"{"pp":null,"bb":1}"#,
        );
        check(
            "include: [rooms/*.yaml\nrooms:\n  a: 1\n",
            &["1 UnclosedBracket ["],
            r#"{"include":null,"rooms":{"a":1}}"#,
        );
        check(
            "pp: { command: 1 feedback: 2 }\nbb: 1\n",
            &["1 MissingComma feedback"],
            r#"{"pp":null,"bb":1}"#,
        );
        check("aa: {b: 1}}\nbb: 2\n", &["1 StrayBracket }"], r#"{"aa":null,"bb":2}"#);
        check("aa: \"open\nbb: 1\ncc: 2\n", &["1 UnclosedQuote \"open"], r#"{"aa":null,"bb":1,"cc":2}"#);
        check(
            "aa: \"open\nbb: \"1\"\ncc: 2\n",
            &["1 UnclosedQuote \"open"],
            r#"{"aa":null,"bb":"1","cc":2}"#,
        );
        check("aa: 'Anna's lamp'\nbb: 1\n", &["1 AfterQuote s lamp'"], r#"{"aa":null,"bb":1}"#);
        check("aa: \"C:\\q\"\nbb: 1\n", &["1 Escape \\q"], r#"{"aa":null,"bb":1}"#);
        check("aa: @home\nbb: 1\n", &["1 Character('@') @"], r#"{"aa":null,"bb":1}"#);
    }

    #[test]
    fn each_fault_is_told_once_and_the_rest_is_read() {
        check(
            "aa: 'Anna's lamp'\nbb:\n  cc: [1\n  dd: 4\nee\nff:\n- gg: x: y\n- hh\n",
            &["1 AfterQuote s lamp'", "3 UnclosedBracket [", "5 KeyWithoutColon ee", "7 StrayColon x: y"],
            r#"{"aa":null,"bb":{"cc":null,"dd":4},"ee":null,"ff":[null,"hh"]}"#,
        );
    }

    #[test]
    fn what_is_beyond_help_has_no_tree() {
        let deep = "[".repeat(70);
        check(&deep, &["1 TooDeep ["], "nothing");
    }
}
