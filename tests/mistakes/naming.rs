//! Names that the family sees and says.

use super::generate::Random;
use super::plant::{Plant, Site};
use super::reading::Appliance;

/// Two appliances of a room.
fn roommates<'a>(site: &mut Site<'a>, random: &mut Random) -> Option<(&'a Appliance, &'a Appliance)> {
    for _ in 0..20 {
        let (_, one) = site.pick(random, |_, _| true)?;
        if let Some((_, other)) = site.pick(random, |_, other| other.room == one.room) {
            return Some((one, other));
        }
    }
    None
}

/// A plain scalar where it can be one, otherwise a quoted one.
fn scalar(name: &str) -> String {
    let plain = name.chars().all(|letter| letter.is_alphanumeric() || letter == ' ' || letter == '-');
    if plain { name.to_owned() } else { format!("\"{name}\"") }
}

fn renamed(
    site: &mut Site<'_>,
    random: &mut Random,
    rename: impl Fn(&str) -> Option<String>,
) -> Option<Plant> {
    let (one, other) = roommates(site, random)?;
    let name = rename(&other.name.text).filter(|name| name.len() <= 32)?;
    let plant = Plant::replacing(&one.name, scalar(&name)).or_at(&other.name.spot);
    Some(plant.or_at(&one.key.spot).or_at(&other.key.spot))
}

/// Two of one name in a room.
pub(crate) fn duplicate(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    renamed(site, random, |name| Some(name.to_owned()))
}

/// Two names in a room that differ by capitals only.
pub(crate) fn other_case(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    renamed(site, random, |name| {
        let upper = name.to_uppercase();
        let changed = if upper == name { name.to_lowercase() } else { upper };
        (changed != name).then_some(changed)
    })
}

/// Two names in a room that differ by an accent only.
pub(crate) fn other_accent(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    renamed(site, random, |name| {
        let pairs = [('e', 'é'), ('a', 'à'), ('o', 'ô'), ('u', 'ù'), ('i', 'í')];
        let (plain, accented) = pairs.into_iter().find(|(plain, _)| name.contains(*plain))?;
        Some(name.replacen(plain, accented.encode_utf8(&mut [0; 4]), 1))
    })
}

/// A name of more than 32 bytes.
pub(crate) fn too_long(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (_, appliance) = site.pick(random, |_, _| true)?;
    let name = format!("{} with the very long label", appliance.name.text);
    let name = if name.len() > 32 { name } else { format!("{name} indeed") };
    Some(Plant::replacing(&appliance.name, scalar(&name)))
}

/// A name of few letters and more than 32 bytes.
pub(crate) fn too_many_bytes(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (_, appliance) = site.pick(random, |_, _| true)?;
    Some(Plant::replacing(&appliance.name, "Große Gästezimmer Übergardinenkü"))
}

/// The room's name again in the appliance's.
pub(crate) fn room_repeated(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let house = site.house;
    let name = |appliance: &Appliance| {
        let room = house.rooms.get(appliance.room)?;
        Some(format!("{} {}", room.name, appliance.name.text)).filter(|name| name.len() <= 32)
    };
    let (_, appliance) = site.pick(random, |_, appliance| name(appliance).is_some())?;
    Some(Plant::replacing(&appliance.name, scalar(&name(appliance)?)).right(appliance.name.text.as_str()))
}

/// A letter that nobody sees.
pub(crate) fn invisible(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (_, appliance) = site.pick(random, |_, appliance| appliance.name.text.len() <= 28)?;
    let hidden = appliance.name.text.replacen(' ', " \u{200b}", 1);
    let hidden = if hidden == appliance.name.text { format!("{hidden}\u{200b}") } else { hidden };
    Some(Plant::replacing(&appliance.name, format!("\"{hidden}\"")).right(appliance.name.text.as_str()))
}

/// The names of two alike appliances of a room exchanged.
pub(crate) fn exchanged(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    for _ in 0..20 {
        let (_, one) = site.pick(random, |_, _| true)?;
        let alike = |other: &Appliance| other.room == one.room && other.class.text == one.class.text;
        if let Some((_, other)) = site.pick(random, |_, other| alike(other)) {
            let (left, right) = (&one.name, &other.name);
            let mut plant = Plant::default()
                .and(&left.spot, scalar(&right.text))
                .and(&right.spot, scalar(&left.text))
                .or_at(&left.spot)
                .or_at(&right.spot)
                .right(left.text.as_str())
                .right(right.text.as_str());
            for value in one.addresses().chain(other.addresses()) {
                plant = plant.or_at(&value.spot).right(value.text.as_str());
            }
            return Some(plant);
        }
    }
    None
}
