//! A point without what all others of its kind have.

use crate::findings::{Certainty, Severity};
use crate::knx::GroupAddress;
use crate::resolve::plan::{Appliance, Point, Role};
use crate::rules::suspicion::right_words_of;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::survey::{Lack, Lacking, Suspect, Use};
use rustc_hash::FxHashSet;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "lacks-what-others-have",
        family: Family::Habit,
        severity: Severity::Note,
        otherwise: &[(Severity::Warning, "where it listens to an address of other appliances instead")],
        summary: "a point or an appliance lacks what all others of its kind have",
        on_site: "Open is shown as closed, a number is wrong a thousandfold, or a central command changes what controllers do not see.",
        remedy: "Write it here too, or say under `allow:` why not.",
        source: Source::CommonPractice,
        frame: Frame::Appliances,
        bad: "\
north: { name: North window, class: contact-sensor, points: { contact: { feedback: 3/1/1, reversed: true } } }
south: { name: South window, class: contact-sensor, points: { contact: { feedback: 3/1/2, reversed: true } } }
east: { name: East window, class: contact-sensor, points: { contact: { feedback: 3/1/3, reversed: true } } }
west: { name: West window, class: contact-sensor, points: { contact: { feedback: 3/1/4, reversed: true } } }
attic: { name: Attic window, class: contact-sensor, points: { contact: { feedback: 3/1/5, reversed: true } } }
cellar: { name: Cellar window, class: contact-sensor, points: { contact: { feedback: 3/1/6, reversed: true } } }
porch: { name: Porch window, class: contact-sensor, points: { contact: { feedback: 3/1/7 } } }
#                                                             ^^^^^^^
",
        good: "\
north: { name: North window, class: contact-sensor, points: { contact: { feedback: 3/1/1, reversed: true } } }
south: { name: South window, class: contact-sensor, points: { contact: { feedback: 3/1/2, reversed: true } } }
east: { name: East window, class: contact-sensor, points: { contact: { feedback: 3/1/3, reversed: true } } }
west: { name: West window, class: contact-sensor, points: { contact: { feedback: 3/1/4, reversed: true } } }
attic: { name: Attic window, class: contact-sensor, points: { contact: { feedback: 3/1/5, reversed: true } } }
cellar: { name: Cellar window, class: contact-sensor, points: { contact: { feedback: 3/1/6, reversed: true } } }
porch: { name: Porch window, class: contact-sensor, points: { contact: { feedback: 3/1/7, reversed: true } } }
",
        folds: &["type-differs-from-table", "address-read-two-ways"],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    let survey = context.survey;
    let lacks = survey.lacks(context.plan);
    if lacks.is_empty() {
        return;
    }
    // One that has another's addresses, or stands in the wrong room, listens to what is right for that.
    let wires = survey.suspects.iter().flat_map(Suspect::told);
    let wired = wires.filter_map(|wire| survey.wires.all.get(wire as usize)).map(|wired| wired.appliance);
    let told: FxHashSet<u32> = wired.chain(survey.strays.iter().map(|stray| stray.appliance)).collect();
    for lack in lacks.iter().filter(|lack| !told.contains(&lack.appliance)) {
        said(lack, context).into_iter().for_each(|said| report.add(&RULE.card, said));
    }
}

fn said(lack: &Lack, context: &Context<'_>) -> Option<Said> {
    let plan = context.plan;
    let appliance = plan.appliances.get(lack.appliance as usize)?;
    if let Lacking::Common(address) = lack.what {
        return common(lack, address, appliance, context);
    }
    let point = appliance.points.get(lack.point as usize)?;
    let (name, key, others) = (point.name(appliance), &appliance.key.value, lack.others);
    let said = match lack.what {
        Lacking::Reversed => {
            let message = format!("`{name}` of `{key}` is not `reversed`, that of all {others} others is");
            Said::new(message, point.key, "not reversed")
                .on_site("If it is wired as the others are, controllers show and do the opposite.")
                .help("write `reversed: true` here too; or say under `allow:` that it is wired the other way")
        }
        Lacking::Dpt(dpt) => {
            let message = format!("`{name}` of `{key}` has no `dpt`, that of all {others} others is {dpt}");
            Said::new(message, point.key, "the usual type of its class")
                .on_site("If it sends what the others send, its numbers are wrong, as by a thousand for kWh.")
                .help(format!("write `dpt: {dpt}` here too; or the type that it has"))
        }
        Lacking::Common(_) => return None,
        Lacking::Listens { instead: Some(place), .. } => instead(lack, place, (point, appliance), context)?,
        Lacking::Listens { address, of_floor, .. } => {
            let written = address.display(plan.house.notation);
            let floor = if of_floor { " of its kind and floor" } else { " of its kind" };
            let message =
                format!("`{name}` of `{key}` does not listen to `{written}`, all {others} others{floor} do");
            let (_, help) = right_words_of(address, appliance.bus, context);
            let first = point.listens.first().map_or(point.key, |wire| wire.address.place);
            Said::new(message, first, "what it listens to")
                .on_site("If the actuator does listen, controllers go on showing what a central command has changed.")
                .help(format!("{help}, under its `listens` too; or say under `allow:` why it stays out"))
        }
    };
    Some(said.about(appliance, plan))
}

/// A point that all others of the class have in common.
fn common(lack: &Lack, address: GroupAddress, appliance: &Appliance, context: &Context<'_>) -> Option<Said> {
    let (class, key) = (&appliance.class.value, &appliance.key.value);
    let name = &class.points.get(lack.point as usize)?.name;
    let written = address.display(context.plan.house.notation);
    let message = format!(
        "`{key}` has no `{name}`, all {} others of class `{}` have `{written}` there",
        lack.others, class.name
    );
    let said = Said::new(message, appliance.key.place, format!("no `{name}`"))
        .on_site(
            "Controllers do not show of this one what they show of the others: that it is held where it is.",
        )
        .help(format!("write `{name}: {{ feedback: {written} }}` here too; or say under `allow:` why not"));
    Some(said.about(appliance, context.plan))
}

/// An address of another kind or floor in the place of what the others have.
fn instead(
    lack: &Lack,
    place: u32,
    (point, appliance): (&Point, &Appliance),
    context: &Context<'_>,
) -> Option<Said> {
    let Lacking::Listens { address, of_floor, .. } = lack.what else { return None };
    let used = Use { appliance: lack.appliance, point: lack.point, role: Role::Listens, listens: place };
    let is_told = context.survey.overheard.iter().any(|overheard| overheard.uses.contains(&used));
    let wire = point.listens.get(place as usize).filter(|_| !is_told)?;
    let written = wire.address.value.display(context.plan.house.notation);
    let (name, key, others) = (point.name(appliance), &appliance.key.value, lack.others);
    let floor = if of_floor { " and floor" } else { "" };
    let message = format!("`{name}` of `{key}` listens to `{written}`, as no other of its kind{floor} does");
    let table = context.plan.table(appliance.bus);
    let row = table.and_then(|table| table.row(wire.address.value)).map_or("", |row| row.name.value.trim());
    let label = if row.is_empty() { "out of line".to_owned() } else { format!("in the table \"{row}\"") };
    let (right, help) = right_words_of(address, appliance.bus, context);
    let said = Said::new(message, wire.address.place, label)
        .because(&format!("all {others} others listen to `{right}`, and this one does not"))
        .on_site("Controllers go on showing what a central command has changed, or show what it has not.")
        .weighing(Severity::Warning)
        .help(help)
        .edit(vec![(wire.address.place, right)], Certainty::ToBeLookedAt);
    Some(said)
}
