//! A name of the address table that was saved in one encoding and read in another.

use crate::findings::Severity;
use crate::resolve::plan::{AddressTable, Row};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "garbled-name",
        family: Family::Table,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "names of the address table have signs in the place of letters",
        on_site: "No check can compare the names with the wiring, and whoever searches for a room does not find it.",
        remedy: "Export the table again, as UTF-8.",
        source: Source::CommonPractice,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 10 } }
--- bus.csv
address,name
1/1/1,KÃ¼che Licht schalten
#     ^^^^^^^^^^^^^^^^^^^^^
1/4/1,KÃ¼che Licht RÃ¼ckmeldung
",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 10 } }
--- bus.csv
address,name
1/1/1,Küche Licht schalten
1/4/1,Küche Licht Rückmeldung
",
        folds: &[],
    },
    look: Look::Whole(look),
};

/// One encoding is wrong for a whole table: the first name is shown, and how many there are.
fn look(context: &Context<'_>, report: &mut Report) {
    for table in context.plan.buses.iter().filter_map(|bus| bus.table.as_ref()) {
        if let (Some(first), count) = garbled(table) {
            let others = match count - 1 {
                0 => String::new(),
                1 => ", and another name".to_owned(),
                others => format!(", and {others} other names"),
            };
            let message = format!("the name \"{}\" is garbled{others}", first.name.value.trim());
            let said = Said::new(message, first.name.place, "signs in the place of letters")
                .help("the table was saved in one encoding and read in another: export it again, as UTF-8");
            report.add(&RULE.card, said);
        }
    }
}

fn garbled(table: &AddressTable) -> (Option<&Row>, usize) {
    let mut garbled = table.rows.iter().filter(|row| is_garbled(&row.name.value));
    let first = garbled.next();
    (first, usize::from(first.is_some()) + garbled.count())
}

/// Whether a text has what comes of a wrong encoding: a replacement or control character, the two signs that UTF-8 makes
/// of a letter elsewhere (`Ã¼`), a sign that is no letter within a word (`K„se`, as older systems write umlauts; `za³¹cz`, as
/// the letters of Central Europe look in the west), or letters with accents one after the other, which are Cyrillic or Greek.
fn is_garbled(name: &str) -> bool {
    if name.is_ascii() {
        return false;
    }
    let letters: Vec<char> = name.chars().collect();
    let odd = |letter: &char| matches!(letter, '\u{fffd}' | '\u{80}'..='\u{9f}');
    let pair = |pair: &[char]| match pair {
        ['Ã', second] => {
            !second.is_alphabetic()
                || matches!(second, 'ª' | 'º' | 'µ' | 'Ÿ' | 'œ' | 'Œ' | 'š' | 'ž' | 'Ž' | 'ƒ')
        }
        ['Â', second] => matches!(second, '\u{a0}'..='\u{bf}'),
        _ => false,
    };
    let within = |three: &[char]| match three {
        [before, sign, after] => {
            let is_sign = match sign {
                // Cubic metres.
                '³' => !matches!(before, 'm' | 'M'),
                '„' | '”' | '™' | '‚' | '¤' | '¢' | '¹' | '¿' | '¯' | '¼' | '¾' | '±' | '¶' | '¦' | '¬' => {
                    true
                }
                _ => false,
            };
            is_sign && is_of_word(*before) && is_of_word(*after)
        }
        _ => false,
    };
    let accents = |four: &[char]| four.iter().all(|letter| matches!(letter, '\u{c0}'..='\u{ff}'));
    letters.iter().any(odd)
        || letters.windows(2).any(pair)
        || letters.windows(3).any(within)
        || letters.windows(4).any(accents)
}

/// A letter, or a sign that is one in another encoding.
fn is_of_word(letter: char) -> bool {
    letter.is_alphabetic() || matches!(letter, '¹' | '³' | '¿' | '±' | '¶')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wrong_encodings_are_known_and_letters_are_let_be() {
        for name in [
            "KÃ¼che",
            "GrÃ¶ÃŸe",
            "K\u{81}che",
            "K„se",
            "Caf\u{fffd}",
            "20Â°C",
            "TÃ¤ fehlt",
            "za³¹cz",
            "wy³¹cz",
            "œwiat³o",
            "Âàííàÿ",
            "ÌðÜíéï",
        ] {
            assert!(is_garbled(name), "{name}");
        }
        for name in [
            "Küche",
            "SÃO",
            "Größe „Küche”",
            "Âtre",
            "Čeština",
            "20 °C",
            "Žižkov š",
            "厨房",
            "l’été",
            "0.5 m³h",
            "Nm³",
            "Licht¹",
            "¿Luz?",
            "Löwe½",
            "100 ±5 K",
            "créée",
            "A ¬ B",
        ] {
            assert!(!is_garbled(name), "{name}");
        }
    }
}
