//! A key that means nothing where it stands.

use crate::findings::Severity;
use crate::findings::{Certainty, list, nearest};
use crate::rules::wording;
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::Problem;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unknown-key",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a key means nothing where it stands",
        on_site: "What stands under it is built nowhere.",
        remedy: "Write one of the keys that the place has.",
        source: Source::Format,
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: Lamp
  clas: on-off-light
  #^^^
  class: on-off-light
  points:
    switching: { command: 1/1/1, feedback: 1/4/1 }
",
        good: "\
lamp:
  name: Lamp
  class: on-off-light
  points:
    switching: { command: 1/1/1, feedback: 1/4/1 }
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Names the nearest right key, or else the one that is missing.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    if let Problem::UnknownKey { place, key, allowed, within, below, .. } = problem {
        let what = wording::structure(within);
        let said = Said::new(format!("`{key}` is no key of {what}"), *place, "means nothing here");
        let said = match (nearest_missing(problem), nearest(key, allowed.iter().copied()), meant(problem)) {
            (Some(right), ..) => {
                said.help(format!("write `{right}`")).replace(right, Certainty::ToBeLookedAt)
            }
            (None, Some(known), _) => said.help(format!("take it out: `{known}` stands here already")),
            (None, None, Some(lacking)) => {
                said.help(format!("`{lacking}` is missing here: write it instead, if that is what is meant"))
            }
            (None, None, None) if below.is_some() => said
                .help(format!("it belongs below the `{}:` that is here already", below.unwrap_or_default())),
            (None, None, None) => {
                let help = format!("{what} has {}", list(allowed.iter().copied()));
                let rooms = if *within == "DescriptionFile" { "; a room stands below `rooms:`" } else { "" };
                said.help(help + rooms)
            }
        };
        report.add(&RULE.card, said);
    }
}

/// The key that an unknown one was probably meant to be: the nearest of those that are missing beside it, or else the
/// only one that must be there and is not.
pub(in crate::rules) fn meant(problem: &Problem) -> Option<&'static str> {
    let Problem::UnknownKey { key, allowed, missing, within, .. } = problem else { return None };
    let near = nearest_missing(problem);
    if near.is_some() || nearest(key, allowed.iter().copied()).is_some() {
        return near;
    }
    let mut lacking = demanded(within).iter().copied().filter(|key| missing.contains(key));
    lacking.next().filter(|_| lacking.next().is_none())
}

fn nearest_missing(problem: &Problem) -> Option<&'static str> {
    let Problem::UnknownKey { key, missing, within, .. } = problem else { return None };
    let other =
        OTHER_WORDS.iter().find(|(structure, words, _)| structure == within && words.contains(&key.as_str()));
    let other = other.map(|(.., ours)| *ours).filter(|ours| missing.contains(ours));
    other.or_else(|| nearest(key, missing.iter().copied()))
}

/// What people write for a key of a structure. Common practice.
const OTHER_WORDS: [(&str, &[&str], &str); 6] = [
    ("Point", &["status", "state", "response", "report"], "feedback"),
    ("Point", &["write", "address", "group", "object", "set"], "command"),
    ("Appliance", &["type", "kind", "device"], "class"),
    ("Appliance", &["label", "title"], "name"),
    ("Room", &["devices", "things", "items"], "appliances"),
    ("Room", &["level", "storey", "story"], "floor"),
];

/// The keys that a structure of the description must have; `missing-key` tells them.
fn demanded(structure: &str) -> &'static [&'static str] {
    match structure {
        "HouseHead" => &["id", "name"],
        "Bridge" => &["name", "capacity"],
        "Appliance" => &["name", "class"],
        _ => &[],
    }
}
