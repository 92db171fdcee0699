//! What a datapoint type is.

use super::super::dpt::{self, Dpt, Field, Kind, Shape, Size, Source};
use super::super::{codec, parse_value, written};
use super::{columns, folded};
use crate::findings::breaking::wrapped;
use serde_json::{Value as Json, json};
use unicode_width::UnicodeWidthStr;

/// What a datapoint type is, for a terminal of so many columns: size, unit, range, resolution, members, fields, an example and where the facts are from.
pub fn datapoint_type(dpt: &Dpt, width: usize) -> String {
    let mut text = format!("{}  {}\n{}\n\n", dpt.id, dpt.name, dpt.title);
    text.push_str(&folded(&summary(dpt), 0, width));
    if !dpt.note.is_empty() {
        text.push_str(&format!("\n{}\n", wrapped(dpt.note, width.saturating_sub(2))));
    }
    for field in dpt.value_fields().filter(|field| field.members.len() > 2 || dpt.value_field().is_none()) {
        text.push_str(&members(dpt, field));
    }
    if dpt.fields.len() > 1 {
        text.push_str("\nbits, from the highest down\n");
        let rows: Vec<Vec<String>> = dpt.fields.iter().map(field_row).collect();
        text.push_str(&folded(&rows, 2, width));
    }
    if let Some((value, payload)) = example(dpt) {
        text.push_str("\nexample\n");
        text.push_str(&commands(dpt, &value, &payload, width));
    }
    text
}

/// A value and its payload as commands; where they are long, what they give stands below them.
fn commands(dpt: &Dpt, value: &str, payload: &str, width: usize) -> String {
    let rows = [
        vec![format!("housewright encode {} {}", dpt.id, quoted(value)), format!("gives {payload}")],
        vec![format!("housewright decode {} {payload}", dpt.id), format!("gives {value}")],
    ];
    let short = columns(&rows, 2);
    if short.lines().all(|line| line.width() <= width) {
        return short;
    }
    // The words of a value may be given one by one, so that a shell takes them on several lines.
    let encode = wrapped(&format!("housewright encode {} {value}", dpt.id), width.saturating_sub(8));
    let encode = encode.replace('\n', " \\\n      ");
    let gives = wrapped(&format!("gives {value}"), width.saturating_sub(6)).replace('\n', "\n      ");
    format!("  {encode}\n    gives {payload}\n  housewright decode {} {payload}\n    {gives}\n", dpt.id)
}

/// A main type and its datapoint types; `None` if there is no such main type.
pub fn main_type(number: u16, width: usize) -> Option<String> {
    let main = dpt::main_type(number)?;
    let all: Vec<&Dpt> = dpt::of_main(number).iter().collect();
    Some(format!("{}.*  {}\n\n{}", main.number, main.title, super::listing(&all, width)))
}

/// The same facts as JSON.
pub fn facts(dpt: &Dpt) -> Json {
    let fields: Vec<Json> = dpt.fields.iter().map(field_facts).collect();
    let size = match dpt.size {
        Size::Bits(bits) => json!({ "bits": bits }),
        Size::Bytes(bytes) => json!({ "bytes": bytes }),
        Size::Variable => json!({ "bytes": null }),
    };
    json!({
        "dpt": dpt.id.to_string(),
        "name": dpt.name,
        "title": dpt.title,
        "size": size,
        "unit": dpt.unit(),
        "section": dpt.section,
        "source": source(dpt.source),
        "usual": dpt.usual,
        "note": dpt.note,
        "fields": fields,
    })
}

