//! A name with a character that nobody sees.

use crate::findings::{Certainty, Severity};
use crate::resolve::plan::Appliance;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "invisible-character-in-name",
        family: Family::Naming,
        severity: Severity::Warning,
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
    look: Look::Appliance(look),
};

/// Characters without ink that are no plain space: controls, zero width, direction marks, soft hyphen, fillers.
fn is_invisible(character: char) -> bool {
    character.is_control()
        || matches!(
            character,
            '\u{ad}'
                | '\u{34f}'
                | '\u{61c}'
                | '\u{115f}'..='\u{1160}'
                | '\u{17b4}'..='\u{17b5}'
                | '\u{180b}'..='\u{180f}'
                | '\u{200b}'..='\u{200f}'
                | '\u{2028}'..='\u{202e}'
                | '\u{2060}'..='\u{206f}'
                | '\u{3164}'
                | '\u{feff}'
                | '\u{ffa0}'
                | '\u{fff9}'..='\u{fffb}'
                | '\u{e0000}'..='\u{e007f}'
        )
}

/// A space that is not the one of the keyboard, such as a no-break space.
fn is_odd_space(character: char) -> bool {
    character != ' ' && character.is_whitespace() && !character.is_control()
}

fn look(appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let name = &appliance.name.value;
    let Some(found) = name.chars().find(|&character| is_invisible(character) || is_odd_space(character))
    else {
        return;
    };
    let plain: String = name
        .chars()
        .filter(|&character| !is_invisible(character) || character.is_whitespace())
        .map(|character| if character.is_whitespace() { ' ' } else { character })
        .collect();
    let tidy = plain.split_whitespace().collect::<Vec<_>>().join(" ");
    let message = format!(
        "the name of `{}` has a character that nobody sees, U+{:04X}",
        appliance.key.value,
        u32::from(found)
    );
    let said =
        Said::new(message, appliance.name.place, "more than it looks like").about(appliance, context.plan);
    let said = if tidy.is_empty() { said } else { said.rename(&tidy, Certainty::ToBeLookedAt) };
    report.add(&RULE.card, said);
}
