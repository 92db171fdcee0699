//! A key that means nothing where it stands.

use crate::findings::Severity;
use crate::findings::{Certainty, list, nearest};
use crate::rules::syntax_wording::{like_address, two_addresses};
use crate::rules::wording;
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::{Problem, SyntaxFault};
use unicode_normalization::UnicodeNormalization as _;
use unicode_normalization::char::is_combining_mark;

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
/// only one that must be there and is not. So is one that was left out behind a comma.
pub(in crate::rules) fn meant(problem: &Problem) -> Option<&'static str> {
    if let Problem::Syntax { fault: SyntaxFault::Parted { text, left_out, .. }, .. } = problem {
        return left_out.filter(|_| two_addresses(text).is_some());
    }
    let Problem::UnknownKey { key, value, allowed, missing, within, .. } = problem else { return None };
    let near = nearest_missing(problem);
    if near.is_some() || nearest(key, allowed.iter().copied()).is_some() {
        return near;
    }
    let mut lacking = demanded(within, value.as_deref()).iter().copied().filter(|key| missing.contains(key));
    lacking.next().filter(|_| lacking.next().is_none())
}

fn nearest_missing(problem: &Problem) -> Option<&'static str> {
    let Problem::UnknownKey { key, missing, within, .. } = problem else { return None };
    let plain = plain(key);
    let is_word = |words: &[&str]| words.contains(&plain.as_str());
    let other = OTHER_WORDS.iter().find(|(structure, words, _)| structure == within && is_word(words));
    let other = other.map(|(.., ours)| *ours).filter(|ours| missing.contains(ours));
    other.or_else(|| nearest(key, missing.iter().copied()))
}

/// A word as `OTHER_WORDS` has them: in small letters without accents, of its parts.
fn plain(key: &str) -> String {
    let letters = key
        .nfd()
        .filter(|letter| !is_combining_mark(*letter) && !matches!(letter, '-' | '_' | ' ' | '\'' | '’'));
    letters.flat_map(char::to_lowercase).collect()
}

/// What people write for a key of a structure, in languages of houses. Common practice.
const OTHER_WORDS: [(&str, &[&str], &str); 10] = [
    (
        "Point",
        &[
            "status",
            "state",
            "response",
            "report",
            "read",
            "fb",
            "statusaddress",
            "statusga",
            "ruckmeldung",
            "rueckmeldung",
            "rm",
            "melden",
            "meldung",
            "zustand",
            "lesen",
            "terugmelding",
            "terugkoppeling",
            "toestand",
            "retour",
            "retourdetat",
            "etat",
            "statut",
            "stato",
            "ritorno",
            "feedbackaddress",
            "estado",
            "stan",
            "tilbagemelding",
            "tilbakemelding",
            "aterkoppling",
            "takaisinkytkenta",
        ],
        "feedback",
    ),
    (
        "Point",
        &[
            "write",
            "address",
            "ga",
            "group",
            "groupaddress",
            "object",
            "set",
            "cmd",
            "send",
            "befehl",
            "kommando",
            "adresse",
            "gruppenadresse",
            "schreiben",
            "senden",
            "opdracht",
            "schrijven",
            "adres",
            "groepsadres",
            "commande",
            "ordre",
            "ecriture",
            "comando",
            "indirizzo",
            "direccion",
            "polecenie",
            "adress",
        ],
        "command",
    ),
    (
        "Point",
        &["central", "also", "listen", "hort", "mithoren", "luistert", "ecoute", "ascolta", "escucha"],
        "listens",
    ),
    ("Point", &["datatype", "type", "datapointtype", "datenpunkttyp", "datentyp", "datapunttype"], "dpt"),
    (
        "Point",
        &["invert", "inverted", "invertiert", "inverse", "umgekehrt", "omgekeerd", "invertido"],
        "reversed",
    ),
    ("Appliance", &["type", "kind", "device", "klasse", "typ", "classe", "clase"], "class"),
    ("Appliance", &["label", "title", "bezeichnung", "naam", "nom", "nome", "nombre"], "name"),
    ("Appliance", &["punkte", "functions", "funktionen", "punten", "addresses", "adressen"], "points"),
    ("Room", &["devices", "things", "items", "gerate", "geraete", "apparaten", "appareils"], "appliances"),
    ("Room", &["level", "storey", "story", "etage", "stockwerk", "geschoss", "verdieping", "piano"], "floor"),
];

/// The keys that a structure of the description must have; `missing-key` tells them. Of a point those that an address
/// stands behind: where one of the two is there, the other may be meant.
fn demanded(structure: &str, value: Option<&str>) -> &'static [&'static str] {
    match structure {
        "HouseHead" => &["id", "name"],
        "Bridge" => &["name", "capacity"],
        "Appliance" => &["name", "class"],
        "Point" if value.is_some_and(like_address) => &["command", "feedback"],
        _ => &[],
    }
}
