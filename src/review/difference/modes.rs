//! Modes that people choose from a list: which of them went, and which is now another one.

use crate::bridge::definition::Cluster;
use serde_json::Value as Json;

/// The attribute that lists the modes of a cluster, each with a number and a label. Controllers choose by the number.
///
/// Source: cluster§1.9 (Mode Select) and cluster§1.10 (Mode Base).
pub(in crate::review) const MODES: &str = "SupportedModes";

/// A mode before and after.
pub(in crate::review) struct Mode<'a> {
    /// Its label, if it was there.
    pub(in crate::review) before: Option<&'a str>,
    /// Its label, if it is there.
    pub(in crate::review) after: Option<&'a str>,
    /// Whether its number now has the label of another, or its label another number: more than other words for it.
    pub(in crate::review) is_another: bool,
}

/// The modes that are not what they were, by number.
pub(in crate::review) fn changed<'a>(before: &'a Json, after: &'a Json) -> Vec<Mode<'a>> {
    let (old, new) = (modes(before), modes(after));
    let label = |list: &[(u64, &'a str)], number: u64| {
        list.iter().find(|(one, _)| *one == number).map(|(_, label)| *label)
    };
    let came = new.iter().filter(|(number, _)| label(&old, *number).is_none());
    let mut all: Vec<u64> = old.iter().chain(came).map(|(number, _)| *number).collect();
    all.sort_unstable();
    let has = |list: &[(u64, &str)], label: Option<&str>| list.iter().any(|(_, one)| Some(*one) == label);
    let modes = all.into_iter().map(|number| {
        let (before, after) = (label(&old, number), label(&new, number));
        let is_another = before.is_some() && after.is_some() && (has(&old, after) || has(&new, before));
        Mode { before, after, is_another }
    });
    modes.filter(|mode| mode.before != mode.after).collect()
}

/// Whether what chooses a mode gets none, or another one: one that went, or whose number has the label of another. A label
/// that is only worded anew is not.
pub(super) fn choose_otherwise(before: &Json, after: &Json) -> bool {
    changed(before, after).iter().any(|mode| mode.is_another || mode.before.is_some() && mode.after.is_none())
}

/// The numbers of the modes that can be chosen of a cluster; none where it lists none.
pub(super) fn offered(cluster: &Cluster) -> Option<Vec<u64>> {
    let modes = modes(cluster.attributes.get(MODES)?);
    (!modes.is_empty()).then(|| modes.into_iter().map(|(number, _)| number).collect())
}

fn modes(list: &Json) -> Vec<(u64, &str)> {
    list.as_array()
        .into_iter()
        .flatten()
        .filter_map(|entry| Some((entry.get("Mode")?.as_u64()?, entry.get("Label")?.as_str()?)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn list(modes: &[(u64, &str)]) -> Json {
        modes.iter().map(|(number, label)| json!({"Label": label, "Mode": number})).collect()
    }

    fn check(before: &[(u64, &str)], after: &[(u64, &str)], expected: bool) {
        assert_eq!(choose_otherwise(&list(before), &list(after)), expected, "{before:?} {after:?}");
    }

    #[test]
    fn a_mode_that_went_or_is_another_one_is_chosen_in_vain() {
        let three = [(1, "Home"), (2, "Away"), (3, "Holiday")];
        check(&three, &three[..2], true);
        check(&three, &[(1, "Home"), (2, "Holiday"), (3, "Away")], true);
        check(&three, &[(1, "Home"), (2, "Holiday")], true);
        check(&three, &[(1, "Home"), (2, "Night"), (3, "Away"), (4, "Holiday")], true);
    }

    #[test]
    fn a_mode_that_came_or_is_only_called_otherwise_breaks_nothing() {
        let two = [(1, "Home"), (2, "Away")];
        check(&two, &[(1, "Home"), (2, "Away"), (3, "Holiday")], false);
        check(&two, &[(1, "Home"), (2, "Out")], false);
        check(&two, &[(2, "Away"), (1, "Home")], false);
    }
}
