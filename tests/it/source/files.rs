//! Reading a house's folder: what it names, what is refused, and that the order of things does not matter.

use housewright::source::{Document, FileKind, Limits, LoadError, Problem, Sources, load};
use std::path::Path;

/// Reads a house out of a folder with these files, after `prepare` has done something to the folder, and compares the
/// files that were read and the problems.
fn check(files: &[(&str, &[u8])], prepare: impl Fn(&Path), read: &[&str], problems: &[&str]) {
    let folder = tempfile::tempdir().unwrap();
    let house = folder.path().join("house");
    for (path, bytes) in files {
        let path = house.join(path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, bytes).unwrap();
    }
    prepare(&house);
    let (sources, documents, told) = load(&house, &Limits::default()).unwrap();
    assert_eq!(shown(&sources, &documents), read);
    assert_eq!(told.iter().map(|problem| show(problem, &sources)).collect::<Vec<_>>(), problems);
    // From memory the same is read, as far as the folder has nothing that memory does not have.
    let texts: Option<Vec<(&str, &str)>> =
        files.iter().map(|(path, bytes)| Some((*path, std::str::from_utf8(bytes).ok()?))).collect();
    if let Some(texts) = texts.filter(|_| std::fs::read_dir(&house).unwrap().count() == roots(files)) {
        let (sources, documents, told) = Sources::from_texts(&texts);
        assert_eq!(shown(&sources, &documents), read);
        assert_eq!(told.iter().map(|problem| show(problem, &sources)).collect::<Vec<_>>(), problems);
    }
}

fn roots(files: &[(&str, &[u8])]) -> usize {
    let mut names: Vec<_> = files.iter().map(|(path, _)| path.split('/').next()).collect();
    names.sort_unstable();
    names.dedup();
    names.len()
}

fn shown(sources: &Sources, documents: &[Document]) -> Vec<String> {
    let shown = documents.iter().map(|document| {
        let tree = if document.tree.is_some() { "" } else { " without a tree" };
        format!("{:?} {}{tree}", document.kind, sources.path(document.file))
    });
    shown.collect()
}

fn show(problem: &Problem, sources: &Sources) -> String {
    let place = problem.place();
    let at = sources.line_column(place.file, place.start);
    let what = format!("{problem:?}");
    let what = what.split([' ', '{']).next().unwrap_or("");
    let fault = match problem {
        Problem::NotText { fault, .. } => format!(" {fault:?}"),
        Problem::TooMany { counted, .. } => format!(" {counted:?}"),
        _ => String::new(),
    };
    format!("{}:{}:{} {what}{fault} {}", sources.path(place.file), at.line, at.column, sources.text(place))
}

fn nothing(_: &Path) {}

#[test]
fn a_house_is_what_its_root_file_names_and_what_lies_beside_it() {
    check(
        &[
            ("house.yaml", b"include: [rooms/*.yaml, more.yaml]\nbuses: { main: { table: bus/a.csv } }\n"),
            ("rooms/b.yaml", b"rooms: {}\n"),
            ("rooms/a.yaml", b"include: deeper/**/*.yaml\n"),
            ("rooms/.hidden.yaml", b"rooms: {}\n"),
            ("rooms/deeper/x/c.yaml", b"rooms: {}\n"),
            ("rooms/deeper/d.yaml", b"rooms: {}\n"),
            ("more.yaml", b"rooms: {}\n"),
            ("unread.yaml", b"rooms: {}\n"),
            ("bus/a.csv", b"Address,Name\n"),
            ("classes/own.yaml", b"class: own\n"),
            ("words/fr.yaml", b"words: {}\n"),
            ("ledger.yaml", b"ledger: 1\n"),
        ],
        nothing,
        &[
            "Description house.yaml",
            "Table bus/a.csv without a tree",
            "Class classes/own.yaml",
            "Ledger ledger.yaml",
            "Description more.yaml",
            "Description rooms/a.yaml",
            "Description rooms/b.yaml",
            "Description rooms/deeper/d.yaml",
            "Description rooms/deeper/x/c.yaml",
            "Words words/fr.yaml",
        ],
        &[],
    );
}

