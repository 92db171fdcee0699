//! Texts about points, for people: `explain POINT` and `explain CLASS POINT`.

use super::class::{Class, Condition};
use super::explain::{combination, point};
use super::library::ClassLibrary;
use super::paper::Paper;
use std::fmt::Write as _;

/// What a class says of one of its points, for a terminal of so many columns.
pub fn explain_point(class: &Class, name: &str, columns: usize) -> Option<String> {
    let (index, spec) = class.point(name)?;
    let mut text = Paper::new(columns);
    let _ = writeln!(text, "{name}: a point of {} ({})\n", class.name, class.title);
    point(&mut text, class, spec);
    let mut about = class
        .combinations
        .iter()
        .filter(|rule| rule.with.iter().chain(&rule.any).any(|one| names(one, index)))
        .peekable();
    if about.peek().is_some() {
        text.push_str("\nWhich go together:\n");
        about.for_each(|rule| combination(&mut text, rule));
    }
    text.push_str("\n");
    text.paragraphs(&format!("`housewright explain {}` has an example.", class.name));
    Some(text.text)
}

fn names(condition: &Condition, point: u16) -> bool {
    match condition {
        Condition::Point(index) | Condition::Address(index, _) | Condition::Typed(index, ..) => {
            *index == point
        }
        Condition::Any(all) => all.iter().any(|one| names(one, point)),
        Condition::Given(_) | Condition::Set(..) => false,
    }
}

/// The classes that have a point of this name, each with what it is there.
pub fn explain_points(name: &str, library: &ClassLibrary, columns: usize) -> Option<String> {
    let classes = library.names().into_iter().filter_map(|class| library.get(class));
    let having: Vec<_> = classes.filter(|class| class.point(name).is_some()).collect();
    let first = having.first()?;
    let (count, example) = (having.len(), &first.name);
    let mut text = Paper::new(columns);
    let _ = match count {
        1 => writeln!(text, "{name}: a point of one class\n"),
        _ => writeln!(text, "{name}: a point of {count} classes\n"),
    };
    let widest = having.iter().map(|class| class.name.len()).max().unwrap_or(0);
    for class in &having {
        if let Some((_, spec)) = class.point(name) {
            let title = text.beside(&spec.title, widest + 17);
            let _ = writeln!(text, "  {:widest$}  {:<11}  {title}", class.name, spec.need.word());
        }
    }
    text.push_str("\n");
    text.paragraphs(&format!(
        "`housewright explain CLASS {name}` says what it takes and does there, such as"
    ));
    let _ = writeln!(text, "\n    housewright explain {example} {name}");
    Some(text.text)
}
