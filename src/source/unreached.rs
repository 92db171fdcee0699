//! Files in the house's folder that read like parts of the description, and that no include reaches.
//!
//! One whose name was changed or that was put into another folder is lost without a word otherwise: with all of its
//! appliances, and with their numbers at the next build.

use super::Limits;
use super::folder::{Entry, Folder, Way, join};
use std::collections::BTreeMap;

/// Bytes of a file that are looked at.
const LOOKED_AT: u64 = 1 << 16;

/// Files that are looked at: so many that nothing includes are no oversight.
const MOST_FILES: usize = 1_000;

/// Folders of the house's own whose files are read by their names alone.
const OTHERS: [&str; 2] = ["classes", "words"];

/// What a folder that is no part of the description holds: a house of its own, or a build.
const FOREIGN: [&str; 2] = ["house.yaml", "manifest.json"];

/// What a file is, by how it begins.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    /// A root file: what is beside it may be its own.
    Root,
    /// Rooms with appliances.
    Rooms,
    Other,
}

/// Files of one folder with one ending that nothing includes.
#[derive(Default)]
struct Group {
    rooms: Vec<String>,
    has_others: bool,
}

/// The files that nothing includes, and what would include them and nothing else. Hidden folders, links, those of builds and of
/// other houses are not looked through.
pub(super) fn find(
    folder: &Folder<'_>,
    limits: &Limits,
    is_included: impl Fn(&str) -> bool,
) -> Option<(Vec<String>, Vec<String>)> {
    let mut groups: BTreeMap<(String, String), Group> = BTreeMap::new();
    let mut roots = Vec::new();
    for (within, path, ending) in candidates(folder, limits, is_included) {
        let kind = folder.start(&path, LOOKED_AT).map_or(Kind::Other, |start| kind(&start));
        if kind == Kind::Root {
            roots.push(within);
            continue;
        }
        let group = groups.entry((within, ending)).or_default();
        if kind == Kind::Rooms {
            group.rooms.push(path);
        } else {
            group.has_others = true;
        }
    }
    groups.retain(|(within, _), group| {
        !group.rooms.is_empty() && !roots.iter().any(|root| is_in(within, root))
    });
    let mut includes = Vec::new();
    for ((within, ending), group) in &groups {
        if group.rooms.len() > 1 && !group.has_others && !within.is_empty() {
            includes.push(join(within, &format!("*.{ending}")));
        } else {
            includes.extend(group.rooms.iter().cloned());
        }
    }
    let paths: Vec<String> = groups.into_values().flat_map(|group| group.rooms).collect();
    (!paths.is_empty()).then_some((paths, includes))
}

/// Whether a folder is another one or lies in it.
fn is_in(folder: &str, other: &str) -> bool {
    other.is_empty()
        || folder.strip_prefix(other).is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
}

/// The YAML files that nothing includes: their folder, their path and their ending.
fn candidates(
    folder: &Folder<'_>,
    limits: &Limits,
    is_included: impl Fn(&str) -> bool,
) -> Vec<(String, String, String)> {
    let mut budget = limits.folder_entries;
    let mut found = Vec::new();
    let mut ahead = vec![(String::new(), Way::default(), 0)];
    while let Some((within, way, deep)) = ahead.pop() {
        let names = folder.list(&within, way, &mut budget).unwrap_or_default();
        let is_foreign = |(name, _): &(String, Entry)| FOREIGN.contains(&name.as_str());
        if !within.is_empty() && names.iter().any(is_foreign) {
            continue;
        }
        for (name, entry) in names {
            let is_other = within.is_empty() && OTHERS.contains(&name.as_str());
            let path = join(&within, &name);
            match entry {
                _ if name.starts_with('.') => {}
                Entry::Folder if !is_other && deep < limits.folders_deep => {
                    ahead.push((path, Way { is_within: true }, deep + 1));
                }
                Entry::Folder | Entry::LinkToFolder | Entry::Unclear => {}
                Entry::File => {
                    let is_left = is_yaml(&name) && !is_included(&path);
                    let ending =
                        name.rsplit_once('.').filter(|_| is_left).map(|(_, ending)| ending.to_owned());
                    found.extend(ending.map(|ending| (within.clone(), path, ending)));
                }
            }
        }
        if found.len() > MOST_FILES {
            return Vec::new();
        }
    }
    found
}

