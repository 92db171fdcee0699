//! The output forms of findings: how they read, and that all say the same in the same order.

use housewright::findings::text::{Colour, Layout};
use housewright::findings::{
    Finding, Findings, Label, RuleFacts, Severity, Summary, json, lines, markdown, sarif, text,
};
use housewright::source::{FileId, Place, Sources};
use proptest::prelude::*;

pub(crate) const KITCHEN: &str = "rooms:
  kitchen:
    appliances:
      island-pendant:
        points:
          brightness: { command: 1/2/10, feedback: 1/2/11 }
      küche:\t{ name: \"厨房の灯り\", command: 9/9/9 }
";

const TABLE: &str = "Address,Name
1/2/10,Kitchen pendant brightness
1/5/10,Kitchen pendant brightness status
";

/// A house with a kitchen of this text.
pub(crate) fn sources(kitchen: &str) -> Sources {
    let root = "include: [rooms/*.yaml]\nbuses: {main: {table: bus/addresses.csv}}\n";
    let texts = [("house.yaml", root), ("rooms/kitchen.yaml", kitchen), ("bus/addresses.csv", TABLE)];
    Sources::from_texts(&texts).0
}

/// The first place of a word in a file.
pub(crate) fn place(sources: &Sources, path: &str, word: &str) -> Place {
    let file = sources.find(path).unwrap();
    let start = sources.source(file).find(word).unwrap_or_else(|| panic!("no {word} in {path}"));
    let start = u32::try_from(start).unwrap();
    Place { file, start, end: start + u32::try_from(word.len()).unwrap() }
}

fn label(place: Place, text: &str) -> Label {
    Label { place, text: text.to_owned() }
}

fn finding(primary: Label, related: Vec<Label>) -> Finding {
    Finding {
        rule: "feedback-is-command",
        severity: Severity::Warning,
        message: "`island-pendant` takes its command for its status".to_owned(),
        primary,
        related,
        others: Vec::new(),
        evidence: None,
        on_site: Some("the controller shows what was asked for, not what happened".to_owned()),
        help: Some("write `1/5/10`".to_owned()),
        appliance: Some("island-pendant".to_owned()),
        room: Some("kitchen".to_owned()),
        edit: None,
    }
}

/// Compares the text of one finding at a width.
fn check(kitchen: &str, width: usize, primary: (&str, &str), related: &[(&str, &str, &str)], expected: &str) {
    let sources = sources(kitchen);
    let primary = label(place(&sources, "rooms/kitchen.yaml", primary.0), primary.1);
    let related = related.iter().map(|(path, word, text)| label(place(&sources, path, word), text)).collect();
    let layout = Layout { width, colour: Colour::Never };
    let shown = text::write_one(&finding(primary, related), &sources, &layout);
    assert_eq!(shown, expected.trim_start_matches('\n'), "\n{shown}");
}

#[test]
fn two_places_of_a_line() {
    check(
        KITCHEN,
        80,
        ("1/2/11", "also the command"),
        &[("rooms/kitchen.yaml", "1/2/10", "")],
        r"
warning[feedback-is-command]: `island-pendant` takes its command for its status
 --> rooms/kitchen.yaml:6:52
  |
6 |           brightness: { command: 1/2/10, feedback: 1/2/11 }
  |                                  ------            ^^^^^^ also the command
  |
  = on site: the controller shows what was asked for, not what happened
  = help: write `1/5/10`",
    );
}

#[test]
fn places_over_two_files_with_tabs_and_wide_letters() {
    check(
        KITCHEN,
        80,
        ("9/9/9", "no such address"),
        &[("bus/addresses.csv", "1/5/10", "the status"), ("bus/addresses.csv", "1/2/10", "")],
        r#"
warning[feedback-is-command]: `island-pendant` takes its command for its status
 --> rooms/kitchen.yaml:7:40
  |
7 |       küche:    { name: "厨房の灯り", command: 9/9/9 }
  |                                                ^^^^^ no such address
  |
 ::: bus/addresses.csv:2:1
  |
2 | 1/2/10,Kitchen pendant brightness
  | ------
3 | 1/5/10,Kitchen pendant brightness status
  | ------ the status
  |
  = on site: the controller shows what was asked for, not what happened
  = help: write `1/5/10`"#,
    );
}

#[test]
fn narrow_terminals_break_what_is_said_and_cut_the_line() {
    check(
        KITCHEN,
        44,
        ("1/2/11", "also the command"),
        &[],
        r"
warning[feedback-is-command]: `island-pendant` takes its command for its status
 --> rooms/kitchen.yaml:6:52
  |
6 | ...ack: 1/2/11 }
  |         ^^^^^^ also the command
  |
  = on site: the controller shows what was
             asked for, not what happened
  = help: write `1/5/10`",
    );
}

