//! What is said of the problems of a class file.

use crate::classes::{Breach, End, EndFault, Named, Problem, SettingFault};
use crate::findings::{list, nearest};
use crate::matter::{ElementKind, ValueFault};
use crate::rules::Said;
use crate::source::Place;

/// What is wrong, where it shows, and what to write instead; `None` for what the reader of files tells of itself.
pub(super) fn said(problem: &Problem) -> Option<Said> {
    let place = problem.place();
    Some(match problem {
        Problem::Written(_) => return None,
        Problem::Missing { key, within, .. } => missing(key, within, place),
        Problem::FileName { class, file, .. } => {
            Said::new(format!("class `{class}` stands in a file named `{file}`"), place, "another name")
                .help(format!("write `{file}`, or name the file `{class}.yaml`"))
        }
        Problem::Taken { class, other, .. } => taken(class, *other, place),
        Problem::Recursion { round, .. } => {
            let way: Vec<String> = round.iter().map(|name| format!("`{name}`")).collect();
            Said::new(format!("a class is based on itself: {}", way.join(", then ")), place, "closes the circle")
                .help("base one of them on a built-in class, or on none")
        }
        Problem::Unknown { what, name, within, known, .. } => unknown(*what, name, within, known, place),
        Problem::BadDpt { text, .. } => Said::new(format!("`{text}` is no datapoint type"), place, "no datapoint type")
            .help("write it like `5.001`, with three digits behind the point"),
        Problem::Revision { device_type, written, current, .. } => {
            Said::new(format!("device type {device_type} is at revision {current}, not {written}"), place, "another revision")
                .help(format!("write `{current}`"))
        }
        Problem::Default { setting, fault, .. } => {
            Said::new(format!("the default of `{setting}` is none of its values"), place, fault_word(fault))
                .help("write a value that an appliance could give")
        }
        Problem::EmptyRange { setting, .. } => empty_range(setting, place),
        Problem::Ends { fault, .. } => ends(*fault, place),
        Problem::EndWithoutLink { point, end, .. } => end_without_link(point, *end, place),
        Problem::ReadOnly { attribute, access, .. } => {
            let message = format!("controllers cannot write {attribute}: its access is `{access}`");
            Said::new(message, place, "read only").help("let the wire begin at a `command:` of the cluster")
        }
        Problem::Flags { detail, .. } => Said::new(detail.clone(), place, "these flags")
            .help("write those that the group object must have: `CW` for a command, `CRT` for a feedback"),
        Problem::OneWay { dpt, detail, .. } => {
            Said::new(format!("the steps from {dpt} do not turn round for the way to the bus: {detail}"), place, "one way")
                .help("write both ways: `{ from-bus: [...], to-bus: [...] }`")
        }
        Problem::Parameter { detail, .. } => Said::new(format!("this step cannot be: {detail}"), place, "this step")
            .help("`housewright schema bridge` lists the steps with their parameters"),
        Problem::Step { detail, .. } => step(detail, place),
        Problem::Unfit { dpts, target, detail, .. } => unfit(&dpts.join(", "), target, detail, place),
        Problem::SameAttribute { first, attribute, .. } => {
            Said::new(format!("two points report {attribute}"), place, "reports it too")
                .with(*first, "reports it")
                .help("drop one wire, exclude them with `unless:`, or mark both with the same `joint:`, `true` if the last telegram counts")
        }
        Problem::Settings { settings, .. } => {
            let message = format!("the defaults of {} do not go together here", named(settings));
            Said::new(message, place, "cannot be made").help("change a default, or what is made of it")
        }
        Problem::Breach { breach, points, .. } => {
            let said = self::breach(breach, place).help(remedy(breach));
            let with = if points.is_empty() { "no point".to_owned() } else { named(points) };
            said.because(&format!("seen for an appliance with {with}"))
        }
    })
}

fn missing(key: &str, within: &str, place: Place) -> Said {
    let article = if within.starts_with('a') { "an" } else { "a" };
    Said::new(format!("{article} {within} without `{key}`"), place, "lacks it")
        .help(format!("add `{key}:`; `housewright schema class` says what it takes"))
}

/// Names in quotation marks, with commas.
fn named(names: &[String]) -> String {
    let names: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
    names.join(", ")
}

