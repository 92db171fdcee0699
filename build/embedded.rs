//! Lists a folder's files as a Rust expression that embeds them.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// `&[(name, include_str!(path)), ...]` for all files below `folder`, sorted; hidden files are left out.
pub(crate) fn listing(folder: &Path) -> Result<String, String> {
    let mut files = Vec::new();
    if folder.is_dir() {
        collect(folder, "", &mut files)?;
    }
    files.sort();
    let mut text = String::from("&[\n");
    for (name, path) in files {
        let path = path.to_str().ok_or_else(|| format!("{} is not Unicode", path.display()))?;
        writeln!(text, "    ({name:?}, include_str!({path:?})),").map_err(|cause| cause.to_string())?;
    }
    text.push_str("]\n");
    Ok(text)
}

fn collect(folder: &Path, prefix: &str, files: &mut Vec<(String, PathBuf)>) -> Result<(), String> {
    let unreadable = |cause| format!("cannot read {}: {cause}", folder.display());
    for entry in std::fs::read_dir(folder).map_err(unreadable)? {
        let path = entry.map_err(unreadable)?.path();
        let Some(name) = path.file_name().and_then(|name| name.to_str()) else { continue };
        let name = format!("{prefix}{name}");
        if name.starts_with('.') {
            continue;
        }
        if path.is_dir() {
            collect(&path, &format!("{name}/"), files)?;
        } else {
            files.push((name, path));
        }
    }
    Ok(())
}
