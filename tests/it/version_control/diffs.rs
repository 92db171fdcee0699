//! What git shows of a ledger and a bridge JSON when the program is its diff driver.

use super::repository::{Lamp, Repository};

const BEFORE: [Lamp; 3] =
    [("bench-lamp", "Bench lamp", 1), ("chart-lamp", "Chart lamp", 2), ("stove-lamp", "Stove lamp", 3)];
/// One is renamed and rewired, one is gone, one is new.
const AFTER: [Lamp; 3] =
    [("bench-lamp", "Vise lamp", 9), ("chart-lamp", "Chart lamp", 2), ("hatch-lamp", "Hatch lamp", 4)];

fn changed() -> Repository {
    let repository = Repository::with(&BEFORE);
    repository.house(&AFTER);
    repository.build();
    repository
}

fn check(shown: &str, holds: &[&str]) {
    for text in holds {
        assert!(shown.contains(text), "no `{text}` in\n{shown}");
    }
}

#[test]
fn an_external_diff_is_the_review_of_the_two_versions() {
    let repository = changed();
    repository.shows_by("command");
    let shown = repository.git(&["diff", "--", "build/hut.bridge.json"]);
    let begins = "--- a/build/hut.bridge.json\n+++ b/build/hut.bridge.json\nLock hut: 4 changes between two builds of 3 \
                  appliances\n1 lost, 2 shown, 1 unseen; the gateway reads its definitions again\n";
    assert!(shown.starts_with(begins), "{shown}");
    check(
        &shown,
        &[
            "Stove lamp is gone",
            "Hatch lamp is new",
            "Bench lamp is now called Vise lamp",
            "-node label: Bench lamp",
        ],
    );
}

#[test]
fn a_ledger_is_shown_by_what_happens_to_its_endpoints() {
    let repository = changed();
    repository.shows_by("command");
    let shown = repository.git(&["diff", "--", "ledger.yaml"]);
    check(
        &shown,
        &[
            "--- a/ledger.yaml\n+++ b/ledger.yaml\nlock-hut: 2 changes",
            "stove-lamp is gone",
            "Was endpoint 4, a switched light (OnOffLight)",
            "hatch-lamp is new",
            "Is endpoint 5, a switched light (OnOffLight)",
        ],
    );
    assert!(!shown.contains("forgotten"), "a retired number is remembered:\n{shown}");
}

/// Its main part is the one of that name, whatever number the others were given before.
#[test]
fn an_appliance_of_another_class_is_told_as_that_in_a_ledger_too() {
    let repository = Repository::with(&BEFORE);
    let ledger = |parts: &str, retired: &str| {
        format!("housewright-ledger: 1\nhouse: lock-hut\nappliances:\n  outlet:\n{parts}{retired}")
    };
    let meter = "    meter: hut 3 0x0510 0123456789abcdef0123456789abcd03\n";
    let main = "main: hut 2 0x010a 0123456789abcdef0123456789abcd02\n";
    repository.write("old.yaml", &ledger(&format!("    {main}{meter}"), ""));
    let other = "    main: hut 4 0x0100 0123456789abcdef0123456789abcd04\n";
    let retired = format!("retired:\n  outlet:\n    - {main}");
    repository.write("new.yaml", &ledger(&format!("{other}{meter}"), &retired));
    let arguments =
        ["review", "--git-driver", "ledger.yaml", "old.yaml", "a", "100644", "new.yaml", "b", "100644"];
    let (code, shown) = repository.housewright(&arguments);
    assert_eq!(code, 0, "{shown}");
    check(&shown, &["1 change between", "outlet is now a switched light (OnOffLight) instead of a socket"]);
}

#[test]
fn a_number_that_a_ledger_forgets_is_told() {
    let repository = changed();
    repository.shows_by("command");
    repository.commit("Take the stove lamp out");
    let ledger = repository.read("ledger.yaml");
    repository.write("ledger.yaml", ledger.split("retired:").next().expect("there is a first part"));
    let shown = repository.git(&["diff", "--", "ledger.yaml"]);
    check(
        &shown,
        &["no change", "forgotten: ", "endpoint 4 of `hut`, `stove-lamp` (main)", "help: take their lines"],
    );
}

