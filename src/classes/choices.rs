//! The choices that a class leaves to an appliance: which points, addresses, datapoint types and settings.

use super::class::{Class, End, EndSpec, Need, PointSpec};
use super::setting::{Number, SettingKind, SettingSpec, SettingValue};
use super::shape::{Chosen, ChosenPoint};
use crate::sort;
use rustc_hash::FxHashSet;

/// Choices that show everything a class can become, none of them against its required combinations.
///
/// Every combination of points and their addresses with every word of a setting, if these are not more than `most`;
/// otherwise the fullest, the barest, and what differs from one of them in one thing. Then, for the fullest, each other
/// datapoint type, each reversal, a range, and the ends of each number.
pub fn choices(class: &Class, most: usize) -> Vec<Chosen> {
    choices_within(class, most, usize::MAX)
}

/// The first of them, so many at most; those that are against a required combination are counted, too.
pub(super) fn choices_within(class: &Class, most: usize, affordable: usize) -> Vec<Chosen> {
    let mut all: Vec<Chosen> = Vec::new();
    let mut seen: FxHashSet<Chosen> = FxHashSet::default();
    let mut left = affordable;
    let mut add = |chosen: Chosen| {
        let is_new = left > 0 && seen.insert(chosen.clone());
        left -= usize::from(is_new);
        if is_new && class.unmet(&chosen).all(|combination| combination.need != Need::Required) {
            all.push(chosen);
        }
        left > 0
    };
    let points: Vec<Vec<Option<ChosenPoint>>> =
        (0..).zip(&class.points).map(|(index, spec)| options(index, spec)).collect();
    let settings: Vec<Vec<Option<SettingValue>>> = class.settings.iter().map(words).collect();
    let sets = Sets { points, settings };
    sets.each(most, &mut add);
    let full = sets.at(&vec![0; sets.points.len() + sets.settings.len()]);
    for chosen in variations(class, &full, affordable) {
        add(chosen);
    }
    all
}

/// The options of each point and setting, the fullest first and the barest last.
struct Sets {
    points: Vec<Vec<Option<ChosenPoint>>>,
    settings: Vec<Vec<Option<SettingValue>>>,
}

impl Sets {
    fn sizes(&self) -> Vec<usize> {
        self.points.iter().map(Vec::len).chain(self.settings.iter().map(Vec::len)).collect()
    }

    /// Gives each to `add` until that has enough.
    fn each(&self, most: usize, add: &mut impl FnMut(Chosen) -> bool) {
        let sizes = self.sizes();
        let count = sizes.iter().try_fold(1_usize, |count, size| count.checked_mul(*size));
        if count.is_some_and(|count| count <= most) {
            let mut at = vec![0; sizes.len()];
            loop {
                if !add(self.at(&at)) || !count_up(&mut at, &sizes) {
                    return;
                }
            }
        }
        let full = vec![0; sizes.len()];
        let bare: Vec<usize> = sizes.iter().map(|size| size.saturating_sub(1)).collect();
        for base in [full, bare] {
            if !add(self.at(&base)) {
                return;
            }
            for (place, size) in sizes.iter().enumerate() {
                for option in 0..*size {
                    let mut at = base.clone();
                    if let Some(slot) = at.get_mut(place) {
                        *slot = option;
                    }
                    if !add(self.at(&at)) {
                        return;
                    }
                }
            }
        }
    }

    /// The choice with these options.
    fn at(&self, at: &[usize]) -> Chosen {
        let (points, settings) = at.split_at_checked(self.points.len()).unwrap_or((at, &[]));
        let points = self.points.iter().zip(points).filter_map(|(options, at)| options.get(*at)?.clone());
        let settings = (0..).zip(self.settings.iter().zip(settings));
        let settings =
            settings.filter_map(|(index, (options, at))| Some((index, options.get(*at)?.clone()?)));
        Chosen { points: points.collect(), settings: settings.collect() }
    }
}

/// Counts up in mixed bases; false when it comes round.
fn count_up(at: &mut [usize], sizes: &[usize]) -> bool {
    for (digit, size) in at.iter_mut().zip(sizes) {
        *digit += 1;
        if *digit < *size {
            return true;
        }
        *digit = 0;
    }
    false
}

