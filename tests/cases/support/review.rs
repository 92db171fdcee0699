//! `review`: a house before and after a change.

use super::{compare, program};
use std::path::Path;

/// Reviews the two houses in the forms that people and programs read, and each against itself, which must be empty.
pub(crate) fn run(case: &Path) -> Result<(), String> {
    for (form, file) in [("text", "review.txt"), ("markdown", "review.md"), ("json", "review.json")] {
        let output = program(case)
            .args(["review", "before", "after", "--format", form])
            .output()
            .map_err(|cause| cause.to_string())?;
        compare(&case.join(file), &super::shown(&output))?;
    }
    for side in ["before", "after"] {
        let output = program(case).args(["review", side, side, "--stop-at", "unseen"]).output();
        let output = output.map_err(|cause| cause.to_string())?;
        if !output.status.success() {
            return Err(format!("`{side}` differs from itself:\n{}", super::shown(&output)));
        }
    }
    Ok(())
}
