//! One line of a description that begins elsewhere, is missing or lacks its colon is one mistake, and one finding.

use housewright::findings::Severity;
use housewright::source::{Limits, Sources};

const HEAD: &str = "\
housewright: 1
house: { id: reed-house, name: Reed House }
bridges: { reed: { name: Reed House, capacity: 20 } }
include: rooms.yaml
";

const ROOMS: &str = "\
rooms:
  hall:
    name: Hall
    floor: ground
    appliances:
      hall-lamp:
        name: Lamp
        class: dimmable-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
          brightness:
            command: 1/2/1
            feedback: 1/5/1
      hall-socket:
        name: Socket
        class: on-off-outlet
        points:
          switching: { command: 3/1/1, feedback: 3/4/1 }
  shed:
    name: Shed
    floor: yard
    appliances:
      shed-lamp:
        name: Lamp
        class: on-off-light
        points:
          switching: { command: 1/1/2, feedback: 1/4/2 }
";

/// Lines of the errors and warnings, and what they say.
fn told(rooms: &str) -> Vec<(u32, String)> {
    let loaded = Sources::from_texts(&[("house.yaml", HEAD), ("rooms.yaml", rooms)]);
    let inspection = housewright::inspect(loaded, &Limits::default());
    let findings = inspection.judged.findings.iter().filter(|finding| finding.severity != Severity::Note);
    findings
        .map(|finding| {
            let place = finding.primary.place;
            let before = &inspection.sources.source(place.file)[..place.start as usize];
            (u32::try_from(before.lines().count().max(1)).unwrap(), finding.message.clone())
        })
        .collect()
}

/// Changes each line in turn, and sees that there is one finding at most and, if `is_near`, that it is told at the line
/// or beside it.
fn check(is_near: bool, change: impl Fn(&str) -> Option<String>) {
    let mut said = Vec::new();
    for (nth, line) in ROOMS.lines().enumerate() {
        let Some(changed) = change(line) else { continue };
        let rooms: String = ROOMS
            .lines()
            .enumerate()
            .map(|(at, line)| if at == nth { changed.clone() } else { format!("{line}\n") })
            .collect();
        let told = told(&rooms);
        let number = u32::try_from(nth + 1).unwrap();
        let is_there = told.iter().all(|(line, _)| line.abs_diff(number) <= 1);
        if told.len() > 1 || (is_near && !is_there) {
            said.push(format!("{number} {line:?}: {told:?}"));
        }
    }
    assert!(said.is_empty(), "{}", said.join("\n"));
}

#[test]
fn a_line_that_begins_elsewhere_is_one_finding_at_its_place() {
    for by in [-2, -1, 1, 2] {
        check(true, |line| {
            let text = line.trim_start();
            let spaces = (line.len() - text.len()).checked_add_signed(by)?;
            Some(format!("{}{text}\n", " ".repeat(spaces)))
        });
    }
}

#[test]
fn a_line_that_is_missing_is_one_finding_at_most() {
    check(false, |_| Some(String::new()));
}

#[test]
fn a_line_that_begins_with_a_tab_is_one_finding_at_its_place() {
    check(true, |line| {
        let text = line.trim_start();
        (text.len() < line.len()).then(|| format!("\t{text}\n"))
    });
    check(true, |line| {
        let text = line.strip_prefix("  ")?;
        Some(format!("\t{text}\n"))
    });
    check(true, |line| {
        let text = line.trim_start();
        let levels = (line.len() - text.len()) / 2;
        (levels > 0).then(|| format!("{}{text}\n", "\t".repeat(levels)))
    });
}

#[test]
fn a_colon_without_its_space_is_one_finding_at_its_place() {
    for nth in 0..3 {
        check(true, |line| {
            let (at, _) = line.match_indices(": ").nth(nth)?;
            Some(format!("{}:{}\n", &line[..at], &line[at + 2..]))
        });
    }
}

#[test]
fn a_colon_that_is_missing_in_brackets_is_one_finding_at_its_place() {
    for nth in 1..3 {
        check(true, |line| {
            let (at, _) = line.match_indices(": ").nth(nth)?;
            Some(format!("{} {}\n", &line[..at], &line[at + 2..]))
        });
    }
}

#[test]
fn an_end_that_has_the_others_key_is_one_finding_at_its_place() {
    check(true, |line| line.contains('{').then(|| line.replace("feedback", "command") + "\n"));
    check(true, |line| line.contains('{').then(|| line.replace("command", "feedback") + "\n"));
}

#[test]
fn a_key_of_another_language_is_one_finding_at_its_place() {
    check(true, |line| {
        let text = line.trim_start().strip_prefix("name:").filter(|_| line.starts_with("        "))?;
        Some(format!("        bezeichnung:{text}\n"))
    });
    check(true, |line| {
        let text = line.trim_start().strip_prefix("class:")?;
        Some(format!("        typ:{text}\n"))
    });
}

#[test]
fn a_key_without_its_colon_is_one_finding_at_its_place() {
    check(true, |line| {
        let (key, value) = line.split_once(':')?;
        Some(format!("{key}{value}\n"))
    });
    check(true, |line| {
        let (key, value) = line.split_once(':').filter(|(_, value)| !value.is_empty())?;
        Some(format!("{key}{value}  # a remark\n"))
    });
}
