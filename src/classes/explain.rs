//! Texts about classes, for people: `explain class` and `list classes`.

use super::choices::choices;
use super::class::{Caution, Class, Combination, EndSpec, Exposure, Group, Need, PointSpec, Precaution};
use super::library::ClassLibrary;
use super::losses::{each_subject, known_proofs};
use super::paper::{Paper, TIED, tied};
use super::setting::{SettingKind, SettingSpec, SettingValue};
use super::shape::{Direction, Shape, Target};
use super::starter::title;
use crate::convert::proof::Key;
use crate::matter::NodeLabel;
use std::fmt::Write as _;

/// Everything that an integrator needs to know of a class, for a terminal of so many columns.
pub fn explain(class: &Class, columns: usize) -> String {
    let mut text = Paper::new(columns);
    let _ = writeln!(text, "{}: {} ({})\n", class.name, class.title, class.group.word());
    text.paragraphs(&class.summary);
    if !class.explanation.is_empty() {
        text.push_str("\n");
        text.paragraphs(&class.explanation);
    }
    if let Some(base) = &class.based_on {
        let _ = writeln!(text, "\nIt is based on `{base}`.");
    }
    text.push_str("\nPoints:\n");
    if class.points.iter().any(has_several_types) {
        text.indented("where `dpt` says nothing else, the first of several datapoint types is meant", 2);
    }
    for point in &class.points {
        self::point(&mut text, class, point);
    }
    if !class.combinations.is_empty() {
        text.push_str("\nWhich go together:\n");
        class.combinations.iter().for_each(|combination| self::combination(&mut text, combination));
    }
    if !class.settings.is_empty() {
        text.push_str("\nSettings:\n");
        class.settings.iter().for_each(|setting| self::setting(&mut text, setting));
    }
    matter(&mut text, class);
    lost(&mut text, class);
    if let Some(caution) = &class.caution {
        self::caution(&mut text, caution);
    }
    example(&mut text, class);
    text.text
}

fn has_several_types(point: &PointSpec) -> bool {
    [&point.command, &point.feedback].into_iter().flatten().any(|end| end.dpts.len() > 1)
}

/// Whether what it sends is a number, and not one of two states or directions.
fn counts(point: &PointSpec) -> bool {
    let dpts = [&point.command, &point.feedback].into_iter().flatten().flat_map(|end| &end.dpts);
    dpts.into_iter().any(|dpt| dpt.main > 3)
}

pub(super) fn point(text: &mut Paper, class: &Class, point: &PointSpec) {
    let _ =
        writeln!(text, "  {:<20} {:<12} {}", point.name, point.need.word(), text.beside(&point.title, 36));
    for (word, end) in [("command", &point.command), ("feedback", &point.feedback)] {
        if let Some(end) = end {
            address(text, word, end);
        }
    }
    let mut takes = Vec::new();
    if point.listens {
        takes.push("`listens` for central and group addresses".to_owned());
    }
    if point.reversible {
        let says = if counts(point) { "counts the other way round" } else { "means the opposite" };
        takes.push(format!("`reversed: true` where the bus {says}"));
    }
    if point.shared {
        takes.push("an address that other appliances have too: one for all of them".to_owned());
    }
    if let Some([low, high]) = point.range {
        takes.push(format!("`range` where only a part of {low} to {high} is used"));
    }
    for take in takes {
        text.indented(&format!("takes {take}"), 4);
    }
    let index = class.point(&point.name).map(|(index, _)| index);
    let of = |direction: Direction| {
        let links =
            class.links.iter().filter(|link| Some(link.point) == index && link.direction == direction);
        let mut names: Vec<String> = Vec::new();
        for link in links {
            let name = format!("{}.{}", link.cluster, link.target.name());
            if !names.contains(&name) {
                names.push(name);
            }
        }
        names.join(", ")
    };
    for (says, names) in [("shows", of(Direction::FromBus)), ("carries out", of(Direction::ToBus))] {
        if !names.is_empty() {
            let _ = writeln!(text, "    {says} {}", text.broken(&names, 6, says.len() + 5));
        }
    }
}

fn address(text: &mut Paper, word: &str, end: &EndSpec) {
    let dpts: Vec<String> = end.dpts.iter().map(ToString::to_string).collect();
    let types = format!("{} {}", dpts.join(", "), tied(&format!("(flags {})", end.flags)));
    let _ = writeln!(text, "    {word:<18} {:<12} {}", end.need.word(), text.beside(&types, 36));
}

