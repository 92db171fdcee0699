//! What a planted mistake is: changes of a text, where a finding may point, and what would be right.

use super::generate::Random;
use super::reading::{Appliance, House, Point, Row, Spot, Value, line_starts};
use housewright::rules::Family;
use std::borrow::Cow;
use std::collections::{BTreeSet, HashMap, HashSet};

/// A kind of mistake.
pub(crate) struct Kind {
    /// Its name.
    pub(crate) name: &'static str,
    /// What it is about.
    pub(crate) subject: Subject,
    /// Families of which a rule may find it.
    pub(crate) families: &'static [Family],
    /// Makes one; nothing where the house has no place for it.
    pub(crate) plant: fn(&mut Site<'_>, &mut Random) -> Option<Plant>,
}

/// What a kind of mistake is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Subject {
    /// A wrong address: the right one should be named.
    Address,
    /// Something else.
    Other,
    /// Something that hides the rest of its file: planted alone only.
    Alone,
}

/// A change of a text.
#[derive(Clone, Debug)]
pub(crate) struct Change {
    /// What is taken away.
    pub(crate) spot: Spot,
    /// What is put there.
    pub(crate) text: String,
}

/// A mistake in a house.
#[derive(Clone, Debug, Default)]
pub(crate) struct Plant {
    /// How it comes in.
    pub(crate) changes: Vec<Change>,
    /// Where a finding may point, as places before the change.
    pub(crate) at: Vec<Spot>,
    /// Texts that a correction may name; empty where there is nothing to name.
    pub(crate) right: Vec<String>,
}

impl Plant {
    /// A value that is replaced, with the finding on it.
    pub(crate) fn replacing(value: &Value, text: impl Into<String>) -> Self {
        Self::default().and(&value.spot, text).or_at(&value.spot)
    }

    /// One more change.
    pub(crate) fn and(mut self, spot: &Spot, text: impl Into<String>) -> Self {
        self.changes.push(Change { spot: spot.clone(), text: text.into() });
        self
    }

    /// Two values that change places, with the finding on either.
    pub(crate) fn and_swap(self, one: &Value, other: &Value) -> Self {
        self.and(&one.spot, &*other.text).and(&other.spot, &*one.text).or_at(&one.spot).or_at(&other.spot)
    }

    /// One more place for the finding.
    pub(crate) fn or_at(mut self, spot: &Spot) -> Self {
        self.at.push(spot.clone());
        self
    }

    /// One more right text.
    pub(crate) fn right(mut self, text: impl Into<String>) -> Self {
        self.right.push(text.into());
        self
    }
}

/// Which address of a point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Role {
    /// The one it is written through.
    Command,
    /// The one it reports through.
    Feedback,
}

impl Point {
    /// The address in a role.
    pub(crate) fn address(&self, role: Role) -> Option<&Value> {
        match role {
            Role::Command => self.command.as_ref(),
            Role::Feedback => self.feedback.as_ref(),
        }
    }
}

/// A house in which mistakes are being planted, so that no two touch the same appliance.
pub(crate) struct Site<'a> {
    /// The house.
    pub(crate) house: &'a House,
    /// Who uses an address, by bus and address.
    owners: HashMap<(&'a str, &'a str), usize>,
    taken: HashSet<usize>,
    claimed: Vec<usize>,
    /// Whether a bridge was changed.
    pub(crate) bridge_taken: bool,
}

impl<'a> Site<'a> {
    /// A site without mistakes.
    pub(crate) fn new(house: &'a House) -> Self {
        let owned = house.appliances.iter().enumerate().flat_map(|(index, appliance)| {
            appliance.addresses().map(move |value| ((appliance.bus.as_str(), value.text.as_str()), index))
        });
        Self {
            house,
            owners: owned.collect(),
            taken: HashSet::new(),
            claimed: Vec::new(),
            bridge_taken: false,
        }
    }

    /// Takes all mistakes out again.
    pub(crate) fn clear(&mut self) {
        self.taken.clear();
        self.claimed.clear();
        self.bridge_taken = false;
    }

