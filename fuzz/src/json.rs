//! Mutations of JSON: values go, are there twice, stand elsewhere, are of another sort.

use super::{Random, lines};
use serde_json::{Value, json};

/// Changes a JSON document a little, or lets the fuzzer change bytes of it.
pub fn mutate(
    data: &mut [u8],
    size: usize,
    max_size: usize,
    seed: u32,
    bytes: impl Fn(&mut [u8], usize, usize) -> usize,
) -> usize {
    let mut random = Random::new(seed);
    let document = data.get(..size).and_then(|text| serde_json::from_slice::<Value>(text).ok());
    let (false, Some(mut document)) = (random.below(12) == 0, document) else {
        return bytes(data, size, max_size);
    };
    for _ in 0..=random.below(3) {
        let mut count = 0;
        visit(&mut document, &mut |_| count += 1);
        let (from, to) = (random.below(count), random.below(count));
        let mut other = Value::Null;
        nth(&mut document, from, &mut |value| other = value.clone());
        nth(&mut document, to, &mut |value| change(value, other.clone(), &mut random));
    }
    let text = document.to_string();
    if text.len() > max_size { bytes(data, size, max_size) } else { lines::put(&text, data, max_size) }
}

fn visit(value: &mut Value, see: &mut impl FnMut(&mut Value)) {
    see(value);
    match value {
        Value::Array(items) => items.iter_mut().for_each(|item| visit(item, see)),
        Value::Object(entries) => entries.values_mut().for_each(|entry| visit(entry, see)),
        _ => {}
    }
}

fn nth(value: &mut Value, wanted: usize, see: &mut impl FnMut(&mut Value)) {
    let mut at = 0;
    let mut found = false;
    visit(value, &mut |value| {
        if at == wanted && !found {
            found = true;
            see(value);
        }
        at += 1;
    });
}

fn change(value: &mut Value, other: Value, random: &mut Random) {
    match (random.below(4), &mut *value) {
        (0, _) => *value = other,
        (1, _) => *value = simple(random),
        (_, Value::Array(items)) => match random.below(4) {
            0 if !items.is_empty() => drop(items.remove(random.below(items.len()))),
            1 if !items.is_empty() => items.push(items[random.below(items.len())].clone()),
            2 if !items.is_empty() => {
                let (a, b) = (random.below(items.len()), random.below(items.len()));
                items.swap(a, b);
            }
            _ => items.push(other),
        },
        (_, Value::Object(entries)) => {
            let keys: Vec<String> = entries.keys().cloned().collect();
            let key = random.pick(&keys).cloned().unwrap_or_default();
            match random.below(3) {
                0 => drop(entries.remove(&key)),
                1 => drop(entries.insert(key, other)),
                _ => {
                    let moved = entries.remove(&key).unwrap_or_default();
                    entries.insert(random.pick(&keys).map_or("x".to_owned(), String::clone), moved);
                }
            }
        }
        (_, Value::Number(number)) => {
            let near = number.as_f64().unwrap_or_default() + [1.0, -1.0, 0.5, 1000.0][random.below(4)];
            *value = json!(near);
        }
        (_, Value::String(text)) => {
            let at = random.below(text.len() + 1);
            if text.is_char_boundary(at) {
                text.insert_str(at, ["/", "", "é", "\u{0}", "~1", "<", "0", "|"][random.below(8)]);
            }
        }
        _ => *value = other,
    }
}

fn simple(random: &mut Random) -> Value {
    match random.below(9) {
        0 => Value::Null,
        1 => json!(random.below(2) == 0),
        2 => json!(random.below(70_000)),
        3 => json!(-1),
        4 => json!(1e300),
        5 => json!(0.0),
        6 => json!([]),
        7 => json!({}),
        _ => json!("1/1/1"),
    }
}
