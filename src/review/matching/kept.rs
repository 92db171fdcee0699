//! Places that the ledger keeps for appliances that are not shown: left for a while, taken again, or given up.

use super::drafts::{came, gone};
use super::identity::{Pairs, Spot};
use super::lone::{Lone, lone, push_lone};
use crate::review::change::{Change, Kind, Member, Remedy, Side, Subject};
use crate::review::difference::application_types_of;
use crate::review::matching::drafts::Drafts;
use crate::review::{Build, KeptPlace, Unshown};
use rustc_hash::{FxHashMap, FxHashSet};

/// A place: bridge, endpoint number, unique id.
type Place<'a> = (&'a str, u16, &'a str);

fn of_kept(kept: &KeptPlace) -> Place<'_> {
    (&kept.bridge, kept.endpoint, &kept.unique_id)
}

/// What is not shown on both sides.
#[derive(Default)]
pub(super) struct Hidden<'a> {
    old: &'a [Unshown],
    new: &'a [Unshown],
    /// Whose the kept places are.
    kept_old: FxHashMap<Place<'a>, &'a Unshown>,
    kept_new: FxHashMap<Place<'a>, &'a Unshown>,
    /// Those of the new side that have no place, which no build knows: by name and room, none where two share them.
    placeless: FxHashMap<(&'a str, &'a str), Option<&'a Unshown>>,
    /// Whether all is known that a place could have become.
    is_whole: bool,
}

impl<'a> Hidden<'a> {
    pub(super) fn of(old: &'a Build, new: &'a Build, is_whole: bool) -> Self {
        let all = |build: &'a Build| build.unshown.as_deref().unwrap_or_default();
        let places = |one: &'a Unshown| one.kept.iter().map(move |kept| (of_kept(kept), one));
        let kept = |unshown: &'a [Unshown]| unshown.iter().flat_map(places).collect();
        let known: FxHashSet<&str> = all(old).iter().map(|one| one.key.as_str()).collect();
        let mut placeless = FxHashMap::default();
        for one in all(new).iter().filter(|one| one.kept.is_empty() && !known.contains(one.key.as_str())) {
            let same = placeless.entry((one.name.as_str(), one.room.as_str()));
            same.and_modify(|same| *same = None).or_insert(Some(one));
        }
        Self {
            old: all(old),
            new: all(new),
            placeless,
            kept_old: kept(all(old)),
            kept_new: kept(all(new)),
            is_whole: is_whole && new.unshown.is_some(),
        }
    }

    /// Tells of what is no longer shown and of what is shown again, and takes it out of the pairs. Who has another key by now
    /// is told by both.
    pub(super) fn tell_sight(&self, pairs: &mut Pairs<'a>, drafts: &mut Drafts<'a>) {
        let mut parts = Vec::new();
        let taken = take(&mut pairs.gone, &self.kept_new);
        for appliance in lone(taken, Side::Old, drafts, &mut parts) {
            let differences = appliance.spots().map(gone).collect();
            let now = appliance.spots().find_map(|spot| self.kept_new.get(&place(&spot)));
            let member = appliance.member(Side::Old, None).map(|member| match now {
                Some(now) if now.key != member.key => {
                    Member { key: now.key.clone(), former_key: Some(member.key), ..member }
                }
                _ => member,
            });
            push_lone(drafts, Kind::NoLongerShown, member, differences);
        }
        let taken = take(&mut pairs.came, &self.kept_old);
        for appliance in lone(taken, Side::New, drafts, &mut parts) {
            let differences = appliance.spots().map(came).collect();
            let was = appliance.spots().find_map(|spot| self.kept_old.get(&place(&spot)));
            let member = appliance.member(Side::New, was.map(|was| was.key.as_str()));
            push_lone(drafts, Kind::ShownAgain, member, differences);
        }
    }

    /// Tells of an appliance that is gone and that one under a new key, which is not shown, probably is. Gives whether it did.
    pub(super) fn tell_renamed(&self, appliance: &Lone<'a>, drafts: &mut Drafts<'a>) -> bool {
        let name = appliance.main().map(|main| (main.node_label.as_str(), main.room.as_str()));
        let Some(now) = name.and_then(|name| self.placeless.get(&name).copied().flatten()) else {
            return false;
        };
        let Some(member) = appliance.member(Side::Old, None).filter(|member| member.key != now.key) else {
            return false;
        };
        let remedy = Remedy { appliance: now.key.clone(), line: format!("formerly: {}", member.key) };
        let member = Member { key: now.key.clone(), former_key: Some(member.key), ..member };
        let differences = appliance.spots().map(gone).collect();
        drafts.push_with(Kind::ProbableRename, Subject::Appliances(vec![member]), Some(remedy), differences);
        true
    }

    /// Tells of the places that were given up, each with the appliance that could have had it. Gives the appliances of
    /// which nothing was told.
    pub(super) fn tell_lost(
        &self,
        again: &FxHashSet<Place<'a>>,
        came_alone: Vec<Lone<'a>>,
        drafts: &mut Drafts<'a>,
    ) -> Vec<Lone<'a>> {
        let is_lost = |kept: &&'a KeptPlace| {
            let place = of_kept(kept);
            !self.kept_new.contains_key(&place) && !again.contains(&place)
        };
        let lost = |one: &'a Unshown| -> Vec<&'a KeptPlace> { one.kept.iter().filter(is_lost).collect() };
        let lost: Vec<(&Unshown, Vec<&KeptPlace>)> = self.old.iter().map(|one| (one, lost(one))).collect();
        let lost: Vec<_> = lost.into_iter().filter(|(_, places)| !places.is_empty()).collect();
        if !self.is_whole || lost.is_empty() {
            return came_alone;
        }
        let mut heirs = Heirs::of(self, came_alone);
        for (one, places) in lost {
            let change = heirs.change(one, &places);
            drafts.changes.push(change);
        }
        heirs.came.into_iter().flatten().collect()
    }
}