    /// An appliance that is still without a mistake and that fits; it is claimed.
    pub(crate) fn pick(
        &mut self,
        random: &mut Random,
        fits: impl Fn(usize, &Appliance) -> bool,
    ) -> Option<(usize, &'a Appliance)> {
        let house = self.house;
        let count = house.appliances.len();
        let start = random.below(count);
        let (index, appliance) = (0..count)
            .map(|step| (start + step) % count)
            .filter_map(|index| Some((index, house.appliances.get(index)?)))
            .find(|(index, appliance)| !self.taken.contains(index) && fits(*index, appliance))?;
        self.claim(index);
        Some((index, appliance))
    }

    /// An appliance with a fitting value, and one such value.
    pub(crate) fn pick_some<T>(
        &mut self,
        random: &mut Random,
        list: impl Fn(&'a Appliance) -> Vec<T>,
    ) -> Option<(&'a Appliance, T)> {
        let house = self.house;
        let (index, appliance) = self.pick(random, |index, _| {
            house.appliances.get(index).is_some_and(|appliance| !list(appliance).is_empty())
        })?;
        debug_assert!(self.taken.contains(&index), "what is picked is claimed");
        let mut found = list(appliance);
        let at = random.below(found.len());
        Some((appliance, found.swap_remove(at)))
    }

    /// Lets go what an attempt has claimed.
    fn release(&mut self) {
        for index in self.claimed.drain(..) {
            self.taken.remove(&index);
        }
    }

    /// Marks an appliance as touched.
    pub(crate) fn claim(&mut self, index: usize) {
        self.taken.insert(index);
        self.claimed.push(index);
    }

    /// Whether an appliance is touched already.
    pub(crate) fn is_taken(&self, index: usize) -> bool {
        self.taken.contains(&index)
    }

    /// Who uses an address.
    pub(crate) fn owner(&self, bus: &str, address: &str) -> Option<usize> {
        self.owners.get(&(bus, address)).copied()
    }

    /// The row of an address of an appliance.
    pub(crate) fn row(&self, appliance: &Appliance, address: &str) -> Option<&'a Row> {
        self.house.row(appliance, address)
    }

    /// Whether anything hears this address as a central one.
    pub(crate) fn is_central(&self, appliance: &Appliance, address: &str) -> bool {
        self.house.heard.contains_key(&(appliance.bus.clone(), address.to_owned()))
    }
}

/// A planted mistake, as it lies in the changed texts.
#[derive(Clone, Debug)]
pub(crate) struct Expected {
    /// Its kind.
    pub(crate) kind: &'static str,
    /// Families of which a rule may find it.
    pub(crate) families: &'static [Family],
    /// Path and line (from 1) at any of which a finding is right.
    pub(crate) at: BTreeSet<(String, usize)>,
    /// Texts that a correction may name.
    pub(crate) right: Vec<String>,
    /// Whether it is a wrong address.
    pub(crate) subject: Subject,
    /// Lines of everything it touches: what else is found there follows from it.
    pub(crate) around: BTreeSet<(String, usize)>,
}

/// Texts with mistakes in them.
pub(crate) struct Planted {
    /// Path and text of each file.
    pub(crate) files: Vec<(String, String)>,
    /// The mistakes.
    pub(crate) mistakes: Vec<Expected>,
}

/// Plants one mistake of each of these kinds, as far as the house has places for them.
pub(crate) fn plant(site: &mut Site<'_>, kinds: &[&'static Kind], random: &mut Random) -> Planted {
    site.clear();
    let mut planted = Vec::new();
    for kind in kinds {
        for _ in 0..12 {
            if let Some(plant) = (kind.plant)(site, random) {
                planted.push((*kind, plant, std::mem::take(&mut site.claimed)));
                break;
            }
            site.release();
        }
    }
    let mut changes: Vec<&Change> = planted.iter().flat_map(|(_, plant, _)| &plant.changes).collect();
    changes.sort_by_key(|change| (change.spot.file, change.spot.bytes.start, change.spot.bytes.end));
    let text = Text::new(site.house, &changes);
    let mistakes = planted
        .iter()
        .map(|(kind, plant, claimed)| text.expected(site.house, kind, plant, claimed))
        .collect();
    Planted { files: text.files, mistakes }
}

