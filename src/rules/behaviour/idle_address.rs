//! A point or an address of it that no link hangs on, with what else the appliance has.

use crate::classes::{Chosen, Class, Exposure, SettingKind, SettingValue, Shape};
use crate::findings::Severity;
use crate::resolve::plan::{Appliance, Point, Role};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::sort;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "idle-address",
        family: Family::Behaviour,
        severity: Severity::Warning,
        otherwise: &[(Severity::Note, "for a status that another point tells in its place")],
        summary: "a point or an address of it is used for nothing, with what else the appliance has",
        on_site: "Nothing that comes or goes through it is seen in controllers: half of what the device can do may be missing.",
        remedy: "Give the setting that makes use of it, or take it out: `housewright explain` with the class's name.",
        source: Source::Format,
        frame: Frame::Appliances,
        bad: "\
heating:
  name: Heating
  class: room-thermostat
  confirmed: { by: M. Quill, checked: limits of the setpoint }
  points:
    temperature: { feedback: 4/1/1 }
    setpoint: { command: 4/2/1, feedback: 4/3/1 }
    switching: { command: 4/4/1, feedback: 4/5/1 }
    changeover: { feedback: 4/6/1 }
    #^^^^^^^^^
",
        good: "\
heating:
  name: Heating
  class: room-thermostat
  confirmed: { by: M. Quill, checked: limits of the setpoint }
  points:
    temperature: { feedback: 4/1/1 }
    setpoint: { command: 4/2/1, feedback: 4/3/1 }
    switching: { command: 4/4/1, feedback: 4/5/1 }
    changeover: { feedback: 4/6/1 }
  settings: { function: both }
",
        folds: &[],
    },
    look: Look::Appliance(look),
};

fn look(appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    if appliance.incomplete || !matches!(appliance.class.value.exposure, Exposure::Bridged) {
        return;
    }
    let Ok(shape) = appliance.shape() else { return };
    for point in &appliance.points {
        // A further address is for those whose status nobody tells, and what the class does not take is told as that.
        let taken = |role: Role| point.spec(appliance).is_some_and(|spec| spec.end(role.end()).is_some());
        let wires: Vec<_> =
            point.wires().filter(|(role, _)| *role != Role::Listens && taken(*role)).collect();
        let idle: Vec<_> = wires.iter().filter(|(role, _)| !is_used(shape, point, *role)).copied().collect();
        let Some(&(role, wire)) = idle.last() else { continue };
        let (subject, place) = if idle.len() == wires.len() {
            (String::new(), point.key)
        } else {
            (format!("the {} of ", role.noun()), wire.address.place)
        };
        if let Some((severity, help)) = advice(appliance, point, role) {
            let (name, key) = (point.name(appliance), &appliance.key.value);
            let message = format!("{subject}`{name}` of `{key}` is used for nothing");
            let said = Said::new(message, place, "not used").about(appliance, context.plan);
            report.add(&RULE.card, said.help(help).weighing(severity));
        }
    }
}

fn is_used(shape: &Shape, point: &Point, role: Role) -> bool {
    let mut links = shape.parts.iter().flat_map(|part| &part.links);
    links.any(|link| link.point == point.spec && link.end == role.end())
}

/// What to do about an address that is not used; nothing about a second way to command one thing.
fn advice(appliance: &Appliance, point: &Point, role: Role) -> Option<(Severity, String)> {
    let class = &appliance.class.value;
    let used = |chosen: &Chosen| class.shape(chosen).is_ok_and(|shape| is_used(&shape, point, role));
    let chosen = appliance.chosen();
    if let Some(setting) = setting(class, &chosen, &used) {
        let help = format!("write `settings: {{ {setting} }}`, which makes use of it, or take it out");
        return Some((Severity::Warning, help));
    }
    match (instead(appliance, point, &chosen, &used), role) {
        (Some(_), Role::Command) => None,
        (Some(other), _) => {
            let help = format!("take it out, or `{other}`, which counts in its place");
            Some((Severity::Note, help))
        }
        (None, _) => {
            let help = format!("take it out; `housewright explain {}` tells what it is for", class.name);
            Some((Severity::Warning, help))
        }
    }
}

/// The word of a setting with which the address is used.
fn setting(class: &Class, chosen: &Chosen, used: &dyn Fn(&Chosen) -> bool) -> Option<String> {
    (0_u16..).zip(&class.settings).find_map(|(index, spec)| {
        let SettingKind::Choice { words } = &spec.kind else { return None };
        words.iter().find_map(|(word, _)| {
            let mut other = chosen.clone();
            other.settings.retain(|(setting, _)| *setting != index);
            other.settings.push((index, SettingValue::Text(word.clone())));
            sort::by_key(&mut other.settings, |(setting, _)| *setting);
            used(&other).then(|| format!("{}: {word}", spec.name))
        })
    })
}

/// The other point without which the address is used.
fn instead<'a>(
    appliance: &'a Appliance,
    point: &Point,
    chosen: &Chosen,
    used: &dyn Fn(&Chosen) -> bool,
) -> Option<&'a str> {
    let mut others = appliance.points.iter().filter(|other| other.spec != point.spec);
    others.find_map(|other| {
        let mut without = chosen.clone();
        without.points.retain(|kept| kept.point != other.spec);
        used(&without).then(|| other.name(appliance))
    })
}
