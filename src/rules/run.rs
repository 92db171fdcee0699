//! Runs the rules, takes away what only follows from another finding, and what the description allows.

use super::copies::Copies;
use super::report::Report;
use super::{Context, Problems, Rule, corrections, identity, looks, wording, writing};
use crate::findings::{Finding, Findings, Severity, Summary};
use crate::house;
use crate::resolve::plan::Allow;
use crate::resolve::{self, Plan};
use crate::source::{self, FileId, Place, SyntaxFault};
use rustc_hash::{FxHashMap, FxHashSet};

/// All findings of a plan, folded and with what is allowed taken out, and their numbers.
pub(super) fn run(context: &Context<'_>, problems: &Problems) -> (Findings, Summary) {
    let misspelt = Misspelt::of(problems);
    let mut copies = Copies::of(&problems.house);
    let mut found = tell_problems(context, problems, &misspelt, &mut copies);
    found.extend(looks::at_appliances(context, problems.limits.findings));
    found.extend(looks::at_the_whole(context, problems.limits.findings));
    misspelt.take_out_lack_of_points(&mut found, context.plan);
    misspelt.take_out_empty_rooms(&mut found, context.plan);
    copies.take_out(&mut found);
    corrections::withdraw_unfit(&mut found, context);
    let mut found = fold(found);
    corrections::withdraw_rival(&mut found, context);
    let (mut kept, allowed) = allow(found, context.plan);
    tell_unused_rows_again(&mut kept, context);
    if kept.iter().any(|finding| finding.severity == Severity::Error) {
        // What could not be read or looked up may well use them.
        let unsure = [&super::table::unused_rows::RULE, &identity::house_without_appliances::RULE];
        kept.retain(|finding| !unsure.iter().any(|rule| finding.rule == rule.card.name));
    }
    if kept.iter().any(|finding| finding.rule == writing::file_not_included::RULE.card.name) {
        // They are there.
        kept.retain(|finding| finding.rule != identity::house_without_appliances::RULE.card.name);
    }
    take_out_rows_left_over(&mut kept);
    let mut findings: Findings = kept.into_iter().collect();
    findings.sort();
    let points = context.plan.appliances.iter().map(|appliance| appliance.points.len()).sum();
    let summary = Summary::new(&findings, allowed, context.plan.appliances.len(), points);
    (findings, summary)
}

/// What an appliance leaves unused is told when nothing else is wrong with it, and all was read.
fn take_out_rows_left_over(kept: &mut Vec<Finding>) {
    let name = super::table::rows_left_over::RULE.card.name;
    let is_wrong = |finding: &&Finding| finding.severity != Severity::Note;
    let all_read = !kept.iter().any(|finding| finding.severity == Severity::Error);
    let wrong: FxHashSet<String> =
        kept.iter().filter(is_wrong).filter_map(|finding| finding.appliance.clone()).collect();
    kept.retain(|finding| {
        let is_clear = finding.appliance.as_ref().is_none_or(|key| !wrong.contains(key));
        finding.rule != name || (all_read && is_clear)
    });
}

/// A row that another finding says to write is not unused: it was told.
fn tell_unused_rows_again(kept: &mut Vec<Finding>, context: &Context<'_>) {
    let name = super::table::unused_rows::RULE.card.name;
    if !kept.iter().any(|finding| finding.rule == name) {
        return;
    }
    let mut report = Report::default();
    let edits = || kept.iter().filter_map(|finding| finding.edit.as_ref());
    let replaced = edits().flat_map(|edit| &edit.replacements).map(|(_, text)| text.as_str());
    let added = edits().flat_map(|edit| &edit.additions).map(|addition| addition.value.as_str());
    let named: FxHashSet<&str> = replaced.chain(added).collect();
    if named.is_empty() && context.survey.misplaced.is_empty() {
        return;
    }
    super::table::unused_rows::tell_besides(context, &named, &mut report);
    kept.retain(|finding| finding.rule != name);
    kept.extend(report.into_findings());
}

