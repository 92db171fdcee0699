//! Cases as folders: `tests/cases/AREA/NAME/`. One named test a folder; adding a case is adding a folder.
//!
//! | area | what is there | what must be seen |
//! | --- | --- | --- |
//! | `check` | a house; `# ^^^ RULE` lines mark what must be found | `findings.txt` |
//! | `build` | a house | every output, and the ledger, under `expected/` |
//! | `review` | houses `before/` and `after/` | `review.txt`, `review.md`, `review.json` |
//! | `cli` | `*.md` with console blocks | each block as it was run |
//!
//! `SNAPSHOTS=overwrite cargo test --test cases` writes what is seen; read it in the diff like prose.
#![allow(
    clippy::disallowed_methods,
    reason = "tests make their own files, and read the environment to know whether to write expected ones"
)]

#[path = "cases/support/mod.rs"]
mod support;

use libtest_mimic::{Arguments, Trial};

fn main() -> std::process::ExitCode {
    let arguments = Arguments::from_args();
    let mut trials: Vec<Trial> = Vec::new();
    for (area, run) in support::AREAS {
        for case in support::folders(area) {
            let name = format!("{area}/{}", case.file_name().unwrap_or_default().to_string_lossy());
            trials.push(Trial::test(name, move || run(&case).map_err(Into::into)));
        }
    }
    for page in support::pages() {
        let name = format!("page/{}", page.file_name().unwrap_or_default().to_string_lossy());
        trials.push(Trial::test(name, move || support::page::run(&page).map_err(Into::into)));
    }
    libtest_mimic::run(&arguments, trials).exit_code()
}
