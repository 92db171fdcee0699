//! The modes that people choose from, by their labels.

use super::list;
use crate::review::difference::{MODES, What, changed_modes};

/// What is different about the modes; `None` for any other difference.
pub(super) fn phrases(what: &What) -> Option<Vec<String>> {
    let What::Attribute { attribute, before: Some(before), after: Some(after), .. } = what else {
        return None;
    };
    if attribute != MODES {
        return None;
    }
    let changed = changed_modes(before, after);
    let only = |gone: bool| -> Vec<&str> {
        let one = |(one, other): (Option<_>, Option<_>)| one.filter(|_| other.is_none());
        let sides = changed.iter().map(|mode| match gone {
            true => (mode.before, mode.after),
            false => (mode.after, mode.before),
        });
        sides.filter_map(one).collect()
    };
    let mut phrases = Vec::new();
    let (gone, came) = (only(true), only(false));
    for (verb, labels) in [("no longer has", gone), ("now has", came)] {
        if !labels.is_empty() {
            let plural = if labels.len() == 1 { "" } else { "s" };
            phrases.push(format!("{verb} the mode{plural} {}", list(&labels)));
        }
    }
    for mode in &changed {
        let (Some(before), Some(after)) = (mode.before, mode.after) else { continue };
        phrases.push(match mode.is_another {
            true => format!("gives {after} where {before} is chosen"),
            false => format!("calls the mode {before} now {after}"),
        });
    }
    // The same modes in another order, or with other tags.
    Some(if phrases.is_empty() { vec!["lists its modes in another way".to_owned()] } else { phrases })
}
