//! Turns the folders of [`EMBEDDED`] into `embedded_*.rs`: each an expression `&[(name, text), ...]`, sorted by name.

use std::path::{Path, PathBuf};
use std::{env, fs, io};

/// Folders whose files are embedded as text.
const EMBEDDED: [&str; 2] = ["templates/classes", "schema/matter"];

#[allow(clippy::disallowed_methods, reason = "runs when the program is built")]
fn main() -> io::Result<()> {
    let root = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").unwrap_or_default());
    let out = PathBuf::from(env::var_os("OUT_DIR").unwrap_or_default());
    for folder in EMBEDDED {
        println!("cargo::rerun-if-changed={folder}");
        let top = root.join(folder);
        let mut files = Vec::new();
        collect(&top, &mut files)?;
        let mut names: Vec<_> =
            files.iter().filter_map(|file| file.strip_prefix(&top).ok()?.to_str()).collect();
        names.sort_unstable();
        let rows = names
            .iter()
            .map(|name| format!("({name:?}, include_str!({:?})),\n", top.join(name).display().to_string()));
        fs::write(
            out.join(format!("embedded_{}.rs", folder.replace('/', "_"))),
            format!("&[\n{}]", rows.collect::<String>()),
        )?;
    }
    Ok(())
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() { collect(&path, files)? } else { files.push(path) }
    }
    Ok(())
}
