//! Reads around what is no YAML, so that one mistake does not hide the others, nor what is sound.
//!
//! Where one line begins too far left or right, or some begin with tabs, they are read where they were meant to begin;
//! where the line of a key was forgotten, what belongs to it is read below a key without a name. Otherwise the entry in
//! which the parser stopped is blanked out, with a key in its place whose value is told as broken, and the text is parsed
//! again; where that does not help, the entry around it is taken, and so on. What was read so is marked as partial: it
//! serves for finding further mistakes and never for building.
//!
//! Whoever knows what the file is to hold can be asked what is wrong with a reading of it. Then the reading in which the
//! least is wrong is taken, and a line that makes YAML where it stands, but another mapping than was meant, is found too.

use super::reading::Reading;
use super::tree::Tree;
use crate::sort;
use crate::source::{FileId, Limits, Problem};

/// Faults that are told of one file.
const MOST_HOLES: usize = 50;

/// Lines that are looked at for one thing that makes no sense.
const MOST_LINES: usize = 3;

/// Says what makes no sense in a tree, by what the file is to hold.
pub(crate) type Judge<'j> = &'j dyn Fn(&Tree) -> Vec<Problem>;

/// Reads a text that was refused with `first`. Gives what could be read, if anything, and all faults.
pub(super) fn read(
    source: &str,
    file: FileId,
    limits: &Limits,
    first: Problem,
) -> (Option<Tree>, Vec<Problem>) {
    go_on(&mut Reading::of(source, file, limits, None), first)
}

/// Reads a text in which something is wrong so that the least is, as a judge sees it.
pub(crate) fn read_judged(
    source: &str,
    file: FileId,
    limits: &Limits,
    judge: Judge<'_>,
) -> (Option<Tree>, Vec<Problem>) {
    let mut reading = Reading::of(source, file, limits, Some(judge));
    if let Some(fault) = reading.disguised() {
        return go_on(&mut reading, fault);
    }
    match reading.parse() {
        None => (None, Vec::new()),
        Some(Err(refused)) => go_on(&mut reading, *refused.problem),
        Some(Ok((tree, problems))) => make_sense(&mut reading, tree, problems, Vec::new()),
    }
}

fn go_on(reading: &mut Reading<'_>, first: Problem) -> (Option<Tree>, Vec<Problem>) {
    let mut faults = Vec::new();
    let mut fault = reading.disguised().unwrap_or(first);
    loop {
        let may_go_on = is_local(&fault) && faults.len() < MOST_HOLES;
        let aligned = if may_go_on { reading.align(&fault) } else { None };
        let read = match aligned {
            Some((told, read)) => {
                faults.push(told);
                Some(read)
            }
            None => {
                let start = fault.place().start as usize;
                faults.push(fault);
                if may_go_on { reading.leave_out(start) } else { None }
            }
        };
        // A line that is taken for something else is a cause, and what else is wrong may follow from it.
        let cause = if faults.len() < MOST_HOLES { reading.disguised() } else { None };
        match (read, cause) {
            (None, _) => return (None, faults),
            (Some(_), Some(cause)) => fault = cause,
            (Some(Ok((tree, problems))), None) => return make_sense(reading, tree, problems, faults),
            (Some(Err(refused)), None) => fault = *refused.problem,
        }
    }
}

/// Whether a fault is one of a line, and not one of the whole text.
fn is_local(problem: &Problem) -> bool {
    matches!(problem, Problem::Syntax { .. } | Problem::Tab { .. })
}

/// Moves lines as long as that explains what makes no sense.
fn make_sense(
    reading: &mut Reading<'_>,
    mut tree: Tree,
    mut problems: Vec<Problem>,
    mut faults: Vec<Problem>,
) -> (Option<Tree>, Vec<Problem>) {
    while faults.len() < MOST_HOLES {
        let mut wrong = problems.clone();
        wrong.extend(reading.judged(&tree));
        sort::by_key(&mut wrong, Problem::place);
        let Some((fault, read)) = reading.explain(&wrong, MOST_LINES) else { break };
        faults.push(fault);
        (tree, problems) = read;
    }
    faults.extend(problems);
    (Some(tree), faults)
}

#[cfg(test)]
mod tests {
    use super::super::events::{parse, parse_around};
    use super::*;
    use crate::source::Shape;

    /// Each fault with its line, what kind it is and what it points at; then what could be read, as JSON.
    fn check(source: &str, expected: &[&str], read: &str) {
        let (tree, problems) = parse_around(source, FileId(0), &Limits::default());
        compare(source, tree, &problems, expected, read);
    }

