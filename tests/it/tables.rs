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

/// Who has a thousand rows that contradict others has one cause for them, and a table can be large.
#[test]
fn rows_that_contradict_others_are_told_one_by_one_as_long_as_somebody_reads_them() {
    let house = "housewright: 1\nhouse: { id: reed-house, name: Reed House }\nbuses: { main: { table: bus.csv } }\n\
        bridges: { reed: { name: Reed House, capacity: 20 } }\n";
    let table = |rows: u32| -> String {
        let rows = (0..rows).map(|number| format!("1/1/1,Lamp {number}\n"));
        std::iter::once("Address,Name\n".to_owned()).chain(rows).collect()
    };
    let messages = |rows: u32, limits: &Limits| -> Vec<String> {
        let texts = [("house.yaml", house), ("bus.csv", &table(rows))];
        let inspection = housewright::inspect(Sources::from_texts(&texts), limits);
        let of_rows = |rule: &str| ["row-twice", "over-limit"].contains(&rule);
        let findings = inspection.judged.findings.iter().filter(|finding| of_rows(finding.rule));
        findings.map(|finding| finding.message.clone()).collect()
    };
    let limits = Limits::default();
    assert_eq!(messages(1_000, &limits).len(), 999);
    let of_many = messages(1_101, &limits);
    assert_eq!(of_many.len(), 1_000);
    let last = "101 more rows of the address table have an address that a row before has";
    assert_eq!(of_many.last().map(String::as_str), Some(last));
    let bounded = messages(5, &Limits { table_addresses: 2, ..limits });
    let beyond = "more than 2 rows with an address in one table here";
    assert_eq!(bounded, ["`1/1/1` is both `Lamp 0` and `Lamp 1` in the address table", beyond]);
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

/// One cause is one finding, however many rows have it, and what is read all the same stops no build.
#[test]
fn a_table_of_thousands_is_told_once_of_what_all_its_rows_have() {
    let house = "housewright: 1\nhouse: { id: reed-house, name: Reed House }\nbuses: { main: { table: bus.csv } }\n\
        bridges: { reed: { name: Reed House, capacity: 20 } }\nrooms:\n  hall:\n    name: Hall\n    appliances:\n      lamp:\n        \
        name: Lamp\n        class: on-off-light\n        points:\n          switching: { command: 1/0/1, feedback: 1/0/2 }\n";
    let told_of = |cell: &str, row: &str| {
        let mut table = "Address;Name;DPT;Flags\n".to_owned();
        for number in 1..=2_500_u16 {
            let (middle, sub) = (number >> 8, number & 255);
            let name = match number {
                1 => "Hall lamp switch".to_owned(),
                2 => "Hall lamp status".to_owned(),
                _ => format!("Spare {number}"),
            };
            let address = format!("{}/{}/{sub}", 1 + middle / 8, middle % 8);
            let raw = (1 + middle / 8) * 2048 + (middle % 8) * 256 + sub;
            let row =
                row.replace("RAW", &raw.to_string()).replace("ADDRESS", &address).replace("NAME", &name);
            writeln!(table, "{}", row.replace("CELL", cell)).unwrap();
        }
        let inspection = inspect(&[("house.yaml", house), ("bus.csv", &table)]);
        assert!(inspection.judged.checked.is_some(), "{cell} {row} stops the build");
        told(&inspection).into_iter().filter(|(rule, _)| *rule != "unused-rows").collect::<Vec<_>>()
    };
    assert_eq!(told_of("1.001 switch", "ADDRESS;NAME;CELL;"), []);
    assert_eq!(told_of("1 bit", "ADDRESS;NAME;CELL;"), [("unreadable-row", 2)]);
    assert_eq!(told_of("?", "ADDRESS;NAME;;CELL"), [("unreadable-row", 2)]);
    assert_eq!(told_of("1.001", "=\"ADDRESS\";NAME;CELL;"), [("unreadable-row", 2)]);
    assert_eq!(told_of("1.001", "RAW;NAME;CELL;"), [("unreadable-row", 2)]);
    assert_eq!(told_of("1.001", "ADDRESS;NAME;CELL;\n;Spare;;"), [("unreadable-row", 3)]);
    assert_eq!(told_of("1.001", "ADDRESS;NAME;CELL;\nADDRESS;NAME;CELL;"), [("row-twice", 3)]);
}

/// `5.1` may be 5.001 or 5.100; the table says which one it was.
#[test]
fn a_type_that_lost_its_zeros_is_the_one_that_the_table_has() {
    let house = "housewright: 1\nhouse: { id: reed-house, name: Reed House }\nbuses: { main: { table: bus.csv } }\n\
        bridges: { reed: { name: Reed House, capacity: 20 } }\nrooms:\n  bath:\n    name: Bath\n    appliances:\n      fan:\n        \
        name: Fan\n        class: fan\n        points:\n          speed: { command: 1/1/1, feedback: 1/4/1, dpt: 5.1 }\n";
    let meant = |types: [&str; 2]| {
        let [command, feedback] = types;
        let table =
            format!("Address,Name,DPT\n1/1/1,Fan stage,{command}\n1/4/1,Fan stage status,{feedback}\n");
        let inspection = inspect(&[("house.yaml", house), ("bus.csv", &table)]);
        let found =
            inspection.judged.findings.iter().find(|finding| finding.rule == "malformed-datapoint-type");
        let edit = found.and_then(|found| found.edit.clone()).expect("it has a correction");
        edit.replacements.into_iter().map(|(_, text)| text).collect::<Vec<_>>()
    };
    assert_eq!(meant(["5.100", "5.100"]), ["5.100"]);
    assert_eq!(meant(["5.100", "5.001"]), ["5.001"]);
    assert_eq!(meant(["5.010", "5.010"]), ["5.001"]);
}