fn unfit(dpts: &str, target: &str, detail: &str, place: Place) -> Said {
    let message = format!("the conversion between {dpts} and {target} does not fit: {detail}");
    Said::new(message, place, "does not fit").help(
        "let the steps end in what the other end takes, and give a datapoint type that counts otherwise steps under \
        `units:`; `housewright schema bridge` lists them",
    )
}

fn end_without_link(point: &str, end: End, place: Place) -> Said {
    let (word, nothing, link) = if end == End::Feedback {
        ("feedback", "shows nothing", "from: state, attribute: Cluster.Attribute")
    } else {
        ("command", "does nothing on the bus", "command: Cluster.Command")
    };
    Said::new(
        format!("`{point}` takes a `{word}` that no link hangs on"),
        place,
        format!("the `{word}` {nothing}"),
    )
    .help(format!(
        "add a link like `{{ {link} }}`: `links` replace all those of the class that this one is based on"
    ))
}

fn taken(class: &str, other: Option<Place>, place: Place) -> Said {
    match other {
        Some(other) => Said::new(format!("there are two classes named `{class}`"), place, "the second")
            .with(other, "the first")
            .help("give one of them another name"),
        None => Said::new(format!("`{class}` is the name of a built-in class"), place, "taken")
            .help(format!("take another name, and write `based-on: {class}` to change that class")),
    }
}

fn unknown(what: Named, name: &str, within: &str, known: &[String], place: Place) -> Said {
    let word = word(what);
    let message = match what {
        Named::Feature | Named::Attribute | Named::Command | Named::Event => {
            format!("cluster {within} has no {word} `{name}`")
        }
        Named::Word => format!("setting `{within}` has no word `{name}`"),
        Named::Accepted => format!("point `{within}` does not take datapoint type `{name}`"),
        Named::DeviceType | Named::Cluster | Named::Tag => format!("the data model has no {word} `{name}`"),
        Named::Point | Named::Part | Named::Setting => format!("the class has no {word} `{name}`"),
        Named::Class | Named::Dpt => format!("there is no {word} `{name}`"),
    };
    let said = Said::new(message, place, "unknown");
    match nearest(name, known.iter().map(String::as_str)) {
        Some(right) => said.help(format!("write `{right}`")),
        None if (1..=12).contains(&known.len()) => said.help(format!("there are {}", known.join(", "))),
        None => said,
    }
}

fn word(what: Named) -> &'static str {
    match what {
        Named::Class => "class",
        Named::DeviceType => "device type",
        Named::Cluster => "cluster",
        Named::Feature => "feature",
        Named::Attribute => "attribute",
        Named::Command => "command",
        Named::Event => "event",
        Named::Tag => "semantic tag",
        Named::Point => "point",
        Named::Part => "part",
        Named::Setting => "setting",
        Named::Word => "word",
        Named::Dpt | Named::Accepted => "datapoint type",
    }
}

fn fault_word(fault: &SettingFault) -> &'static str {
    match fault {
        SettingFault::Kind => "of another kind",
        SettingFault::Range => "out of range",
        SettingFault::Fraction => "not a whole number",
        SettingFault::Word => "none of the words",
        SettingFault::Long => "too long",
        SettingFault::Empty => "empty",
    }
}

fn empty_range(setting: &str, place: Place) -> Said {
    Said::new(format!("the range of `{setting}` has no number in it"), place, "from high to low")
        .help("write the smaller number first")
}

fn ends(fault: EndFault, place: Place) -> Said {
    let (message, help) = match fault {
        EndFault::NoTarget => {
            ("a wire without a Matter end", "name an `attribute:`, a `command:` or an `event:`")
        }
        EndFault::ManyTargets => ("a wire with more than one Matter end", "make a wire for each"),
        EndFault::NoDirection => {
            ("a wire without a direction", "write `from: state`, `from: feedback` or `to: command`")
        }
        EndFault::BothDirections => ("a wire that goes both ways", "make a wire for each way"),
        EndFault::WrongWay => (
            "a wire that goes the wrong way",
            "commands go to the bus, events come from it; leave `from` or `to` out",
        ),
        EndFault::NoAddress => {
            ("a wire on an address that its point does not take", "give the point that address")
        }
    };
    Said::new(message, place, "this wire").help(help)
}