pub(super) fn combination(text: &mut Paper, combination: &Combination) {
    let _ = writeln!(
        text,
        "  {}: {}",
        combination.need.word(),
        text.broken(&combination.why, 4, combination.need.word().len() + 4)
    );
}

fn setting(text: &mut Paper, setting: &SettingSpec) {
    let values = match &setting.kind {
        SettingKind::Number { range: [low, high], whole } => {
            let kind = if *whole { "a whole number" } else { "a number" };
            let unit = if setting.unit.is_empty() { String::new() } else { format!(" {}", setting.unit) };
            format!("{kind} from {low} to {high}{unit}")
        }
        SettingKind::Choice { .. } => "one of the words below".to_owned(),
        SettingKind::Flag => "true or false".to_owned(),
        SettingKind::Text { longest } => format!("a text of at most {longest} bytes"),
    };
    let default = match &setting.default {
        Some(SettingValue::Number(number)) => format!(", {} if not given", number.get()),
        Some(SettingValue::Text(word)) => format!(", `{word}` if not given"),
        Some(SettingValue::Flag(flag)) => format!(", {flag} if not given"),
        None => ", may be left out".to_owned(),
    };
    let _ = writeln!(text, "  {:<20} {}", setting.name, text.beside(&format!("{values}{default}"), 23));
    text.indented(&setting.description, 4);
    if let SettingKind::Choice { words } = &setting.kind {
        for (word, meaning) in words {
            let _ = writeln!(text, "      {word}: {}", text.broken(meaning, 8, word.len() + 8));
        }
    }
}

/// What controllers see of an appliance that has everything.
fn matter(text: &mut Paper, class: &Class) {
    if let Exposure::NotBridged { why } = &class.exposure {
        text.push_str("\nControllers do not see it:\n");
        text.indented(why, 2);
        return;
    }
    let Some(shape) = fullest(class) else { return };
    text.push_str("\n");
    text.paragraphs("What controllers see of one that has all points:");
    for part in &shape.parts {
        let types: Vec<String> = part
            .device_types
            .iter()
            .map(|device_type| {
                let id = tied(&format!("(0x{:04X}, revision {})", device_type.id, device_type.revision));
                format!("{}{TIED}{id}", device_type.name)
            })
            .collect();
        let title =
            class.parts.iter().find(|spec| spec.name == part.name).map_or("", |spec| spec.title.as_str());
        text.indented(&format!("{}, {title}: {}", part.name, types.join(", ")), 2);
        let clusters: Vec<String> = part.clusters().map(cluster).collect();
        let clusters = clusters.iter().map(|cluster| tied(cluster)).collect::<Vec<_>>();
        text.indented(&clusters.join(", "), 4);
    }
}

fn cluster(cluster: &super::ShapedCluster) -> String {
    if cluster.features.is_empty() {
        cluster.name.clone()
    } else {
        format!("{} [{}]", cluster.name, cluster.features.join(" "))
    }
}

/// The shape of an appliance that has everything.
pub(super) fn fullest(class: &Class) -> Option<std::sync::Arc<Shape>> {
    choices(class, 1).first().and_then(|chosen| class.shape(chosen).ok())
}

fn caution(text: &mut Paper, caution: &Caution) {
    text.push_str("\nCaution:\n");
    caution.text.split("\n\n").for_each(|paragraph| text.indented(paragraph, 2));
    let asks = match caution.confirm {
        Precaution::Told => return,
        Precaution::Warning => "A description without it gets a warning.",
        Precaution::Error => "A description without it cannot be built.",
    };
    text.indented(
        &format!(
            "An appliance says who looked at this: {}. {asks}",
            tied("`confirmed: { by: NAME, checked: WHAT }`")
        ),
        2,
    );
}

/// What the conversions of an appliance with all points lose, proven value by value. What has two values loses nothing;
/// a class of a house's own with values of more than 16 bits is not proven while somebody waits.
fn lost(text: &mut Paper, class: &Class) {
    let Some(chosen) = choices(class, 1).into_iter().next() else { return };
    let Ok(shape) = class.shape(&chosen) else { return };
    let cache = known_proofs();
    let mut tables = Paper { text: String::new(), width: text.width };
    for part in &shape.parts {
        each_subject(part, &chosen, &mut |wires, subject| {
            let bits = subject.bus.bits();
            if bits < 2 || (bits > 16 && !cache.knows(&Key::of(subject))) {
                return;
            }
            let point = class.points.get(usize::from(wires.point())).map_or("", |point| point.name.as_str());
            tables.push_str("\n");
            tables.fitting(&format!("`{point}` and {}:", wires.attributes().join(", ")), " and ");
            for line in cache.prove(subject).to_string().lines() {
                tables.fitting(line, ": ");
            }
        });
    }
    if !tables.text.is_empty() {
        text.push_str("\nWhat is lost on the way, looked at value by value:\n");
        text.push_str(&tables.text);
    }
}

