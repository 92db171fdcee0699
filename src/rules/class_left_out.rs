//! Which class an appliance is probably of that does not say it: by its points, its name and its key, and its likes in the house.

use super::Context;
use crate::classes::Class;
use crate::findings::list;
use crate::survey::classes_called;
use std::sync::Arc;

/// Wired as nothing else is as often.
const USUAL: &str = "on-off-light";
/// More classes than this are no answer.
const MOST: usize = 6;

/// Behind so many findings nobody reads what to write, and to find it takes more than all else.
const ADVISED: usize = 1_000;

/// What to write; `before` findings came before this one.
pub(super) fn help(
    (key, name, points): (&str, &str, &[String]),
    context: &Context<'_>,
    before: usize,
) -> String {
    let all = "`housewright list classes` shows all of them";
    let classes = if before < ADVISED { candidates(key, name, points, context) } else { Vec::new() };
    let names: Vec<&str> = classes.iter().map(|class| class.name.as_str()).collect();
    match names.as_slice() {
        [only] => format!("write `class: {only}`, or what it is: {all}"),
        [_, ..] if names.len() <= MOST => {
            format!("write `class:` with one of {}, as the thing is; {all}", list(names.iter().copied()))
        }
        _ => format!("write `class:` with what it is: {all}"),
    }
}

/// The classes that have all of its points, as few as can be told.
fn candidates(key: &str, name: &str, points: &[String], context: &Context<'_>) -> Vec<Arc<Class>> {
    let library = context.library;
    let all = library.names().into_iter().filter_map(|name| library.get(name));
    let all: Vec<Arc<Class>> = all.collect();
    // Where a point is of no class its name alone says what it is.
    let mut left = kept_if_any(all, |class| points.iter().all(|point| class.point(point).is_some()));
    for written in [name, key] {
        let called = library.meant(written);
        left = kept_if_any(left, |class| called.contains(&class.name.as_str()));
    }
    let said = [classes_called(name), classes_called(key)].concat();
    left = kept_if_any(left, |class| said.contains(&class.name.as_str()));
    if points.is_empty() {
        return left;
    }
    let most = |class: &Class| context.survey.alike(context.plan, points, &class.name);
    let best = left.iter().map(|class| most(class)).max().unwrap_or_default();
    left.retain(|class| most(class) == best);
    let fewest = left.iter().map(|class| class.points.len()).min().unwrap_or_default();
    left.retain(|class| class.points.len() == fewest);
    // Of lamps that are wired alike nearly all are plain ones.
    kept_if_any(left, |class| class.name == USUAL)
}

/// Those for which something speaks, or all where it speaks for none.
fn kept_if_any(classes: Vec<Arc<Class>>, speaks_for: impl Fn(&Class) -> bool) -> Vec<Arc<Class>> {
    let kept: Vec<Arc<Class>> = classes.iter().filter(|class| speaks_for(class)).cloned().collect();
    if kept.is_empty() { classes } else { kept }
}
