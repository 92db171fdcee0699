//! The tool itself as a checker: from texts to findings.

use super::score::Seen;
use housewright::findings::{Finding, Label};
use housewright::source::{Limits, Sources};
use housewright::{inspect, rules};

/// What the checks say about a house.
pub(crate) fn check(files: &[(String, String)]) -> Vec<Seen> {
    let texts: Vec<(&str, &str)> = files.iter().map(|(path, text)| (path.as_str(), text.as_str())).collect();
    let looked_at = inspect(Sources::from_texts(&texts), &Limits::default());
    looked_at.judged.findings.iter().filter_map(|finding| seen(finding, &looked_at.sources)).collect()
}

/// A finding as the scorer sees it; none for a rule that is not in the list.
fn seen(finding: &Finding, sources: &Sources) -> Option<Seen> {
    let place = |label: &Label| {
        let line = sources.line_column(label.place.file, label.place.start).line;
        (sources.path(label.place.file).to_owned(), usize::try_from(line).unwrap_or(0))
    };
    let edits = finding.edit.iter().flat_map(|edit| &edit.replacements).map(|(_, text)| text.clone());
    Some(Seen {
        rule: finding.rule.to_owned(),
        family: rules::find(finding.rule)?.card.family,
        severity: finding.severity,
        places: [&finding.primary].into_iter().chain(&finding.related).map(place).collect(),
        help: format!("{} {}", finding.message, finding.help.as_deref().unwrap_or_default()),
        edits: edits.collect(),
    })
}
