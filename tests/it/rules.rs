//! Laws of the rule list: every rule's own examples, its file, and its case.

use crate::marked::{self, Mark};
use housewright::rules::{self, Card, Frame};
use housewright::source::{Limits, Sources};

/// Rules whose fault cannot be shown in a text: the system makes it, or a merge of ledgers.
const WITHOUT_EXAMPLE: [&str; 4] =
    ["unreadable-file", "number-given-twice", "unique-id-given-twice", "unfit-class"];

/// Says which rows of a table nobody uses: a short example nearly always leaves some.
const LEFT_OVER: &str = "unused-rows";

fn indent(text: &str, by: usize) -> String {
    text.lines().map(|line| format!("{:by$}{line}\n", "")).collect()
}

/// The files of an example, put into its frame.
fn files(card: &Card, example: &str) -> Vec<(String, String)> {
    let head = "housewright: 1\nhouse: { id: test-house, name: Test house }\nbridges: { main: { name: Test, capacity: 10 } }\n";
    let house = match card.frame {
        Frame::Points { class } => format!(
            "{head}rooms:\n  hall:\n    name: Hall\n    appliances:\n      thing:\n        name: Thing\n        class: {class}\n        points:\n{}",
            indent(example, 10)
        ),
        Frame::Appliances => {
            format!("{head}rooms:\n  hall:\n    name: Hall\n    appliances:\n{}", indent(example, 6))
        }
        Frame::Rooms => format!("{head}rooms:\n{}", indent(example, 2)),
        Frame::Root => example.to_owned(),
        Frame::Files => return split(example),
    };
    vec![("house.yaml".to_owned(), house)]
}

fn split(example: &str) -> Vec<(String, String)> {
    let mut files: Vec<(String, String)> = Vec::new();
    for line in example.lines() {
        match (line.strip_prefix("--- "), files.last_mut()) {
            (Some(path), _) => files.push((path.to_owned(), String::new())),
            (None, Some((_, text))) => {
                text.push_str(line);
                text.push('\n');
            }
            (None, None) => panic!("a line before the first file: {line}"),
        }
    }
    files
}

/// What an example raises: rule, file, line, column.
fn raised(wanted: &str, files: &[(String, String)]) -> (Vec<(String, Mark)>, Vec<Mark>) {
    let mut marks = Vec::new();
    let mut texts = Vec::new();
    for (path, text) in files {
        let (kept, mut of_file) = marked::take(path, text);
        marks.append(&mut of_file);
        texts.push((path.clone(), kept));
    }
    let texts: Vec<(&str, &str)> = texts.iter().map(|(path, text)| (path.as_str(), text.as_str())).collect();
    let inspection = housewright::inspect(Sources::from_texts(&texts), &Limits::default());
    let sources = &inspection.sources;
    let found = inspection
        .judged
        .findings
        .iter()
        .filter(|finding| finding.rule != LEFT_OVER || wanted == LEFT_OVER)
        .map(|finding| {
            let place = finding.primary.place;
            let (start, end) =
                (sources.line_column(place.file, place.start), sources.line_column(place.file, place.end));
            let width = if start.line == end.line { end.column - start.column } else { 0 };
            let mark = Mark {
                path: sources.path(place.file).to_owned(),
                line: start.line,
                column: start.column,
                width,
                rule: String::new(),
            };
            (finding.rule.to_owned(), mark)
        });
    (found.collect(), marks)
}

