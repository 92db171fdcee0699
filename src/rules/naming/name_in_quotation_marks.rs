//! A name with the quotation marks of a word processor round it: YAML knows only the plain ones.

use crate::findings::{Certainty, Severity};
use crate::rules::named;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "name-in-quotation-marks",
        family: Family::Naming,
        severity: Severity::Note,
        otherwise: &[],
        summary: "a name stands in quotation marks that belong to it",
        on_site: "Controllers show the quotation marks.",
        remedy: "Take them out, or write the plain ones of a keyboard, which are none of the name.",
        source: Source::CommonPractice,
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: “Reading lamp”
  #     ^^^^^^^^^^^^^^
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
        let Some(plain) = unquoted(named.name) else { continue };
        let tell = |whose: &str| format!("{whose} has quotation marks round it, which controllers show");
        let said = named.said(tell, "none that YAML takes off", context.plan);
        report.add(&RULE.card, said.rename(plain, Certainty::ToBeLookedAt));
    }
}

/// What stands between the quotation marks of a name that is wholly in them.
fn unquoted(name: &str) -> Option<&str> {
    const OPENING: &[char] = &['“', '”', '„', '‟', '«', '»', '‘', '’', '‚', '‹', '›'];
    let name = name.trim();
    // Nearly all names begin with a plain letter.
    let inner = name.strip_prefix(OPENING).and_then(|rest| rest.strip_suffix(OPENING))?.trim();
    (!inner.is_empty() && !inner.contains(OPENING)).then_some(inner)
}

#[cfg(test)]
mod tests {
    use super::unquoted;

    #[test]
    fn only_a_name_that_is_wholly_in_them() {
        assert_eq!(unquoted("„Leselampe“"), Some("Leselampe"));
        assert_eq!(unquoted("« Spot »"), Some("Spot"));
        for name in ["“Mia” lamp", "Lamp “Mia”", "“Mia” and “Noah”", "Mia’s", "’", "“”", "Lamp"]
        {
            assert_eq!(unquoted(name), None, "{name}");
        }
    }
}
