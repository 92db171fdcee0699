//! An appliance whose rows call it another thing than its class does.

use crate::classes::{Class, ClassLibrary, Need};
use crate::findings::{Certainty, Severity};
use crate::resolve::plan::Appliance;
use crate::rules::suspicion;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::survey::OtherThing;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "called-another-thing",
        family: Family::Class,
        severity: Severity::Warning,
        otherwise: &[(
            Severity::Note,
            "where the class that it is called has all its points, and no caution that is left out",
        )],
        summary: "the table calls an appliance another thing than its class does",
        on_site: "The family is told of another thing than there is: of smoke where water runs out, of a lamp where a pump runs.",
        remedy: "Correct the class; if it is meant, say why under `allow:`.",
        source: Source::CommonPractice,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 20 } }
rooms:
  utility:
    name: Utility
    appliances:
      drain:
        name: Drain
        class: smoke-alarm
        #      ^^^^^^^^^^^
        points:
          smoke: { feedback: 1/1/1 }
--- bus.csv
address,name
1/1/1,Utility drain leak
",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 20 } }
rooms:
  utility:
    name: Utility
    appliances:
      drain:
        name: Drain
        class: leak-sensor
        points:
          leak: { feedback: 1/1/1 }
--- bus.csv
address,name
1/1/1,Utility drain leak
",
        folds: &[],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    for other in &context.survey.other_things {
        tell(other, context).into_iter().for_each(|said| report.add(&RULE.card, said));
    }
}

fn tell(other: &OtherThing, context: &Context<'_>) -> Option<Said> {
    let appliance = context.plan.appliances.get(other.appliance as usize)?;
    let meant = other.thing.classes.first()?;
    let (wired, _, _, wire) = suspicion::look_up(other.wire, context)?;
    let row = suspicion::row(wired, context).map_or("", |row| row.name.value.trim());
    let class = &appliance.class;
    let message = format!(
        "`{}` is called \"{}\" and described as `{}`",
        appliance.key.value, other.word, class.value.name
    );
    let because = if other.is_named {
        "its name and its rows say so, and no word of them its class"
    } else {
        "its rows say so, and no word of them or of its name its class"
    };
    let said = Said::new(message, class.place, "called another thing")
        .with(wire.address.place, format!("in the table \"{row}\""))
        .about(appliance, context.plan)
        .because(because);
    let write = format!("write `class: {meant}`");
    let as_class = (class.place, meant.clone());
    let library = ClassLibrary::built_in();
    let named = library.get(meant)?;
    if has_all_points(appliance, &named) {
        let is_cautioned = class.value.caution.is_none() && named.caution.is_some();
        let said = if is_cautioned {
            said.on_site(
                "It is moved along with what it is taken for, such as all lights, and nobody has looked at its caution.",
            )
        } else {
            said.weighing(Severity::Note).on_site("The family is shown another thing than there is.")
        };
        return Some(said.help(write).edit(vec![as_class], Certainty::ToBeLookedAt));
    }
    Some(match renamed(appliance, meant) {
        Some((from, to)) => {
            let point = appliance.points.first()?.key;
            said.help(format!("{write}, and `{to}` for `{from}`; or look the address up"))
                .edit(vec![as_class, (point, to)], Certainty::ToBeLookedAt)
        }
        None => said.help(format!("{write}, with its points; or look the addresses up")),
    })
}

/// Whether a class has all points of an appliance.
fn has_all_points(appliance: &Appliance, class: &Class) -> bool {
    let has = |name: &str| class.points.iter().any(|point| point.name == name);
    appliance.points.iter().all(|point| has(point.name(appliance)))
}

/// The one point of an appliance, and the one that a class asks for instead.
fn renamed(appliance: &Appliance, class: &str) -> Option<(String, String)> {
    let [own] = appliance.points.as_slice() else { return None };
    let library = ClassLibrary::built_in();
    let known = library.get(class)?;
    let mut asked = known.points.iter().filter(|point| point.need == Need::Required);
    let (first, next) = (asked.next()?, asked.next());
    next.is_none().then(|| (own.name(appliance).to_owned(), first.name.clone()))
}