#[test]
fn a_line_too_long_to_show_is_shown_in_part() {
    let kitchen = format!("a: \"{}\" # MARK {}\n", "x".repeat(9_000), "y".repeat(9_000));
    check(
        &kitchen,
        80,
        ("MARK", "here"),
        &[],
        r#"
warning[feedback-is-command]: `island-pendant` takes its command for its status
 --> rooms/kitchen.yaml:1:9009
  |
 ::: 
1 | ...xxxxxxxxxxxxxxxxxxxxxxxxxx" # MARK yyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyy...
  |                                  ^^^^ here
  |
  = on site: the controller shows what was asked for, not what happened
  = help: write `1/5/10`"#,
    );
}

#[test]
fn what_a_text_hides_is_shown() {
    check(
        "a: \u{1b}[31m\u{202e}x # bell\u{7}\n",
        80,
        ("bell", ""),
        &[],
        "
warning[feedback-is-command]: `island-pendant` takes its command for its status
 --> rooms/kitchen.yaml:1:14
  |
1 | a: ␛[31m�x # bell␇
  |              ^^^^
  |
  = on site: the controller shows what was asked for, not what happened
  = help: write `1/5/10`",
    );
}

#[test]
fn control_characters_of_eight_bits_do_not_reach_the_terminal() {
    check(
        "a: K\u{81}che\u{9b} # MARK\n",
        80,
        ("MARK", "here"),
        &[],
        "
warning[feedback-is-command]: `island-pendant` takes its command for its status
 --> rooms/kitchen.yaml:1:13
  |
1 | a: K·che· # MARK
  |             ^^^^ here
  |
  = on site: the controller shows what was asked for, not what happened
  = help: write `1/5/10`",
    );
}

/// Every form of a run of findings, as one text.
fn all_forms(findings: &Findings, sources: &Sources) -> [String; 5] {
    let summary = Summary::new(findings, 3, 84, 212);
    let rules = [RuleFacts {
        name: "feedback-is-command",
        severity: Severity::Warning,
        summary: "feedback is learned from the command address",
        on_site: "The controller shows what was asked for.",
        remedy: "Give the status address.",
    }];
    let origin = sarif::Origin { run: "wharf".to_owned(), folder: None };
    [
        text::write(findings, &summary, sources, &Layout::default()),
        json::write(findings, &summary, sources),
        sarif::write(findings, sources, &rules, "1.2.3", &origin),
        markdown::write(findings, &summary, sources),
        lines::write(findings, sources, ""),
    ]
}

#[test]
fn every_form_says_the_same_in_the_same_order() {
    let sources = sources(KITCHEN);
    let kitchen = "rooms/kitchen.yaml";
    let mut findings: Findings = [
        finding(label(place(&sources, kitchen, "9/9/9"), ""), Vec::new()),
        finding(
            label(place(&sources, kitchen, "1/2/11"), "also"),
            vec![label(place(&sources, kitchen, "1/2/10"), "")],
        ),
        Finding {
            severity: Severity::Error,
            ..finding(label(place(&sources, kitchen, "1/2/11"), ""), Vec::new())
        },
        finding(label(place(&sources, "bus/addresses.csv", "1/5/10"), ""), Vec::new()),
        finding(label(place(&sources, kitchen, "9/9/9"), ""), Vec::new()),
    ]
    .into_iter()
    .collect();
    findings.sort();
    let order: Vec<String> = findings
        .iter()
        .map(|finding| format!("{} {}", finding.severity.word(), sources.text(finding.primary.place)))
        .collect();
    assert_eq!(
        order,
        ["warning 1/5/10", "error 1/2/11", "warning 1/2/11", "warning 9/9/9"],
        "sorted, each once"
    );

    let [text, json, sarif, markdown, lines] = all_forms(&findings, &sources);
    let told: Vec<&str> = lines.lines().filter_map(|line| line.split(": ").next()).collect();
    assert_eq!(
        told,
        [
            "bus/addresses.csv:3:1",
            "rooms/kitchen.yaml:6:52",
            "rooms/kitchen.yaml:6:52",
            "rooms/kitchen.yaml:7:40"
        ]
    );
    let arrows: Vec<&str> =
        text.lines().filter_map(|line| line.trim_start().strip_prefix("--> ")).map(str::trim).collect();
    assert_eq!(arrows, told);
    let last = "1 error, 3 warnings in 84 appliances with 212 points; 3 findings allowed";
    assert_eq!(text.lines().next_back(), Some(last));
    assert!(markdown.starts_with(&format!("**{last}**\n")));
    assert_eq!(markdown.matches("\n- **").count(), 4);

    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let keys: Vec<&str> = json.as_object().unwrap().keys().map(String::as_str).collect();
    assert_eq!(keys, ["format", "version", "findings", "summary"]);
    let second = &json["findings"][1];
    assert_eq!(second["severity"], "error");
    assert_eq!(
        second["places"][0].to_string(),
        r#"{"file":"rooms/kitchen.yaml","line":6,"column":52,"endLine":6,"endColumn":58,"label":""}"#
    );
    assert_eq!(json["findings"][2]["places"].as_array().unwrap().len(), 2);
    assert_eq!(
        json["summary"].to_string(),
        r#"{"errors":1,"warnings":3,"notes":0,"allowed":3,"appliances":84,"points":212}"#
    );

    let sarif: serde_json::Value = serde_json::from_str(&sarif).unwrap();
    let run = &sarif["runs"][0];
    assert_eq!(run["columnKind"], "utf16CodeUnits");
    assert_eq!(run["results"].as_array().unwrap().len(), 4);
    assert_eq!(run["results"][1]["level"], "error");
    assert_eq!(run["results"][1]["ruleIndex"], 0);
    assert_eq!(run["results"][2]["relatedLocations"][0]["physicalLocation"]["region"]["startColumn"], 34);
}

/// What thousands of places have is listed for programs, and floods nobody who reads.
#[test]
fn many_further_places_are_listed_where_a_list_is_of_use() {
    let sources = sources(KITCHEN);
    let one = || finding(label(place(&sources, "bus/addresses.csv", "1/2/10"), ""), Vec::new());
    let forms = |others: usize| {
        let others = vec![place(&sources, "bus/addresses.csv", "1/5/10,Kitchen"); others];
        all_forms(&[Finding { others, ..one() }].into_iter().collect(), &sources)
    };
    let ([text, none, _, markdown, lines], many) = (forms(0), forms(5_000));
    assert!(!none.contains("others"), "{none}");
    assert_eq!([&many[0], &many[3], &many[4]], [&text, &markdown, &lines]);
    let json: serde_json::Value = serde_json::from_str(&many[1]).unwrap();
    let others = json["findings"][0]["others"].as_array().unwrap();
    assert_eq!(others.len(), 5_000);
    let expected = r#"{"file":"bus/addresses.csv","line":3,"column":1,"endLine":3,"endColumn":15,"text":"1/5/10,Kitchen"}"#;
    assert_eq!(others[0].to_string(), expected);
    let sarif: serde_json::Value = serde_json::from_str(&many[2]).unwrap();
    assert_eq!(sarif["runs"][0]["results"][0]["relatedLocations"].as_array().unwrap().len(), 100);
}

#[test]
fn sarif_counts_utf16_and_escapes_paths() {
    let (sources, ..) = Sources::from_texts(&[
        ("house.yaml", "include: ['*.yaml']\n"),
        ("große küche.yaml", "x: \"😀é\" # MARK\n"),
    ]);
    let mark = place(&sources, "große küche.yaml", "MARK");
    let found = [finding(label(mark, ""), Vec::new())].into_iter().collect();
    let [_, json, sarif, ..] = all_forms(&found, &sources);
    let sarif: serde_json::Value = serde_json::from_str(&sarif).unwrap();
    let location = &sarif["runs"][0]["results"][0]["locations"][0]["physicalLocation"];
    assert_eq!(location["artifactLocation"]["uri"], "gro%C3%9Fe%20k%C3%BCche.yaml");
    assert_eq!(location["region"]["startColumn"], 12);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["findings"][0]["places"][0]["column"], 11);
}

