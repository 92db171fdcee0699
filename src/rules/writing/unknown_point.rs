//! A point that the class does not have.

use crate::classes::Class;
use crate::findings::Severity;
use crate::findings::{Certainty, list, nearest};
use crate::resolve::{Problem, ProblemKind};
use crate::rules::of_another_class;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::Place;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unknown-point",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a point that the class does not have",
        on_site: "The function is not wired to the bus at all.",
        remedy: "Write one of the points that the class has.",
        source: Source::Format,
        frame: Frame::Points { class: "dimmable-light" },
        bad: "\
switching: { command: 1/1/1, feedback: 1/4/1 }
brightnes: { command: 1/2/1, feedback: 1/5/1 }
#^^^^^^^^
brightness: { command: 1/2/1, feedback: 1/5/1 }
",
        good: "\
switching: { command: 1/1/1, feedback: 1/4/1 }
brightness: { command: 1/2/1, feedback: 1/5/1 }
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Names the nearest point, or all of them.
pub(in crate::rules) fn tell(problem: &Problem, context: &Context<'_>, report: &mut Report) {
    if let ProblemKind::UnknownPoint { name, class, .. } = &problem.kind {
        let message = format!("the class `{}` has no point `{name}`", class.name);
        let said = Said::new(message, problem.place, "unknown point").keyed(problem);
        let points = || class.points.iter().map(|point| point.name.as_str());
        let others = larger_classes(problem, context);
        let right = nearest(name, points()).or_else(|| called(name, class, context));
        let said = match (others.as_slice(), right) {
            ([], Some(right)) => {
                said.help(format!("write `{right}`")).replace(right, Certainty::ToBeLookedAt)
            }
            ([], None) => said.help(format!("it has {}", list(points()))),
            ([other], _) => said.help(format!("the class `{other}` has it: is the appliance one?")),
            (several, _) => {
                let named = of_another_class::several(several, "and", |other| format!("`{other}`"));
                said.help(format!("classes such as {named} have it: is the appliance one of these?"))
            }
        };
        report.add(&RULE.card, said);
    }
}

/// Names the nearest point of any class to a name in a word list.
pub(in crate::rules) fn tell_of_words(name: &str, place: Place, context: &Context<'_>, report: &mut Report) {
    let said = Said::new(format!("no class has a point `{name}`"), place, "unknown point");
    let classes: Vec<_> =
        context.library.names().into_iter().filter_map(|name| context.library.get(name)).collect();
    let points = classes.iter().flat_map(|class| class.points.iter().map(|point| point.name.as_str()));
    let said = match nearest(name, points) {
        Some(right) => said.help(format!("write `{right}`")).replace(right, Certainty::ToBeLookedAt),
        None => said.help("write the name that a class gives the point: `housewright explain class NAME`"),
    };
    report.add(&RULE.card, said);
}

/// The one point of a class that a word stands for in a table: "Lamelle" for `slat`.
fn called<'a>(name: &str, class: &'a Class, context: &Context<'_>) -> Option<&'a str> {
    let meant = context.survey.points_called(name);
    let points = class.points.iter().map(|point| point.name.as_str());
    let mut called = points.filter(|point| meant.iter().any(|meant| meant == point));
    called.next().filter(|_| called.next().is_none())
}

/// The classes that have the point and all others that the appliance has.
fn larger_classes(problem: &Problem, context: &Context<'_>) -> Vec<String> {
    let key = problem.appliance.as_deref();
    let appliance = key.and_then(|key| context.survey.appliance(context.plan, key));
    appliance.map_or_else(Vec::new, |appliance| of_another_class::likely(appliance, &[problem], context))
}
