//! What a check costs grows with the house and not with its square, however its parts are alike.

use housewright::inspect;
use housewright::source::{Limits, Sources};
use std::fmt::Write as _;

/// A house of so many rooms, each with a lamp; the tables are what `table` gives for the first and the last room of each.
fn house(
    rooms: usize,
    buses: usize,
    table: impl Fn(std::ops::Range<usize>) -> String,
) -> Vec<(String, String)> {
    let mut root = "housewright: 1\nhouse: { id: test-house, name: Test house, notation: free }\n".to_owned();
    root.push_str("bridges: { main: { name: Test, capacity: 60000 } }\nbuses:\n");
    let mut files = Vec::new();
    let each = rooms / buses;
    for bus in 0..buses {
        let _ = writeln!(root, "  line-{bus}: {{ table: line-{bus}.csv }}");
        files.push((format!("line-{bus}.csv"), table(bus * each..(bus + 1) * each)));
    }
    root.push_str("rooms:\n");
    for room in 0..rooms {
        let (bus, command) = (room / each, 1000 + 2 * (room % each));
        let _ = writeln!(
            root,
            "  room-{room}:\n    name: Room {room}\n    bus: line-{bus}\n    appliances:\n      lamp-{room}: {{ name: Lamp, \
             class: on-off-light, points: {{ switching: {{ command: \"{command}\", feedback: \"{}\" }} }} }}",
            command + 1
        );
    }
    files.insert(0, ("house.yaml".to_owned(), root));
    files
}

/// How often memory is asked for while a house without a mistake is looked at, on one thread.
fn cost(files: &[(String, String)]) -> u64 {
    let (errors, cost) = cost_with_errors(files);
    assert_eq!(errors, 0);
    cost
}

/// How many errors a house has, and how often memory is asked for while it is looked at, on one thread.
fn cost_with_errors(files: &[(String, String)]) -> (usize, u64) {
    let texts: Vec<(&str, &str)> = files.iter().map(|(path, text)| (path.as_str(), text.as_str())).collect();
    let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build().expect("a pool of one thread");
    let limits = Limits::default().raised(8);
    let look = || {
        let loaded = Sources::from_texts_within(&texts, &limits);
        let mut errors = 0;
        let used = allocation_counter::measure(|| {
            errors = inspect(loaded, &limits).judged.summary.errors;
        });
        (errors, used.count_total)
    };
    pool.install(|| {
        // What is read when it is first needed is not the house's.
        look();
        look()
    })
}

fn check(name: &str, house: impl Fn(usize) -> Vec<(String, String)>) {
    let (small, large) = (cost(&house(20)), cost(&house(160)));
    assert!(large <= small * 8 * 3 / 2, "{name}: {small} for 20, {large} for 160");
}

#[test]
fn tables_are_not_compared_each_with_each() {
    // Every line has the same addresses with the same names.
    check("tables", |size| {
        house(2 * size, size, |rooms| {
            let rows = (0..rooms.len()).map(|at| {
                let command = 1000 + 2 * at;
                format!("{command},Lamp {at} switch,1.001\n{},Lamp {at} status,1.001\n", command + 1)
            });
            format!("address,name,dpt\n{}", rows.collect::<String>())
        })
    });
}

#[test]
fn rooms_are_not_looked_for_one_by_one() {
    check("rooms", |size| {
        house(size, 1, |rooms| {
            let rows = rooms.map(|at| {
                let command = 1000 + 2 * at;
                format!("{command},Lamp switch,Room {at}\n{},Lamp status,Room {at}\n", command + 1)
            });
            format!("address,name,room\n{}", rows.collect::<String>())
        })
    });
}

#[test]
fn a_mistake_is_not_compared_with_every_bus() {
    let mistaken = |size: usize| {
        let mut root = "housewright: 1\nhouse: { id: test-house, name: Test house }\n".to_owned();
        root.push_str("bridges: { main: { name: Test, capacity: 20 } }\nbuses:\n");
        (0..size).for_each(|at| root.push_str(&format!("  line-{at}: {{}}\n")));
        root.push_str("rooms:\n");
        for at in 0..size {
            let _ = writeln!(
                root,
                "  room-{at}: {{ name: Room {at}, bus: no-such-bus-is-here-{at}, appliances: {{}} }}"
            );
        }
        let (errors, cost) = cost_with_errors(&[("house.yaml".to_owned(), root)]);
        assert!(errors >= size, "{errors}");
        cost
    };
    let (small, large) = (mistaken(400), mistaken(3200));
    assert!(large <= small * 8 * 3 / 2, "{small} for 400, {large} for 3200");
}