/// What an appliance may have of a point, with its usual datapoint types: all of it first, nothing last.
fn options(index: u16, spec: &PointSpec) -> Vec<Option<ChosenPoint>> {
    let usual = |end: &EndSpec| end.dpts.first().copied();
    let command = spec.command.as_ref().and_then(usual);
    let feedback = spec.feedback.as_ref().and_then(usual);
    let needed = |end: &Option<EndSpec>| end.as_ref().is_some_and(|end| end.need == Need::Required);
    let point = |command, feedback, listens| ChosenPoint {
        point: index,
        command,
        feedback,
        listens,
        reversed: false,
        range: None,
    };
    let mut all = vec![point(command, feedback, command.filter(|_| spec.listens))];
    if command.is_some() && feedback.is_some() {
        if !needed(&spec.feedback) {
            all.push(point(command, None, command.filter(|_| spec.listens)));
        }
        if !needed(&spec.command) {
            all.push(point(None, feedback, None));
        }
    }
    let mut all: Vec<_> = all.into_iter().map(Some).collect();
    if spec.need != Need::Required {
        all.push(None);
    }
    all
}

/// The values that make another appliance of it: words, flags, and whether an optional number is given.
fn words(spec: &SettingSpec) -> Vec<Option<SettingValue>> {
    match &spec.kind {
        SettingKind::Choice { words } => {
            let mut all: Vec<_> =
                words.iter().map(|(word, _)| Some(SettingValue::Text(word.clone()))).collect();
            if spec.default.is_none() {
                all.push(None);
            }
            all
        }
        SettingKind::Flag => vec![Some(SettingValue::Flag(true)), Some(SettingValue::Flag(false))],
        SettingKind::Number { range: [_, high], .. } if spec.default.is_none() => {
            vec![Number::new(*high).map(SettingValue::Number), None]
        }
        SettingKind::Text { .. } if spec.default.is_none() => {
            vec![Some(SettingValue::Text(spec.name.clone())), None]
        }
        SettingKind::Number { .. } | SettingKind::Text { .. } => vec![None],
    }
}

/// Choices that differ from one in a datapoint type, a reversal, a range or a number; so many of the first three at most.
fn variations(class: &Class, full: &Chosen, most: usize) -> Vec<Chosen> {
    let mut all = Vec::new();
    let mut vary = |index: u16, change: &dyn Fn(&mut ChosenPoint)| {
        if all.len() >= most {
            return;
        }
        let mut chosen = full.clone();
        chosen.points.iter_mut().filter(|point| point.point == index).for_each(change);
        all.push(chosen);
    };
    for (index, spec) in (0..).zip(&class.points) {
        let ends = [End::Command, End::Feedback].into_iter().filter_map(|end| spec.end(end));
        for dpt in ends.flat_map(|end| end.dpts.iter().copied()) {
            let accepts = |end: End| spec.end(end).is_some_and(|end| end.dpts.contains(&dpt));
            vary(index, &|point| {
                point.command = if accepts(End::Command) { Some(dpt) } else { point.command };
                point.listens = if accepts(End::Listens) { Some(dpt) } else { point.listens };
                point.feedback = if accepts(End::Feedback) { Some(dpt) } else { point.feedback };
            });
        }
        if spec.reversible {
            vary(index, &|point| point.reversed = true);
        }
        if let Some([low, high]) = spec.range {
            let inner = |part: f64| Number::new(low + (high - low) * part);
            let range = inner(0.1).zip(inner(0.9)).map(|(low, high)| [low, high]);
            vary(index, &|point| point.range = range);
        }
    }
    for (index, spec) in (0..).zip(&class.settings) {
        let SettingKind::Number { range, .. } = &spec.kind else { continue };
        for end in range.iter().filter_map(|end| Number::new(*end)) {
            let mut chosen = full.clone();
            chosen.settings.retain(|(setting, _)| *setting != index);
            chosen.settings.push((index, SettingValue::Number(end)));
            sort::by_key(&mut chosen.settings, |(setting, _)| *setting);
            all.push(chosen);
        }
    }
    all
}