fn tell_problems(
    context: &Context<'_>,
    problems: &Problems,
    misspelt: &Misspelt,
    copies: &mut Copies<'_>,
) -> Vec<Finding> {
    let mut report = Report::default();
    let no_text: FxHashSet<FileId> = problems
        .source
        .iter()
        .filter(|problem| matches!(problem, source::Problem::NotText { .. }))
        .map(|problem| problem.place().file)
        .collect();
    for problem in &problems.source {
        // A table that is no text has no headings either; that follows.
        if matches!(problem, source::Problem::NoHeading { place, .. } if no_text.contains(&place.file)) {
            continue;
        }
        wording::source(problem, context, &mut report);
    }
    for problem in problems.house.iter().filter(|problem| !misspelt.explains(problem)) {
        match copies.count(problem) {
            Some(0) => {}
            Some(count) => writing::key_used_twice::tell_of_copy(problem, count, &mut report),
            None => wording::house(problem, context, &mut report),
        }
    }
    for problem in &problems.classes {
        wording::class(problem, context, &mut report);
    }
    let halves = first_halves(&problems.source);
    let of_another_class = super::of_another_class::tell(&problems.resolve, context, &mut report);
    for problem in problems.resolve.iter().filter(|problem| !misspelt.explains_lookup(problem)) {
        let is_half = halves.contains(&(problem.place.file, problem.place.start));
        let is_told = super::of_another_class::unknown(problem).is_some()
            && problem.appliance.as_deref().is_some_and(|key| of_another_class.contains(key));
        if !is_half && !is_told {
            wording::resolve(problem, context, &mut report);
        }
    }
    for problem in &problems.ledger {
        wording::ledger(problem, context, &mut report);
    }
    report.into_findings()
}

/// Where values begin that a comma parts: what is wrong with the first half is told with the whole.
fn first_halves(problems: &[source::Problem]) -> FxHashSet<(FileId, u32)> {
    let is_parted = |problem: &&source::Problem| {
        matches!(problem, source::Problem::Syntax { fault: SyntaxFault::Parted { .. }, .. })
    };
    problems.iter().filter(is_parted).map(|problem| (problem.place().file, problem.place().start)).collect()
}

/// What rules say of an appliance without points, or of a point without addresses.
const LACK_OF_POINTS: [&str; 6] = [
    writing::missing_end::RULE.card.name,
    writing::point_without_address::RULE.card.name,
    super::feedback::missing_feedback::RULE.card.name,
    writing::missing_point::RULE.card.name,
    writing::points_do_not_go_together::RULE.card.name,
    super::feedback::points_worth_adding::RULE.card.name,
];

