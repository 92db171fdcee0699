//! A name that a comment cuts short.

use crate::findings::{Certainty, Severity};
use crate::house::{Problem, ProblemKind};
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::Place;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "text-cut-short",
        family: Family::Writing,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "a name or text ends at a `#`, where a comment begins, and more of it seems to be meant",
        on_site: "The family sees and says the shorter text.",
        remedy: "Put the text into quotes; or write a space behind the `#` of a comment.",
        source: Source::Standard("YAML 1.2.2"),
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: Lamp #2
  #     ^^^^
  class: on-off-light
  points:
    switching: { command: 1/1/1, feedback: 1/4/1 }
",
        good: "\
lamp:
  name: \"Lamp #2\"  # by the window
  class: on-off-light
  points:
    switching: { command: 1/1/1, feedback: 1/4/1 }
",
        folds: &["name-used-twice", "room-name-used-twice"],
    },
    look: Look::Problem,
};

/// Says what to write, if it was meant.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    if let ProblemKind::CutShort { text, whole, room, appliance } = &problem.kind {
        let length = u32::try_from(whole.len()).unwrap_or(0);
        let place = Place { end: problem.place.start.saturating_add(length), ..problem.place };
        let said =
            Said::new(format!("the text is `{text}`: ` #` begins a comment"), problem.place, "ends here");
        let said = said.about_keys(room.as_deref(), appliance.as_deref());
        report.add(&RULE.card, said.quote_at(place, whole, Certainty::ToBeLookedAt));
    }
}
