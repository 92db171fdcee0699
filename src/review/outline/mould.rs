//! Links that are alike but for their group addresses: most of a large house.
//!
//! In a mould the addresses are taken out of the text of some links. Links that come from a known mould are sound as its
//! first ones were, and need not be read.

use super::{AddressUse, add_use};
use crate::bridge::definition::Direction;
use memchr::memmem::Finder;
use rustc_hash::{FxHashMap, FxHasher};
use std::hash::{Hash, Hasher};
use std::sync::{Arc, LazyLock};

/// So many moulds are kept in mind; a house has some hundreds at most.
const KEPT: usize = 1024;

/// What some links have in common.
#[derive(Debug)]
pub(in crate::review) struct Mould {
    /// The links as they are written, each with an empty group address.
    text: Box<str>,
    hash: u64,
    uses: Vec<Usage>,
}

/// What a link has to do with its address, whichever that is.
#[derive(Debug)]
pub(super) struct Usage {
    pub(super) point: Box<str>,
    pub(super) direction: Direction,
    pub(super) bus: Box<str>,
    pub(super) read: bool,
}

impl PartialEq for Mould {
    fn eq(&self, other: &Self) -> bool {
        self.hash == other.hash && self.text == other.text
    }
}

impl Eq for Mould {}

impl Hash for Mould {
    fn hash<H: Hasher>(&self, state: &mut H) {
        state.write_u64(self.hash);
    }
}

impl Mould {
    /// What its links have to do with these addresses.
    pub(super) fn uses(&self, groups: &[&str]) -> Box<[AddressUse]> {
        let mut uses = Vec::new();
        for (usage, group) in self.uses.iter().zip(groups) {
            add_use(&mut uses, &usage.point, usage.direction, (&usage.bus, group), usage.read);
        }
        uses.into()
    }
}

/// The moulds that are known, by their texts.
#[derive(Default)]
pub(super) struct Moulds {
    known: FxHashMap<Box<str>, Arc<Mould>>,
    /// The text that is looked up.
    text: String,
}

impl Moulds {
    /// The mould that links come from, if it is known, and their addresses.
    pub(super) fn of<'t>(&mut self, links: &'t str) -> Option<(Arc<Mould>, Vec<&'t str>)> {
        let groups = cut(links, &mut self.text)?;
        self.known.get(self.text.as_str()).map(|mould| (Arc::clone(mould), groups))
    }

    /// Keeps the mould of links that were found sound, each with its address. None where the text has others.
    pub(super) fn keep<'l>(
        &mut self,
        links: &str,
        read: impl Iterator<Item = (&'l str, Usage)>,
    ) -> Option<Arc<Mould>> {
        let groups = cut(links, &mut self.text)?;
        let (theirs, uses): (Vec<&str>, Vec<Usage>) = read.unzip();
        if groups != theirs {
            return None;
        }
        if self.known.len() >= KEPT {
            self.known.clear();
        }
        let mut hasher = FxHasher::default();
        self.text.hash(&mut hasher);
        let text: Box<str> = self.text.as_str().into();
        let mould = Arc::new(Mould { text: text.clone(), hash: hasher.finish(), uses });
        self.known.insert(text, Arc::clone(&mould));
        Some(mould)
    }
}

/// Takes the group addresses out of the text of links; what is left goes to `rest`. None where one is written otherwise
/// than as plain text.
pub(super) fn cut<'t>(links: &'t str, rest: &mut String) -> Option<Vec<&'t str>> {
    static GROUP: LazyLock<Finder<'static>> = LazyLock::new(|| Finder::new("\"group\":\""));
    rest.clear();
    let mut groups = Vec::new();
    let mut left = links;
    while let Some(at) = GROUP.find(left.as_bytes()) {
        let (before, group) = left.split_at_checked(at + GROUP.needle().len())?;
        let (group, _) = group.split_once('"')?;
        if group.contains('\\') {
            return None;
        }
        rest.push_str(before);
        groups.push(group);
        left = left.get(before.len() + group.len()..)?;
    }
    rest.push_str(left);
    Some(groups)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(links: &str, expected: Option<(&str, &[&str])>) {
        let mut rest = String::new();
        let groups = cut(links, &mut rest);
        assert_eq!(groups.as_deref().map(|groups| (rest.as_str(), groups)), expected, "{links}");
    }

    #[test]
    fn addresses_are_taken_out_where_they_are_plain_text() {
        check("[]", Some(("[]", &[])));
        check(r#"[{"group":"1/1/1","dpt":"1.001"}]"#, Some((r#"[{"group":"","dpt":"1.001"}]"#, &["1/1/1"])));
        check(r#"[{"group":"a"},{"group":"b"}]"#, Some((r#"[{"group":""},{"group":""}]"#, &["a", "b"])));
        // No key, but a text that holds one.
        check(r#"[{"point":"\"group\":\"1"}]"#, Some((r#"[{"point":"\"group\":\"1"}]"#, &[])));
        check(r#"[{"group":"1\u002f1"}]"#, None);
        check(r#"[{"group":"1/1"#, None);
    }

    #[test]
    fn a_mould_has_one_address_a_link() {
        let usage =
            || Usage { point: "p".into(), direction: Direction::ToBus, bus: "main".into(), read: false };
        let mut moulds = Moulds::default();
        // An address that is none of a link's: the key of something else.
        let other = r#"[{"group":"1/1/1","timing":{"group":"1/1/2"}}]"#;
        assert!(moulds.keep(other, [("1/1/1", usage())].into_iter()).is_none());
        assert!(moulds.of(other).is_none());
        assert!(moulds.keep(r#"[{"group":"1/1/1"}]"#, [("1/1/1", usage())].into_iter()).is_some());
        let (mould, groups) = moulds.of(r#"[{"group":"1/1/2"}]"#).expect("it is known");
        assert_eq!(mould.uses(&groups).iter().map(|one| &*one.group).collect::<Vec<_>>(), ["1/1/2"]);
    }
}
