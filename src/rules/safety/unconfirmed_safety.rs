//! Something that can hurt somebody, and nobody who looked.

use crate::classes::Precaution;
use crate::findings::{Certainty, Severity};
use crate::knx;
use crate::resolve::plan::{Appliance, Confirmed};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source, placeholders};
use crate::source::Spanned;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unconfirmed-safety",
        family: Family::Safety,
        severity: Severity::Warning,
        otherwise: &[(
            Severity::Error,
            "for what is most dangerous, as `gate`: `housewright explain CLASS` says which",
        )],
        summary: "an appliance that can hurt somebody, without a word on its local safety device",
        on_site: "Moved from afar, a blind, gate or heater can crush, trap or burn when its local safety device is missing or was never tested.",
        remedy: "Have a competent person test the local safety device, keep to local codes, and write `confirmed: { by: who, checked: what }`.",
        source: Source::CommonPractice,
        frame: Frame::Appliances,
        bad: "\
blind:
#^^^^
  name: Blind
  class: roller-shutter
  points:
    move: { command: 2/0/1 }
    step-stop: { command: 2/1/1 }
    position: { command: 2/2/1, feedback: 2/3/1 }
",
        good: "\
blind:
  name: Blind
  class: roller-shutter
  points:
    move: { command: 2/0/1 }
    step-stop: { command: 2/1/1 }
    position: { command: 2/2/1, feedback: 2/3/1 }
  confirmed: { by: M. Quill, checked: stops at an obstacle }
",
        folds: &[],
    },
    look: Look::Appliance(look),
};

fn look(appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let class = &appliance.class.value;
    let Some(caution) = &class.caution else { return };
    let severity = match caution.confirm {
        Precaution::Told => return,
        Precaution::Warning => Severity::Warning,
        Precaution::Error => Severity::Error,
    };
    if appliance.confirmed_unread {
        return;
    }
    let confirmed = appliance.confirmed.as_ref();
    let Some(lack) = confirmed.map_or(Some(Lack::Everything), |confirmed| lack(&confirmed.value)) else {
        return;
    };
    let key = &appliance.key.value;
    let message = match lack {
        Lack::Everything => format!("nobody has confirmed the local safety device of `{key}`"),
        Lack::Words(ref lacking) => {
            let said: Vec<&str> = lacking.iter().map(|said| said.what).collect();
            let instead = lacking.iter().filter(|said| !said.text.is_empty());
            let instead: Vec<String> =
                instead.map(|said| format!("`{}` is `{}`", said.key, said.text)).collect();
            let colon = if instead.is_empty() { "" } else { ": " };
            let (said, instead) = (said.join(" and "), instead.join(", "));
            format!("`confirmed` of `{key}` does not say {said}{colon}{instead}")
        }
        Lack::Day(_) => format!("`on:` in `confirmed` of `{key}` is not a day as year, month and day"),
    };
    let said = match lack {
        Lack::Everything | Lack::Words(_) => {
            let place = confirmed.map_or(appliance.key.place, |confirmed| confirmed.place);
            // A caution has lines of its own, which are not those of a terminal.
            let caution = caution.text.split_whitespace().collect::<Vec<_>>().join(" ");
            let written = match &lack {
                Lack::Words(lacking) => {
                    let keys: Vec<String> =
                        lacking.iter().map(|said| format!("behind `{}:` {}", said.key, said.what)).collect();
                    format!("Once it was tested, write {}.", keys.join(", "))
                }
                Lack::Everything | Lack::Day(_) => {
                    "Write `confirmed: { by: who, checked: what }` once it was tested.".to_owned()
                }
            };
            let help = format!("{caution} {written}");
            Said::new(message, place, class.title.to_lowercase()).help(help).weighing(severity)
        }
        // Somebody looked; when, is for the papers.
        Lack::Day(on) => {
            let said = Said::new(message, on.place, "no such day").weighing(Severity::Warning);
            let said = said.on_site("Nobody can say later when it was tested.");
            match day_first(on.value.trim()) {
                Some(day) => said.help(format!("write `{day}`")).replace(day, Certainty::ToBeLookedAt),
                None => said.help("write it such as `on: 2026-05-31`"),
            }
        }
    };
    report.add(&RULE.card, said.about(appliance, context.plan));
}

/// What a confirmation does not say.
enum Lack<'a> {
    Everything,
    /// Who looked or what was checked; then the day too, if it is none.
    Words(Vec<Unsaid<'a>>),
    Day(&'a Spanned<String>),
}

/// A key of a confirmation that does not say what it should.
struct Unsaid<'a> {
    key: &'static str,
    what: &'static str,
    /// What it says.
    text: &'a str,
}