#[test]
fn a_pattern_for_everything_leaves_classes_words_and_ledger_what_they_are() {
    check(
        &[
            ("house.yaml", b"include: ['**/*.yaml']\n"),
            ("classes/own.yaml", b"class: own\n"),
            ("ledger.yaml", b"ledger: 1\n"),
            ("r.yaml", b"rooms: {}\n"),
        ],
        nothing,
        &["Description house.yaml", "Class classes/own.yaml", "Ledger ledger.yaml", "Description r.yaml"],
        &[],
    );
}

#[test]
fn what_cannot_be_included_is_told_where_it_is_named() {
    check(
        &[
            (
                "house.yaml",
                b"include:\n  - nix.yaml\n  - nix/*.yaml\n  - ../out.yaml\n  - /etc/hosts\n  - rooms\n  - 'a[.yaml'\n  - r.yaml\nbuses: { main: { table: nix.csv } }\n",
            ),
            ("rooms/a.yaml", b""),
            ("r.yaml", b"include: [s.yaml]\n"),
            ("s.yaml", b"include: [r.yaml, s.yaml]\n"),
        ],
        |house| std::fs::write(house.join("../out.yaml"), "rooms: {}").unwrap(),
        &["Description house.yaml", "Description r.yaml", "Description s.yaml"],
        &[
            "house.yaml:2:5 MissingInclude nix.yaml",
            "house.yaml:3:5 MissingInclude nix/*.yaml",
            "house.yaml:4:5 OutsideFolder ../out.yaml",
            "house.yaml:5:5 OutsideFolder /etc/hosts",
            "house.yaml:6:5 NotAFile rooms",
            "house.yaml:7:5 BadPattern 'a[.yaml'",
            "house.yaml:9:25 MissingFile nix.csv",
            "s.yaml:1:11 IncludeLoop r.yaml",
            "s.yaml:1:19 IncludeLoop s.yaml",
        ],
    );
}

#[cfg(unix)]
#[test]
fn links_stay_in_the_folder_and_devices_are_not_opened() {
    check(
        &[
            ("house.yaml", b"include: [rooms/*.yaml, device.yaml, pipe.yaml, away/x.yaml, near/*.yaml]\n"),
            ("rooms/a.yaml", b"rooms: {}\n"),
        ],
        |house| {
            use std::os::unix::fs::symlink;
            let out = house.join("../out");
            std::fs::create_dir(&out).unwrap();
            std::fs::write(out.join("x.yaml"), "rooms: {}").unwrap();
            symlink(out.join("x.yaml"), house.join("rooms/out.yaml")).unwrap();
            symlink("a.yaml", house.join("rooms/b.yaml")).unwrap();
            symlink("/dev/zero", house.join("device.yaml")).unwrap();
            symlink(&out, house.join("away")).unwrap();
            symlink("rooms", house.join("near")).unwrap();
            let made = std::process::Command::new("mkfifo").arg(house.join("pipe.yaml")).status().unwrap();
            assert!(made.success());
        },
        &[
            "Description house.yaml",
            "Description near/a.yaml",
            "Description near/b.yaml",
            "Description rooms/a.yaml",
            "Description rooms/b.yaml",
        ],
        &[
            "house.yaml:1:11 OutsideFolder rooms/*.yaml",
            "house.yaml:1:25 OutsideFolder device.yaml",
            "house.yaml:1:38 NotAFile pipe.yaml",
            "house.yaml:1:49 OutsideFolder away/x.yaml",
            "house.yaml:1:62 OutsideFolder near/*.yaml",
        ],
    );
}

