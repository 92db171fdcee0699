//! The stages of a build one after another, for an instrument that counts instructions:
//!
//! ```text
//! stages LAST HOUSE        runs the stages up to LAST, one of those in `STAGES`; `none` runs none
//! stages review OLD NEW    reads two bridge JSONs and reviews them
//! ```
//!
//! What a stage takes is the difference to the run that ends before it: `benches/instructions` asks for all of them.

#![allow(
    clippy::disallowed_methods,
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a measurement reads its arguments, and prints"
)]

use housewright::classes::ClassLibrary;
use housewright::findings::text::{Colour, Layout};
use housewright::ledger::Ledger;
use housewright::review::{self, BuildFile, forms};
use housewright::rules::{self, Judged, Problems};
use housewright::runs::definitions;
use housewright::source::{self, FileKind, Limits, Sources};
use housewright::{bridge, findings, house, resolve};
use std::hint::black_box;
use std::path::Path;

/// The stages in their order.
const STAGES: [&str; 8] = ["none", "source", "house", "resolve", "rules", "findings", "lower", "write"];

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    match words.as_slice() {
        ["review", old, new] => rayon::scope(|_| reviewed(old, new)),
        [last, house] => match STAGES.iter().position(|stage| stage == last) {
            // Where all is computed, as the program does it: who asks from outside waits a few instructions more or less.
            Some(last) => rayon::scope(|_| stages(last, Path::new(house))),
            None => eprintln!("no stage `{last}`; the stages are {}", STAGES.join(", ")),
        },
        // `cargo bench` runs every bench without arguments.
        _ => println!("run benches/instructions"),
    }
}

/// As `housewright::inspect` and `build` put them together.
fn stages(last: usize, folder: &Path) {
    let limits = Limits::default();
    if last < 1 {
        return;
    }
    let Ok((sources, documents, problems)) = source::load(folder, &limits) else { return };
    if last < 2 {
        black_box((sources, documents, problems));
        return;
    }
    let mut problems = Problems { source: problems, ..Problems::default() };
    let (descriptions, others): (Vec<_>, Vec<_>) =
        documents.into_iter().partition(|document| document.kind == FileKind::Description);
    let (library, told) = ClassLibrary::load(&others, &sources);
    problems.classes = told;
    let (house, mut told, house_problems, _) =
        house::read_with_lines_moved(&sources, descriptions, &mut problems.source, &limits, None);
    problems.source.append(&mut told);
    problems.house = house_problems;
    if last < 3 {
        black_box((house, problems));
        return;
    }
    let (plan, told, mut source_told) = resolve::resolve(house, &sources, &limits, &library);
    problems.resolve = told;
    problems.source.append(&mut source_told);
    if last < 4 {
        black_box((plan, problems));
        return;
    }
    let ledger = Ledger::new(plan.house.id.clone());
    let judged = rules::check(plan, &problems, &library, &ledger);
    if last < 5 {
        black_box(judged);
        return;
    }
    outputs(last, &judged, &sources, &ledger);
}

fn outputs(last: usize, judged: &Judged, sources: &Sources, ledger: &Ledger) {
    let layout = Layout { width: 80, colour: Colour::Never };
    let (told, summary) = (&judged.findings, &judged.summary);
    let origin = findings::sarif::Origin { run: String::new(), folder: None };
    black_box(findings::text::write(told, summary, sources, &layout));
    black_box(findings::json::write(told, summary, sources));
    black_box(findings::sarif::write(told, sources, &rules::facts(), "", &origin));
    black_box(findings::markdown::write(told, summary, sources));
    black_box(findings::lines::write(told, sources, ""));
    if last < 6 {
        return;
    }
    let Some(checked) = &judged.checked else { return eprintln!("the house has errors") };
    let Ok(lowered) = bridge::lower(checked, ledger) else { return };
    if last < 7 {
        black_box(lowered);
        return;
    }
    black_box(definitions::written(&lowered));
}

fn reviewed(old: &str, new: &str) {
    let (Ok(old), Ok(new)) = (std::fs::read(old), std::fs::read(new)) else {
        return eprintln!("cannot read `{old}` or `{new}`");
    };
    let file = |bytes| vec![BuildFile::of("a.bridge.json", bytes)];
    let (before, after) = review::read_both(file(old), file(new));
    black_box(forms::json(&review::review(&before, &after)));
}