#[test]
fn a_former_key_is_not_compared_with_every_key() {
    let renamed = |size: usize| {
        let mut root =
            "housewright: 1\nhouse: { id: test-house, name: Test house, notation: free }\n".to_owned();
        root.push_str("bridges: { main: { name: Test, capacity: 60000 } }\nrooms:\n");
        let mut ledger = "housewright-ledger: 1\nhouse: test-house\nappliances:\n".to_owned();
        for at in 0..size {
            let (command, feedback) = (1000 + 2 * at, 1001 + 2 * at);
            let _ = writeln!(
                root,
                "  room-{at}:\n    name: Room {at}\n    appliances:\n      lamp-{at}: {{ name: Lamp, formerly: gone-{at}, class: \
                 on-off-light, points: {{ switching: {{ command: \"{command}\", feedback: \"{feedback}\" }} }} }}"
            );
            let _ = writeln!(ledger, "  known-{at}:\n    light: main {} 0x0100 {at:032x}", at + 2);
        }
        cost(&[("house.yaml".to_owned(), root), ("ledger.yaml".to_owned(), ledger)])
    };
    let (small, large) = (renamed(400), renamed(3200));
    assert!(large <= small * 8 * 3 / 2, "{small} for 400, {large} for 3200");
}

#[test]
fn a_class_misspelt_is_not_compared_with_every_class_of_the_house() {
    let misspelt = |size: usize| {
        let root = "housewright: 1\nhouse: { id: test-house, name: Test house }\n";
        let root = format!("{root}bridges: {{ main: {{ name: Test, capacity: 20 }} }}\n");
        let mut files = vec![("house.yaml".to_owned(), root)];
        for at in 0..size {
            let class = format!(
                "class: own-{at}\ntitle: A\ngroup: lighting\nsummary: A.\nbased-on: of-the-hous-{at}\n"
            );
            files.push((format!("classes/own-{at}.yaml"), class));
        }
        let (errors, cost) = cost_with_errors(&files);
        assert!(errors >= size, "{errors}");
        cost
    };
    let (small, large) = (misspelt(240), misspelt(960));
    assert!(large <= small * 4 * 3 / 2, "{small} for 240, {large} for 960");
}

#[test]
fn a_range_of_its_own_costs_an_appliance_little_memory() {
    const LAMPS: usize = 500;
    let peak = |range: &dyn Fn(usize) -> String| {
        let mut root =
            "housewright: 1\nhouse: { id: test-house, name: Test house, notation: free }\nbuses: { main: {} }\nbridges: { main: { \
             name: Test, capacity: 60000 } }\nrooms:\n  hall:\n    name: Hall\n    appliances:\n"
                .to_owned();
        for lamp in 0..LAMPS {
            let first = 1000 + 4 * lamp;
            let _ = writeln!(
                root,
                "      lamp-{lamp}: {{ name: Lamp {lamp}, class: dimmable-light, points: {{ switching: {{ command: \"{first}\", \
                 feedback: \"{}\" }}, brightness: {{ command: \"{}\", feedback: \"{}\", range: [{}, 100] }} }} }}",
                first + 1,
                first + 2,
                first + 3,
                range(lamp)
            );
        }
        let files = [("house.yaml".to_owned(), root)];
        let texts: Vec<(&str, &str)> =
            files.iter().map(|(path, text)| (path.as_str(), text.as_str())).collect();
        let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build().expect("a pool of one thread");
        pool.install(|| {
            let loaded = Sources::from_texts(&texts);
            let used = allocation_counter::measure(|| {
                assert_eq!(inspect(loaded, &Limits::default()).judged.summary.errors, 0);
            });
            used.bytes_max
        })
    };
    // What is read when it is first needed is not the house's.
    peak(&|_| "1".to_owned());
    let (common, own) = (peak(&|_| "2".to_owned()), peak(&|lamp| format!("3.{lamp:03}")));
    let each = (own - common) / LAMPS as u64;
    assert!(each < 10_000, "{each} bytes each");
}