    fn compare(source: &str, tree: Option<Tree>, problems: &[Problem], expected: &[&str], read: &str) {
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
        check(
            "rooms\n  kitchen:\n    name: K\n",
            &["1 KeyWithoutColon { meant: Some(\"rooms:\") } rooms"],
            r#"{"rooms":null}"#,
        );
        check(
            "a:\n  b\n    c: 1\n    d: 2\ne: 3\n",
            &["2 KeyWithoutColon { meant: Some(\"b:\") } b"],
            // Too short for a placeholder: nothing is in its place.
            r#"{"a":null,"e":3}"#,
        );
        check(
            "a:\n  name Hall  # a remark\n  floor: g\n",
            &["2 KeyWithoutColon { meant: Some(\"name: Hall\") } name Hall"],
            r#"{"a":{"name":null,"floor":"g"}}"#,
        );
        check(
            "a: 1\nlast one\n",
            &["2 KeyWithoutColon { meant: Some(\"last: one\") } last one"],
            r#"{"a":1,"last":null}"#,
        );
        check(
            "a:\n  name:Kitchen\n  floor: g\n",
            &["2 ColonWithoutSpace { meant: Some(\"name: Kitchen\") } :"],
            r#"{"a":{"name":null,"floor":"g"}}"#,
        );
    }

    #[test]
    fn a_colon_too_many() {
        check(
            "name: Kitchen: left\nb: 1\n",
            &["1 Unquoted { by: ':', text: Some(\"Kitchen: left\") } Kitchen: left"],
            r#"{"name":null,"b":1}"#,
        );
    }