/// A description that has everything the class asks for.
fn example(text: &mut Paper, class: &Class) {
    text.push_str("\nFor example:\n\n");
    // A title may be longer than the name of an appliance.
    let names = [class.title.clone(), title(&class.name), "Example".to_owned()];
    let name = names.into_iter().find(|name| name.len() <= NodeLabel::LONGEST).unwrap_or_default();
    let _ = writeln!(text, "    my-{}:\n      name: {name}\n      class: {}", class.name, class.name);
    if class.caution.as_ref().is_some_and(|caution| caution.confirm != Precaution::Told) {
        text.push_str("      confirmed: { by: who looked, checked: what was looked at }\n");
    }
    text.push_str("      points:\n");
    let shown: Vec<_> = class.points.iter().filter(|point| point.need != Need::Optional).collect();
    let shown = if shown.is_empty() { class.points.iter().take(1).collect() } else { shown };
    for (number, point) in (1_u32..).zip(shown) {
        let command = point.command.as_ref().map(|_| format!("command: 1/1/{number}"));
        let feedback = point.feedback.as_ref().map(|_| format!("feedback: 1/4/{number}"));
        let addresses: Vec<String> = command.into_iter().chain(feedback).collect();
        let _ = writeln!(text, "        {}: {{ {} }}", point.name, addresses.join(", "));
    }
}

/// The classes by group, for a terminal of so many columns; only those with a text in name, title or summary, where asked for.
pub fn list(library: &ClassLibrary, text: Option<&str>, columns: usize) -> String {
    let wanted = text.map(str::to_lowercase);
    let fits = |class: &Class| {
        wanted.as_deref().is_none_or(|wanted| {
            [&class.name, &class.title, &class.summary]
                .iter()
                .any(|text| text.to_lowercase().contains(wanted))
        })
    };
    let classes: Vec<_> = library.names().into_iter().filter_map(|name| library.get(name)).collect();
    let shown: Vec<_> = classes.iter().filter(|class| fits(class)).collect();
    let widest = shown.iter().map(|class| class.name.len()).max().unwrap_or(0);
    let mut lines = Paper::new(columns);
    for group in Group::ALL {
        let members: Vec<_> = shown.iter().filter(|class| class.group == group).collect();
        if members.is_empty() {
            continue;
        }
        let between = if lines.text.is_empty() { "" } else { "\n" };
        let _ = writeln!(lines, "{between}{}", group.word());
        for class in members {
            let own = if library.is_own(&class.name) { " (the house's own)" } else { "" };
            let said = format!("{}{own}", class.summary);
            let _ = writeln!(lines, "  {:widest$}  {}", class.name, lines.beside(&said, widest + 4));
        }
    }
    lines.text
}

impl Group {
    /// All groups, in the order of the list.
    pub const ALL: [Self; 9] = [
        Self::Lighting,
        Self::Outlets,
        Self::Shading,
        Self::Doors,
        Self::Climate,
        Self::Sensors,
        Self::Energy,
        Self::Water,
        Self::Control,
    ];

    /// Its name for people.
    pub fn word(self) -> &'static str {
        match self {
            Self::Lighting => "lighting",
            Self::Outlets => "outlets and loads",
            Self::Shading => "shading",
            Self::Doors => "doors and gates",
            Self::Climate => "climate",
            Self::Sensors => "sensors",
            Self::Energy => "energy",
            Self::Water => "water",
            Self::Control => "control",
        }
    }
}

impl Need {
    /// Its name, as it is written.
    pub fn word(self) -> &'static str {
        match self {
            Self::Required => "required",
            Self::Recommended => "recommended",
            Self::Optional => "optional",
        }
    }
}

impl Target {
    /// What kind of element it is, in a word.
    pub fn word(&self) -> &'static str {
        match self {
            Self::Attribute(_) => "attribute",
            Self::Command(_) => "command",
            Self::Event(_) => "event",
        }
    }
}
