//! The houses that mistakes are planted in.

use super::generate::{Language, Order, Scheme, house};
use super::reading::House;
use std::path::{Path, PathBuf};

/// The generated houses of these sizes: every address scheme, in turn in English and German.
pub(crate) fn generated(sizes: &[usize], seed: u64) -> Vec<(String, House)> {
    let mut houses = Vec::new();
    for (number, scheme) in Scheme::ALL.into_iter().enumerate() {
        for (step, &appliances) in sizes.iter().enumerate() {
            let language = if (number + step) % 2 == 0 { Language::English } else { Language::German };
            let order = Order { appliances, scheme, seed, language, files: 0 };
            let read = House::read(house(order)).expect("a generated house can be read");
            houses.push((format!("{} {appliances}", scheme.name()), read));
        }
    }
    houses
}

/// An example house.
pub(crate) fn example(name: &str) -> House {
    House::read(read_folder(&["examples", name])).expect("an example house can be read")
}

/// The descriptions and tables of a folder of the project.
pub(crate) fn read_folder(path: &[&str]) -> Vec<(String, String)> {
    let folder =
        path.iter().fold(PathBuf::from(env!("CARGO_MANIFEST_DIR")), |folder, part| folder.join(part));
    let mut files = Vec::new();
    collect(&folder, &folder, &mut files);
    files.sort();
    files
}

#[allow(clippy::disallowed_methods, reason = "a test reads the examples by itself")]
fn collect(root: &Path, folder: &Path, files: &mut Vec<(String, String)>) {
    for entry in std::fs::read_dir(folder).expect("the example's folder can be read") {
        let path: PathBuf = entry.expect("its entries too").path();
        if path.is_dir() {
            collect(root, &path, files);
        } else if path.extension().is_some_and(|kind| kind == "yaml" || kind == "csv") {
            let name = path.strip_prefix(root).expect("it lies in the folder").display().to_string();
            files.push((name, std::fs::read_to_string(&path).expect("an example is text")));
        }
    }
}
