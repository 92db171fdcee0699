//! Settings that contradict each other.

use crate::classes::{Chosen, SettingValue, ShapeFault};
use crate::findings::Severity;
use crate::findings::list;
use crate::resolve::plan::{Appliance, Setting};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::sort;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "settings-do-not-go-together",
        family: Family::Behaviour,
        severity: Severity::Error,
        otherwise: &[(
            Severity::Warning,
            "where both limits are the same, and Matter takes that; or where shifts are counted from a value outside of them",
        )],
        summary: "the settings of an appliance contradict each other",
        on_site: "No appliance can be all of this at once: no value lies between its limits, or one value would mean two \
            things.",
        remedy: "Write the smaller limit and the larger one each at its own key; give different scenes different numbers.",
        source: Source::Standard("Matter application clusters, constraints"),
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: Lamp
  class: tunable-white-light
  points:
    switching: { command: 1/1/1, feedback: 1/4/1 }
    brightness: { command: 1/2/1, feedback: 1/5/1 }
    colour-temperature: { command: 1/3/1, feedback: 1/6/1 }
  settings: { warmest: 6500, coldest: 2700 }
  #                    ^^^^
",
        good: "\
lamp:
  name: Lamp
  class: tunable-white-light
  points:
    switching: { command: 1/1/1, feedback: 1/4/1 }
    brightness: { command: 1/2/1, feedback: 1/5/1 }
    colour-temperature: { command: 1/3/1, feedback: 1/6/1 }
  settings: { warmest: 2700, coldest: 6500 }
",
        folds: &[],
    },
    look: Look::Appliance(look),
};

fn look(appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let class = &appliance.class.value;
    let Err(faults) = appliance.shape() else {
        let found = [same_limits(appliance, context), base_outside(appliance, context)];
        found.into_iter().flatten().for_each(|said| report.add(&RULE.card, said));
        return;
    };
    let chosen = appliance.chosen();
    let Some(fault) = faults.first() else { return };
    if let Some(said) = limits(faults, &chosen, appliance, context) {
        report.add(&RULE.card, said);
        return;
    }
    let settings = settings_of(fault);
    let given = |index: &u16| appliance.settings.iter().find(|setting| setting.spec == *index);
    let places: Vec<_> = settings.iter().filter_map(given).map(|setting| setting.value.place).collect();
    let specs = || settings.iter().filter_map(|&index| class.settings.get(usize::from(index)));
    let names = list(specs().map(|setting| setting.name.as_str()));
    let mut values = settings.iter().filter_map(|&index| chosen.setting(class, index));
    let first = values.next();
    // Two ends of a line, two scenes.
    let same = settings.len() > 1 && values.all(|value| Some(value) == first);
    let message = match fault {
        ShapeFault::Value { attribute, value, .. } if !value.is_null() => {
            let verb = if settings.len() == 1 { "makes" } else { "make" };
            format!("{names} of `{}` {verb} {attribute} {value}, which cannot be", appliance.key.value)
        }
        _ if same => format!("{names} of `{}` are the same, but must differ", appliance.key.value),
        _ => format!("{names} of `{}` leave no value between them", appliance.key.value),
    };
    let place = places.first().copied().unwrap_or(appliance.key.place);
    let mut said = Said::new(message, place, "does not go together").about(appliance, context.plan);
    if let ShapeFault::Value { constraint, .. } = fault {
        let keys: Vec<_> = specs().map(|setting| format!("`{}`", setting.name)).collect();
        // A section of the standard, or the data model's own notation of a range.
        let why = match constraint.as_str() {
            "" | "desc" => String::new(),
            section if section.contains('§') => format!("; what goes is told in {section}"),
            range => format!("; what goes is {range}"),
        };
        said = said.help(format!("write another value at {}{why}", keys.join(" or at ")));
    }
    for &place in places.iter().skip(1) {
        said = said.with(place, "with this");
    }
    report.add(&RULE.card, said);
}

/// A lowest and a highest value that are the same: nobody can set anything.
fn same_limits(appliance: &Appliance, context: &Context<'_>) -> Option<Said> {
    let name = |setting: &Setting| setting.spec(appliance).map_or("", |spec| spec.name.as_str());
    let of_pair =
        |setting: &&Setting| name(setting).starts_with("lowest-") || name(setting).starts_with("highest-");
    let given = appliance.settings.iter().find(of_pair)?;
    let limit = name(given).split_once('-').map_or("", |(_, limit)| limit);
    let (low, high) = (format!("lowest-{limit}"), format!("highest-{limit}"));
    let value = appliance.number(&low)?;
    if appliance.number(&high).is_none_or(|other| other.total_cmp(&value).is_ne()) {
        return None;
    }
    let message = format!("`{low}` and `{high}` of `{}` are both {value}", appliance.key.value);
    let said = Said::new(message, given.value.place, "leaves nothing to set").about(appliance, context.plan);
    Some(
        said.weighing(Severity::Warning)
            .on_site("Whatever controllers ask for, this one value is what the bus gets.")
            .help(format!("write the smaller limit at `{low}`, the larger one at `{high}`")),
    )
}

