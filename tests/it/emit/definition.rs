//! The bridge JSON as text.

use housewright::bridge::definition::{
    BridgeDefinition, BridgeRef, DeviceTypeRef, Endpoint, FORMAT, HouseRef, MatterRef, VERSION,
};
use housewright::emit::{write_definition, write_endpoints};

fn definition(count: u16) -> BridgeDefinition {
    BridgeDefinition {
        format: FORMAT.to_owned(),
        version: VERSION,
        house: HouseRef { id: "heron-wharf".to_owned(), name: "Heron ]} Wharf".to_owned() },
        bridge: BridgeRef { key: "wharf".to_owned(), name: "Heron Wharf".to_owned() },
        matter: MatterRef { specification: "1.6.0".to_owned(), data_model_revision: 21 },
        endpoints: (0..count).map(|number| endpoint(number + 2)).collect(),
    }
}

fn endpoint(number: u16) -> Endpoint {
    Endpoint {
        number,
        parent: 1,
        key: format!("lamp-{number}"),
        unique_id: format!("{number:032x}"),
        node_label: "Lamp".to_owned(),
        room: "Kitchen".to_owned(),
        floor: None,
        device_types: vec![DeviceTypeRef { id: 0x0100, name: "OnOffLight".to_owned(), revision: 3 }],
        clusters: Vec::new(),
        links: Vec::new(),
    }
}

fn text(write: impl Fn(&mut Vec<u8>) -> std::io::Result<()>) -> String {
    let mut bytes = Vec::new();
    write(&mut bytes).expect("memory takes everything");
    String::from_utf8(bytes).expect("JSON is text")
}

#[test]
fn what_is_written_is_the_definition_one_endpoint_a_line() {
    for count in [0, 1, 2, 63, 64, 65, 5000] {
        let definition = definition(count);
        let text = text(|out| write_definition(out, &definition));
        let again: BridgeDefinition = serde_json::from_str(&text).expect("it is a definition");
        assert_eq!(again, definition);
        let lines = if count == 0 { 1 } else { usize::from(count) + 2 };
        assert_eq!((text.lines().count(), text.ends_with("]}\n")), (lines, true));
    }
}

#[test]
fn the_bytes_do_not_depend_on_threads_or_on_when_endpoints_are_made() {
    let whole = definition(5000);
    let expected = text(|out| write_definition(out, &whole));
    for threads in [1, 2, 7] {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads can be had");
        let written = pool.install(|| {
            text(|out| {
                // Every second position has no endpoint.
                write_endpoints(out, &definition(0), 10_000, |position| {
                    (position % 2 == 0).then(|| endpoint(u16::try_from(position / 2).unwrap_or(0) + 2))
                })
            })
        });
        assert_eq!(written, expected);
    }
}

#[test]
fn a_full_disk_is_told() {
    struct Full(usize);
    impl std::io::Write for Full {
        fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
            self.0 = self.0.checked_sub(bytes.len()).ok_or(std::io::ErrorKind::StorageFull)?;
            Ok(bytes.len())
        }
        fn flush(&mut self) -> std::io::Result<()> {
            Ok(())
        }
    }
    let whole = definition(5000);
    for room in [0, 100, 100_000, 900_000] {
        let fault = write_definition(&mut Full(room), &whole).expect_err("it does not fit");
        assert_eq!(fault.kind(), std::io::ErrorKind::StorageFull);
    }
}
