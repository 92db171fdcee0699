//! A key that cannot be kept for twenty years.

use crate::findings::Certainty;
use crate::findings::Severity;
use crate::house::is_fit_key;
use crate::house::{Keyed, Problem, ProblemKind};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::survey::names;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unfit-key",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a key is not made of lower-case letters, digits and hyphens",
        on_site: "Keys live in files, ledgers and gateways for twenty years: one that some program must write otherwise loses its appliance.",
        remedy: "Use lower-case letters a to z, digits and single hyphens, beginning with a letter, 64 at most.",
        source: Source::Format,
        frame: Frame::Appliances,
        bad: "\
Hall Lamp:
#^^^^^^^^
  name: Lamp
  class: on-off-light
  points:
    switching: { command: 1/1/1, feedback: 1/4/1 }
",
        good: "\
hall-lamp:
  name: Lamp
  class: on-off-light
  points:
    switching: { command: 1/1/1, feedback: 1/4/1 }
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Makes a fit key of it.
pub(in crate::rules) fn tell(problem: &Problem, context: &Context<'_>, report: &mut Report) {
    if let ProblemKind::UnfitKey { what, text } = &problem.kind {
        let article = if *what == Keyed::Appliance { "an" } else { "a" };
        let message = format!("`{text}` cannot be the key of {article} {}", what.word());
        let said = Said::new(message, problem.place, "not a key");
        let known = Some(context.ledger.house()).filter(|id| *what == Keyed::House && !id.is_empty());
        let said = match known.map(str::to_owned).or_else(|| fit_key(text)) {
            Some(fit) if known.is_some() => said
                .help(format!("write `{fit}`, the id that the ledger has"))
                .replace(fit, Certainty::ToBeLookedAt),
            Some(fit) => said.help(format!("write `{fit}`")).replace(fit, Certainty::ToBeLookedAt),
            None => said,
        };
        report.add(&RULE.card, said);
    }
}

/// The nearest key: letters without accents, hyphens for all else.
fn fit_key(text: &str) -> Option<String> {
    let mut fit = String::new();
    for character in names::heard(text).chars() {
        match character {
            'a'..='z' | '0'..='9' => fit.push(character),
            _ if fit.is_empty() || fit.ends_with('-') => {}
            _ => fit.push('-'),
        }
    }
    let fit = fit.trim_matches('-').trim_start_matches(|first: char| first.is_ascii_digit() || first == '-');
    is_fit_key(fit).then(|| fit.to_owned())
}
