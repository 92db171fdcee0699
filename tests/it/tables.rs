//! Address tables that are no case folder: too long for one, or compared with and without something.

use housewright::Inspection;
use housewright::source::{Limits, Sources};
use std::fmt::Write as _;

fn inspect(texts: &[(&str, &str)]) -> Inspection {
    housewright::inspect(Sources::from_texts(texts), &Limits::default())
}

/// The rules that have something to say, each with its line.
fn told(inspection: &Inspection) -> Vec<(&'static str, u32)> {
    let line =
        |place: housewright::source::Place| inspection.sources.line_column(place.file, place.start).line;
    inspection.judged.findings.iter().map(|finding| (finding.rule, line(finding.primary.place))).collect()
}

/// Every group address there is, each with a row; in its last row something else.
#[test]
fn a_table_of_65_535_rows_is_read_to_its_last() {
    let house = "housewright: 1\nhouse: { id: reed-house, name: Reed House }\nbuses: { main: { table: bus.csv } }\n\
        bridges: { reed: { name: Reed House, capacity: 20 } }\nrooms:\n  hall:\n    name: Hall\n    appliances:\n      lamp:\n        \
        name: Lamp\n        class: on-off-light\n        points:\n          switching: { command: 31/7/254, feedback: 31/7/255 }\n";
    let mut table = "Address,Name,DPT\n".to_owned();
    for address in 1..=u16::MAX {
        let (main, middle, sub) = (address >> 11, (address >> 8) & 7, address & 255);
        let name = match address {
            65_534 => "Hall lamp switch".to_owned(),
            65_535 => "Hall lamp status".to_owned(),
            _ => format!("Spare {address}"),
        };
        writeln!(table, "{main}/{middle}/{sub},{name},1.001").unwrap();
    }
    assert_eq!(told(&inspect(&[("house.yaml", house), ("bus.csv", &table)])), [("unused-rows", 2)]);
    let broken = format!("{table}31/8/1,One more,1.001\n");
    let seen = told(&inspect(&[("house.yaml", house), ("bus.csv", &broken)]));
    assert_eq!(seen, [("unused-rows", 2), ("unreadable-row", 65_537)]);
}

/// The case `words-of-another-language` without its word list: the finding is the list's doing.
#[test]
fn words_of_the_house_say_what_a_status_is() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/cases/check/words-of-another-language");
    let read = |name: &str| std::fs::read_to_string(format!("{folder}/{name}")).unwrap();
    let (house, table, words) = (read("house.yaml"), read("bus/addresses.csv"), read("words/nl.yaml"));
    let with = [("house.yaml", house.as_str()), ("bus/addresses.csv", &table), ("words/nl.yaml", &words)];
    let has =
        |texts: &[(&str, &str)]| told(&inspect(texts)).iter().any(|(rule, _)| *rule == "listens-to-feedback");
    assert!(has(&with) && !has(&with[..2]));
}
