//! How well a checker finds planted mistakes.

use super::generate::Random;
use super::kinds::KINDS;
use super::plant::{Expected, Kind, Site, Subject, plant};
use super::reading::House;
use housewright::findings::Severity;
use housewright::rules::Family;
use std::collections::BTreeSet;
use std::fmt::Write;

/// A finding, as far as scoring looks at it.
#[derive(Clone, Debug)]
pub(crate) struct Seen {
    /// Name of its rule.
    pub(crate) rule: String,
    /// Family of its rule.
    pub(crate) family: Family,
    /// How much it weighs.
    pub(crate) severity: Severity,
    /// Path and line (from 1) of each place; the first is the primary one.
    pub(crate) places: Vec<(String, usize)>,
    /// Its help.
    pub(crate) help: String,
    /// The texts that its edit would put in.
    pub(crate) edits: Vec<String>,
}

/// What is measured: from the texts of a house to the findings.
pub(crate) type Checker<'a> = dyn Fn(&[(String, String)]) -> Vec<Seen> + 'a;

/// What became of the mistakes of one kind.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Tally {
    /// How many were planted.
    pub(crate) planted: usize,
    /// How many got a finding of a right family at a right line.
    pub(crate) found: usize,
    /// How many have something right to name.
    pub(crate) nameable: usize,
    /// How many findings named it.
    pub(crate) suggested: usize,
}

/// The scores of a checker.
#[derive(Clone, Debug, Default)]
pub(crate) struct Score {
    /// By kind, in the order of the list of kinds.
    pub(crate) kinds: Vec<Tally>,
    /// Errors and warnings where nothing was planted.
    pub(crate) false_alarms: usize,
    /// Rule, path and line of the first false alarms.
    pub(crate) examples: Vec<String>,
    /// Mistakes that were not found, the first of each kind.
    pub(crate) missed: Vec<String>,
    /// Appliances of the houses without a mistake, and errors and warnings about them.
    pub(crate) clean_appliances: usize,
    /// Errors and warnings about houses without a mistake.
    pub(crate) clean_alarms: usize,
    /// Those of the last house, as rule, path and text of the line: with a mistake planted they are no news.
    known: BTreeSet<(String, String, String)>,
}

impl Score {
    /// A score without anything.
    pub(crate) fn new() -> Self {
        Self { kinds: vec![Tally::default(); KINDS.len()], ..Self::default() }
    }

    /// Checks a house without a mistake.
    pub(crate) fn clean(&mut self, house: &House, checker: &Checker<'_>) {
        self.clean_appliances += house.appliances.len();
        self.known.clear();
        for seen in checker(&house.files).into_iter().filter(|seen| seen.severity > Severity::Note) {
            self.clean_alarms += 1;
            self.known.extend(mark(&house.files, &seen));
            self.example("clean", &seen);
        }
    }

    /// Plants one mistake of each kind, one at a time.
    pub(crate) fn single(&mut self, house: &House, checker: &Checker<'_>, random: &mut Random) {
        let mut site = Site::new(house);
        for kind in KINDS {
            self.run(&mut site, &[kind], checker, random);
        }
    }

    /// Plants `count` mistakes of different kinds at once.
    pub(crate) fn many(&mut self, house: &House, count: usize, checker: &Checker<'_>, random: &mut Random) {
        let mut site = Site::new(house);
        let mut kinds: Vec<&'static Kind> =
            KINDS.iter().filter(|kind| kind.subject != Subject::Alone).collect();
        random.shuffle(&mut kinds);
        kinds.truncate(count);
        self.run(&mut site, &kinds, checker, random);
    }