fn breach(breach: &Breach, place: Place) -> Said {
    let (message, label) = match breach {
        Breach::DeviceType { .. }
        | Breach::Cluster { .. }
        | Breach::NoElement { .. }
        | Breach::LinkEnd { .. } => strange(breach),
        Breach::NoDeviceType { part } => (
            format!("part `{part}` has no device type: controllers do not know what it is (Core §9.5.6.1)"),
            "what is it?",
        ),
        Breach::NoLink { part } => (
            format!("part `{part}` has no link: it shows nothing, and no command for it reaches the bus"),
            "for nothing",
        ),
        Breach::Idle { part, cluster, command } => (
            format!("part `{part}`: no link carries {cluster}.{command} to the bus, so it is refused"),
            "takes the command",
        ),
        Breach::Need { .. } | Breach::Element { .. } | Breach::Component { .. } | Breach::NoValue { .. } => {
            lacking(breach)
        }
        Breach::Choice { part, within, names, found, fewest, most } => {
            let wanted = match (fewest, most) {
                (0, _) => "at most one",
                (_, Some(_)) => "exactly one",
                (_, None) => "at least one",
            };
            (
                format!("part `{part}`: {within} takes {wanted} of {}, here are {found}", names.join(", ")),
                "this choice",
            )
        }
        Breach::Value { part, cluster, attribute, fault } => {
            (format!("part `{part}`: {cluster}.{attribute} {}", value_words(fault)), "not allowed")
        }
        Breach::Told { part, cluster, attribute, section } => (
            format!("part `{part}`: {cluster}.{attribute} is against {section}"),
            "against the specification",
        ),
    };
    Said::new(message, place, label)
}

/// A step that cannot be read. The reader says which word is none, and which there are.
fn step(detail: &str, place: Place) -> Said {
    let help = "`housewright schema bridge` lists the steps with their parameters";
    let mut words = detail.split('`').skip(1).step_by(2);
    let what = if detail.starts_with("unknown variant") {
        "there is no step"
    } else if detail.starts_with("unknown field") {
        "this step takes no"
    } else {
        return Said::new(format!("a conversion cannot be read: {detail}"), place, "this step").help(help);
    };
    let written = words.next().unwrap_or_default();
    let known: Vec<&str> = words.collect();
    let help = match nearest(written, known.iter().copied()) {
        Some(right) => format!("write `{right}`"),
        None if known.len() <= 6 => format!("it takes {}; {help}", list(known)),
        None => help.to_owned(),
    };
    Said::new(format!("{what} `{written}`"), place, "this step").help(help)
}

/// What to write instead.
fn remedy(breach: &Breach) -> String {
    match breach {
        Breach::DeviceType { revision: Some(revision), .. }
        | Breach::Cluster { revision: Some(revision), .. } => {
            format!("write `{revision}`")
        }
        Breach::DeviceType { .. } | Breach::Cluster { .. } => "take a name of the data model".to_owned(),
        Breach::NoElement { name, .. } => format!("drop `{name}`"),
        Breach::LinkEnd { others, .. } if !others.is_empty() => {
            let parts = others.iter().map(|part| format!("`part: {part}`")).collect::<Vec<_>>().join(" or ");
            format!("write {parts} in the link: without it a wire is the first part's")
        }
        Breach::LinkEnd { cluster, target, .. } => {
            format!("give the part {cluster}.{target}, or drop the wire")
        }
        Breach::Need { cluster, demanded: true, .. } => format!("add `{cluster}: {{}}` under `clusters:`"),
        Breach::Need { cluster, .. } => format!("drop `{cluster}`, or take another device type"),
        Breach::Element { name, demanded: false, .. } => format!("drop `{name}`"),
        Breach::Element { name, kind, .. } => match kind {
            ElementKind::Feature => format!("add `{name}` to the cluster's `features:`"),
            ElementKind::Attribute => format!("give `{name}` a value under `attributes:`, or a wire"),
            ElementKind::Command => format!("add `{name}` to the cluster's `commands:`"),
            ElementKind::Event => format!("let a wire raise `{name}`, or turn its feature on"),
        },
        Breach::NoDeviceType { .. } => {
            "add `device-types:` to the part; `housewright schema class` says how".to_owned()
        }
        Breach::NoLink { part } => {
            format!(
                "add a link with `part: {part}`, drop the part, or say with `when:` or `unless:` which appliances have it"
            )
        }
        Breach::Idle { cluster, command, .. } => {
            format!("add a link `{{ command: {cluster}.{command} }}` with what it sends")
        }
        Breach::Component { component, .. } => {
            format!("add a part of device type {component}, or add it to the part's `device-types:`")
        }
        Breach::Choice { within, .. } => format!("change what is on of {within}"),
        Breach::Value { attribute, .. } => format!("give `{attribute}` such a value"),
        Breach::NoValue { attribute, .. } => {
            format!("give `{attribute}` a value under `attributes:`, or a wire that sets it")
        }
        Breach::Told { attribute, section, .. } => format!("change `{attribute}` to what {section} tells"),
    }
}

