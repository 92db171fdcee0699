//! The report of the checks as a page: what it shows, what it leaves out, and what it never overwrites.

use housewright::Inspection;
use housewright::emit::{EmitError, write_report};
use housewright::render::{MARK, Names, Report};
use housewright::source::{Limits, load};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

fn folders(below: &str) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join(below)).unwrap();
    let mut found: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
    found.retain(|path| path.join("house.yaml").is_file());
    found.sort();
    found
}

/// Houses with findings.
fn houses() -> Vec<PathBuf> {
    let mut all = folders("tests/cases/check");
    all.extend(folders("examples"));
    all.extend(folders("tests/outside/sarif/faulty"));
    all.push(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/outside/review/faulty"));
    all
}

fn inspect(house: &Path) -> Inspection {
    housewright::inspect(load(house, &Limits::default()).unwrap(), &Limits::default())
}

fn page(inspection: &Inspection, names: Names) -> String {
    let report = Report {
        findings: &inspection.judged.findings,
        summary: &inspection.judged.summary,
        sources: &inspection.sources,
        plan: inspection.judged.plan(),
        library: &inspection.library,
        version: "1.2.3",
    };
    report.html(names)
}

/// The text of a page without its tags.
fn text(page: &str) -> String {
    let body = page.split("<body>").nth(1).unwrap();
    let pieces = body.split('<').map(|piece| piece.split_once('>').map_or(piece, |(_, text)| text));
    let text: Vec<&str> = pieces.collect();
    text.join("")
        .replace("&#x2f;", "/")
        .replace("&quot;", "\"")
        .replace("&gt;", ">")
        .replace("&#x27;", "'")
        .replace("&lt;", "<")
        .replace("&amp;", "&")
}

#[test]
fn every_finding_stands_on_the_page_once_with_its_place_and_its_line() {
    for house in houses() {
        let inspection = inspect(&house);
        let page = page(&inspection, Names::Shown);
        let text = text(&page);
        let findings = &inspection.judged.findings;
        assert_eq!(page.matches("<article").count(), findings.len(), "{}", house.display());
        for finding in findings {
            let place = finding.primary.place;
            let at = inspection.sources.line_column(place.file, place.start);
            let path = inspection.sources.path(place.file);
            assert!(
                text.contains(&format!("{} {path}:{}:{}", finding.rule, at.line, at.column)),
                "{finding:?}"
            );
            // A page holds no control characters; a name from a wrong encoding may.
            let shown = |letter: char| if letter.is_control() { '\u{fffd}' } else { letter };
            let message: String = finding.message.replace('`', "").chars().map(shown).collect();
            assert!(text.contains(&message), "{message}\n{text}");
            for place in &finding.others {
                let line = inspection.sources.line_column(place.file, place.start).line;
                let path = inspection.sources.path(place.file);
                assert!(text.contains(&format!("{path}, line {line}: ")), "line {line} of {finding:?}");
            }
        }
        assert!(page.starts_with(MARK) && text.contains("housewright 1.2.3"));
        assert!(text.contains(&inspection.judged.summary.line()));
    }
}

#[test]
fn a_page_without_names_holds_no_name_of_the_house() {
    let mut looked_at = 0;
    for house in houses() {
        let inspection = inspect(&house);
        let text = text(&page(&inspection, Names::LeftOut)).to_lowercase();
        let Some(plan) = inspection.judged.plan() else { continue };
        let mut names: BTreeSet<String> = [plan.house.name.clone(), plan.house.id.clone()].into();
        names.extend(plan.rooms.iter().map(|room| room.name.value.clone()));
        names.extend(plan.appliances.iter().flat_map(|one| [one.name.value.clone(), one.key.value.clone()]));
        let tables = plan.buses.iter().filter_map(|bus| bus.table.as_ref());
        names.extend(tables.flat_map(|table| &table.rows).map(|row| row.name.value.to_string()));
        for name in names {
            let name = name.trim().to_lowercase();
            // A name of one word may be a word of the program too, such as "lamp".
            if name.split([' ', '-']).count() > 1 {
                assert!(!text.contains(&name), "{}: {name}\n{text}", house.display());
                looked_at += 1;
            }
        }
        for finding in &inspection.judged.findings {
            let place = finding.primary.place;
            let at = inspection.sources.line_column(place.file, place.start);
            assert!(text.contains(&format!(":{}:{}", at.line, at.column)) && text.contains(finding.rule));
        }
    }
    assert!(looked_at > 300, "{looked_at}");
}

/// What the program says has to be readable for whoever helps; so what is the house's has to be quoted.
#[test]
fn the_program_s_own_words_stay_where_names_are_left_out() {
    for house in houses() {
        let inspection = inspect(&house);
        let text = text(&page(&inspection, Names::LeftOut));
        for finding in &inspection.judged.findings {
            let labels = std::iter::once(&finding.primary).chain(&finding.related).map(|label| &label.text);
            let said = [Some(&finding.message), finding.on_site.as_ref(), finding.help.as_ref()];
            for said in said.into_iter().flatten().chain(labels).filter(|said| !said.contains(['`', '"'])) {
                assert!(text.contains(&**said), "{}: {said}\n{text}", house.display());
            }
        }
    }
}

#[test]
fn the_same_house_gives_the_same_bytes() {
    let house = houses().pop().unwrap();
    for names in [Names::Shown, Names::LeftOut] {
        assert_eq!(page(&inspect(&house), names), page(&inspect(&house), names));
    }
}

#[test]
fn what_a_house_writes_is_never_markup() {
    let house = houses().pop().unwrap();
    let page = page(&inspect(&house), Names::Shown);
    assert!(page.contains("Reading &lt;b&gt;lamp"), "the line of `reading-lamp` is shown");
    assert!(!page.contains("<b>") && !page.contains("<script"));
}

#[test]
fn only_a_report_as_it_was_made_is_replaced() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("report.html");
    let read = || std::fs::read_to_string(&path).unwrap();
    let write = |text: &str| write_report(&path, MARK, &format!("{MARK}{text}\n"));
    write("one").unwrap();
    write("two").unwrap();
    assert!(read().starts_with(&format!("{MARK}two\n")));
    for theirs in
        [read().replace("two", "two, and what I think of it"), "<p>mine</p>".to_owned(), MARK.to_owned()]
    {
        std::fs::write(&path, &theirs).unwrap();
        assert!(matches!(write("three"), Err(EmitError::Theirs { .. })), "{theirs}");
        assert_eq!(read(), theirs);
    }
    std::fs::write(&path, "").unwrap();
    write("four").unwrap();
    let nowhere = write_report(&folder.path().join("missing/report.html"), MARK, MARK);
    assert!(matches!(nowhere, Err(EmitError::Write { .. })), "{nowhere:?}");
    assert!(matches!(write_report(folder.path(), MARK, MARK), Err(EmitError::NotAFile { .. })));
}
