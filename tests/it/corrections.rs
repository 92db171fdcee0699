//! Corrections: shown as a diff, made, and touching nothing else.

use super::findings::{KITCHEN, place, sources};
use housewright::findings::{Certainty, Edit, mend};
use housewright::source::Place;
use proptest::prelude::*;

fn edit(replacements: &[(Place, &str)]) -> Edit {
    let replacements = replacements.iter().map(|(place, text)| (*place, (*text).to_owned())).collect();
    Edit { certainty: Certainty::Sure, replacements, additions: Vec::new() }
}

#[test]
fn corrections_are_shown_and_applied() {
    let sources = sources(KITCHEN);
    let at = |word| place(&sources, "rooms/kitchen.yaml", word);
    let row = place(&sources, "bus/addresses.csv", "Kitchen pendant brightness\n");
    let edits = [edit(&[(at("1/2/11"), "1/5/10")]), edit(&[(at("9/9/9"), "1/1/9"), (row, "Pendant\n")])];
    assert_eq!(
        mend::diff(&edits, &sources).unwrap(),
        "--- a/bus/addresses.csv
+++ b/bus/addresses.csv
@@ -1,3 +1,3 @@
 Address,Name
-1/2/10,Kitchen pendant brightness
+1/2/10,Pendant
 1/5/10,Kitchen pendant brightness status
--- a/rooms/kitchen.yaml
+++ b/rooms/kitchen.yaml
@@ -3,5 +3,5 @@
     appliances:
       island-pendant:
         points:
-          brightness: { command: 1/2/10, feedback: 1/2/11 }
-      küche:\t{ name: \"厨房の灯り\", command: 9/9/9 }
+          brightness: { command: 1/2/10, feedback: 1/5/10 }
+      küche:\t{ name: \"厨房の灯り\", command: 1/1/9 }
"
    );
    let twice = [edit(&[(at("1/2/11"), "1/5/10")]), edit(&[(at("1/2/11"), "1/5/10")])];
    let new = mend::apply(&twice, &sources).unwrap();
    assert_eq!(new.into_values().collect::<Vec<_>>(), [KITCHEN.replace("1/2/11", "1/5/10")]);
    assert_eq!(mend::diff(&[], &sources).unwrap(), "");
}

#[test]
fn corrections_that_do_not_fit_change_nothing() {
    let sources = sources(KITCHEN);
    let at = |word| place(&sources, "rooms/kitchen.yaml", word);
    let told = |edits: &[Edit]| mend::apply(edits, &sources).unwrap_err();
    let line = at("command: 1/2/10");
    assert!(matches!(
        told(&[edit(&[(line, "x")]), edit(&[(at("1/2/10"), "y")])]),
        mend::MendError::Overlap { first, second, .. } if first == line && second == at("1/2/10")
    ));
    let point = Place { end: line.start, ..line };
    assert!(matches!(told(&[edit(&[(point, "x"), (point, "y")])]), mend::MendError::Overlap { .. }));
    let letter = at("ü");
    let half = Place { end: letter.end - 1, ..letter };
    assert!(matches!(told(&[edit(&[(half, "x")])]), mend::MendError::Outside { .. }));
    let beyond = Place { start: 10_000, end: 10_001, ..line };
    assert!(matches!(told(&[edit(&[(beyond, "x")])]), mend::MendError::Outside { .. }));
    // An insertion before a replacement is no conflict.
    let new = mend::apply(&[edit(&[(point, "x"), (line, "y")])], &sources).unwrap();
    assert_eq!(new.into_values().collect::<Vec<_>>(), [KITCHEN.replace("command: 1/2/10", "xy")]);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever is replaced, the bytes around it stay, in the same order.
    #[test]
    fn no_other_byte_is_touched(cuts in prop::collection::btree_set(0..KITCHEN.chars().count(), 0..8), new in "[a-c]{0,3}") {
        let sources = sources(KITCHEN);
        let file = sources.find("rooms/kitchen.yaml").unwrap();
        let bytes: Vec<usize> = KITCHEN.char_indices().map(|(at, _)| at).collect();
        let cuts: Vec<usize> = cuts.into_iter().map(|at| bytes[at]).collect();
        let spans: Vec<(usize, usize)> = cuts.chunks_exact(2).map(|pair| (pair[0], pair[1])).collect();
        let edits: Vec<Edit> = spans
            .iter()
            .rev()
            .map(|(start, end)| {
                let place = Place { file, start: u32::try_from(*start).unwrap(), end: u32::try_from(*end).unwrap() };
                edit(&[(place, &new)])
            })
            .collect();
        let mut expected = KITCHEN.to_owned();
        for (start, end) in spans.iter().rev() {
            expected.replace_range(*start..*end, &new);
        }
        let changed = mend::apply(&edits, &sources).unwrap();
        prop_assert_eq!(changed.get(&file).map_or(KITCHEN, String::as_str), expected);
    }
}
