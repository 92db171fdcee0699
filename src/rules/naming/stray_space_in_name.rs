//! A name with spaces that nobody sees.

use crate::findings::Certainty;
use crate::findings::Severity;
use crate::rules::named;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "stray-space-in-name",
        family: Family::Naming,
        severity: Severity::Note,
        otherwise: &[],
        summary: "a name begins or ends with a space, or has two in a row",
        on_site: "Two names that look the same are not; voice control may not find either.",
        remedy: "Take the space out.",
        source: Source::CommonPractice,
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: \"Reading  lamp\"
  #     ^^^^^^^^^^^^^^^
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
",
        good: "\
lamp:
  name: Reading lamp
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
",
        folds: &[],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    for named in named::all(context.plan) {
        let name = named.name;
        // Nearly all names are tidy.
        let is_tidy = !name.starts_with(char::is_whitespace)
            && !name.ends_with(char::is_whitespace)
            && !name.contains("  ");
        if is_tidy && name.is_ascii() || name.chars().any(char::is_control) {
            continue;
        }
        let tidy = name.split_whitespace().collect::<Vec<_>>().join(" ");
        if tidy != name && !tidy.is_empty() {
            let tell = |whose: &str| format!("{whose} has a space that nobody sees");
            let said = named.said(tell, "a stray space", context.plan).rename(&tidy, Certainty::Sure);
            report.add(&RULE.card, said);
        }
    }
}