#[test]
fn a_retired_number_that_another_appliance_has_now_is_told_once_and_without_harm() {
    let repository = changed();
    repository.shows_by("command");
    let ledger = repository.read("ledger.yaml");
    let at = ledger.find("  hatch-lamp:").expect("it is new");
    let line = ledger[at..].match_indices('\n').nth(1).expect("it has one").0;
    repository.write("ledger.yaml", &format!("{}{}", &ledger[..at], &ledger[at + line + 1..]));
    repository.commit("Take the stove lamp out");
    let living = ledger.split("retired:").next().expect("there is a first part");
    repository.write("ledger.yaml", &living.replace("hut 5 ", "hut 4 "));
    let shown = repository.git(&["diff", "--", "ledger.yaml"]);
    check(&shown, &["given again: ", "endpoint 4 of `hut`, `stove-lamp` (main), now of `hatch-lamp`"]);
    assert!(!shown.contains("take their lines"), "{shown}");
}

#[test]
fn a_filter_gives_lines_that_say_what_they_mean() {
    let repository = changed();
    repository.shows_by("textconv");
    let shown = repository.git(&["diff", "-U0"]);
    check(
        &shown,
        &[
            "-endpoint 2: Bench lamp\n+endpoint 2: Vise lamp\n",
            "-  OnOff.On → switching: 1/1/1 as 1.001 on main\n",
            "+  OnOff.On → switching: 1/1/9 as 1.001 on main\n",
            "-hut endpoint 4: stove-lamp (main), 0x0100, ",
            "+hut endpoint 4: retired, was stove-lamp (main), 0x0100, ",
            "+hut endpoint 5: hatch-lamp (main), 0x0100, ",
        ],
    );
    repository.commit("Change the lamps");
    check(&repository.git(&["log", "-p", "-1"]), &["+endpoint 2: Vise lamp"]);
}

#[test]
fn files_that_come_go_and_move_are_shown() {
    let repository = changed();
    repository.shows_by("command");
    repository.commit("Change the lamps");
    let first = repository.git(&["rev-list", "--max-parents=0", "HEAD"]);
    let empty = repository.git(&["hash-object", "-t", "tree", "/dev/null"]);
    let shown = repository.git(&["diff", "--ext-diff", empty.trim(), first.trim()]);
    check(
        &shown,
        &[
            "--- /dev/null\n+++ b/ledger.yaml",
            "--- /dev/null\n+++ b/build/hut.bridge.json",
            "The bridge Lock hut is new",
        ],
    );
    let shown = repository.git(&["diff", "--ext-diff", first.trim(), empty.trim()]);
    check(&shown, &["+++ /dev/null\nthe ledger is gone", "The bridge Lock hut is gone"]);
    repository.git(&["mv", "build/hut.bridge.json", "build/quay.bridge.json"]);
    let shown = repository.git(&["diff", "-M", "HEAD"]);
    check(&shown, &["--- a/build/hut.bridge.json\n+++ b/build/quay.bridge.json\nLock hut: no change"]);
}

#[test]
fn what_cannot_be_read_is_said_and_shown_as_it_is() {
    let repository = changed();
    for way in ["command", "textconv"] {
        repository.shows_by(way);
        let whole = repository.read("build/hut.bridge.json");
        repository.write("build/hut.bridge.json", &whole[..whole.len() / 2]);
        let ledger = repository.read("ledger.yaml").replace("hut 5 ", "hut five ");
        repository.write("ledger.yaml", &ledger);
        let shown = repository.git(&["diff"]);
        check(&shown, &["+{\"number\":2,", "hut five"]);
        if way == "command" {
            check(
                &shown,
                &[
                    "the new version cannot be compared: it ends in the middle, at line",
                    "the new version cannot be compared: line 11 of the ledger cannot be used",
                ],
            );
        }
        repository.git(&["config", "--unset", &format!("diff.house.{way}")]);
        repository.write("build/hut.bridge.json", &whole);
        repository.write("ledger.yaml", &ledger.replace("hut five ", "hut 5 "));
    }
}

#[test]
fn another_number_of_arguments_is_wrong_use() {
    let repository = Repository::new();
    let (code, text) = repository.housewright(&["review", "--git-driver", "ledger.yaml", "a", "b"]);
    assert_eq!(code, 2);
    check(&text, &["git gives a diff driver 7 arguments or 9, and a filter 1; here are 3"]);
}
