//! What is said has bounds: of many findings of one rule the first are told and all are counted, and a long value is cut.

use std::fmt::Write as _;
use std::process::Command;

const HEAD: &str = "housewright: 1\nhouse: { id: hut, name: Hut }\nbuses: { main: {} }\n\
    bridges: { hut: { name: Hut, capacity: 9 } }\nrooms:\n";

/// What `check` writes of a house with these rooms, and its exit code.
fn check(rooms: &str, words: &[&str]) -> (String, Option<i32>) {
    let place = tempfile::tempdir().expect("there is room");
    std::fs::write(place.path().join("house.yaml"), format!("{HEAD}{rooms}")).expect("the folder is ours");
    let output = Command::new(env!("CARGO_BIN_EXE_housewright"))
        .args(["check", "."])
        .args(words)
        .current_dir(place.path())
        .env_clear()
        .output()
        .expect("the program is built");
    (String::from_utf8(output.stdout).expect("it writes UTF-8"), output.status.code())
}

/// A room of so many appliances of a class that there is not.
fn lamps(count: usize) -> String {
    let mut lamps = "  hut:\n    name: Hut\n    appliances:\n".to_owned();
    for number in 0..count {
        writeln!(lamps, "      n{number}: {{ name: N{number}, class: on-off-lihgt }}").expect("it is a text");
    }
    lamps
}

#[test]
fn of_many_findings_of_a_rule_the_first_are_told_and_all_are_counted() {
    let lamps = lamps(1_203);
    let (text, code) = check(&lamps, &[]);
    assert_eq!(code, Some(1));
    assert_eq!(text.lines().next_back(), Some("1203 errors in 0 appliances with 0 points"));
    assert_eq!(text.matches("error[unknown-class]: ").count(), 1_001);
    let last = "error[unknown-class]: 203 more of `unknown-class` from here on, not told one by one\n    --> house.yaml:1009:";
    assert!(text.contains(last), "{text}");
    assert!(text.contains("check again; `--limits 2` tells all of"), "{text}");

    let (json, _) = check(&lamps, &["--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&json).expect("it is JSON");
    assert_eq!(
        (&json["summary"]["errors"], json["findings"].as_array().map(Vec::len)),
        (&1_203.into(), Some(1_001))
    );

    let (sarif, _) = check(&lamps, &["--format", "sarif"]);
    let sarif: serde_json::Value = serde_json::from_str(&sarif).expect("it is JSON");
    let told = sarif["runs"][0]["results"].as_array().expect("it has results");
    assert_eq!((told.len(), &told[1_000]["level"]), (1_001, &"error".into()));
    assert_eq!(told[1_000]["locations"][0]["physicalLocation"]["region"]["startLine"], 1_009);

    let (lines, code) = check(&lamps, &["--format", "lines", "--limits", "2"]);
    assert_eq!((lines.lines().count(), lines.contains("one by one"), code), (1_203, false, Some(1)));
}

#[test]
fn corrections_are_offered_for_all_findings() {
    let (diff, _) = check(&lamps(1_100), &["--mend"]);
    assert_eq!(diff.lines().filter(|line| line.starts_with("+      n")).count(), 1_100);
}

#[test]
fn long_values_are_cut_where_they_are_told() {
    let (long, words) = ("x".repeat(5_000), "word ".repeat(1_000));
    let rooms = format!(
        "  hut:\n    name: {words}\n    appliances:\n      lamp:\n        name: {words}\n        class: {long}\n        \
         bus: {long}\n        points: {{ {long}: {{ command: {long} }} }}\n"
    );
    for form in ["lines", "json", "sarif", "markdown", "text"] {
        let (text, code) = check(&rooms, &["--format", form]);
        let longest = text.lines().map(str::len).max().expect("there are findings");
        assert_eq!((code, longest < 1_000), (Some(1), true), "{form}: {longest}");
        assert!(text.contains(&format!("{}…", "x".repeat(120))) || form == "text", "{form}");
    }
}
