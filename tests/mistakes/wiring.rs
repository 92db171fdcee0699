//! Addresses that are right, on the wrong appliance, point or end.

use super::generate::Random;
use super::plant::{Plant, Role, Site};
use super::reading::{Appliance, Point, Value};

/// Whether two appliances have the same points with the same ends.
fn alike(one: &Appliance, other: &Appliance) -> bool {
    let shape = |appliance: &Appliance| -> Vec<_> {
        let end =
            |point: &Point| (point.name.text.clone(), point.command.is_some(), point.feedback.is_some());
        appliance.points.iter().map(end).collect()
    };
    one.class.text == other.class.text && one.bus == other.bus && shape(one) == shape(other)
}

/// Two alike appliances; the second in another room, or in the same one.
fn two<'a>(
    site: &mut Site<'a>,
    random: &mut Random,
    other_room: bool,
    fits: impl Fn(&Appliance) -> bool,
) -> Option<(&'a Appliance, &'a Appliance)> {
    for _ in 0..40 {
        let (_, one) = site.pick(random, |_, appliance| fits(appliance))?;
        let partner =
            site.pick(random, |_, other| alike(one, other) && (one.room != other.room) == other_room);
        if let Some((_, other)) = partner {
            return Some((one, other));
        }
    }
    None
}

/// The values of both in the same points and roles.
fn pairs<'a>(
    one: &'a Appliance,
    other: &'a Appliance,
    roles: &'a [Role],
) -> impl Iterator<Item = (&'a Value, &'a Value)> {
    one.points.iter().zip(&other.points).flat_map(move |(left, right)| {
        roles.iter().filter_map(move |role| Some((left.address(*role)?, right.address(*role)?)))
    })
}

fn exchange(site: &mut Site<'_>, random: &mut Random, roles: &[Role], other_room: bool) -> Option<Plant> {
    let fits = |appliance: &Appliance| {
        appliance.points.iter().any(|point| roles.iter().any(|role| point.address(*role).is_some()))
            && (roles.len() > 1 || appliance.points.iter().any(|point| point.command.is_some()))
    };
    let (one, other) = two(site, random, other_room, fits)?;
    let mut plant = Plant::default();
    let all: Vec<_> = pairs(one, other, roles).collect();
    let chosen = if roles.len() > 1 { all } else { vec![*random.pick(&all)?] };
    for (left, right) in chosen {
        plant = plant.and_swap(left, right).right(left.text.as_str()).right(right.text.as_str());
    }
    Some(plant)
}

/// All addresses of two appliances in different rooms exchanged.
pub(crate) fn swapped_rooms(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    exchange(site, random, &[Role::Command, Role::Feedback], true)
}

/// All addresses of two appliances in one room exchanged.
pub(crate) fn swapped_neighbours(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    exchange(site, random, &[Role::Command, Role::Feedback], false)
}

/// One status of two appliances exchanged.
pub(crate) fn swapped_feedbacks(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let other_room = random.chance(50);
    exchange(site, random, &[Role::Feedback], other_room)
}

/// One command of two appliances exchanged.
pub(crate) fn swapped_commands(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let other_room = random.chance(50);
    exchange(site, random, &[Role::Command], other_room)
}

/// A point with both ends.
fn both(appliance: &Appliance) -> Vec<(&Value, &Value)> {
    appliance
        .points
        .iter()
        .filter_map(|point| Some((point.command.as_ref()?, point.feedback.as_ref()?)))
        .collect()
}

/// The status is the command.
pub(crate) fn feedback_is_command(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (_, (command, feedback)) = site.pick_some(random, both)?;
    Some(Plant::replacing(feedback, command.text.as_str()).or_at(&command.spot).right(feedback.text.as_str()))
}

/// Command and status of a point exchanged.
pub(crate) fn ends_exchanged(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (_, (command, feedback)) = site.pick_some(random, both)?;
    Some(
        Plant::default()
            .and_swap(command, feedback)
            .right(command.text.as_str())
            .right(feedback.text.as_str()),
    )
}