#[test]
fn encodings() {
    let utf16 = |text: &str, order: fn(u16) -> [u8; 2], mark: bool| {
        let units = mark.then_some(0xfeff).into_iter().chain(text.encode_utf16());
        units.flat_map(order).collect::<Vec<u8>>()
    };
    let table = "Address;Name\r\n1/1/1;Küche\r\n";
    let windows: Vec<u8> = table.chars().map(|letter| u8::try_from(u32::from(letter)).unwrap()).collect();
    for bytes in [
        table.as_bytes().to_vec(),
        format!("\u{feff}{table}").into_bytes(),
        utf16(table, u16::to_le_bytes, true),
        utf16(table, u16::to_be_bytes, true),
        utf16(table, u16::to_le_bytes, false),
        utf16(table, u16::to_be_bytes, false),
        windows,
    ] {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("house.yaml"), "buses: { main: { table: a.csv } }\n").unwrap();
        std::fs::write(folder.path().join("a.csv"), &bytes).unwrap();
        let (sources, _, problems) = load(folder.path(), &Limits::default()).unwrap();
        let file = sources.find("a.csv").unwrap();
        assert_eq!(sources.source(file).trim_start_matches('\u{feff}'), table);
        assert_eq!(sources.bytes(file), bytes);
        assert_eq!(problems, []);
    }
    check(
        &[
            ("house.yaml", b"include: ['*.yaml']\n"),
            ("latin.yaml", b"rooms:\n  k: { name: K\xfcche }\n"),
            ("zero.yaml", b"rooms:\n  k: \0\n"),
            ("control.yaml", b"rooms: \x1b[31m\n"),
            ("mark.yaml", b"\xef\xbb\xbfrooms: {}\r\n"),
            ("utf16.yaml", &utf16("rooms: { ö: {} }\n", u16::to_le_bytes, true)),
        ],
        nothing,
        &[
            "Description house.yaml",
            "Description control.yaml without a tree",
            "Description latin.yaml without a tree",
            "Description mark.yaml",
            "Description utf16.yaml",
            "Description zero.yaml without a tree",
        ],
        &[
            "control.yaml:1:8 NotText Control \u{1b}",
            "latin.yaml:2:15 NotText Utf8 \u{fffd}",
            "zero.yaml:2:6 NotText Zero \0",
        ],
    );
}

#[test]
fn without_a_root_there_is_no_house() {
    let folder = tempfile::tempdir().unwrap();
    let told = |path: &Path| load(path, &Limits::default()).unwrap_err();
    assert!(matches!(told(&folder.path().join("nix")), LoadError::Missing { .. }));
    assert!(matches!(told(folder.path()), LoadError::NoHouse { .. }));
    std::fs::create_dir(folder.path().join("house.yaml")).unwrap();
    // Not the folder is none, but what lies in it.
    let root = folder.path().join("house.yaml").display().to_string();
    assert!(matches!(told(folder.path()), LoadError::NotAFile { path } if path == root));
    #[cfg(unix)]
    assert!(matches!(told(Path::new("/dev/null")), LoadError::NotAFile { .. }));
}

