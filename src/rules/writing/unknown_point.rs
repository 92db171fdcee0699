//! A point that the class does not have.

use crate::classes::Class;
use crate::findings::Severity;
use crate::findings::{Certainty, list, nearest};
use crate::resolve::{Problem, ProblemKind};
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
    if let ProblemKind::UnknownPoint { name, class } = &problem.kind {
        let message = format!("the class `{}` has no point `{name}`", class.name);
        let said = Said::new(message, problem.place, "unknown point").keyed(problem);
        let points = || class.points.iter().map(|point| point.name.as_str());
        let said = match (larger_class(problem, name, context), nearest(name, points())) {
            (Some(other), _) => said.help(format!("the class `{other}` has it: is the appliance one?")),
            (None, Some(right)) => {
                said.help(format!("write `{right}`")).replace(right, Certainty::ToBeLookedAt)
            }
            (None, None) => said.help(format!("it has {}", list(points()))),
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

/// The smallest class that has the point and all others that the appliance has, of the same group if there is one.
fn larger_class(problem: &Problem, name: &str, context: &Context<'_>) -> Option<String> {
    let key = problem.appliance.as_deref()?;
    let appliance = context.survey.appliance(context.plan, key)?;
    let group = appliance.class.value.group;
    let has = |class: &Class| {
        class.point(name).is_some()
            && appliance.points.iter().all(|point| class.point(point.name(appliance)).is_some())
    };
    let fits = |name: &&str| context.library.get(name).filter(|class| has(class));
    let classes = context.library.names().into_iter().filter_map(|name| fits(&name));
    let smallest =
        classes.min_by_key(|class| (class.group != group, class.points.len(), class.name.clone()))?;
    Some(smallest.name.clone())
}
