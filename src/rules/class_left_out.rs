//! Which class an appliance is probably of that does not say it: by its points, its name and its key, and its likes in the house.

use super::Context;
use crate::classes::{Class, things};
use crate::findings::list;
use crate::survey::names;
use rustc_hash::FxHashMap;
use std::sync::Arc;

/// Wired as nothing else is as often.
const USUAL: &str = "on-off-light";
/// More classes than this are no answer.
const MOST: usize = 6;
/// Appliances whose points are looked at: as many for each class that was left out.
const LOOKED_AT: usize = 1_000;
/// Shorter words of things are not looked for at the end of others.
const SHORTEST: usize = 5;

/// What to write.
pub(super) fn help(key: &str, name: &str, points: &[String], context: &Context<'_>) -> String {
    let all = "`housewright list classes` shows all of them";
    let classes = candidates(key, name, points, context);
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
    let said = called(name, key);
    left = kept_if_any(left, |class| said.contains(&class.name.as_str()));
    if points.is_empty() {
        return left;
    }
    let likes = likes(points, context);
    let most = |class: &Class| likes.get(class.name.as_str()).copied().unwrap_or_default();
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

/// The classes of things that a name or a key plainly says, in the languages of `schema/thing-words.yaml`.
fn called(name: &str, key: &str) -> Vec<&'static str> {
    let heard = names::heard(&format!("{name} {key}"));
    let words: Vec<&str> = heard.split(' ').collect();
    let is_said = |own: &String| {
        let own = names::heard(own);
        words.iter().any(|word| *word == own || own.len() >= SHORTEST && word.ends_with(&own))
    };
    let said = things()
        .iter()
        .filter(|thing| thing.last.iter().chain(&thing.first).chain(&thing.anywhere).any(is_said));
    said.flat_map(|thing| thing.classes.iter().map(String::as_str)).collect()
}

/// How many appliances of each class have just these points, among as many of the house as it takes to know.
fn likes<'a>(points: &[String], context: &Context<'a>) -> FxHashMap<&'a str, usize> {
    let mut likes = FxHashMap::default();
    for appliance in context.plan.appliances.iter().take(LOOKED_AT) {
        let class = &appliance.class.value;
        let is_given = |name: &String| appliance.point(name).is_some();
        if appliance.points.len() == points.len() && points.iter().all(is_given) {
            *likes.entry(class.name.as_str()).or_default() += 1;
        }
    }
    likes
}
