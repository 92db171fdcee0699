//! Two things with one key.

use crate::findings::Severity;
use crate::house::Keyed;
use crate::house::{Problem, ProblemKind};
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "key-used-twice",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "two things of a kind have one key",
        on_site: "A key is an identity for ever: two appliances that share one would share an endpoint; of a room that is described twice it cannot be said which name and floor the family sees.",
        remedy: "Give one of them a key of its own.",
        source: Source::Format,
        frame: Frame::Rooms,
        bad: "\
hall:
  name: Hall
  appliances:
    lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
attic:
  name: Attic
  appliances:
    lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/2, feedback: 1/4/2 } } }
    #^^^
",
        good: "\
hall:
  name: Hall
  appliances:
    lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
attic:
  name: Attic
  appliances:
    attic-lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/2, feedback: 1/4/2 } } }
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Points at both.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    if let ProblemKind::KeyTwice { what, text, first } = &problem.kind {
        let message = format!("two {} have the key `{text}`", plural(*what));
        let said = Said::new(message, problem.place, "again here").with(*first, "first here");
        let said = if *what == Keyed::Room {
            said.help(format!(
                "if it is one room, put all its appliances below the first `{text}`: a room is described in one place; if they \
                 are two, give one of them a key and a name of its own"
            ))
        } else {
            said
        };
        report.add(&RULE.card, said);
    }
}

/// The same of a file that has many keys of another one.
pub(in crate::rules) fn tell_of_copy(problem: &Problem, count: usize, report: &mut Report) {
    if let ProblemKind::KeyTwice { text, first, .. } = &problem.kind {
        let message = format!("{count} keys of this file stand in another one, the first is `{text}`");
        let said = Said::new(message, problem.place, "again here").with(*first, "first here").help(
            "is it a copy? Take the file out of the folder, or give all that it describes keys of its own",
        );
        report.add(&RULE.card, said);
    }
}

fn plural(what: Keyed) -> &'static str {
    match what {
        Keyed::House => "houses",
        Keyed::Bus => "buses",
        Keyed::Bridge => "bridges",
        Keyed::Room => "rooms",
        Keyed::Appliance => "appliances",
    }
}
