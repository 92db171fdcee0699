//! A house of texts, and the laws that hold of any.

use housewright::findings::text::{Colour, Layout};
use housewright::source::{Document, Limits, Node, Place, Sources};
use housewright::runs::definitions;
use housewright::{Inspection, findings, review, rules};

/// What begins a file in an input of several: the rest of the line is its path.
pub const FILE: &str = "#= ";

/// The files in an input. What stands before the first mark is `house.yaml`.
pub fn files(text: &str) -> Vec<(String, String)> {
    let mut files = vec![("house.yaml".to_owned(), String::new())];
    for line in text.split_inclusive('\n') {
        match line.strip_prefix(FILE) {
            Some(path) => files.push((path.trim().to_owned(), String::new())),
            None => files.last_mut().expect("one is there from the start").1.push_str(line),
        }
    }
    files
}

/// Takes a house through every stage, and looks at every place of its trees, problems and findings.
pub fn run(files: &[(&str, &str)]) -> Inspection {
    let (sources, documents, problems) = Sources::from_texts(files);
    for Document { file, tree, .. } in &documents {
        if let Some(tree) = tree {
            nodes(tree.root(*file, sources.source(*file)), &sources);
        }
    }
    for problem in &problems {
        problem.places().for_each(|place| inside(place, &sources));
    }
    let inspection = housewright::inspect((sources, documents, problems), &Limits::default());
    judged(&inspection);
    inspection
}

/// Looks at what was found in a house; builds it if nothing stands against it.
pub fn judged(inspection: &Inspection) {
    for finding in &inspection.judged.findings {
        for label in std::iter::once(&finding.primary).chain(&finding.related) {
            inside(label.place, &inspection.sources);
        }
        let edit = finding.edit.iter().flat_map(|edit| &edit.replacements);
        edit.for_each(|(place, _)| inside(*place, &inspection.sources));
    }
    forms(inspection);
    if let Some(checked) = &inspection.judged.checked
        && let Ok(lowered) = housewright::bridge::lower(checked, &inspection.ledger)
    {
        let definitions = definitions::written(&lowered);
        let files = definitions.into_iter().map(|(name, bytes)| review::BuildFile::of(&name, bytes));
        let read = review::Build::read(files.collect());
        let itself = review::review(&read, &read);
        assert!(itself.is_empty() && itself.unread.is_empty(), "a house against itself: {itself:?}");
        let again = housewright::ledger::write(&lowered.ledger);
        let read = housewright::ledger::sound_ledger(&again);
        assert!(read.is_ok_and(|read| read == lowered.ledger), "a ledger that reads otherwise:\n{again}");
    }
}

fn forms(inspection: &Inspection) {
    let (found, summary) = (&inspection.judged.findings, &inspection.judged.summary);
    let sources = &inspection.sources;
    for width in [40, 120] {
        let layout = Layout { width, colour: Colour::Never };
        let text = findings::text::write(found, summary, sources, &layout);
        assert!(!text.contains('\u{1b}'), "the house writes to the terminal");
    }
    let origin = findings::sarif::Origin { run: String::new(), folder: Some(String::new()) };
    for json in [
        findings::json::write(found, summary, sources),
        findings::sarif::write(found, sources, &rules::facts(), "0", &origin),
    ] {
        assert!(serde_json::from_str::<serde_json::Value>(&json).is_ok(), "no JSON: {json}");
    }
    let _ = findings::markdown::write(found, summary, sources);
    let _ = findings::lines::write(found, sources, "");
    let edits = || found.iter().filter_map(|finding| finding.edit.as_ref());
    let _ = findings::mend::diff(edits(), sources);
    let _ = findings::mend::apply(edits(), sources);
}

fn nodes(node: Node, sources: &Sources) {
    inside(node.place(), sources);
    for (key, value) in node.entries() {
        nodes(key, sources);
        nodes(value, sources);
    }
    node.items().for_each(|item| nodes(item, sources));
}

fn inside(place: Place, sources: &Sources) {
    let text = sources.source(place.file);
    assert!(
        text.get(place.start as usize..place.end as usize).is_some(),
        "{place:?} is not in {} of {} bytes",
        sources.path(place.file),
        text.len()
    );
}
