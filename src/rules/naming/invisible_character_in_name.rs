//! A name with a character that nobody sees.

use crate::findings::{Certainty, Severity};
use crate::rules::named;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "invisible-character-in-name",
        family: Family::Naming,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "a name has a character that nobody sees",
        on_site: "The name cannot be typed or spoken as it is: search and voice control do not find the appliance.",
        remedy: "Take the character out; it came in by copying.",
        source: Source::Standard("Unicode 16.0, general categories Cc, Cf and Zs"),
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: \"Reading\\u200b lamp\"
  #     ^^^^^^^^^^^^^^^^^^^^
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
",
        good: "\
lamp:
  name: Reading lamp
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
",
        folds: &["stray-space-in-name"],
    },
    look: Look::Whole(look),
};

/// A space that is not the one of the keyboard, such as a no-break space.
fn is_odd_space(character: char) -> bool {
    character != ' ' && character.is_whitespace() && !character.is_control()
}

fn look(context: &Context<'_>, report: &mut Report) {
    for named in named::all(context.plan) {
        let mut characters = named.name.chars();
        let Some(found) =
            characters.find(|&character| named::is_invisible(character) || is_odd_space(character))
        else {
            continue;
        };
        let number = u32::from(found);
        let tell = |whose: &str| format!("{whose} has a character that nobody sees, U+{number:04X}");
        let said = named.said(tell, "more than it looks like", context.plan);
        let tidy = named::tidy(named.name);
        let said = if tidy.is_empty() { said } else { said.rename(&tidy, Certainty::ToBeLookedAt) };
        report.add(&RULE.card, said);
    }
}