/// Takes out the endpoints that are in these places.
fn take<'a>(spots: &mut Vec<Spot<'a>>, places: &FxHashMap<Place<'a>, &'a Unshown>) -> Vec<Spot<'a>> {
    if places.is_empty() {
        return Vec::new();
    }
    let (taken, left) = std::mem::take(spots).into_iter().partition(|spot| places.contains_key(&place(spot)));
    *spots = left;
    taken
}

/// The place of an endpoint.
pub(super) fn place<'a>(spot: &Spot<'a>) -> Place<'a> {
    (spot.bridge, spot.endpoint.number, &spot.endpoint.unique_id)
}

/// Appliances that may be those whose places were given up.
struct Heirs<'a> {
    came: Vec<Option<Lone<'a>>>,
    /// Those that are shown, by key, and by name and room.
    by_key: FxHashMap<&'a str, usize>,
    by_name: FxHashMap<(&'a str, &'a str), usize>,
    /// Those that are not shown, by key; and those that are new, by name and room.
    unshown: FxHashMap<&'a str, &'a Unshown>,
    fresh: FxHashMap<(&'a str, &'a str), &'a Unshown>,
}

impl<'a> Heirs<'a> {
    fn of(hidden: &Hidden<'a>, came: Vec<Lone<'a>>) -> Self {
        let before: FxHashSet<&str> = hidden.old.iter().map(|one| one.key.as_str()).collect();
        let (mut by_key, mut by_name) = (FxHashMap::default(), FxHashMap::default());
        for (at, main) in came.iter().enumerate().filter_map(|(at, one)| Some((at, one.main()?))) {
            by_key.insert(main.key.as_str(), at);
            if !before.contains(main.key.as_str()) {
                by_name.insert((main.node_label.as_str(), main.room.as_str()), at);
            }
        }
        let fresh = hidden.new.iter().filter(|one| !before.contains(one.key.as_str()));
        Self {
            came: came.into_iter().map(Some).collect(),
            by_key,
            by_name,
            unshown: hidden.new.iter().map(|one| (one.key.as_str(), one)).collect(),
            fresh: fresh.map(|one| ((one.name.as_str(), one.room.as_str()), one)).collect(),
        }
    }

    /// The change of an appliance that was not shown and whose places were given up.
    fn change(&mut self, lost: &'a Unshown, places: &[&KeptPlace]) -> Change {
        let name = (lost.name.as_str(), lost.room.as_str());
        if let Some(now) = self.by_key.get(lost.key.as_str()).and_then(|at| self.came.get_mut(*at)?.take()) {
            return shown(&now, None, lost, places);
        }
        if let Some(now) = self.unshown.get(lost.key.as_str()) {
            return change(vec![unseen(now, None, Side::Both, places)], None, Vec::new());
        }
        let renamed = self.by_name.get(&name).and_then(|at| {
            let slot = self.came.get_mut(*at)?;
            if slot.as_ref().is_some_and(|one| fits(one, places)) { slot.take() } else { None }
        });
        if let Some(now) = renamed {
            return shown(&now, Some(&lost.key), lost, places);
        }
        match self.fresh.remove(&name) {
            Some(now) => {
                let remedy = Remedy { appliance: now.key.clone(), line: format!("formerly: {}", lost.key) };
                change(vec![unseen(now, Some(&lost.key), Side::Both, places)], Some(remedy), Vec::new())
            }
            None => change(vec![unseen(lost, None, Side::Old, places)], None, Vec::new()),
        }
    }
}

/// Whether an appliance could have one of these places.
fn fits(appliance: &Lone, places: &[&KeptPlace]) -> bool {
    let types = |ids: &mut dyn Iterator<Item = u32>| application_types_of(ids);
    appliance.spots().any(|spot| {
        let own = types(&mut spot.endpoint.device_types().iter().map(|one| one.id));
        places.iter().any(|place| {
            *place.bridge == *spot.bridge && types(&mut place.device_types.iter().copied()) == own
        })
    })
}

/// An appliance that is shown again in another place.
fn shown(now: &Lone, former: Option<&str>, lost: &Unshown, places: &[&KeptPlace]) -> Change {
    let member = now.member(Side::Both, former).unwrap_or_else(|| unseen(lost, None, Side::New, places));
    let remedy =
        former.map(|former| Remedy { appliance: member.key.clone(), line: format!("formerly: {former}") });
    change(vec![member], remedy, now.spots().map(came).collect())
}

fn change(
    members: Vec<Member>,
    remedy: Option<Remedy>,
    differences: Vec<crate::review::difference::Difference>,
) -> Change {
    let subject = Subject::Appliances(members);
    Change { kind: Kind::PlaceLost, subject, remedy, agreed: None, differences }
}

/// An appliance that is not shown, with the places that it had.
fn unseen(one: &Unshown, former: Option<&str>, side: Side, places: &[&KeptPlace]) -> Member {
    Member {
        bridge: places.first().map(|place| place.bridge.clone()).unwrap_or_default(),
        key: one.key.clone(),
        former_key: former.map(str::to_owned),
        label: one.name.clone(),
        room: one.room.clone(),
        floor: one.floor.clone(),
        endpoints: places.iter().map(|place| place.endpoint).collect(),
        side,
    }
}
