//! Mutations of text that is made of lines and indentation: descriptions, classes, ledgers, tables.

use super::Random;

/// Words that mean something to one of the readers, and numbers at the edge of something.
const WORDS: &[&str] = &[
    "0",
    "1",
    "-1",
    "255",
    "256",
    "2047",
    "65534",
    "65535",
    "65536",
    "4294967296",
    "1e400",
    ".nan",
    "0x10",
    "1_000",
    "0/0/0",
    "1/1/1",
    "31/7/255",
    "32/0/0",
    "1/2048",
    "65535/1",
    "1.001",
    "1.*",
    "DPST-5-1",
    "5.1",
    "9.001",
    "3.007",
    "20.102",
    "251.600",
    "true",
    "no",
    "null",
    "~",
    "''",
    "\"\\u0000\"",
    "\"\\u202e\"",
    "&a",
    "*a",
    "!!int",
    "!x",
    "? ",
    "- ",
    "[",
    "]",
    "{",
    "}",
    "|",
    ">-",
    "#",
    "---",
    "...",
    "<<: *a",
    "\t",
    "\u{feff}",
    "\u{85}",
    "é",
    "😀",
    "command",
    "feedback",
    "listens",
    "dpt",
    "reversed",
    "range",
    "points",
    "settings",
    "class",
    "name",
    "allow",
    "formerly",
    "bridged",
    "bus",
    "bridge",
    "confirmed",
    "include",
    "rooms/*.yaml",
    "../x.yaml",
    "/dev/zero",
    "dimmable-light",
    "on-off-light",
    "roller-shutter",
    "room-thermostat",
    "switching",
    "brightness",
    "position",
    "setpoint-shift",
    "temperature",
    "colour",
    "scene",
    "press",
    "missing-feedback",
    "three-level",
    "free",
    ";",
    ",",
    "<<<<<<< ours",
    "=======",
    ">>>>>>> theirs",
    "|||||||",
];

/// Changes a text of lines a little, or lets the fuzzer change bytes of it.
pub fn mutate(
    data: &mut [u8],
    size: usize,
    max_size: usize,
    seed: u32,
    bytes: impl Fn(&mut [u8], usize, usize) -> usize,
) -> usize {
    let mut random = Random::new(seed);
    let text = data.get(..size).map(String::from_utf8_lossy);
    let (false, Some(text)) = (random.below(6) == 0, text) else { return bytes(data, size, max_size) };
    let mut lines: Vec<String> = text.split('\n').map(str::to_owned).collect();
    for _ in 0..=random.below(3) {
        change(&mut lines, &mut random);
    }
    put(&lines.join("\n"), data, max_size)
}

/// Writes a text where the fuzzer wants it, cut off at a character.
pub fn put(text: &str, data: &mut [u8], max_size: usize) -> usize {
    let room = max_size.min(data.len());
    let end = (0..=text.len().min(room)).rev().find(|end| text.is_char_boundary(*end)).unwrap_or(0);
    data[..end].copy_from_slice(&text.as_bytes()[..end]);
    end
}

fn change(lines: &mut Vec<String>, random: &mut Random) {
    let at = random.below(lines.len());
    let Some(line) = lines.get(at).cloned() else { return };
    match random.below(10) {
        0 => {
            lines.remove(at);
        }
        1 => lines.insert(random.below(lines.len()), line),
        2 => {
            let other = random.below(lines.len());
            lines.swap(at, other);
        }
        // A block, which is a line and all that is indented below it, goes or is there twice or is moved.
        3 => drop(lines.drain(at..end_of_block(lines, at))),
        4 | 5 => {
            let block = lines[at..end_of_block(lines, at)].to_vec();
            let to = random.below(lines.len());
            lines.splice(to..to, block);
        }
        6 => {
            let (to, end) = (random.below(12), end_of_block(lines, at));
            for line in &mut lines[at..end] {
                let inner = line.trim_start_matches(' ').to_owned();
                *line = " ".repeat(to) + &inner;
            }
        }
        _ => lines[at] = other_word(&line, lines, random),
    }
}

fn end_of_block(lines: &[String], at: usize) -> usize {
    let depth = |line: &String| line.len() - line.trim_start_matches(' ').len();
    let own = depth(&lines[at]);
    let below = lines[at + 1..].iter().take_while(|line| depth(line) > own && !line.is_empty()).count();
    at + 1 + below
}

/// The same line with one of its words exchanged for one from elsewhere.
fn other_word(line: &str, lines: &[String], random: &mut Random) -> String {
    let words = words_of(line);
    let new = if random.below(3) == 0 {
        let other = random.pick(lines).map_or("", String::as_str);
        random.pick(&words_of(other)).map_or(String::new(), |&(start, end)| other[start..end].to_owned())
    } else {
        random.pick(WORDS).map_or("", |word| word).to_owned()
    };
    match random.pick(&words) {
        Some(&(start, end)) => {
            let end = if random.below(6) == 0 { start } else { end };
            format!("{}{new}{}", &line[..start], &line[end..])
        }
        None => line.to_owned() + &new,
    }
}

fn words_of(line: &str) -> Vec<(usize, usize)> {
    let part_of_word = |letter: char| letter.is_alphanumeric() || "-_./*".contains(letter);
    let mut words = Vec::new();
    let mut start = None;
    for (at, letter) in line.char_indices().chain([(line.len(), ' ')]) {
        match (start, part_of_word(letter)) {
            (None, true) => start = Some(at),
            (Some(from), false) => {
                words.push((from, at));
                start = None;
            }
            _ => {}
        }
    }
    words
}