    fn run(
        &mut self,
        site: &mut Site<'_>,
        kinds: &[&'static Kind],
        checker: &Checker<'_>,
        random: &mut Random,
    ) {
        let planted = plant(site, kinds, random);
        if planted.mistakes.is_empty() {
            return;
        }
        let seen = checker(&planted.files);
        for mistake in &planted.mistakes {
            self.judge(mistake, &seen);
        }
        let followed =
            |place: &(String, usize)| planted.mistakes.iter().any(|mistake| mistake.around.contains(place));
        for alarm in seen.iter().filter(|seen| seen.severity > Severity::Note) {
            let known = mark(&planted.files, alarm).is_some_and(|mark| self.known.contains(&mark));
            if !known && !alarm.places.iter().any(followed) {
                self.false_alarms += 1;
                let kinds: Vec<_> = planted.mistakes.iter().map(|mistake| mistake.kind).collect();
                self.example(&kinds.join(" + "), alarm);
            }
        }
    }

    fn judge(&mut self, mistake: &Expected, seen: &[Seen]) {
        let fits = |seen: &&Seen| {
            mistake.families.contains(&seen.family)
                && seen.places.first().is_some_and(|place| mistake.at.contains(place))
        };
        let found: Vec<&Seen> = seen.iter().filter(fits).collect();
        let names = |seen: &&Seen| {
            mistake.right.iter().any(|right| says(&seen.help, right) || seen.edits.contains(right))
        };
        let index = KINDS.iter().position(|kind| kind.name == mistake.kind);
        let Some(tally) = index.and_then(|index| self.kinds.get_mut(index)) else { return };
        tally.planted += 1;
        tally.found += usize::from(!found.is_empty());
        tally.nameable += usize::from(!mistake.right.is_empty());
        tally.suggested += usize::from(found.iter().any(names));
        let told = self.missed.iter().filter(|line| line.starts_with(mistake.kind)).count();
        if found.is_empty() && told < 3 {
            let at: Vec<_> = mistake.at.iter().map(|(path, line)| format!("{path}:{line}")).collect();
            self.missed.push(format!(
                "{}: {} (right: {})",
                mistake.kind,
                at.join(" "),
                mistake.right.join(" ")
            ));
        }
    }

    fn example(&mut self, with: &str, seen: &Seen) {
        if self.examples.len() < 60 {
            let (path, line) = seen.places.first().cloned().unwrap_or_default();
            self.examples.push(format!("{}: {path}:{line} (with {with})", seen.rule));
        }
    }

    /// What the checks promise and this score does not keep: 98 % found, 90 % of wrong addresses put right, at most one
    /// false error or warning for 200 appliances.
    pub(crate) fn falls_short(&self) -> Vec<String> {
        let (all, addresses) = (self.total(false), self.total(true));
        let mut short = Vec::new();
        if all.found * 100 < all.planted * 98 {
            short.push(format!("found {} of {}", all.found, all.planted));
        }
        if addresses.suggested * 100 < addresses.nameable * 90 {
            short.push(format!(
                "named the right address {} of {} times",
                addresses.suggested, addresses.nameable
            ));
        }
        if self.clean_alarms * 200 > self.clean_appliances {
            short.push(format!("{} false alarms on {} appliances", self.clean_alarms, self.clean_appliances));
        }
        short
    }

    /// Sums over the kinds that are about an address, or over all.
    pub(crate) fn total(&self, addresses_only: bool) -> Tally {
        let mut total = Tally::default();
        let kinds = KINDS.iter().zip(&self.kinds);
        for (_, tally) in kinds.filter(|(kind, _)| !addresses_only || kind.subject == Subject::Address) {
            total.planted += tally.planted;
            total.found += tally.found;
            total.nameable += tally.nameable;
            total.suggested += tally.suggested;
        }
        total
    }

    /// The table by kind, as Markdown.
    pub(crate) fn table(&self) -> String {
        let mut out = String::from(
            "| kind of mistake | planted | found | right text named |\n| --- | ---: | ---: | ---: |\n",
        );
        for (kind, tally) in KINDS.iter().zip(&self.kinds) {
            row(&mut out, kind.name, tally);
        }
        row(&mut out, "**addresses**", &self.total(true));
        row(&mut out, "**all**", &self.total(false));
        let alarms = per(self.clean_alarms * 200, self.clean_appliances);
        let _ = writeln!(
            out,
            "\nErrors and warnings on houses without a mistake: {} on {} appliances ({alarms} per 200). Beside planted \
             mistakes, where nothing is wrong: {}.",
            self.clean_alarms, self.clean_appliances, self.false_alarms
        );
        out
    }
}

/// A finding by its rule, path and text of the line, which stays when lines above it come and go.
fn mark(files: &[(String, String)], seen: &Seen) -> Option<(String, String, String)> {
    let (path, line) = seen.places.first()?;
    let text = &files.iter().find(|(other, _)| other == path)?.1;
    Some((seen.rule.clone(), path.clone(), text.lines().nth(line.checked_sub(1)?)?.to_owned()))
}

/// Measures a checker: every house without a mistake, with one mistake of each kind `rounds` times, and with twenty at
/// once `rounds` times.
pub(crate) fn measure(houses: &[(String, House)], rounds: usize, seed: u64, checker: &Checker<'_>) -> Score {
    let (mut score, mut random) = (Score::new(), Random::new(seed));
    for (_, house) in houses {
        score.clean(house, checker);
        for _ in 0..rounds {
            score.single(house, checker, &mut random);
            score.many(house, 20, checker, &mut random);
        }
    }
    score
}

/// Whether a text names this one as a word of its own.
pub(crate) fn says(text: &str, right: &str) -> bool {
    let part = |letter: char| letter.is_alphanumeric() || letter == '/' || letter == '.';
    text.match_indices(right).any(|(at, _)| {
        let before = text.get(..at).and_then(|text| text.chars().next_back());
        let after = text.get(at + right.len()..).unwrap_or_default();
        let mut after = after.trim_start_matches('.').chars();
        !before.is_some_and(part)
            && !after.next().is_some_and(|letter| letter.is_alphanumeric() || letter == '/')
    })
}

fn row(out: &mut String, name: &str, tally: &Tally) {
    let share = |part: usize, whole: usize| {
        if whole == 0 { "–".to_owned() } else { format!("{} %", per(part * 100, whole)) }
    };
    let _ = writeln!(
        out,
        "| {name} | {} | {} | {} |",
        tally.planted,
        share(tally.found, tally.planted),
        share(tally.suggested, tally.nameable)
    );
}

/// A quotient with one decimal, rounded down.
fn per(part: usize, whole: usize) -> String {
    let tenths = part * 10 / whole.max(1);
    format!("{}.{}", tenths / 10, tenths % 10)
}
