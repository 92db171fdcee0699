//! Turns tables and templates into Rust at build time, so that nothing big is read when the program starts.
//!
//! - `schema/datapoint-types/*.yaml` becomes `datapoint_types.rs`: one sorted static array of datapoint types.
//! - The folders of [`EMBEDDED`] become `embedded_*.rs`: each an expression `&[(name, text), ...]`, sorted by name,
//!   where the name is the path inside the folder with its extension. Use one as
//!   `static FILES: &[(&str, &str)] = include!(concat!(env!("OUT_DIR"), "/embedded_templates_classes.rs"));`.
//!   A folder that is not there gives an empty list.
//! - Each of [`TABLES`] becomes `NAME.json` without white space, and each list of words so much text of
//!   `embedded_schema_words.rs`: JSON is read ten times faster than YAML.

#![allow(
    clippy::disallowed_methods,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a build script reads and writes files, and its numbers are the table's"
)]

#[path = "build/datapoint_types.rs"]
mod datapoint_types;
#[path = "build/datapoint_types_rust.rs"]
mod datapoint_types_rust;
#[path = "build/embedded.rs"]
mod embedded;

use std::path::{Path, PathBuf};

/// Folders whose files are embedded as text.
const EMBEDDED: [&str; 4] = ["templates/classes", "templates/new", "templates/papers", "schema/matter"];

/// Tables in YAML that are read when the program first asks for them.
const TABLES: [&str; 5] =
    ["attribute-units", "class-words", "placeholders", "thing-words", "things-without-class"];

fn main() {
    let root = PathBuf::from(std::env::var_os("CARGO_MANIFEST_DIR").expect("set by cargo"));
    let out = PathBuf::from(std::env::var_os("OUT_DIR").expect("set by cargo"));
    for file in ["build.rs", "build"] {
        println!("cargo::rerun-if-changed={file}");
    }
    if let Err(problem) = make(&root, &out) {
        println!("cargo::error={problem}");
        std::process::exit(1);
    }
}

fn make(root: &Path, out: &Path) -> Result<(), String> {
    for folder in EMBEDDED {
        println!("cargo::rerun-if-changed={folder}");
        let name = format!("embedded_{}.rs", folder.replace('/', "_"));
        write(&out.join(name), &embedded::listing(&root.join(folder), out)?)?;
    }
    println!("cargo::rerun-if-changed=schema");
    write(&out.join("embedded_schemas.rs"), &embedded::schemas(&root.join("schema"), out)?)?;
    write(&out.join("embedded_schema_words.rs"), &embedded::tables(&root.join("schema/words"))?)?;
    for table in TABLES {
        let json = embedded::as_json(&root.join("schema").join(format!("{table}.yaml")))?;
        write(&out.join(format!("{table}.json")), &json)?;
    }
    let proofs = "schema/proofs.json";
    println!("cargo::rerun-if-changed={proofs}");
    // As it is: who reads it looks for lines.
    let include = format!("include_str!({:?})\n", root.join(proofs).display().to_string());
    write(&out.join("proofs.rs"), &include)?;
    let folder = "schema/datapoint-types";
    println!("cargo::rerun-if-changed={folder}");
    let table = datapoint_types::read(&root.join(folder))?;
    write(&out.join("datapoint_types.rs"), &datapoint_types_rust::rust(&table)?)
}

/// Writes only what is new, so that an unchanged table does not make the crate compile anew.
fn write(path: &Path, text: &str) -> Result<(), String> {
    if std::fs::read_to_string(path).is_ok_and(|old| old == text) {
        return Ok(());
    }
    std::fs::write(path, text).map_err(|cause| format!("cannot write {}: {cause}", path.display()))
}