/// What the data model does not know.
fn strange(breach: &Breach) -> (String, &'static str) {
    match breach {
        Breach::DeviceType { name, revision: Some(revision), .. } => {
            (format!("device type {name} is at revision {revision}"), "another revision")
        }
        Breach::DeviceType { name, .. } => (format!("the data model has no device type {name}"), "unknown"),
        Breach::Cluster { name, revision: Some(revision), .. } => {
            (format!("cluster {name} is at revision {revision}"), "another revision")
        }
        Breach::Cluster { name, .. } => (format!("the data model has no cluster {name}"), "unknown"),
        Breach::NoElement { part, cluster, kind, name } => {
            (format!("part `{part}`: cluster {cluster} has no {} {name}", kind_word(*kind)), "unknown")
        }
        Breach::LinkEnd { part, cluster, target, .. } => {
            (format!("part `{part}` has no {cluster}.{target} that this wire could lead to"), "leads nowhere")
        }
        Breach::NoDeviceType { .. }
        | Breach::NoLink { .. }
        | Breach::Idle { .. }
        | Breach::Need { .. }
        | Breach::Element { .. }
        | Breach::Choice { .. }
        | Breach::Component { .. }
        | Breach::Value { .. }
        | Breach::NoValue { .. }
        | Breach::Told { .. } => (String::new(), ""),
    }
}

/// What is missing, or too much.
fn lacking(breach: &Breach) -> (String, &'static str) {
    let must = |demanded: bool| if demanded { "must have" } else { "must not have" };
    let label = |demanded: bool| if demanded { "lacks it" } else { "not allowed" };
    match breach {
        Breach::Need { part, device_type, cluster, demanded, conformance } => {
            let message = format!(
                "part `{part}`: device type {device_type} {} cluster {cluster} (conformance `{conformance}`)",
                must(*demanded)
            );
            (message, label(*demanded))
        }
        Breach::Element { part, device_type, cluster, kind, name, demanded, conformance } => {
            let who = device_type.as_ref().map_or_else(String::new, |name| format!("device type {name}: "));
            let kind = kind_word(*kind);
            let message = format!(
                "part `{part}`: {who}{cluster} {} {kind} {name} (conformance `{conformance}`)",
                must(*demanded)
            );
            (message, label(*demanded))
        }
        Breach::Component { part, device_type, component } => (
            format!(
                "part `{part}`: device type {device_type} needs a part of device type {component}, as it says"
            ),
            "lacks a part",
        ),
        Breach::NoValue { part, cluster, attribute, conformance } => {
            let message = format!(
                "part `{part}`: {cluster}.{attribute} is mandatory (conformance `{conformance}`) and has neither a value nor a wire"
            );
            (message, "lacks it")
        }
        Breach::NoDeviceType { .. }
        | Breach::NoLink { .. }
        | Breach::Idle { .. }
        | Breach::DeviceType { .. }
        | Breach::Cluster { .. }
        | Breach::NoElement { .. }
        | Breach::LinkEnd { .. }
        | Breach::Choice { .. }
        | Breach::Value { .. }
        | Breach::Told { .. } => (String::new(), ""),
    }
}

fn kind_word(kind: ElementKind) -> &'static str {
    match kind {
        ElementKind::Feature => "feature",
        ElementKind::Attribute => "attribute",
        ElementKind::Command => "command",
        ElementKind::Event => "event",
    }
}

fn value_words(fault: &ValueFault) -> String {
    let at = |path: &str| if path.is_empty() { String::new() } else { format!(" at {path}") };
    match fault {
        ValueFault::Kind { path, expected } => format!("takes {expected}{}", at(path)),
        ValueFault::Range { path, allowed } => format!("is not within `{allowed}`{}", at(path)),
        ValueFault::Member { path, known } => format!("takes one of {}{}", known.join(", "), at(path)),
        ValueFault::Field { path, name, missing: true } => format!("lacks field {name}{}", at(path)),
        ValueFault::Field { path, name, missing: false } => format!("has no field {name}{}", at(path)),
    }
}