/// Everything that a mistake touches: what it changes, the appliances in it and the rows of their addresses.
fn around_of<'a>(
    house: &'a House,
    plant: &'a Plant,
    claimed: &'a [usize],
) -> impl Iterator<Item = Spot> + 'a {
    let appliances = claimed.iter().filter_map(|index| house.appliances.get(*index));
    let touched = appliances.flat_map(|appliance| {
        let bytes = appliance.key.spot.bytes.start..appliance.node.bytes.end;
        let rows =
            appliance.addresses().filter_map(|value| Some(house.row(appliance, &value.text)?.line.clone()));
        rows.chain([Spot { file: appliance.file, bytes }])
    });
    plant.at.iter().cloned().chain(plant.changes.iter().map(|change| change.spot.clone())).chain(touched)
}

/// The changed texts, and where a byte of the old ones has gone.
struct Text<'a> {
    files: Vec<(String, String)>,
    /// For each file, changes as old start, old end and length of the new text.
    changes: Vec<Vec<(usize, usize, usize)>>,
    /// For each file, the first byte of each line.
    starts: Vec<Cow<'a, [usize]>>,
}

impl<'a> Text<'a> {
    fn new(house: &'a House, sorted: &[&Change]) -> Self {
        let mut text = Self { files: Vec::new(), changes: Vec::new(), starts: Vec::new() };
        for (file, ((path, old), starts)) in house.files.iter().zip(&house.starts).enumerate() {
            let (mut new, mut done, mut changes) = (String::with_capacity(old.len()), 0, Vec::new());
            for change in sorted.iter().filter(|change| change.spot.file == file) {
                assert!(done <= change.spot.bytes.start, "two mistakes change the same bytes of {path}");
                new.push_str(old.get(done..change.spot.bytes.start).unwrap_or_default());
                new.push_str(&change.text);
                done = change.spot.bytes.end;
                changes.push((change.spot.bytes.start, done, change.text.len()));
            }
            new.push_str(old.get(done..).unwrap_or_default());
            let starts = if changes.is_empty() { Cow::Borrowed(&**starts) } else { line_starts(&new).into() };
            text.starts.push(starts);
            text.files.push((path.clone(), new));
            text.changes.push(changes);
        }
        text
    }

    fn expected(&self, house: &House, kind: &Kind, plant: &Plant, claimed: &[usize]) -> Expected {
        let places = plant.at.iter().filter_map(|spot| self.line(spot.file, spot.bytes.start));
        let new = plant.changes.iter().filter_map(|change| self.line_of_new(change));
        let at: BTreeSet<_> = places.chain(new).collect();
        let mut around = at.clone();
        for spot in around_of(house, plant, claimed) {
            around.extend(self.lines(&spot));
        }
        Expected {
            kind: kind.name,
            families: kind.families,
            at,
            right: plant.right.clone(),
            subject: kind.subject,
            around,
        }
    }

    /// Where a byte has gone; the start of what replaced it, if it is no more.
    fn moved(&self, file: usize, byte: usize) -> usize {
        let (mut gone, mut come) = (0, 0);
        for &(start, end, length) in self.changes.get(file).into_iter().flatten() {
            if end <= byte && start < byte {
                gone += end - start;
                come += length;
            } else if start < byte {
                return start + come - gone;
            }
        }
        byte + come - gone
    }

    fn line(&self, file: usize, byte: usize) -> Option<(String, usize)> {
        let byte = self.moved(file, byte);
        let line = self.starts.get(file)?.partition_point(|start| *start <= byte);
        Some((self.files.get(file)?.0.clone(), line))
    }

    /// The line of what was inserted; none where text was replaced.
    fn line_of_new(&self, change: &Change) -> Option<(String, usize)> {
        let Spot { file, bytes } = &change.spot;
        if !bytes.is_empty() {
            return None;
        }
        let (path, line) = self.line(*file, bytes.start)?;
        Some((path, line + usize::from(change.text.starts_with('\n'))))
    }

    fn lines(&self, spot: &Spot) -> impl Iterator<Item = (String, usize)> + '_ {
        let first = self.line(spot.file, spot.bytes.start);
        let last = self.line(spot.file, spot.bytes.end);
        let (path, first) = first.unwrap_or_default();
        let last = last.map_or(first, |(_, line)| line);
        (first..=last).map(move |line| (path.clone(), line))
    }
}
