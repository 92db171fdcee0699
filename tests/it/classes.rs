//! Device classes: everything that each of them can become is what the data model demands.

use housewright::classes::{ClassLibrary, built_in_problems, choices};

#[test]
fn built_in_classes_have_no_problem() {
    for name in ClassLibrary::built_in().names() {
        let problems = built_in_problems(name).expect("built in");
        assert!(problems.is_empty(), "{name}: {problems:#?}");
    }
}

#[test]
fn dump() {
    let library = ClassLibrary::built_in();
    for name in library.names() {
        let class = library.get(name).expect(name);
        let all = choices(&class, 100_000);
        println!("{name}: {} choices", all.len());
        if std::env::var("DUMP").is_ok_and(|wanted| wanted == name) {
            println!("{:#?}", class.shape(&all[0]));
        }
    }
}