#[test]
fn every_bad_example_raises_its_rule_at_the_mark_and_nothing_else() {
    let mut wrong = Vec::new();
    for rule in rules::all() {
        let card = &rule.card;
        if WITHOUT_EXAMPLE.contains(&card.name) {
            continue;
        }
        let (found, marks) = raised(card.name, &files(card, card.bad));
        let wanted: Vec<_> = marks.iter().map(|mark| (card.name.to_owned(), mark.clone())).collect();
        let same = found.len() == wanted.len()
            && found
                .iter()
                .zip(&wanted)
                .all(|(found, wanted)| found.0 == wanted.0 && found.1.is_at(&wanted.1));
        if !same || wanted.is_empty() {
            wrong.push(format!("{}:\n  wanted {wanted:?}\n  found  {found:?}", card.name));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What a list, an explanation and a finding say of a severity is the same.
#[test]
fn every_finding_of_a_case_weighs_what_its_card_says() {
    let mut seen = std::collections::BTreeSet::new();
    for case in std::fs::read_dir("tests/cases/check").unwrap().flatten() {
        let inspection = housewright::inspect(
            housewright::source::load(&case.path(), &Limits::default()).unwrap(),
            &Limits::default(),
        );
        for finding in &inspection.judged.findings {
            let card = &rules::find(finding.rule).unwrap().card;
            let told = card.severities().any(|severity| severity == finding.severity);
            assert!(told, "{finding:?} of {}", case.path().display());
            seen.insert((finding.rule, finding.severity.word()));
        }
    }
    for card in rules::all().iter().map(|rule| &rule.card) {
        for (severity, when) in card.otherwise {
            assert!(seen.contains(&(card.name, severity.word())), "no case shows {}: {when}", card.name);
        }
    }
}

#[test]
fn every_good_example_raises_nothing() {
    let mut wrong = Vec::new();
    for rule in rules::all() {
        let card = &rule.card;
        let (found, _) = raised(card.name, &files(card, card.good));
        if !card.good.is_empty() && !found.is_empty() {
            wrong.push(format!("{}: {found:?}", card.name));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_list_is_sorted_and_names_are_unique_and_not_retired() {
    let names: Vec<&str> = rules::all().iter().map(|rule| rule.card.name).collect();
    assert!(names.is_sorted_by(|a, b| a < b), "{names:?}");
    for (retired, _) in rules::RETIRED {
        assert!(!names.contains(retired), "{retired} is retired");
    }
}

#[test]
fn every_rule_file_is_in_the_list_and_is_called_like_its_rule() {
    let mut in_folders = Vec::new();
    for family in rules::Family::ALL {
        let folder = format!("{}/src/rules/{}", env!("CARGO_MANIFEST_DIR"), family.folder());
        let Ok(entries) = std::fs::read_dir(folder) else { continue };
        for entry in entries.flatten() {
            let stem = entry.path().file_stem().map(|stem| stem.to_string_lossy().replace('_', "-")).unwrap();
            in_folders.push((stem, family));
        }
    }
    in_folders.sort();
    let listed: Vec<_> =
        rules::all().iter().map(|rule| (rule.card.name.to_owned(), rule.card.family)).collect();
    assert_eq!(in_folders, listed);
}

#[test]
fn folded_rules_exist() {
    for rule in rules::all() {
        for folded in rule.card.folds {
            assert!(rules::find(folded).is_some(), "{} folds {folded}", rule.card.name);
        }
    }
}

/// What is folded into a finding that is itself folded, and so on, ends at one that is told: no place goes silent.
#[test]
fn no_rules_fold_each_other_away() {
    for rule in rules::all() {
        let mut folded: Vec<&str> = Vec::new();
        let mut next = rule.card.folds.to_vec();
        while let Some(name) = next.pop() {
            if !folded.contains(&name) {
                folded.push(name);
                next.extend(rules::find(name).unwrap().card.folds);
            }
        }
        let name = rule.card.name;
        assert!(!folded.contains(&name), "{name} folds what folds it: no finding would be left");
    }
}

#[test]
fn cards_keep_to_one_form() {
    for rule in rules::all() {
        let card = &rule.card;
        let begins_lower = card.summary.starts_with(|c: char| c.is_lowercase() || c == '`');
        assert!(begins_lower && !card.summary.ends_with('.'), "{}: summary", card.name);
        assert!(card.on_site.ends_with('.') && card.remedy.ends_with('.'), "{}: sentences", card.name);
    }
}

#[test]
fn the_page_of_rules_is_up_to_date() {
    let path = format!("{}/src/rules/README.md", env!("CARGO_MANIFEST_DIR"));
    let now = rules::page();
    if std::env::var("SNAPSHOTS").is_ok_and(|wish| wish == "overwrite") {
        std::fs::write(&path, &now).unwrap();
    }
    let known = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(known == now, "{path} is stale: `SNAPSHOTS=overwrite cargo test --test it rules` makes it anew");
}

#[test]
fn explanations_fit_80_columns() {
    for rule in rules::all() {
        let card = &rule.card;
        // An example is shown as it is.
        let of_example = |line: &str| card.bad.contains(line.trim()) || card.good.contains(line.trim());
        for line in rules::explain(card, 80).lines().filter(|line| !of_example(line)) {
            assert!(line.chars().count() <= 80, "{}: {line}", card.name);
        }
    }
}
