//! Commands that would never be carried out though the bus could: those that no wire takes there.

use super::breach::Breach;
use super::shape::{Direction, Shape, ShapedPart, Target};
use crate::knx::DptId;

/// Commands that a gateway carries out through links of their own, by cluster. It makes the others of these, carries them
/// out by itself, or refuses them where an appliance is made so (a lock that can only be opened): the head of
/// `bridge::definition` says which.
const CARRIED_BY_LINKS: [(&str, &[&str]); 7] = [
    ("OnOff", &["On", "Off"]),
    ("LevelControl", &["MoveToLevel", "MoveToLevelWithOnOff"]),
    (
        "ColorControl",
        &["MoveToHue", "MoveToSaturation", "MoveToHueAndSaturation", "MoveToColor", "MoveToColorTemperature"],
    ),
    ("WindowCovering", &["UpOrOpen", "DownOrClose", "GoToLiftPercentage"]),
    ("ClosureControl", &["MoveTo"]),
    ("ClosureDimension", &["SetTarget"]),
    ("ValveConfigurationAndControl", &["Open", "Close"]),
];

/// Main datapoint types of scenes, and the trigger: they call for one thing, and have no word for its opposite. Source:
/// KNX 03/07/02, by their titles in `schema/datapoint-types`.
const CALLS: [(u16, Option<u16>); 4] = [(1, Some(17)), (17, None), (18, None), (26, None)];

/// The commands of a part that would never be carried out, or that it has no wire at all.
pub(super) fn breaches(shape: &Shape, part: &ShapedPart) -> Vec<Breach> {
    let mut found = Vec::new();
    // Of an appliance without any point nothing is asked.
    let is_wired = shape.parts.iter().any(|part| !part.links.is_empty());
    for shaped in part.clusters().filter(|_| is_wired) {
        let carried = CARRIED_BY_LINKS.iter().find(|(cluster, _)| *cluster == shaped.name);
        let Some((_, commands)) = carried else { continue };
        let links = || part.links().filter(|link| link.cluster == shaped.name);
        let carries = |command: &str| {
            links().any(|link| matches!(&link.target, Target::Command(name) if name == command))
        };
        let accepted = shaped.commands.iter().filter(|command| commands.contains(&command.as_str()));
        let mut idle = accepted.filter(|command| !carries(command)).peekable();
        if part.links.is_empty() && idle.peek().is_some() {
            return vec![Breach::NoLink { part: part.name.clone() }];
        }
        if links().any(|link| link.direction == Direction::ToBus && !calls(link.dpt)) {
            found.extend(idle.map(|command| Breach::Idle {
                part: part.name.clone(),
                cluster: shaped.name.clone(),
                command: command.clone(),
            }));
        }
    }
    found
}

fn calls(dpt: DptId) -> bool {
    CALLS.iter().any(|(main, sub)| *main == dpt.main && sub.is_none_or(|sub| sub == dpt.sub))
}