/// An end of one appliance put on another's.
fn borrowed(site: &mut Site<'_>, random: &mut Random, role: Role) -> Option<Plant> {
    let (one, other) = two(site, random, true, |appliance| {
        appliance.points.iter().any(|point| point.command.is_some() && point.address(role).is_some())
    })?;
    let all: Vec<_> = pairs(
        one,
        other,
        match role {
            Role::Command => &[Role::Command],
            Role::Feedback => &[Role::Feedback],
        },
    )
    .collect();
    let (mine, theirs) = *random.pick(&all)?;
    Some(Plant::replacing(mine, theirs.text.as_str()).or_at(&theirs.spot).right(mine.text.as_str()))
}

/// Two appliances learn from one status.
pub(crate) fn duplicate_feedback(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    borrowed(site, random, Role::Feedback)
}

/// Two appliances are written through one command.
pub(crate) fn shared_command(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    borrowed(site, random, Role::Command)
}

/// A central address that the point hears is also one of its ends.
fn central(site: &mut Site<'_>, random: &mut Random, role: Role) -> Option<Plant> {
    let house = site.house;
    let (_, (value, heard)) = site.pick_some(random, |appliance| {
        let many = |heard: &Value| {
            house.heard.get(&(appliance.bus.clone(), heard.text.clone())).is_some_and(|count| *count >= 3)
        };
        let points = appliance.points.iter();
        points
            .filter_map(|point| Some((point.address(role)?, point.listens.iter().find(|heard| many(heard))?)))
            .collect()
    })?;
    Some(Plant::replacing(value, heard.text.as_str()).or_at(&heard.spot).right(value.text.as_str()))
}

/// The status is learned from a central address.
pub(crate) fn central_feedback(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    central(site, random, Role::Feedback)
}

/// The appliance is written through a central address.
pub(crate) fn central_command(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    central(site, random, Role::Command)
}

/// The same end of two points of one appliance exchanged.
fn points_exchanged(
    site: &mut Site<'_>,
    random: &mut Random,
    names: [&str; 2],
    roles: &[Role],
) -> Option<Plant> {
    let (_, (left, right)) = site.pick_some(random, |appliance| {
        let [Some(left), Some(right)] = names.map(|name| appliance.point(name)) else { return Vec::new() };
        let complete =
            roles.iter().all(|role| left.address(*role).is_some() && right.address(*role).is_some());
        if complete { vec![(left, right)] } else { Vec::new() }
    })?;
    let mut plant = Plant::default();
    for role in roles {
        let (left, right) = (left.address(*role)?, right.address(*role)?);
        plant = plant.and_swap(left, right).right(left.text.as_str()).right(right.text.as_str());
    }
    Some(plant)
}

/// Position and slat of a blind exchanged.
pub(crate) fn position_slat(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    points_exchanged(site, random, ["position", "slat"], &[Role::Command, Role::Feedback])
}

/// Measured temperature and setpoint status exchanged.
pub(crate) fn temperature_setpoint(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    points_exchanged(site, random, ["temperature", "setpoint"], &[Role::Feedback])
}

/// Status and brightness status of a lamp exchanged.
pub(crate) fn status_brightness(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    points_exchanged(site, random, ["switching", "brightness"], &[Role::Feedback])
}

/// The stop of a shade is its up and down.
pub(crate) fn stop_is_move(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (_, (travel, stop)) = site.pick_some(random, |appliance| {
        let command = |name: &str| appliance.point(name).and_then(|point| point.command.as_ref());
        command("move").zip(command("step-stop")).into_iter().collect()
    })?;
    Some(Plant::replacing(stop, travel.text.as_str()).or_at(&travel.spot).right(stop.text.as_str()))
}

/// A status of another appliance among the addresses that move this one.
pub(crate) fn status_heard(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (one, heard) = site
        .pick_some(random, |appliance| appliance.points.iter().flat_map(|point| &point.listens).collect())?;
    let (_, other) = site.pick(random, |_, other| {
        one.class.text == other.class.text
            && one.bus == other.bus
            && other.points.first().is_some_and(|point| point.feedback.is_some())
    })?;
    let status = other.points.first()?.feedback.as_ref()?;
    Some(Plant::replacing(heard, status.text.as_str()).or_at(&status.spot))
}
