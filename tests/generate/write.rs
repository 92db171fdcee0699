//! A house as the texts of its files: root, room files, address tables.

use super::house::{Appliance, Bus, House, Point, Room};
use super::random::Random;
use super::scheme::Scheme;
use super::trade::Trade;
use super::words::{Language, words};
use std::fmt::Write;

/// The files of the house: path from its folder, and text. The root file comes first.
pub(crate) fn texts(house: &House) -> Vec<(String, String)> {
    let mut random = Random::new(house.order.seed ^ 0x7E87);
    let mut texts = vec![("house.yaml".to_owned(), root(house))];
    for (index, bus) in house.buses.iter().enumerate() {
        texts.push((table_path(index), table(house, bus, &mut random)));
    }
    let files = match house.order.files {
        0 => house.rooms.len().div_ceil(12),
        files => files.min(house.rooms.len()),
    };
    for (number, rooms) in house.rooms.chunks(house.rooms.len().div_ceil(files.max(1)).max(1)).enumerate() {
        texts.push((format!("rooms/part-{:04}.yaml", number + 1), rooms_text(house, rooms, &mut random)));
    }
    texts
}

fn table_path(bus: usize) -> String {
    format!("bus/line-{}.csv", bus + 1)
}

fn root(house: &House) -> String {
    let order = &house.order;
    let notation = if order.scheme == Scheme::TwoLevel { "two-level" } else { "three-level" };
    let mut out = format!(
        "# A generated house: {} appliances, addresses {}, seed {}.\nhousewright: 1\nhouse:\n  id: generated-{}-{}\n  \
         name: Generated house\n  notation: {notation}\nbuses:\n",
        order.appliances,
        order.scheme.name(),
        order.seed,
        order.scheme.name(),
        order.seed,
    );
    for index in 0..house.buses.len() {
        let _ = write!(out, "  line-{}:\n    table: {}\n", index + 1, table_path(index));
    }
    out.push_str("bridges:\n");
    for (index, bus) in house.buses.iter().enumerate() {
        let number = index + 1;
        let _ = write!(
            out,
            "  gateway-{number}:\n    name: Gateway {number}\n    capacity: {}\n",
            bus.appliances * 2 + 20
        );
    }
    out.push_str("include: [rooms/*.yaml]\n");
    out
}

fn rooms_text(house: &House, rooms: &[Room], random: &mut Random) -> String {
    let mut out = String::with_capacity(rooms.len() * 3000);
    let flow = random.chance(80);
    out.push_str("rooms:\n");
    for room in rooms {
        let _ = write!(out, "  {}:\n    name: {}\n    floor: {}\n", room.key, room.name, room.floor);
        if house.buses.len() > 1 {
            let _ = write!(out, "    bus: line-{0}\n    bridge: gateway-{0}\n", room.bus + 1);
        }
        out.push_str("    appliances:\n");
        for appliance in &room.appliances {
            appliance_text(&mut out, house, appliance, flow, random);
        }
    }
    out
}

fn appliance_text(out: &mut String, house: &House, appliance: &Appliance, flow: bool, random: &mut Random) {
    let quote = if random.chance(10) { "\"" } else { "" };
    let _ = write!(
        out,
        "      {}:\n        name: {quote}{}{quote}\n        class: {}\n",
        appliance.key, appliance.name, appliance.class.name
    );
    if random.chance(3) {
        out.push_str("        # seen on site\n");
    }
    if let Some((warmest, coldest)) = appliance.kelvin {
        let _ = writeln!(out, "        settings: {{ warmest: {warmest}, coldest: {coldest} }}");
    }
    out.push_str("        points:\n");
    for point in &appliance.points {
        point_text(out, house.order.scheme, point, flow);
    }
    let words = words(house.order.language);
    let [shading, heating] = words.checked;
    let checked = match appliance.class.trade {
        Trade::Shade => Some(shading),
        Trade::Heat => Some(heating),
        Trade::Light | Trade::Socket | Trade::Sensor => None,
    };
    if let Some(checked) = checked {
        let _ = writeln!(out, "        confirmed: {{ by: A. Tester, checked: {checked}, on: 2025-03-21 }}");
    }
    if appliance.without_status() {
        let _ = writeln!(out, "        allow:\n          missing-feedback: {}", words.no_status);
    }
}

fn point_text(out: &mut String, scheme: Scheme, point: &Point, flow: bool) {
    let written = |address: &u16| scheme.written(*address);
    let mut entries = Vec::with_capacity(3);
    if let Some(command) = &point.command {
        entries.push(format!("command: {}", written(command)));
    }
    if let Some(feedback) = &point.feedback {
        entries.push(format!("feedback: {}", written(feedback)));
    }
    match point.listens.as_slice() {
        [] => {}
        [one] => entries.push(format!("listens: {}", written(one))),
        more => {
            entries.push(format!("listens: [{}]", more.iter().map(written).collect::<Vec<_>>().join(", ")))
        }
    }
    if flow {
        let _ = writeln!(out, "          {}: {{ {} }}", point.name, entries.join(", "));
    } else {
        let _ = writeln!(out, "          {}:", point.name);
        for entry in entries {
            let _ = writeln!(out, "            {entry}");
        }
    }
}

/// The ways that tables write a datapoint type.
#[derive(Clone, Copy)]
enum Typed {
    Bare,
    Worded,
    Dashed,
}

fn table(house: &House, bus: &Bus, random: &mut Random) -> String {
    let german = house.order.language == Language::German;
    let delimiter = if german { ';' } else { *random.pick(&[',', ';', '\t']).unwrap_or(&',') };
    let typed = *random.pick(&[Typed::Bare, Typed::Worded, Typed::Dashed]).unwrap_or(&Typed::Bare);
    let [command, status] = *random
        .pick(&[["C-W-U", "CR-T-"], ["CWU", "CRT"], ["C - W - U", "C R - T -"]])
        .unwrap_or(&["C-W-U", "CR-T-"]);
    let mut rows: Vec<_> = bus.rows.iter().collect();
    rows.sort_unstable_by_key(|row| row.address);
    let mut out = String::with_capacity(rows.len() * 70);
    let heading = words(house.order.language).headings.join(&delimiter.to_string());
    let _ = writeln!(out, "{heading}");
    for row in rows {
        let address = house.order.scheme.written(row.address);
        let dpt = match (typed, row.dpt.split_once('.')) {
            (Typed::Worded, _) => format!("DPT {}", row.dpt),
            (Typed::Dashed, Some((main, sub))) => format!("DPST-{main}-{}", sub.trim_start_matches('0')),
            (Typed::Bare | Typed::Dashed, _) => row.dpt.to_owned(),
        };
        let flags = if row.reports { status } else { command };
        let cells = [&address, &row.name, &dpt, flags, &row.description];
        let _ = writeln!(out, "{}", cells.join(&delimiter.to_string()));
    }
    out
}
