//! Writes a house that has every built-in class in every choice that it leaves, all on one bridge:
//!
//! ```text
//! cargo run --example every-choice -- OUT
//! ```
//!
//! What is built from it is what the outside judge looks at: all that a class can become.
#![allow(
    clippy::disallowed_methods,
    clippy::print_stderr,
    reason = "a test tool of its own: it reads its arguments, writes files and says what was wrong"
)]

use housewright::classes::{
    Chosen, ChosenPoint, Class, ClassLibrary, End, Exposure, Need, SettingValue, Shape, choices,
};
use std::fmt::Write as _;
use std::path::Path;
use std::process::ExitCode;
use std::sync::Arc;

/// Where a class leaves more combinations of addresses and words than these, they are not all tried, see [`choices`].
const MOST: usize = 64;

/// Where a class leaves more combinations of points than these, they are taken two and two: each point with and without
/// each other, beside the fullest and the barest of the others.
const MOST_POINTS: u32 = 512;

fn main() -> ExitCode {
    let Some(out) = std::env::args().nth(1) else {
        eprintln!("usage: every-choice OUT");
        return ExitCode::from(2);
    };
    match house(Path::new(&out)) {
        Ok(()) => ExitCode::SUCCESS,
        Err(cause) => {
            eprintln!("{cause}");
            ExitCode::FAILURE
        }
    }
}

fn house(out: &Path) -> std::io::Result<()> {
    let library = ClassLibrary::built_in();
    let classes: Vec<_> = library.names().into_iter().filter_map(|name| library.get(name)).collect();
    let mut buses = String::new();
    std::fs::create_dir_all(out.join("rooms"))?;
    for class in classes.iter().filter(|class| matches!(class.exposure, Exposure::Bridged)) {
        let name = &class.name;
        // A bus each, so that there are addresses enough.
        let _ = writeln!(buses, "  {name}: {{}}");
        std::fs::write(out.join("rooms").join(format!("{name}.yaml")), room(class))?;
    }
    let head = "housewright: 1\nhouse: { id: every-choice, name: Every choice, notation: free }\n";
    std::fs::write(
        out.join("house.yaml"),
        format!(
            "{head}buses:\n{buses}bridges:\n  every-choice: {{ name: Every choice, capacity: 60000 }}\ninclude: [rooms/*.yaml]\n"
        ),
    )
}

/// The combinations of whole points, with the class's own settings.
fn combinations(class: &Class) -> Vec<Chosen> {
    let Some(full) = choices(class, 1).into_iter().next() else { return Vec::new() };
    let free: Vec<u16> = (0..)
        .zip(&class.points)
        .filter(|(_, spec)| spec.need != Need::Required)
        .map(|(index, _)| index)
        .collect();
    let without = |dropped: &dyn Fn(usize) -> bool| {
        let mut chosen = full.clone();
        chosen.points.retain(|point| {
            free.iter().position(|index| *index == point.point).is_none_or(|at| !dropped(at))
        });
        chosen
    };
    let mut all = Vec::new();
    let count = u32::try_from(free.len()).ok().and_then(|bits| 1_u32.checked_shl(bits));
    match count.filter(|count| *count <= MOST_POINTS) {
        Some(count) => all.extend((0..count).map(|mask| without(&|at| mask >> at & 1 == 1))),
        None => {
            for one in 0..free.len() {
                for other in one + 1..free.len() {
                    for mask in 0..4 {
                        let pair = |at: usize| (at == one && mask & 1 == 1) || (at == other && mask & 2 == 2);
                        all.push(without(&pair));
                        all.push(without(&|at| if at == one || at == other { pair(at) } else { true }));
                    }
                }
            }
        }
    }
    all.retain(|chosen| class.unmet(chosen).all(|combination| combination.need != Need::Required));
    all
}

/// A room with one appliance for each choice.
fn room(class: &Class) -> String {
    let name = &class.name;
    let mut text = format!("rooms:\n  {name}:\n    name: {name}\n    bus: {name}\n    appliances:\n");
    let mut address = 0_u16;
    let mut shapes: Vec<Arc<Shape>> = Vec::new();
    for (index, chosen) in choices(class, MOST).iter().chain(&combinations(class)).enumerate() {
        // Settings at their ends may not go together; what becomes the same is the same.
        let Ok(shape) = class.shape(chosen) else { continue };
        if shapes.contains(&shape) {
            continue;
        }
        shapes.push(shape);
        let Some(points) = points(class, chosen, &mut address) else { continue };
        let _ =
            writeln!(text, "      {name}-{index}:\n        name: {index} {name:.24}\n        class: {name}");
        let _ = writeln!(
            text,
            "        confirmed: {{ by: the judge, checked: nothing moves here, on: 2026-01-01 }}"
        );
        let _ = write!(text, "        points:\n{points}");
        if !chosen.settings.is_empty() {
            let _ = write!(text, "        settings:\n{}", settings(class, chosen));
        }
    }
    text
}

/// The points, each address one that no other has; `None` for a choice that a description cannot spell: two datapoint
/// types that are not the usual ones.
fn points(class: &Class, chosen: &Chosen, address: &mut u16) -> Option<String> {
    let mut text = String::new();
    for point in &chosen.points {
        let spec = class.points.get(usize::from(point.point))?;
        let _ = write!(text, "          {}: {{", spec.name);
        let mut items = Vec::new();
        for (end, word) in [(End::Command, "command"), (End::Feedback, "feedback"), (End::Listens, "listens")]
        {
            if point.dpt(end).is_some() {
                *address += 1;
                items.push(format!(" {word}: \"{address}\""));
            }
        }
        items.extend(dpt(class, point)?);
        if point.reversed {
            items.push(" reversed: true".to_owned());
        }
        if let Some([low, high]) = point.range {
            items.push(format!(" range: [{}, {}]", low.get(), high.get()));
        }
        let _ = writeln!(text, "{} }}", items.join(","));
    }
    Some(text)
}

/// What to say of the datapoint type, if anything.
fn dpt(class: &Class, point: &ChosenPoint) -> Option<Option<String>> {
    let spec = class.points.get(usize::from(point.point))?;
    let ends = [End::Command, End::Feedback, End::Listens].into_iter();
    let taken: Vec<_> =
        ends.filter_map(|end| Some((point.dpt(end)?, *spec.end(end)?.dpts.first()?))).collect();
    if taken.iter().all(|(taken, usual)| taken == usual) {
        return Some(None);
    }
    let (first, _) = taken.first()?;
    taken.iter().all(|(taken, _)| taken == first).then(|| Some(format!(" dpt: {first}")))
}

fn settings(class: &Class, chosen: &Chosen) -> String {
    let mut text = String::new();
    for (index, value) in &chosen.settings {
        let Some(spec) = class.settings.get(usize::from(*index)) else { continue };
        let value = match value {
            SettingValue::Number(number) => number.get().to_string(),
            SettingValue::Text(word) => word.clone(),
            SettingValue::Flag(flag) => flag.to_string(),
        };
        let _ = writeln!(text, "          {}: {value}", spec.name);
    }
    text
}