/// A value that shifts are counted from, outside of the limits that controllers keep to.
fn base_outside(appliance: &Appliance, context: &Context<'_>) -> Option<Said> {
    let name = |setting: &Setting| setting.spec(appliance).map_or("", |spec| spec.name.as_str());
    let given = appliance.settings.iter().find(|setting| name(setting).starts_with("base-"))?;
    let (_, limit) = name(given).split_once('-')?;
    let shift = format!("{limit}-shift");
    let is_shifted = appliance.points.iter().any(|point| point.name(appliance) == shift);
    let (low, high) = (format!("lowest-{limit}"), format!("highest-{limit}"));
    let (base, lowest, highest) =
        (appliance.number(name(given))?, appliance.number(&low)?, appliance.number(&high)?);
    if !is_shifted || (lowest..=highest).contains(&base) {
        return None;
    }
    let side = if base > highest {
        format!("above its `{high}` of {highest}")
    } else {
        format!("below its `{low}` of {lowest}")
    };
    let message = format!("`{}` of `{}` is {base}, {side}", name(given), appliance.key.value);
    let said = Said::new(message, given.value.place, "outside of the limits").about(appliance, context.plan);
    Some(
        said.weighing(Severity::Warning)
            .on_site(
                "If it is not what the controller has, every temperature that is asked for is missed; if it is, the usual one \
                 cannot be asked for.",
            )
            .help("write the setpoint that the controller has without any shift, or another limit"),
    )
}

fn settings_of(fault: &ShapeFault) -> &[u16] {
    match fault {
        ShapeFault::Value { settings, .. } | ShapeFault::Step { settings, .. } => settings,
    }
}

/// Two limits of one kind of which the lower lies above the upper one, among all settings that are at fault or, where
/// these are more than two, among those of one fault.
fn limits(
    faults: &[ShapeFault],
    chosen: &Chosen,
    appliance: &Appliance,
    context: &Context<'_>,
) -> Option<Said> {
    let all = faults.iter().flat_map(settings_of).copied().collect();
    let each = faults.iter().map(|fault| settings_of(fault).to_vec());
    std::iter::once(all).chain(each).find_map(|settings| crossed(settings, chosen, appliance, context))
}

/// Two limits that crossed, if these settings are that. Which is the lower the class's defaults say.
fn crossed(
    mut settings: Vec<u16>,
    chosen: &Chosen,
    appliance: &Appliance,
    context: &Context<'_>,
) -> Option<Said> {
    let class = &appliance.class.value;
    settings.sort_unstable();
    settings.dedup();
    let number = |value: Option<&SettingValue>| match value {
        Some(SettingValue::Number(number)) => Some(number.get()),
        Some(SettingValue::Text(_) | SettingValue::Flag(_)) | None => None,
    };
    let limit = |index: u16| {
        let spec = class.settings.get(usize::from(index))?;
        Some((index, spec, number(spec.default.as_ref())?, number(chosen.setting(class, index))?))
    };
    let mut limits: Vec<_> = settings.into_iter().filter_map(limit).collect();
    sort::by(&mut limits, |a, b| a.2.total_cmp(&b.2));
    let [(low, low_spec, _, lowest), (high, high_spec, _, highest)] = limits.as_slice() else { return None };
    if low_spec.unit != high_spec.unit || lowest <= highest {
        return None;
    }
    let message = format!(
        "`{}` of `{}` is {lowest} {}, above its `{}` of {highest} {}",
        low_spec.name, appliance.key.value, low_spec.unit, high_spec.name, high_spec.unit
    );
    let place = |wanted: u16| {
        let given = appliance.settings.iter().find(|setting| setting.spec == wanted);
        given.map(|setting| setting.value.place)
    };
    let (low, high) = (place(*low), place(*high));
    let first = low.or(high).unwrap_or(appliance.key.place);
    let said = Said::new(message, first, if low.is_some() { "the lower limit" } else { "the upper limit" })
        .about(appliance, context.plan)
        .help(format!(
            "write the smaller one at `{}`, the larger one at `{}`",
            low_spec.name, high_spec.name
        ));
    Some(match low.and(high) {
        Some(high) => said.with(high, "the upper limit"),
        None => said,
    })
}
