use housewright::classes::{ClassLibrary, choices};
#[test]
fn dump() {
    let Ok(name) = std::env::var("DUMP") else { return };
    let at: usize = std::env::var("AT").ok().and_then(|at| at.parse().ok()).unwrap_or(0);
    let library = ClassLibrary::built_in();
    let class = library.get(&name).expect("class");
    let all = choices(&class, 100_000);
    println!("{} choices: {:?}", all.len(), all[at]);
    match class.shape(&all[at]) {
        Err(e) => println!("{e:#?}"),
        Ok(shape) => for part in &shape.parts {
            println!("PART {} {:?}", part.name, part.device_types.iter().map(|d| &d.name).collect::<Vec<_>>());
            for c in &part.clusters { println!("  {} {:?} {} {:?}", c.name, c.features, serde_json::to_string(&c.attributes).unwrap(), c.commands); }
            for l in &part.links { println!("  L {} {:?} {:?} {}.{} {} read={} shown={:?} {:?} {}", class.points[usize::from(l.point)].name, l.end, l.direction, l.cluster, l.target.name(), l.dpt, l.read, l.shown, l.timing, serde_json::to_string(&l.conversion).unwrap()); }
        }
    }
}