#[test]
fn sarif_knows_a_finding_again_when_other_lines_come_and_go() {
    let fingerprints = |kitchen: &str| -> Vec<String> {
        let sources = sources(kitchen);
        let first = place(&sources, "rooms/kitchen.yaml", "command");
        let other = place(&sources, "rooms/kitchen.yaml", "1/2/11");
        let start = u32::try_from(sources.source(first.file).rfind("command").unwrap()).unwrap();
        let alike = Place { start, end: start + 7, ..first };
        let all = [first, other, alike].map(|place| finding(label(place, ""), Vec::new()));
        let [_, _, sarif, ..] = all_forms(&all.into_iter().collect(), &sources);
        let sarif: serde_json::Value = serde_json::from_str(&sarif).unwrap();
        let results = sarif["runs"][0]["results"].as_array().unwrap();
        let own = |result: &serde_json::Value| {
            result["partialFingerprints"]["finding/v1"].as_str().unwrap().to_owned()
        };
        results.iter().map(own).collect()
    };
    let before = fingerprints(KITCHEN);
    assert_eq!(before, fingerprints(&format!("# Moved down by a remark.\n\n{KITCHEN}")));
    // What differs is told apart, and what is alike is numbered.
    let distinct: std::collections::BTreeSet<&String> = before.iter().collect();
    assert_eq!(distinct.len(), 3);
    let known = |one: &str, number: &str| one.strip_suffix(number).map(str::to_owned);
    assert_eq!(known(&before[0], ":0").unwrap(), known(&before[2], ":1").unwrap());
}

