//! Device classes: everything that each of them can become is what the data model demands.

use housewright::classes::{ClassLibrary, built_in_problems};

#[test]
fn built_in_classes_have_no_problem() {
    for name in ClassLibrary::built_in().names() {
        let problems = built_in_problems(name).expect("built in");
        if !problems.is_empty() { eprintln!("PROBLEM {name}: {problems:#?}"); }

    }
}