fn field_facts(field: &Field) -> Json {
    let mut facts = json!({ "name": field.name, "bits": field.bits, "kind": field.kind.to_string() });
    let mut put = |key: &str, value: Json| {
        if let Some(facts) = facts.as_object_mut() {
            facts.insert(key.to_owned(), value);
        }
    };
    if is_number(field) {
        put("range", json!([field.range.min, field.range.max]));
        if field.kind != Kind::Float32 {
            put("resolution", json!(field.scale.step()));
        }
    }
    if !field.unit.is_empty() {
        put("unit", json!(field.unit));
    }
    if !field.meaning.is_empty() {
        put("meaning", json!(field.meaning));
    }
    if !field.members.is_empty() {
        let members: serde_json::Map<String, Json> =
            field.members.iter().map(|member| (member.raw.to_string(), json!(member.name))).collect();
        put("members", Json::Object(members));
    }
    if !field.special.is_empty() {
        let special: serde_json::Map<String, Json> =
            field.special.iter().map(|special| (special.raw.to_string(), json!(special.name))).collect();
        put("special", Json::Object(special));
    }
    facts
}

fn is_number(field: &Field) -> bool {
    matches!(field.kind, Kind::Unsigned | Kind::Signed | Kind::Float16 | Kind::Float32 | Kind::YearOfCentury)
}

/// So wide is a form at most that is shown beside its name.
const LONG_FORM: usize = 120;

fn summary(dpt: &Dpt) -> Vec<Vec<String>> {
    let row = |name: &str, value: String| vec![name.to_owned(), value];
    let mut rows = vec![row("size", size(dpt))];
    if let Some(field) = dpt.value_field() {
        if is_number(field) {
            rows.push(row("range", written::range(field)));
            rows.push(row("resolution", resolution(field)));
        }
        if (1..=2).contains(&field.members.len()) {
            rows.push(row("values", written::members(field)));
        }
        if let Kind::Text(code_set) = field.kind {
            rows.push(row("characters", code_set.to_string()));
        }
        for special in field.special {
            let digits = usize::from(field.bits / 4);
            rows.push(row("special", format!("{:0digits$x} is {}", special.raw, special.name)));
        }
    }
    let form = written::form_short(dpt);
    let is_long = form.width() > LONG_FORM;
    rows.push(row("written as", if is_long { "fields, as in the example below".to_owned() } else { form }));
    let section = if dpt.section.is_empty() { "section not noted" } else { dpt.section };
    rows.push(row("standard", format!("KNX 03/07/02, {section}")));
    rows.push(row("source", source(dpt.source).to_owned()));
    rows
}

fn size(dpt: &Dpt) -> String {
    match dpt.size {
        Size::Bits(_) => format!("{}, inside the service octet", dpt.size),
        Size::Bytes(_) => dpt.size.to_string(),
        Size::Variable => "any number of bytes, a zero byte at the end".to_owned(),
    }
}

fn resolution(field: &Field) -> String {
    let with_unit = |number: String| format!("{number} {}", field.unit).trim_end().to_owned();
    let step = field.scale.step();
    let (numerator, denominator) = (field.scale.numerator, field.scale.denominator);
    if field.kind == Kind::Float16 {
        format!("{} up to 20.47, above it 1 in 1024 or better", with_unit(step.to_string()))
    } else if field.kind == Kind::Float32 {
        "24 bits, about 7 digits".to_owned()
    } else if numerator > 1 && denominator > 1 {
        format!("{} ({numerator}/{denominator})", with_unit(format!("{step:.4}")))
    } else {
        with_unit(step.to_string())
    }
}

fn members(dpt: &Dpt, field: &Field) -> String {
    if field.members.is_empty() {
        return String::new();
    }
    let of = if dpt.value_field().is_some() { String::new() } else { format!(" of `{}`", field.name) };
    let rows: Vec<Vec<String>> =
        field.members.iter().map(|member| vec![member.raw.to_string(), member.name.to_owned()]).collect();
    format!("\nvalues{of}\n{}", columns(&rows, 2))
}

