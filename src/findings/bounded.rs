//! So many findings of one rule as somebody reads, and how many more there are.

use super::{Finding, Findings, Label, Severity};
use crate::source::Limits;
use rustc_hash::FxHashMap;
use std::borrow::Cow;

/// Findings of one rule that are left out.
struct LeftOut<'a> {
    /// Those of the rule so far.
    count: usize,
    /// The first that is not told.
    first: Option<&'a Finding>,
    /// The heaviest weight among those that are not told.
    worst: Severity,
}

impl Findings {
    /// The same in which each rule tells `most` findings at most, the first ones, and in the place of the next how many more
    /// there are. What counts all of them was made before.
    #[must_use]
    pub fn bounded(&self, most: usize) -> Cow<'_, Self> {
        let mut rules: FxHashMap<&str, LeftOut<'_>> = FxHashMap::default();
        for finding in self {
            let none = LeftOut { count: 0, first: None, worst: Severity::Note };
            let rule = rules.entry(finding.rule).or_insert(none);
            rule.count += 1;
            if rule.count > most {
                rule.first.get_or_insert(finding);
                rule.worst = rule.worst.max(finding.severity);
            }
        }
        rules.retain(|_, rule| rule.first.is_some());
        if rules.is_empty() {
            return Cow::Borrowed(self);
        }
        let mut told: FxHashMap<&str, usize> = FxHashMap::default();
        let short = self.iter().filter_map(|finding| {
            let Some(rule) = rules.get(finding.rule) else { return Some(finding.clone()) };
            let count = told.entry(finding.rule).or_default();
            *count += 1;
            match (*count).cmp(&(most + 1)) {
                std::cmp::Ordering::Less => Some(finding.clone()),
                std::cmp::Ordering::Equal => rule.stands_for(most),
                std::cmp::Ordering::Greater => None,
            }
        });
        Cow::Owned(short.collect())
    }
}

impl LeftOut<'_> {
    /// What is told in the place of all that are left out.
    fn stands_for(&self, most: usize) -> Option<Finding> {
        let first = self.first?;
        let more = self.count - most;
        Some(Finding {
            rule: first.rule,
            severity: self.worst,
            message: format!("{more} more of `{}` from here on, not told one by one", first.rule),
            primary: Label { place: first.primary.place, text: "the next one".to_owned() },
            related: Vec::new(),
            others: Vec::new(),
            evidence: None,
            on_site: None,
            help: Some(help(self.count)),
            appliance: None,
            room: None,
            edit: None,
        })
    }
}

/// How to see so many.
fn help(count: usize) -> String {
    let factor = count.div_ceil(Limits::default().findings_of_a_rule.max(1));
    if factor > Limits::MOST_FACTOR as usize {
        return "mend those before it, and check again".to_owned();
    }
    format!("mend those before it, and check again; `--limits {factor}` tells all of them")
}
