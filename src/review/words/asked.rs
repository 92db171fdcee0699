//! Which commands a new wire is for: its address may be new to some commands of the appliance only.

use super::list;
use super::phrases::{link_phrase, said};
use super::points::phrase;
use crate::classes::Direction;
use crate::review::change::Kind;
use crate::review::difference::{Difference, LinkField, What, link_end};
use rustc_hash::FxHashMap;

/// By bridge, endpoint, point, bus and address.
type Wire<'d> = (&'d str, Option<u16>, &'d str, &'d str, &'d str);

/// The new wires to the bus, with the commands or attributes that they are for.
pub(super) struct Asked<'d> {
    ends: FxHashMap<Wire<'d>, Vec<&'d str>>,
    kind: Kind,
}

impl<'d> Asked<'d> {
    /// Those of a change of that kind.
    pub(super) fn of(differences: &[&'d Difference], kind: Kind) -> Self {
        let mut ends: FxHashMap<Wire, Vec<&str>> = FxHashMap::default();
        for (wire, end) in differences.iter().filter_map(|difference| wire(difference)) {
            ends.entry(wire).or_default().push(end);
        }
        Self { ends, kind }
    }

    /// "is now also set to a position through 2/2/40 for `UpOrOpen` and `DownOrClose`"; `None` for anything else than a
    /// new wire to the bus or one that does less.
    pub(super) fn phrase(&self, difference: &Difference) -> Option<String> {
        if let What::LinkField { wire, field: LinkField::Conversion, .. } = &difference.what {
            if self.kind != Kind::FunctionReduced {
                return None;
            }
            let end = wire.end.split_once('.').map_or(wire.end.as_str(), |(_, end)| end);
            let does = format!("{} {}", phrase(&wire.point, wire.direction), wire.group);
            return Some(format!("{} for `{end}`, whatever value is asked for", said("only", &does)));
        }
        let What::LinkAdded { link, .. } = &difference.what else { return None };
        let ends: Vec<String> =
            self.ends.get(&wire(difference)?.0)?.iter().map(|end| format!("`{end}`")).collect();
        let ends = list(&ends.iter().map(String::as_str).collect::<Vec<_>>());
        Some(match self.kind {
            Kind::FunctionReduced => {
                format!("{} for {ends}, whatever value is asked for", said("only", &link_phrase(link)))
            }
            Kind::WiresAdded => format!("{} for {ends}", said("now also", &link_phrase(link))),
            _ => return None,
        })
    }
}

fn wire(difference: &Difference) -> Option<(Wire<'_>, &str)> {
    let What::LinkAdded { link, .. } = &difference.what else { return None };
    let wire = (difference.bridge.as_str(), difference.endpoint, &*link.point, &*link.bus, &*link.group);
    (link.direction == Direction::ToBus).then(|| (wire, link_end(link)))
}