#[test]
fn limits_are_kept_and_can_be_raised() {
    let rows: String = (0..30).map(|row| format!("k{row}: {{ a: 1 }}\n")).collect();
    let house = format!("include: [rooms/*.yaml]\n{rows}");
    let texts = [("house.yaml", house.as_str()), ("rooms/a.yaml", &rows), ("rooms/b.yaml", &rows)];
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("rooms")).unwrap();
    for (path, text) in texts {
        std::fs::write(folder.path().join(path), text).unwrap();
    }
    let told = |limits: Limits| {
        let (sources, _, problems) = load(folder.path(), &limits).unwrap();
        let mut told: Vec<String> = problems.iter().map(|problem| show(problem, &sources)).collect();
        told.dedup();
        told.join("; ")
    };
    let limits = Limits::default();
    assert_eq!(told(limits), "");
    assert_eq!(told(Limits { nodes: 10, ..limits }), "house.yaml:3:1 TooMany Nodes k1: { a: 1 }");
    assert_eq!(told(Limits { nodes: 10, ..limits }.raised(100)), "");
    assert_eq!(told(Limits { entries: 31, ..limits }), "");
    assert_eq!(told(Limits { entries: 30, ..limits }), "house.yaml:31:1 TooMany Entries k29");
    assert_eq!(told(Limits { entries: 30, ..limits }.raised(2)), "");
    assert_eq!(told(Limits { files: 2, ..limits }), "house.yaml:1:11 TooMany Files rooms/*.yaml");
    assert_eq!(told(Limits { files: 3, ..limits }), "");
    assert_eq!(told(Limits { depth: 1, ..limits }), "house.yaml:1:10 TooDeep [");
    let size = house.len() as u64;
    assert_eq!(
        told(Limits { house_bytes: size + rows.len() as u64, ..limits }),
        "house.yaml:1:11 TooMany HouseBytes rooms/*.yaml"
    );
    let root = folder.path().join("house.yaml").display().to_string();
    assert!(matches!(
        load(folder.path(), &Limits { file_bytes: 9, ..limits }),
        Err(LoadError::TooLarge { path, .. }) if path == root
    ));
    assert_eq!(
        told(Limits { folder_entries: 1, ..limits }),
        "house.yaml:1:11 TooMany FolderEntries rooms/*.yaml"
    );
}

#[test]
fn patterns_are_followed_as_far_as_they_can_be_meant() {
    let deep = |folders: usize| format!("{}rooms.yaml", "d/".repeat(folders));
    let told = |pattern: &str, folders: usize| {
        let (house, file) = (format!("include: ['{pattern}']\n"), deep(folders));
        let texts = [("house.yaml", house.as_str()), (file.as_str(), "rooms: {}\n")];
        let (sources, _, problems) = Sources::from_texts(&texts);
        let told: Vec<String> =
            problems.iter().map(|problem| show(problem, &sources).chars().take(44).collect()).collect();
        format!("{} {}", sources.find(&file).map_or("left out", |_| "read"), told.join("; "))
    };
    assert_eq!(told("**/*.yaml", 32), "read ");
    assert_eq!(told("**/*.yaml", 33), "left out house.yaml:1:11 TooMany FoldersDeep '**/*.ya");
    assert_eq!(told(&format!("{}*.yaml", "d/".repeat(33)), 33), "read ");
    // However often it says "any", each folder is listed once.
    assert_eq!(told(&format!("{}*.yaml", "**/".repeat(30)), 32), "read ");
    assert_eq!(told(&format!("{}*.yaml", "**/*/".repeat(30)), 30), "read ");
    assert_eq!(told(&format!("{}*.yaml", "*/".repeat(63)), 63), "read ");
    let beyond = told(&format!("{}*.yaml", "*/".repeat(64)), 64);
    assert!(beyond.starts_with("left out house.yaml:1:11 TooMany PatternParts"), "{beyond}");
    for long in ["*".repeat(100_000), "a/".repeat(6_000), "{*,*}".repeat(100_000)] {
        let beyond = told(&format!("{long}.*"), 1);
        assert!(beyond.starts_with("left out house.yaml:1:11 TooMany PatternBytes"), "{beyond}");
    }
}

#[test]
fn aliases_stand_for_so_much_text_at_most() {
    let text = format!("a: &a {}\nb: *a\nc: *a\n", "x".repeat(3 << 20));
    let (sources, _, problems) = Sources::from_texts(&[("house.yaml", &text)]);
    let told: Vec<String> = problems.iter().map(|problem| show(problem, &sources)).collect();
    assert_eq!(told, ["house.yaml:3:4 Alias *a"]);
}