#[test]
fn markdown_cannot_be_led_astray() {
    let sources = sources("a: `<b>` ``` *x* | y\n");
    let mut one = finding(label(place(&sources, "rooms/kitchen.yaml", "<b>"), "*bold*"), Vec::new());
    one.message = "`a` has <script> and | and ` alone".to_owned();
    one.related = vec![label(place(&sources, "rooms/kitchen.yaml", "*x*"), "")];
    let shown = markdown::write(&[one].into_iter().collect(), &Summary::default(), &sources);
    assert!(shown.contains("\\`a\\` has \\<script\\> and \\| and \\` alone"), "{shown}");
    assert!(shown.contains("\n      a: `<b>` ``` *x* | y\n"), "{shown}");
    assert!(shown.contains("````a: `<b>` ``` *x* | y````"), "{shown}");
    assert!(shown.contains("Here: \\*bold\\*"), "{shown}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    /// Any place of any text is shown without a panic, in every form.
    #[test]
    fn every_place_can_be_shown(text in "[ab:\\n\\r\\té😀\\x1b#\\u{202e}]{0,60}", at in 0..80_u32, length in 0..40_u32, far in 0..80_u32) {
        let sources = sources(&text);
        let file = sources.find("rooms/kitchen.yaml").unwrap_or(FileId(0));
        let place = |start: u32, end: u32| Place { file, start, end };
        let one = finding(label(place(at, at + length), "here"), vec![label(place(far, far), "there")]);
        let findings = [one].into_iter().collect();
        for form in all_forms(&findings, &sources) {
            prop_assert!(!form.contains('\u{1b}'), "{form}");
        }
    }
}