    #[test]
    fn lines_that_begin_where_none_should() {
        check(
            "a:\n  bb: 1\n   cc: 2\n  dd: 3\n",
            &["3 Column { spaces: 3, meant: 2 } cc"],
            r#"{"a":{"bb":1,"cc":2,"dd":3}}"#,
        );
        check(
            "a:\n  bb:\n    xx: 1\n   cc: 2\n  dd: 3\n",
            &["4 Column { spaces: 3, meant: 2 } cc"],
            r#"{"a":{"bb":{"xx":1},"cc":2,"dd":3}}"#,
        );
        check(
            "aa: 1 # x\n  bb: 2\ncc: 3\n",
            &["2 Column { spaces: 2, meant: 0 } bb"],
            r#"{"aa":1,"bb":2,"cc":3}"#,
        );
        check("aa:\n  bb: 1\n  - cc\n", &["3 StrayDash { before_key: false } -"], r#"{"aa":{"bb":1}}"#);
    }

    #[test]
    fn a_key_before_a_bracket_without_its_colon() {
        check(
            "aa: 1\nbb { cc: 1, dd: 2 } # as it is\n",
            &["2 KeyWithoutColon { meant: Some(\"bb: { cc: 1, dd: 2 }\") } bb"],
            r#"{"aa":1,"bb":null}"#,
        );
        check(
            "aa: 1\nbb: { cc { dd: 1 }, ee: 2 }\n",
            &["2 KeyWithoutColon { meant: None } cc"],
            r#"{"aa":1,"bb":null}"#,
        );
    }

    #[test]
    fn a_tab_is_told_once_and_its_lines_are_read_where_they_were_meant_to_begin() {
        check("aa: 1\n\tbb: 2\ncc: 3\n", &["2 Tab"], r#"{"aa":1,"bb":2,"cc":3}"#);
        check("aa:\n\tbb: 2\n\tcc: 3\ndd: 3\n", &["2 Tab"], r#"{"aa":{"bb":2,"cc":3},"dd":3}"#);
        check(
            "aa:\n\tbb:\n\t\tcc: 3\n\tdd: 3\nee:\n\tff: 5\n",
            &["2 Tab", "6 Tab"],
            r#"{"aa":{"bb":{"cc":3},"dd":3},"ee":{"ff":5}}"#,
        );
        // Where something else is wrong with such lines, they are left out.
        check("aa:\n\tbb: 'x\n\tcc: 3\ndd: 3\n", &["2 Tab"], r#"{"aa":null,"dd":3}"#);
    }

    /// Two appliances in a room.
    const ROOM: &str = "\
rooms:
  hall:
    name: Hall
    floor: ground
    appliances:
      lamp:
        name: Lamp
        class: dimmable-light
        points:
          switching: { command: 1/1/1 }
          brightness: { command: 1/2/1 }
      socket:
        name: Socket
        class: on-off-outlet
        points:
          switching: { command: 1/1/2 }
          metering: { feedback: 1/7/2 }
";

    #[test]
    fn one_space_too_many_or_too_few_is_told_at_its_line_and_all_is_read() {
        let whole = parse_around(ROOM, FileId(0), &Limits::default()).0.unwrap();
        let whole = whole.root(FileId(0), ROOM).to_json().to_string();
        for (nth, line) in ROOM.lines().enumerate() {
            let text = line.trim_start();
            let spaces = line.len() - text.len();
            for moved in [Some(spaces + 1), spaces.checked_sub(1)].into_iter().flatten() {
                let lines: Vec<String> = ROOM
                    .lines()
                    .enumerate()
                    .map(|(at, line)| if at == nth { " ".repeat(moved) + text } else { line.to_owned() })
                    .collect();
                let source = lines.join("\n") + "\n";
                if parse(&source, FileId(0), &Limits::default()).0.is_some() {
                    continue;
                }
                let key = text.split(':').next().unwrap_or("");
                let told = format!("{} Column {{ spaces: {moved}, meant: {spaces} }} {key}", nth + 1);
                check(&source, &[&told], &whole);
            }
        }
    }

    #[test]
    fn a_forgotten_key_leaves_out_what_belongs_to_it() {
        check(
            "aa: 1\n  bb: 2\n  cc: 3\ndd: 4\n",
            &["2 ForgottenKey { spaces: 0 } bb"],
            r#"{"aa":1,"":null,"dd":4}"#,
        );
    }

    /// As [`check`], with a judge to whom the value of `n` is to be a text, and all others mappings; `n` is not to be
    /// outside, nor `b`.
    fn check_judged(source: &str, expected: &[&str], read: &str) {
        let judge = |tree: &Tree| {
            let mut wrong = Vec::new();
            let mut open = vec![tree.root(FileId(0), source)];
            while let Some(node) = open.pop() {
                for (key, value) in node.entries().filter(|(_, value)| !value.is_broken()) {
                    let expected = if key.raw_text() == "n" { Shape::Text } else { Shape::Mapping };
                    let (place, found) = (key.place(), value.shape());
                    let is_outside = node.place().start == 0;
                    let is_out_of_place = is_outside && matches!(key.raw_text(), "n" | "b");
                    wrong.extend((expected != found || is_out_of_place).then_some(Problem::WrongShape {
                        place,
                        expected,
                        found,
                        written: None,
                    }));
                    open.push(value);
                }
            }
            wrong
        };
        let (tree, problems) = read_judged(source, FileId(0), &Limits::default(), &judge);
        compare(source, tree, &problems, expected, read);
    }

    #[test]
    fn a_line_that_makes_another_mapping_is_found_by_a_judge() {
        check_judged(
            "a:\n  b:\n    n: x\n    c:\n      n: y\n",
            &[],
            r#"{"a":{"b":{"n":"x","c":{"n":"y"}}}}"#,
        );
        check_judged(
            "a:\nb:\n    n: x\n    c:\n      n: y\n",
            &["2 Column { spaces: 0, meant: 2 } b"],
            r#"{"a":{"b":{"n":"x","c":{"n":"y"}}}}"#,
        );
        check_judged(
            "a:\n  b:\n    n: x\n    d:\n    n: y\n",
            &["4 Column { spaces: 4, meant: 2 } d"],
            r#"{"a":{"b":{"n":"x"},"d":{"n":"y"}}}"#,
        );
    }

    #[test]
    fn a_forgotten_key_is_found_by_a_judge_where_the_line_behind_could_be_moved() {
        check_judged(
            "a:\n    n: x\n    c:\n      n: z\n  b:\n    n: y\n",
            &["2 ForgottenKey { spaces: 2 } n"],
            r#"{"a":{"":null,"b":{"n":"y"}}}"#,
        );
    }

    #[test]
    fn what_no_line_explains_is_left_as_it_is() {
        check_judged("a:\n  n: x\n  b: y\n", &[], r#"{"a":{"n":"x","b":"y"}}"#);
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
        check(
            "aa: @home\nbb: 1\n",
            &["1 Unquoted { by: '@', text: Some(\"@home\") } @home"],
            r#"{"aa":null,"bb":1}"#,
        );
    }

    #[test]
    fn each_fault_is_told_once_and_the_rest_is_read() {
        check(
            "aa: 'Anna's lamp'\nbb:\n  cc: [1\n  dd: 4\nee\nff:\n- gg: x: y\n- hh\n",
            &[
                "1 AfterQuote s lamp'",
                "3 UnclosedBracket [",
                "5 KeyWithoutColon { meant: None } ee",
                "7 Unquoted { by: ':', text: None } x: y",
            ],
            r#"{"aa":null,"bb":{"cc":null,"dd":4},"ee":null,"ff":[null,"hh"]}"#,
        );
    }

    #[test]
    fn what_is_beyond_help_has_no_tree() {
        let deep = "[".repeat(70);
        check(&deep, &["1 TooDeep ["], "nothing");
    }
}
