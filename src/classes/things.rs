//! Words that plainly say what a thing is: a table, `schema/thing-words.yaml`, read when it is first asked for.

use serde::Deserialize;
use std::sync::LazyLock;

static THINGS: LazyLock<Vec<Thing>> = LazyLock::new(|| {
    serde_json::from_str(include_str!(concat!(env!("OUT_DIR"), "/thing-words.json")))
        .expect("embedded when the program was built, and read by a test")
});

/// A thing that is described as another that is wired alike.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Thing {
    /// Classes of such things; the first is the one that is proposed.
    pub classes: Vec<String>,
    /// Words that say so where they stand last in a name.
    #[serde(default)]
    pub last: Vec<String>,
    /// Words that say so where they stand first.
    #[serde(default)]
    pub first: Vec<String>,
    /// Words that say so wherever they stand.
    #[serde(default)]
    pub anywhere: Vec<String>,
    /// Words beside which the others do not say so.
    #[serde(default)]
    pub none: Vec<String>,
    /// Classes of which such a thing is none.
    pub taken_for: Vec<String>,
}

/// All things of the table.
pub fn things() -> &'static [Thing] {
    &THINGS
}

#[cfg(test)]
mod tests {
    use super::things;
    use crate::classes::ClassLibrary;

    #[test]
    fn things_are_of_classes_and_taken_for_others() {
        let library = ClassLibrary::built_in();
        let known = library.names();
        assert!((2..=32).contains(&things().len()));
        for thing in things() {
            let all = thing.classes.iter().chain(&thing.taken_for);
            all.for_each(|class| assert!(known.contains(&class.as_str()), "{class}"));
            assert!(!thing.classes.iter().any(|own| thing.taken_for.contains(own)), "{thing:?}");
        }
    }
}
