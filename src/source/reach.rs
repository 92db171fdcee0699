//! Whether a house reads what is at a path, or would if it could be had.

use super::folder::resolve;
use super::pattern::{At, is_pattern, may_lead_to};
use super::rounds::BY_NAME;
use super::{FileKind, Sources};

/// Whether one of the files names a file at a path or something in a folder there, or has a pattern that may match it.
pub(crate) fn may_read(sources: &Sources, path: &str, there: At) -> bool {
    if BY_NAME.iter().any(|(pattern, _)| may_lead_to(pattern, path, there)) {
        return true;
    }
    sources.files().any(|file| {
        let from = sources.path(file);
        sources.named(file).iter().any(|named| {
            let Some(whole) = resolve(from, &named.path) else { return false };
            if named.kind == FileKind::Description && is_pattern(&whole) {
                may_lead_to(&whole, path, there)
            } else {
                let rest = whole.strip_prefix(path);
                rest.is_some_and(
                    |rest| if there == At::File { rest.is_empty() } else { rest.starts_with('/') },
                )
            }
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whether a house with this include may read a file at a path, and something in a folder there.
    fn check(include: &str, path: &str, expected: (bool, bool)) {
        let text = format!("include: ['{include}']\n");
        let (sources, ..) = Sources::from_texts(&[("house.yaml", &text)]);
        let found = (may_read(&sources, path, At::File), may_read(&sources, path, At::Folder));
        assert_eq!(found, expected, "{include} {path}");
    }

    #[test]
    fn a_pattern_leads_to_what_it_matches_and_to_what_is_on_its_way() {
        check("floors/*/*.yaml", "floors", (false, true));
        check("floors/*/*.yaml", "floors/upper", (false, true));
        check("floors/*/*.yaml", "floors/upper/hall.yaml", (true, false));
        check("floors/*/*.yaml", "floors/upper/photos", (false, false));
        check("floors/*/*.yaml", "cellar", (false, false));
        check("**/*.yaml", "floors/upper", (false, true));
        check("**/*.yaml", "hall.yaml", (true, true));
        check("**/*.yaml", ".hidden/upper", (false, false));
        check("**/hall/*.yaml", "floors/upper/hall", (false, true));
        check("floors/hall.yaml", "floors", (false, true));
        check("floors/hall.yaml", "floors/hall.yaml", (true, false));
        check("floors/hall.yaml", "floors/hall", (false, false));
        check("none.yaml", "classes", (false, true));
        check("none.yaml", "classes/own.yaml", (true, false));
        check("none.yaml", "classes/photos", (false, false));
        check("[", "floors", (false, false));
    }
}
