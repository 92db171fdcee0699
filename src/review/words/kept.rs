//! Words for places that are kept for appliances that are not shown.

use super::endpoints::Endpoints;
use super::{Telling, former_key};
use crate::review::change::{Change, Kind, Member, Side};

/// Tells that an appliance is no longer shown, is shown again, or lost the place that was kept for it.
pub(super) fn told(member: &Member, change: &Change, endpoints: &Endpoints) -> Telling {
    let name = &member.label;
    match change.kind {
        Kind::NoLongerShown => Telling {
            headline: format!("{name} is no longer shown, and keeps its place"),
            details: endpoints.details(Side::Old).into_iter().chain(former_key(change)).collect(),
        },
        Kind::ShownAgain => Telling {
            headline: format!("{name} is shown again, in the place that it had"),
            details: endpoints.new_details().into_iter().chain(former_key(change)).collect(),
        },
        _ => lost(member, endpoints),
    }
}

fn lost(member: &Member, endpoints: &Endpoints) -> Telling {
    let (name, is_shown) = (&member.label, !endpoints.new.is_empty());
    let sight = if is_shown { "is shown again" } else { "is not shown" };
    let headline = match (&member.former_key, member.side) {
        (Some(former), _) => format!(
            "{name} {sight} and has probably only got the key `{}` instead of `{former}`, but loses the place that was kept for \
             it",
            member.key
        ),
        (None, Side::Old) => {
            format!("{name}, which was not shown, is gone, and so is the place that was kept for it")
        }
        (None, Side::New | Side::Both) if is_shown => {
            format!("{name} is shown again, and not in the place that was kept for it")
        }
        (None, Side::New | Side::Both) => {
            format!("{name} {sight}, and loses the place that was kept for it")
        }
    };
    let places = member.endpoints.iter().filter(|_| !is_shown);
    let mut details: Vec<String> =
        places.map(|number| format!("Was to be endpoint {number} of `{}` again", member.bridge)).collect();
    details.extend(endpoints.new_details());
    Telling { headline, details }
}