fn field_row(field: &Field) -> Vec<String> {
    let low = field.low;
    let bits = match field.bits {
        1 => low.to_string(),
        bits => format!("{}-{low}", low + bits - 1),
    };
    let mut what = field.kind.to_string();
    if is_number(field) {
        let (numerator, denominator) = (field.scale.numerator, field.scale.denominator);
        if matches!(field.kind, Kind::Unsigned | Kind::Signed) && denominator > 1 {
            what = format!("number, {} in steps of {numerator}/{denominator}", written::range(field));
        } else {
            what = format!("{what}, {}", written::range(field));
        }
    }
    if !field.meaning.is_empty() {
        what = format!("{what}: {}", field.meaning);
    }
    vec![bits, field.name.to_owned(), what]
}

fn source(source: Source) -> &'static str {
    match source {
        Source::Compared => "compared with another implementation",
        Source::Memory => "from memory",
        Source::Practice => "common practice, not in the standard's table",
    }
}

/// A value and its payload.
fn example(dpt: &Dpt) -> Option<(String, String)> {
    let text = match dpt.shape {
        Shape::Date => "2026-07-04".to_owned(),
        Shape::Time => "tuesday 13:23:42".to_owned(),
        Shape::DateTime => "2026-07-04 13:23:42".to_owned(),
        Shape::Text if dpt.size == Size::Bytes(1) => "A".to_owned(),
        Shape::Text => "Heron Wharf".to_owned(),
        Shape::Bool | Shape::Integer | Shape::Decimal | Shape::Enum | Shape::Step | Shape::Structure => {
            written::sample(dpt)
        }
    };
    let payload = codec::encode(dpt, &parse_value(dpt, &text).ok()?).ok()?;
    Some((codec::decode(dpt, &payload).ok()?.text(dpt), payload.to_string()))
}

/// Text with spaces in quotes, as a shell needs it.
fn quoted(text: &str) -> String {
    if text.contains(' ') { format!("'{text}'") } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    const WIDTH: usize = 80;

    fn check(dpt: &str, expected: &str) {
        assert_eq!(datapoint_type(dpt::lookup(dpt).unwrap(), WIDTH), expected);
    }

    #[test]
    fn a_number() {
        check(
            "9.001",
            "\
9.001  DPT_Value_Temp
temperature

size        2 bytes
range       -273 to 670433.28 °C
resolution  0.01 °C up to 20.47, above it 1 in 1024 or better
special     7fff is no data
written as  a number
standard    KNX 03/07/02, 3.10
source      compared with another implementation

example
  housewright encode 9.001 '20 °C'  gives 07d0
  housewright decode 9.001 07d0     gives 20 °C
",
        );
    }

    #[test]
    fn a_structure() {
        check(
            "18.001",
            "\
18.001  DPT_SceneControl
recall or store a scene

size        1 byte
written as  fields like `scene=20`
standard    KNX 03/07/02, 3.19
source      compared with another implementation

With 128 added to the number the scene is stored, not recalled.

bits, from the highest down
  7    learn  true or false: true stores the scene, false recalls it
  6           reserved, 0
  5-0  scene  whole number, 0 to 63: the raw number, 0 to 63; people count from
              1

example
  housewright encode 18.001 'learn=false scene=20'  gives 14
  housewright decode 18.001 14                      gives learn=false scene=20
",
        );
    }

    /// The example of every type can be made, and no line is wider than a terminal.
    #[test]
    fn all_have_an_example() {
        for dpt in dpt::all() {
            let text = datapoint_type(dpt, WIDTH);
            assert!(text.contains("\nexample\n"), "{}", dpt.id);
            assert!(facts(dpt).is_object());
            // The name of a type, and what a member is called, are as long as they are.
            let wide = text.lines().skip(2).find(|line| line.width() > WIDTH);
            assert_eq!(wide, None, "{}", dpt.id);
        }
        for main in dpt::main_types() {
            assert!(
                main_type(main.number, WIDTH).is_some_and(|text| text.lines().count() > 2),
                "{}",
                main.number
            );
        }
    }
}