/// Whether a file is one of YAML by its ending.
pub(super) fn is_yaml(name: &str) -> bool {
    let ending = name.rsplit_once('.').map_or("", |(_, ending)| ending);
    ["yaml", "yml"].iter().any(|known| ending.eq_ignore_ascii_case(known))
}

/// What a file is, by the keys at the start of its lines; rooms without the class of an appliance are none of a house.
fn kind(start: &[u8]) -> Kind {
    let text = String::from_utf8_lossy(start);
    let text = text.trim_start_matches('\u{feff}');
    let has = |key: &str| text.lines().any(|line| line.starts_with(key));
    if has("housewright:") || has("house:") {
        Kind::Root
    } else if (has("rooms:") || has("appliances:")) && text.contains("class:") {
        Kind::Rooms
    } else {
        Kind::Other
    }
}

#[cfg(test)]
mod tests {
    use crate::source::{Problem, Sources};

    /// What is told of files beside a root file, each with rooms unless a text is given.
    fn check(root: &str, files: &[(&str, &str)], wanted: Option<(&[&str], &[&str])>) {
        let rooms =
            "rooms:\n  hall: { name: Hall, appliances: { lamp: { name: Lamp, class: on-off-light } } }\n";
        let given = |text: &'static str| text;
        let text = |text: &&str| if text.is_empty() { given(rooms).to_owned() } else { (*text).to_owned() };
        let mut texts = vec![("house.yaml", root.to_owned())];
        texts.extend(files.iter().map(|(path, written)| (*path, text(written))));
        let texts: Vec<(&str, &str)> = texts.iter().map(|(path, text)| (*path, text.as_str())).collect();
        let (.., problems) = Sources::from_texts(&texts);
        let told = problems.iter().find_map(|problem| {
            let Problem::NotIncluded { paths, includes, .. } = problem else { return None };
            Some((paths.clone(), includes.clone()))
        });
        let owned = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect::<Vec<_>>();
        assert_eq!(told, wanted.map(|(paths, includes)| (owned(paths), owned(includes))), "{root}{files:?}");
    }

    #[test]
    fn files_beyond_the_includes_are_found() {
        let root = "include: [rooms/*.yaml]\n";
        check(root, &[("rooms/a.yaml", ""), ("rooms/b.yml", "")], Some((&["rooms/b.yml"], &["rooms/b.yml"])));
        let (up, down) = ("rooms/up/b.yaml", "rooms/up/c.yaml");
        check(root, &[("rooms/a.yaml", ""), (up, ""), (down, "")], Some((&[up, down], &["rooms/up/*.yaml"])));
        check(
            root,
            &[("rooms/a.yaml", ""), (up, ""), (down, ""), ("rooms/up/d.yaml", "x: 1\n")],
            Some((&[up, down], &[up, down])),
        );
        check(
            "rooms: {}\n",
            &[("a.yaml", ""), ("b.YAML", "")],
            Some((&["b.YAML", "a.yaml"], &["b.YAML", "a.yaml"])),
        );
    }

    #[test]
    fn what_is_no_part_of_the_description_is_let_be() {
        let root = "include: [rooms/*.yaml]\n";
        let sound = |path, text| check(root, &[("rooms/a.yaml", ""), (path, text)], None);
        sound("classes/b.yaml", "");
        sound("words/b.yaml", "");
        sound(".old/b.yaml", "");
        sound("rooms/.b.yaml", "");
        sound("notes.yaml", "rooms: 4\n");
        sound("rooms.txt", "");
        let foreign = |path, text| check(root, &[("rooms/a.yaml", ""), ("x/b.yaml", ""), (path, text)], None);
        foreign("x/house.yaml", "house: { id: x }\n");
        foreign("x/manifest.json", "{}");
        foreign("x/flat.yaml", "housewright: 1\n");
        check("include: [room/*.yaml]\n", &[("rooms/a.yaml", "")], None);
        check("include: [rooms/*.yaml]\n", &[("rooms/a.yaml", "a: [\n"), ("b.yaml", "")], None);
    }
}
