//! Numbers for group addresses, looked up without hashing.

use super::GroupAddress;

/// What stands for no number.
const NONE: u32 = u32::MAX;

/// A number for each of some group addresses of one bus: a page for each middle group that has any.
#[derive(Clone, Debug)]
pub struct AddressIndex {
    /// The place of each middle group's page; 0 where it has none.
    places: Box<[u16; 256]>,
    /// The first has no numbers.
    pages: Vec<[u32; 256]>,
}

impl Default for AddressIndex {
    fn default() -> Self {
        Self { places: Box::new([0; 256]), pages: vec![[NONE; 256]] }
    }
}

impl AddressIndex {
    /// The number of an address.
    pub fn get(&self, address: GroupAddress) -> Option<u32> {
        let [middle, sub] = address.number().to_be_bytes().map(usize::from);
        let page = self.pages.get(usize::from(*self.places.get(middle)?))?;
        page.get(sub).copied().filter(|number| *number != NONE)
    }

    /// The number that an address has, or has from now on. [`u32::MAX`] is no number.
    pub fn get_or_insert(&mut self, address: GroupAddress, number: u32) -> u32 {
        let [middle, sub] = address.number().to_be_bytes().map(usize::from);
        let next = u16::try_from(self.pages.len()).unwrap_or_default();
        let Some(place) = self.places.get_mut(middle) else { return number };
        if *place == 0 {
            *place = next;
            self.pages.push([NONE; 256]);
        }
        let page = self.pages.get_mut(usize::from(*place));
        let Some(known) = page.and_then(|page| page.get_mut(sub)) else { return number };
        if *known == NONE {
            *known = number;
        }
        *known
    }

    /// The addresses with their numbers, in the order of the addresses.
    pub fn iter(&self) -> impl Iterator<Item = (GroupAddress, u32)> {
        let pages = (0u16..).zip(self.places.iter()).filter(|(_, place)| **place != 0);
        pages.flat_map(|(middle, place)| {
            let page = self.pages.get(usize::from(*place)).into_iter().flatten();
            let numbers = (0u16..).zip(page).filter(|(_, number)| **number != NONE);
            numbers.filter_map(move |(sub, number)| Some((GroupAddress::new(middle << 8 | sub)?, *number)))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_address_has_its_number() {
        let all = || (1..=u16::MAX).rev().filter_map(GroupAddress::new);
        let mut index = AddressIndex::default();
        for address in all() {
            assert_eq!(index.get(address), None);
            let number = u32::from(address.number()) * 3;
            assert_eq!(index.get_or_insert(address, number), number);
            assert_eq!(index.get_or_insert(address, 1), number);
        }
        assert!(all().all(|address| index.get(address) == Some(u32::from(address.number()) * 3)));
        assert!(index.iter().map(|(address, _)| address.number()).eq(1..=u16::MAX));
    }
}
