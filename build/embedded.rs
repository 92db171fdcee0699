//! Lists a folder's files as a Rust expression that embeds them.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// `&[(name, include_str!(path)), ...]` for all files below `folder`, sorted; hidden files are left out. Of a JSON file the
/// text without white space is embedded, from a copy in `out`.
pub(crate) fn listing(folder: &Path, out: &Path) -> Result<String, String> {
    let mut files = Vec::new();
    if folder.is_dir() {
        collect(folder, "", &mut files)?;
    }
    files.sort();
    expression(files, out)
}

fn expression(files: Vec<(String, PathBuf)>, out: &Path) -> Result<String, String> {
    let mut text = String::from("&[\n");
    for (name, path) in files {
        let path = if name.ends_with(".json") { dense(&path, out)? } else { path };
        let path = path.to_str().ok_or_else(|| format!("{} is not Unicode", path.display()))?;
        writeln!(text, "    ({name:?}, include_str!({path:?})),").map_err(|cause| cause.to_string())?;
    }
    text.push_str("]\n");
    Ok(text)
}

/// The same for the JSON Schemas that lie in `folder` itself.
pub(crate) fn schemas(folder: &Path, out: &Path) -> Result<String, String> {
    let mut files = Vec::new();
    collect(folder, "", &mut files)?;
    files.retain(|(name, _)| !name.contains('/') && name.ends_with(".schema.json"));
    files.sort();
    expression(files, out)
}

/// `&[(name, text), ...]` for all files of a folder of tables in YAML, sorted, each as JSON.
pub(crate) fn tables(folder: &Path) -> Result<String, String> {
    let mut files = Vec::new();
    collect(folder, "", &mut files)?;
    files.sort();
    let entry = |(name, path): &(String, PathBuf)| Ok(format!("    ({name:?}, {:?}),\n", as_json(path)?));
    let entries: String = files.iter().map(entry).collect::<Result<_, String>>()?;
    Ok(format!("&[\n{entries}]\n"))
}

/// What a YAML file holds, as JSON without white space.
pub(crate) fn as_json(path: &Path) -> Result<String, String> {
    let failed = |cause: &dyn std::fmt::Display| format!("cannot read {}: {cause}", path.display());
    let text = std::fs::read_to_string(path).map_err(|cause| failed(&cause))?;
    let table: serde_json::Value = serde_yaml::from_str(&text).map_err(|cause| failed(&cause))?;
    Ok(table.to_string())
}

/// A copy of a JSON file in `out` that has no white space between its tokens.
pub(crate) fn dense(path: &Path, out: &Path) -> Result<PathBuf, String> {
    let failed = |cause| format!("cannot copy {}: {cause}", path.display());
    let text = std::fs::read_to_string(path).map_err(failed)?;
    let mut copy = String::with_capacity(text.len());
    let (mut inside, mut escaped) = (false, false);
    for letter in text.chars() {
        if inside || !letter.is_ascii_whitespace() {
            copy.push(letter);
        }
        inside ^= letter == '"' && !escaped;
        escaped = letter == '\\' && !escaped;
    }
    let name: String = path
        .to_string_lossy()
        .chars()
        .map(|letter| if letter.is_alphanumeric() { letter } else { '-' })
        .collect();
    let target = out.join(name);
    std::fs::write(&target, copy).map_err(failed)?;
    Ok(target)
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
