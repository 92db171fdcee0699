//! Which commands a new wire is for: its address may be new to some commands of the appliance only.

use super::effects::of_exchange;
use super::list;
use super::phrases::{link_phrase, said, shown};
use super::points::{command, phrase};
use crate::bridge::definition::Link;
use crate::classes::Direction;
use crate::review::change::Kind;
use crate::review::difference::{Difference, LinkField, What, link_end};
use crate::review::effect::at_one_address;
use rustc_hash::FxHashMap;
use serde_json::json;

/// By bridge, endpoint, direction, point, bus and address.
type Wire<'d> = (&'d str, Option<u16>, Direction, &'d str, &'d str, &'d str);

/// By bridge, endpoint, direction, cluster and attribute, command or event.
type End<'d> = (&'d str, Option<u16>, Direction, &'d str, &'d str);

/// The new wires, with the commands or attributes that they are for.
pub(super) struct Asked<'d> {
    ends: FxHashMap<Wire<'d>, Vec<&'d Difference>>,
    /// What came, by what it is for.
    came: FxHashMap<End<'d>, Vec<&'d Link>>,
    /// What went through another wire before, with those wires.
    gone: FxHashMap<End<'d>, Vec<&'d Link>>,
    /// The commands of wires that went, where these reach nothing any more.
    lost: FxHashMap<Wire<'d>, Vec<&'d Link>>,
    kind: Kind,
}

