//! Wrong addresses: digits, rows, notation.

use super::generate::Random;
use super::plant::{Plant, Role, Site};
use super::reading::{Appliance, Value};

/// The groups of an address; none when it is not one.
fn groups(address: &str) -> Option<Vec<u32>> {
    let groups: Vec<u32> = address
        .split('/')
        .map(|group| {
            let canonical = group == "0" || !group.starts_with('0');
            group.parse().ok().filter(|_| canonical)
        })
        .collect::<Option<_>>()?;
    let limits: &[u32] = match groups.len() {
        3 => &[31, 7, 255],
        2 => &[31, 2047],
        _ => return None,
    };
    let fits = groups.iter().zip(limits).all(|(group, limit)| group <= limit);
    (fits && groups.iter().any(|group| *group > 0)).then_some(groups)
}

/// The ways to mistype one digit.
fn mistyped(address: &str) -> Vec<String> {
    let digits = address.char_indices().filter(|(_, mark)| mark.is_ascii_digit());
    let variants = digits.flat_map(|(at, digit)| {
        ('0'..='9').filter(move |other| *other != digit).map(move |other| {
            let mut text = address.to_owned();
            text.replace_range(at..=at, other.encode_utf8(&mut [0; 4]));
            text
        })
    });
    variants.filter(|variant| groups(variant).is_some()).collect()
}

/// The ways to exchange two digits of a group, or two groups.
fn transposed(address: &str) -> Vec<String> {
    let bytes = address.as_bytes();
    let mut variants = Vec::new();
    for (at, pair) in bytes.windows(2).enumerate() {
        if let [first, second] = pair
            && first != second
            && first.is_ascii_digit()
            && second.is_ascii_digit()
            && let Some(two) = address.get(at..at + 2)
        {
            let mut text = address.to_owned();
            text.replace_range(at..at + 2, &two.chars().rev().collect::<String>());
            variants.push(text);
        }
    }
    let parts: Vec<&str> = address.split('/').collect();
    for at in 1..parts.len() {
        let mut other = parts.clone();
        other.swap(at - 1, at);
        variants.push(other.join("/"));
    }
    variants.retain(|variant| variant != address && groups(variant).is_some());
    variants
}

/// Every address of an appliance that may be changed.
fn values(appliance: &Appliance) -> impl Iterator<Item = &Value> {
    appliance
        .points
        .iter()
        .flat_map(|point| [Role::Command, Role::Feedback].into_iter().filter_map(|role| point.address(role)))
}

/// Replaces an address by one of its variants that fits.
fn replace<'a>(
    site: &mut Site<'a>,
    random: &mut Random,
    variants: impl Fn(&Site<'a>, &Appliance, &str) -> Vec<String>,
) -> Option<Plant> {
    for _ in 0..40 {
        let (index, appliance) = site.pick(random, |_, _| true)?;
        let all: Vec<&Value> = values(appliance).collect();
        let value = *random.pick(&all)?;
        let mut found = variants(site, appliance, &value.text);
        found.retain(|address| {
            let owner = site.owner(&appliance.bus, address);
            owner != Some(index) && !owner.is_some_and(|owner| site.is_taken(owner))
        });
        let Some(wrong) = random.pick(&found) else { continue };
        let mut plant = Plant::replacing(value, wrong.as_str()).right(value.text.as_str());
        if let Some(owner) = site.owner(&appliance.bus, wrong) {
            site.claim(owner);
            let other = site.house.appliances.get(owner)?;
            for same in other.addresses().filter(|same| same.text == *wrong) {
                plant = plant.or_at(&same.spot);
            }
        }
        return Some(plant);
    }
    None
}

/// One digit wrong, and the table has no such address.
pub(crate) fn absent_digit(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    replace(site, random, |site, appliance, address| {
        mistyped(address).into_iter().filter(|variant| site.row(appliance, variant).is_none()).collect()
    })
}

/// One digit wrong, and the table has that address.
pub(crate) fn present_digit(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    replace(site, random, |site, appliance, address| {
        let mut variants = mistyped(address);
        variants
            .retain(|variant| site.row(appliance, variant).is_some() && !site.is_central(appliance, variant));
        variants
    })
}

/// Two digits or two groups exchanged.
pub(crate) fn transposed_digits(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    replace(site, random, |site, appliance, address| {
        let mut variants = transposed(address);
        variants.retain(|variant| !site.is_central(appliance, variant));
        variants
    })
}

/// The row above or below in the table, of the same datapoint type.
pub(crate) fn next_row(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    replace(site, random, |site, appliance, address| {
        let Some(table) = site.house.tables.get(&appliance.bus) else { return Vec::new() };
        let Some(&at) = table.by_address.get(address) else { return Vec::new() };
        let own = table.rows.get(at);
        let near = [at.checked_sub(1), at.checked_add(1)].into_iter().flatten();
        near.filter_map(|row| table.rows.get(row))
            .filter(|row| own.is_some_and(|own| own.dpt.text == row.dpt.text))
            .map(|row| row.address.text.clone())
            .collect()
    })
}

/// The broadcast address.
pub(crate) fn reserved(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    replace(site, random, |_, _, address| {
        vec![if address.matches('/').count() == 2 { "0/0/0" } else { "0/0" }.to_owned()]
    })
}

/// Written with more or fewer levels than the house.
pub(crate) fn other_notation(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    replace(site, random, |_, _, address| match groups(address).as_deref() {
        Some([main, middle, sub]) => vec![format!("{main}/{}", middle * 256 + sub)],
        Some([main, sub]) => vec![format!("{main}/{}/{}", sub / 256, sub % 256)],
        _ => Vec::new(),
    })
}

/// A group one digit too long.
pub(crate) fn out_of_range(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    replace(site, random, |_, _, address| {
        let Some((rest, sub)) = address.rsplit_once('/') else { return Vec::new() };
        let last = sub.chars().last().unwrap_or('0');
        vec![format!("{rest}/{sub}{last}{last}")]
            .into_iter()
            .map(|text| if groups(&text).is_some() { format!("{text}{last}") } else { text })
            .filter(|text| groups(text).is_none())
            .collect()
    })
}

/// A leading zero.
pub(crate) fn leading_zero(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    replace(site, random, |_, _, address| {
        address.rsplit_once('/').map(|(rest, sub)| format!("{rest}/0{sub}")).into_iter().collect()
    })
}

/// An address of the table that nothing uses, of the same datapoint type, for a status.
pub(crate) fn spare_feedback(site: &mut Site<'_>, random: &mut Random) -> Option<Plant> {
    let (appliance, value) = site.pick_some(random, |appliance| {
        appliance.points.iter().filter_map(|point| point.feedback.as_ref()).collect()
    })?;
    let own = site.row(appliance, &value.text)?;
    let table = site.house.tables.get(&appliance.bus)?;
    let spare: Vec<_> = table
        .rows
        .iter()
        .filter(|row| row.dpt.text == own.dpt.text && row.flags.text == own.flags.text)
        .filter(|row| site.owner(&appliance.bus, &row.address.text).is_none())
        .filter(|row| !site.is_central(appliance, &row.address.text))
        .collect();
    let wrong = random.pick(&spare)?;
    Some(Plant::replacing(value, wrong.address.text.as_str()).right(value.text.as_str()))
}