fn lack(confirmed: &Confirmed) -> Option<Lack<'_>> {
    let by = Unsaid { key: "by", what: "who looked", text: confirmed.by.trim() };
    let checked = Unsaid { key: "checked", what: "what was checked", text: confirmed.checked.trim() };
    let words = [(placeholders::says_who(by.text), by), (placeholders::says_what(checked.text), checked)];
    let mut unsaid: Vec<Unsaid> = words.into_iter().filter(|(says, _)| !says).map(|(_, said)| said).collect();
    let on = confirmed.on.as_ref().filter(|on| !on.value.trim().is_empty());
    let no_day = on.filter(|on| !is_day(on.value.trim()));
    if unsaid.is_empty() {
        return no_day.map(Lack::Day);
    }
    unsaid.extend(no_day.map(|on| Unsaid { key: "on", what: "on which day", text: on.value.trim() }));
    Some(Lack::Words(unsaid))
}

/// A day that is written with points, the day first, as `YYYY-MM-DD`.
fn day_first(text: &str) -> Option<String> {
    let parts: Vec<u32> = text.split('.').map(|part| part.trim().parse()).collect::<Result<_, _>>().ok()?;
    // Of a year in two digits it is for people to say which one it is.
    let [day, month, year] = *parts else { return None };
    Some(format!("{year:04}-{month:02}-{day:02}")).filter(|day| is_day(day))
}

/// The year of the first standard for this bus (EIB, before KNX). From memory.
const FIRST_YEAR: u16 = 1990;

/// Whether a text is a day that there is, as `YYYY-MM-DD`.
fn is_day(text: &str) -> bool {
    let is_written = text.len() == 10 && text.bytes().all(|byte| byte == b'-' || byte.is_ascii_digit());
    let mut parts = text.split('-');
    let year: Option<u16> = parts.next().filter(|year| year.len() == 4).and_then(|year| year.parse().ok());
    let mut two = || parts.next().filter(|part| part.len() == 2).and_then(|part| part.parse::<u8>().ok());
    let (Some(year), Some(month), Some(day)) = (year, two(), two()) else { return false };
    // Before that no house had such a bus, and a year was hardly meant.
    is_written
        && year >= FIRST_YEAR
        && (1..=12).contains(&month)
        && (1..=knx::days_of_month(Some(year), month)).contains(&day)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::{FileId, Place};

    #[test]
    fn a_day_with_points_is_known() {
        assert_eq!(day_first("14.03.2026").as_deref(), Some("2026-03-14"));
        assert_eq!(day_first("4. 3. 2026").as_deref(), Some("2026-03-04"));
        assert_eq!(day_first("31.02.2026"), None);
        assert_eq!(day_first("14.03.26"), None);
        assert_eq!(day_first("14/03/2026"), None);
    }

    fn check(by: &str, checked: &str, on: &str, is_enough: bool) {
        let place = Place { file: FileId(0), start: 0, end: 0 };
        let on = (!on.is_empty()).then(|| Spanned::new(on.to_owned(), place));
        let confirmed = Confirmed { by: by.to_owned(), checked: checked.to_owned(), on };
        assert_eq!(lack(&confirmed).is_none(), is_enough, "{confirmed:?}");
    }

    #[test]
    fn a_confirmation_names_somebody_something_and_a_day() {
        check("M. Quill", "obstacle stop", "", true);
        check("M. Quill", "obstacle stop", "2024-02-29", true);
        check("M. Quill", "obstacle stop", "2023-02-29", false);
        check("M. Quill", "obstacle stop", "2024-13-01", false);
        check("M. Quill", "obstacle stop", "2024-00-01", false);
        check("M. Quill", "obstacle stop", "2024-03-00", false);
        check("M. Quill", "obstacle stop", "2024-12-01", true);
        check("M. Quill", "obstacle stop", "2024-01-31", true);
        check("M. Quill", "obstacle stop", "1990-01-01", true);
        check("M. Quill", "obstacle stop", "1989-12-31", false);
        check("M. Quill", "obstacle stop", "2024-01-01-01", false);
        check("M. Quill", "obstacle stop", " ", true);
        check("M. Quill", "obstacle stop", "2024-1-001", false);
        check("M. Quill", "obstacle stop", "0026-03-14", false);
        check("M. Quill", "obstacle stop", "+024-01-01", false);
        check("M. Quill", "obstacle stop", "yesterday", false);
        check("M. Quill", "obstacle stop", "YYYY-MM-DD", false);
        check("NAME", "obstacle stop", "2024-02-29", false);
        check("TODO", "obstacle stop", "", false);
        check("M. Quill", "not yet", "", false);
        check("who looked", "what was looked at", "", false);
        check("M. Quill", " ", "", false);
    }
}