impl<'d> Asked<'d> {
    /// Those of a change of that kind.
    pub(super) fn of(differences: &[&'d Difference], kind: Kind) -> Self {
        // Elsewhere what came and what went are told one by one.
        let exchanges = matches!(
            kind,
            Kind::WiresAdded
                | Kind::StatusSource
                | Kind::OtherEffect
                | Kind::ShownOtherwise
                | Kind::TelegramSize
        );
        let mut ends: FxHashMap<Wire, Vec<&Difference>> = FxHashMap::default();
        let mut came: FxHashMap<End, Vec<&Link>> = FxHashMap::default();
        let mut gone: FxHashMap<End, Vec<&Link>> = FxHashMap::default();
        let mut lost: FxHashMap<Wire, Vec<&Link>> = FxHashMap::default();
        for difference in differences {
            match &difference.what {
                What::LinkAdded { link, .. } => {
                    ends.entry(wire(difference, link)).or_default().push(difference);
                    came.entry(end(difference, link)).or_default().push(link);
                }
                What::LinkRemoved { link, .. } if exchanges => {
                    gone.entry(end(difference, link)).or_default().push(link);
                }
                What::LinkRemoved { link, .. } if kind == Kind::FunctionUnwired && link.command.is_some() => {
                    lost.entry(wire(difference, link)).or_default().push(link);
                }
                _ => {}
            }
        }
        gone.retain(|end, _| came.contains_key(end));
        came.values_mut().chain(gone.values_mut()).for_each(leave_switches);
        Self { ends, came, gone, lost, kind }
    }

    /// Whether the difference is told with the wire that came in its place.
    pub(super) fn tells(&self, difference: &Difference) -> bool {
        match &difference.what {
            What::LinkRemoved { link, .. } => self.gone.contains_key(&end(difference, link)),
            // A switch beside the wire that came in another's place.
            What::LinkAdded { link, .. } => {
                let end = end(difference, link);
                let came = self.came.get(&end).filter(|_| self.gone.contains_key(&end));
                came.is_some_and(|came| !came.iter().any(|one| std::ptr::eq(*one, &**link)))
            }
            _ => false,
        }
    }

    /// What is shown comes from elsewhere, through wires that took the place of others.
    pub(super) fn source(&self) -> Option<String> {
        let shown = |links: &[&Link]| shown(&json!(links.iter().find_map(|link| link.shown)));
        self.gone.iter().filter(|_| self.kind == Kind::StatusSource).find_map(|(end, gone)| {
            let (before, after) = (shown(gone)?, shown(self.came.get(end)?)?);
            (before != after).then(|| format!("now shows {after} instead of {before}"))
        })
    }

    /// "is now also set to a position through 2/2/40 for `UpOrOpen` and `DownOrClose`"; `None` for anything else than a
    /// new wire to the bus, one in another's place, or one that does less.
    pub(super) fn phrase(&self, difference: &Difference) -> Option<String> {
        if let What::LinkField { wire, field: LinkField::Conversion, .. } = &difference.what {
            if self.kind != Kind::FunctionReduced {
                return None;
            }
            let end = wire.end.split_once('.').map_or(wire.end.as_str(), |(_, end)| end);
            let does = format!("{} {}", phrase(&wire.point, wire.direction), wire.group);
            return Some(format!("{} for `{end}`, whatever value is asked for", said("only", &does)));
        }
        let link = match &difference.what {
            What::LinkAdded { link, .. } => link,
            What::LinkRemoved { link, .. } if self.kind == Kind::FunctionReduced => {
                return Some(format!("{} for `{}`", said("no longer", &link_phrase(link)), link_end(link)));
            }
            What::LinkRemoved { link, .. } => {
                return self.lost.get(&wire(difference, link)).map(|links| lost(links));
            }
            _ => return None,
        };
        let groups = |other: &Difference, link: &Link| -> Option<Vec<&str>> {
            let mut groups = Vec::new();
            for link in self.gone.get(&end(other, link))? {
                if !groups.contains(&link.group.as_str()) {
                    groups.push(&link.group);
                }
            }
            Some(groups)
        };
        let instead_of = groups(difference, link);
        let alike = |other: &&&Difference| match &other.what {
            What::LinkAdded { link, .. } => groups(other, link) == instead_of,
            _ => false,
        };
        let mut ends: Vec<String> = Vec::new();
        for other in self.ends.get(&wire(difference, link))?.iter().filter(alike) {
            if let What::LinkAdded { link, .. } = &other.what {
                let name = format!("`{}`", link_end(link));
                if !ends.contains(&name) {
                    ends.push(name);
                }
            }
        }
        let ends = list(&ends.iter().map(String::as_str).collect::<Vec<_>>());
        match instead_of {
            Some(groups) => Some(self.instead(difference, link, (&ends, &list(&groups)))),
            None => self.came(link, &ends),
        }
    }

    /// A wire that came in the place of others, at these addresses.
    fn instead(&self, difference: &Difference, link: &Link, (ends, groups): (&str, &str)) -> String {
        if let Some(told) = self.elsewhere(difference, link, ends) {
            return told;
        }
        let told = exchanged(link, ends, groups);
        match self.effect(difference, link) {
            Some(effect) => format!("{told}, and {effect}"),
            None => told,
        }
    }

    /// A wire to the bus that came in no other's place.
    fn came(&self, link: &Link, ends: &str) -> Option<String> {
        if link.direction == Direction::FromBus {
            return None;
        }
        let does = link_phrase(link);
        Some(match self.kind {
            Kind::FunctionReduced => {
                format!("{} for {ends}, whatever value is asked for", said("only", &does))
            }
            Kind::WiresAdded => format!("{} for {ends}", said("now also", &does)),
            Kind::FunctionWired => {
                format!("{} for {ends}, which reached nothing until now", said("now", &does))
            }
            _ => return None,
        })
    }

    /// What was asked for through wires that did something else, at other addresses.
    fn elsewhere(&self, difference: &Difference, link: &Link, ends: &str) -> Option<String> {
        let end = end(difference, link);
        let (gone, came) = (self.gone.get(&end)?, self.came.get(&end)?);
        let shared = gone.iter().any(|one| came.iter().any(|two| at_one_address(one, two)));
        if self.kind != Kind::OtherEffect || link.direction == Direction::FromBus || shared {
            return None;
        }
        let before = said("no longer", &link_phrase(gone.first()?));
        let does = link_phrase(link);
        // What an attribute is for, its wire says.
        Some(match link.command {
            Some(_) => format!("{before} for {ends}, but {does}"),
            None => format!("{before}, but {does}"),
        })
    }

    /// What else a wire does than those in whose place it came at the same address.
    fn effect(&self, difference: &Difference, link: &Link) -> Option<String> {
        let here = |links: &[&'d Link]| -> Vec<&'d Link> {
            links.iter().copied().filter(|one| at_one_address(one, link)).collect()
        };
        let end = end(difference, link);
        of_exchange(&here(self.gone.get(&end)?), &here(self.came.get(&end)?))
    }
}

/// Leaves out switches beside values and steps that carry the same command: they are not what carries it.
fn leave_switches(links: &mut Vec<&Link>) {
    let is_switch = |link: &Link| link.dpt.starts_with("1.");
    if links.iter().any(|link| !is_switch(link)) {
        links.retain(|link| !is_switch(link));
    }
}

/// What commands did that reach nothing any more: of several that a wire is for, other ones may still reach it.
fn lost(links: &[&Link]) -> String {
    let mut commands: Vec<String> = Vec::new();
    for name in links.iter().map(|link| format!("`{}`", link_end(link))) {
        if !commands.contains(&name) {
            commands.push(name);
        }
    }
    let commands = list(&commands.iter().map(String::as_str).collect::<Vec<_>>());
    let does = links.first().map_or_else(String::new, |first| {
        let own = command_phrase(first);
        let own = own.filter(|own| links.iter().all(|link| command_phrase(link) == Some(own)));
        own.map_or_else(|| link_phrase(first), |own| format!("{own} {}", first.group))
    });
    format!("{} for {commands}", said("no longer", &does))
}

/// What a command does through a wire, where that is not what its point does.
fn command_phrase(link: &Link) -> Option<&'static str> {
    command(&link.cluster, link.command.as_deref()?)
}

/// What goes through another wire than it did.
fn exchanged(link: &Link, ends: &str, before: &str) -> String {
    let (way, group) = match link.direction {
        Direction::ToBus => ("takes", format!("through {}", link.group)),
        Direction::FromBus => ("learns", format!("from {}", link.group)),
    };
    if before == link.group {
        return format!("{way} {ends} {group} in another way, as `{}`", link.point);
    }
    format!("now {way} {ends} {group} instead of {before}")
}

fn wire<'d>(difference: &'d Difference, link: &'d Link) -> Wire<'d> {
    (&difference.bridge, difference.endpoint, link.direction, &link.point, &link.bus, &link.group)
}

fn end<'d>(difference: &'d Difference, link: &'d Link) -> End<'d> {
    (&difference.bridge, difference.endpoint, link.direction, &link.cluster, link_end(link))
}