/// Keys that are missing because they are misspelt: the unknown key says it all.
struct Misspelt {
    /// Places of what lacks a key, in order, by that key.
    lacking: Vec<(&'static str, Place)>,
    /// Places of unknown keys that were meant to be such a key.
    meant: Vec<(&'static str, Place)>,
}

impl Misspelt {
    fn of(problems: &Problems) -> Self {
        let unknown = problems.source.iter();
        let meant =
            unknown.filter_map(|problem| Some((writing::unknown_key::meant(problem)?, problem.place())));
        let lacking =
            problems.house.iter().filter_map(|problem| Some((problem.missing_key()?, problem.place)));
        let (mut lacking, mut meant): (Vec<_>, Vec<_>) = (lacking.collect(), meant.collect());
        lacking.sort_unstable_by_key(|(key, place)| (*key, place.file, place.start));
        meant.sort_unstable_by_key(|(key, place)| (*key, place.file, place.start));
        Self { lacking, meant }
    }

    /// Takes out what is said of an appliance's points where the key above all of them is misspelt, or one in them.
    fn take_out_lack_of_points(&self, found: &mut Vec<Finding>, plan: &Plan) {
        let keys = ["points", "command", "feedback"];
        let of_points = self.meant.iter().filter(|(key, _)| keys.contains(key));
        let places: Vec<Place> = of_points.map(|(_, place)| *place).collect();
        if places.is_empty() {
            return;
        }
        let mut keys: Vec<(FileId, u32, &str)> = plan
            .appliances
            .iter()
            .map(|appliance| {
                (appliance.key.place.file, appliance.key.place.start, appliance.key.value.as_str())
            })
            .collect();
        keys.sort_unstable();
        let above = |place: &Place| {
            let next = keys.partition_point(|(file, start, _)| (*file, *start) <= (place.file, place.start));
            let last = next.checked_sub(1).and_then(|last| keys.get(last));
            last.filter(|(file, ..)| *file == place.file).map(|(.., key)| *key)
        };
        let lacking: FxHashSet<&str> = places.iter().filter_map(above).collect();
        found.retain(|finding| {
            let is_lacking = finding.appliance.as_deref().is_some_and(|key| lacking.contains(key));
            !(is_lacking && LACK_OF_POINTS.contains(&finding.rule))
        });
    }

    /// Takes out what is said of a room without appliances whose key above them is misspelt.
    fn take_out_empty_rooms(&self, found: &mut Vec<Finding>, plan: &Plan) {
        let misspelt = self.meant.iter().filter(|(key, _)| *key == "appliances").map(|(_, place)| *place);
        let misspelt: Vec<Place> = misspelt.collect();
        if misspelt.is_empty() {
            return;
        }
        let mut rooms: Vec<Place> = plan.rooms.iter().map(|room| room.key.place).collect();
        rooms.sort_unstable();
        let above = |place: &Place| {
            let next = rooms.partition_point(|room| (room.file, room.start) <= (place.file, place.start));
            next.checked_sub(1).and_then(|last| rooms.get(last)).copied()
        };
        let empty: FxHashSet<Place> = misspelt.iter().filter_map(above).collect();
        found.retain(|finding| {
            finding.rule != writing::empty_room::RULE.card.name || !empty.contains(&finding.primary.place)
        });
    }

    /// Whether nothing was found because the key above all that could be is misspelt.
    fn explains_lookup(&self, problem: &resolve::Problem) -> bool {
        let key = match problem.kind {
            resolve::ProblemKind::UnknownBus { .. } => "buses",
            resolve::ProblemKind::UnknownBridge { .. } | resolve::ProblemKind::NoBridge => "bridges",
            _ => return false,
        };
        self.meant.iter().any(|(meant, _)| *meant == key)
    }

    /// Whether an unknown key that was meant to be the missing one stands behind this place and before the next that
    /// lacks it.
    fn explains(&self, problem: &house::Problem) -> bool {
        let Some(key) = problem.missing_key() else { return false };
        let at = |place: Place| (key, place.file, place.start);
        let behind = |list: &[(&'static str, Place)]| {
            let next =
                list.partition_point(|(key, place)| (*key, place.file, place.start) <= at(problem.place));
            list.get(next).filter(|(other, place)| *other == key && place.file == problem.place.file).copied()
        };
        behind(&self.meant).is_some_and(|(_, unknown)| {
            behind(&self.lacking).is_none_or(|(_, lacking)| unknown.start < lacking.start)
        })
    }
}

/// One mistake gives one finding: where a rule's card says that it explains another's finding at the same place, the
/// other is left out. What stays weighs as much as what it explains: a status of the wrong type cannot work, whatever led
/// to it.
fn fold(mut found: Vec<Finding>) -> Vec<Finding> {
    let mut explained: FxHashMap<(&'static str, Place), Vec<usize>> = FxHashMap::default();
    for (index, finding) in found.iter().enumerate() {
        for &folded in by_name(finding.rule).map_or(&[][..], |rule| rule.card.folds) {
            for place in places(finding) {
                explained.entry((folded, place)).or_default().push(index);
            }
        }
    }
    if explained.is_empty() {
        return found;
    }
    let mut weights: Vec<(usize, Severity)> = Vec::new();
    let mut is_explained: Vec<bool> = Vec::with_capacity(found.len());
    for finding in &found {
        // A finding of many places is explained where all of them are.
        let places = || std::iter::once(&finding.primary.place).chain(&finding.others);
        let by = |place: &Place| explained.get(&(finding.rule, *place));
        let gone = places().all(|place| by(place).is_some());
        is_explained.push(gone);
        if gone {
            let by = by(&finding.primary.place).into_iter().flatten();
            weights.extend(by.map(|index| (*index, finding.severity)));
        }
    }
    for (index, severity) in weights {
        found.get_mut(index).into_iter().for_each(|own| own.severity = own.severity.max(severity));
    }
    let mut gone = is_explained.into_iter();
    found.retain(|_| gone.next() != Some(true));
    found
}

fn places(finding: &Finding) -> impl Iterator<Item = Place> {
    let edited = finding.edit.iter().flat_map(|edit| edit.replacements.iter().map(|(place, _)| *place));
    let related = finding.related.iter().map(|label| label.place);
    std::iter::once(finding.primary.place).chain(related).chain(edited)
}

fn by_name(name: &str) -> Option<&'static Rule> {
    super::find(name)
}

/// Takes out what the description allows, counts it, and tells what an `allow` is wrong about.
fn allow(found: Vec<Finding>, plan: &Plan) -> (Vec<Finding>, usize) {
    let has_errors = found.iter().any(|finding| finding.severity == Severity::Error);
    let silencers = Silencers::of(plan, has_errors);
    let (mut used, mut refused): (FxHashSet<Place>, FxHashSet<Place>) = Default::default();
    let mut kept = Vec::with_capacity(found.len());
    let mut allowed = 0;
    for finding in found {
        match silencers.of_finding(&finding) {
            Some(place) if finding.severity != Severity::Error => {
                used.insert(place);
                allowed += 1;
            }
            silencer => {
                refused.extend(silencer);
                kept.push(finding);
            }
        }
    }
    let mut report = Report::default();
    for silencer in silencers.judged {
        if !used.contains(&silencer.rule.place) {
            wording::idle_allow(silencer, refused.contains(&silencer.rule.place), &mut report);
        }
    }
    kept.extend(report.into_findings());
    (kept, allowed)
}

/// Every `allow` of a plan, to be looked up by rule and by appliance, room or house.
struct Silencers<'a> {
    /// Those that are idle if they hide nothing. Of what could not be read whole a rule may have nothing to say yet.
    judged: Vec<&'a Allow>,
    appliances: FxHashMap<(&'a str, &'a str), Place>,
    rooms: FxHashMap<(&'a str, &'a str), Place>,
    house: FxHashMap<&'a str, Place>,
}

impl<'a> Silencers<'a> {
    fn of(plan: &'a Plan, has_errors: bool) -> Self {
        let mut silencers = Self {
            judged: Vec::new(),
            appliances: FxHashMap::default(),
            rooms: FxHashMap::default(),
            house: FxHashMap::default(),
        };
        for allow in &plan.allows {
            silencers.house.insert(&allow.rule.value, allow.rule.place);
            silencers.judged.extend((!has_errors).then_some(allow));
        }
        for room in &plan.rooms {
            for allow in &room.allows {
                silencers.rooms.insert((&room.key.value, &allow.rule.value), allow.rule.place);
                silencers.judged.extend((!has_errors).then_some(allow));
            }
        }
        for appliance in &plan.appliances {
            for allow in &appliance.allows {
                silencers.appliances.insert((&appliance.key.value, &allow.rule.value), allow.rule.place);
                silencers.judged.extend((!appliance.incomplete).then_some(allow));
            }
        }
        silencers
    }

    fn of_finding(&self, finding: &Finding) -> Option<Place> {
        let appliance =
            finding.appliance.as_deref().and_then(|key| self.appliances.get(&(key, finding.rule)));
        let room = || finding.room.as_deref().and_then(|key| self.rooms.get(&(key, finding.rule)));
        appliance.or_else(room).or_else(|| self.house.get(finding.rule)).copied()
    }
}