#[test]
fn lines_and_columns() {
    let text = "\u{feff}ab\r\nc\u{1f600}d\re\n\n";
    let (sources, ..) = Sources::from_texts(&[("house.yaml", text)]);
    let file = sources.files().next().unwrap();
    let at = |needle: &str| {
        let byte = u32::try_from(text.find(needle).unwrap()).unwrap();
        let (characters, units) = (sources.line_column(file, byte), sources.line_column_utf16(file, byte));
        assert_eq!(characters.line, units.line);
        (characters.line, characters.column, units.column)
    };
    assert_eq!(at("ab"), (1, 1, 1));
    assert_eq!(at("b"), (1, 2, 2));
    assert_eq!(at("c"), (2, 1, 1));
    assert_eq!(at("d"), (2, 3, 4));
    assert_eq!(at("e"), (3, 1, 1));
    let end = sources.line_column(file, 1_000);
    assert_eq!((end.line, end.column, sources.lines(file)), (5, 1, 5));
    let lines: Vec<&str> =
        (1..=5).map(|line| sources.line(file, line).map_or("none", |place| sources.text(place))).collect();
    assert_eq!(lines, ["\u{feff}ab", "c\u{1f600}d", "e", "", ""]);
    assert_eq!(sources.line(file, 6), None);
    // A long line is measured by steps.
    let long = format!("{}é{}", "x".repeat(5_000), "y".repeat(3_000));
    let (sources, ..) = Sources::from_texts(&[("house.yaml", &long)]);
    assert_eq!(sources.line_column(file, 7_002).column, 7_002);
    assert_eq!(sources.line_column(file, 5_000).column, 5_001);
    assert_eq!(sources.lines(file), 1);
    assert_eq!(sources.kind(file), FileKind::Description);
}

/// Every position of a text, told in steps and counted from the start.
#[test]
fn positions_in_a_long_text_are_those_counted_from_its_start() {
    let text: String = (0..4_000)
        .map(|nth| match nth % 97 {
            0 => "\r\n".to_owned(),
            31 if nth > 2_500 => "\n".to_owned(),
            7 | 50 => "é😀".to_owned(),
            61 => "\r".to_owned(),
            _ => "x".repeat(nth % 3 + usize::from(nth == 1_900) * 3_000),
        })
        .collect();
    let (sources, ..) = Sources::from_texts(&[("house.yaml", &text)]);
    let file = sources.files().next().unwrap();
    let (mut line, mut column, mut units) = (1, 1, 1);
    let mut starts = vec![0_usize];
    for (at, character) in text.char_indices() {
        let byte = u32::try_from(at).unwrap();
        let (told, utf16) = (sources.line_column(file, byte), sources.line_column_utf16(file, byte));
        assert_eq!(
            (told.line, told.column, utf16.line, utf16.column),
            (line, column, line, units),
            "at {at}"
        );
        let next = text[at + character.len_utf8()..].chars().next();
        if character == '\n' || (character == '\r' && next != Some('\n')) {
            (line, column, units) = (line + 1, 1, 1);
            starts.push(at + 1);
        } else {
            (column, units) = (column + 1, units + u32::try_from(character.len_utf16()).unwrap());
        }
    }
    for (nth, start) in starts.iter().enumerate() {
        let end = starts.get(nth + 1).copied().unwrap_or(text.len());
        let place = sources.line(file, u32::try_from(nth + 1).unwrap()).unwrap();
        assert_eq!(place.start as usize, *start);
        assert_eq!(sources.text(place), text[*start..end].trim_end_matches(['\r', '\n']));
    }
}

#[cfg(unix)]
#[test]
fn a_file_whose_name_is_no_utf_8_is_not_left_out_in_silence() {
    use std::os::unix::ffi::OsStrExt as _;
    let name = std::ffi::OsStr::from_bytes(b"k\xfcche.yaml");
    check(
        &[("house.yaml", b"include: k*.yaml\n"), ("kitchen.yaml", b"rooms: {}\n")],
        |house| std::fs::write(house.join(name), "rooms: {}\n").unwrap(),
        &["Description house.yaml", "Description kitchen.yaml"],
        &["house.yaml:1:10 MissingInclude k*.yaml"],
    );
}
