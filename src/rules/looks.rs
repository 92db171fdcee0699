//! What the rules find where they look for themselves: appliance by appliance, and in the house as a whole.

use super::report::Report;
use super::{Context, Look, RULES, writing};
use crate::findings::Finding;
use crate::pieces::{self, Quota};
use crate::resolve::plan::Appliance;
use crate::source::{Counted, Problem};
use std::sync::Arc;

/// How many appliances one thread looks at before it asks for more.
pub(super) const APPLIANCES_AT_ONCE: usize = 256;

/// What rules find of appliances and their points, the first so many.
pub(super) fn at_appliances(context: &Context<'_>, most: usize) -> Vec<Finding> {
    let appliances = &context.plan.appliances;
    let quota = quota(appliances.len().div_ceil(APPLIANCES_AT_ONCE), most);
    let found = pieces::flat(appliances.len(), APPLIANCES_AT_ONCE, |range, findings| {
        let mut report = Report::of_piece(&quota, range.start / APPLIANCES_AT_ONCE);
        for appliance in appliances.get(range).unwrap_or_default() {
            if report.is_full() {
                break;
            }
            look_at_appliance(appliance, context, &mut report);
        }
        findings.append(&mut report.into_findings());
    });
    cut(found, most)
}

fn look_at_appliance(appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    for rule in RULES {
        match rule.look {
            Look::Appliance(look) => look(appliance, context, report),
            Look::Point(look) => {
                for point in &appliance.points {
                    look(point, appliance, context, report);
                }
            }
            Look::Problem | Look::Whole(_) => {}
        }
    }
}

/// One more than there may be, to see where it is too much.
fn quota(pieces: usize, most: usize) -> Arc<Quota> {
    Arc::new(Quota::new(pieces, most.saturating_add(1)))
}

/// The first so many findings, and where there are more, that there are.
fn cut(mut found: Vec<Finding>, most: usize) -> Vec<Finding> {
    if let Some(place) = found.get(most).map(|beyond| beyond.primary.place) {
        found.truncate(most);
        let (counted, limit) = (Counted::Findings, most as u64);
        let mut report = Report::default();
        writing::over_limit::tell(&Problem::TooMany { place, counted, limit, path: None }, &mut report);
        found.extend(report.into_findings());
    }
    found
}

/// What rules find of the house as a whole, the first so many.
pub(super) fn at_the_whole(context: &Context<'_>, most: usize) -> Vec<Finding> {
    let looks = RULES.iter().filter_map(|rule| match rule.look {
        Look::Whole(look) => Some(look),
        Look::Problem | Look::Appliance(_) | Look::Point(_) => None,
    });
    let looks: Vec<_> = looks.collect();
    let quota = quota(looks.len(), most);
    let found = pieces::flat(looks.len(), 1, |range, findings| {
        for at in range {
            let mut report = Report::of_piece(&quota, at);
            if let Some(look) = looks.get(at) {
                look(context, &mut report);
            }
            findings.append(&mut report.into_findings());
        }
    });
    cut(found, most)
}

#[cfg(test)]
mod tests {
    use crate::source::{Limits, Sources};

    /// The findings of a house of some rooms with a lamp that listens to these addresses, by rule, within limits.
    fn check(listens: &str, limits: &Limits, expected: &[(&str, usize)]) {
        let lamp = |room: usize| {
            format!(
                "  r{room}: {{ name: R{room}, appliances: {{ l{room}: {{ name: L{room}, class: on-off-light, points: {{ switching: \
                 {{ command: 1/1/{room}, feedback: 1/2/{room}, listens: [{listens}] }} }} }} }} }}\n"
            )
        };
        let rooms: String = (1..=3).map(lamp).collect();
        let text = format!(
            "housewright: 1\nhouse: {{ id: mill, name: Mill }}\nbuses: {{ main: {{}} }}\nbridges: {{ b: {{ name: B, capacity: 9 }} }}\n\
             rooms:\n{rooms}"
        );
        let inspection = crate::inspect(Sources::from_texts(&[("house.yaml", &text)]), limits);
        let findings = &inspection.judged.findings;
        let mut rules: Vec<&str> = findings.iter().map(|finding| finding.rule).collect();
        rules.sort_unstable();
        let counted: Vec<(&str, usize)> =
            rules.chunk_by(|a, b| a == b).map(|same| (same[0], same.len())).collect();
        assert_eq!(counted, expected);
        assert_eq!(inspection.judged.summary.errors, findings.errors());
    }

    #[test]
    fn mistakes_are_told_up_to_a_limit_the_first_ones() {
        let limits = |mistakes| Limits { mistakes, ..Limits::default() };
        let listens = "x, y, z, w";
        check(listens, &limits(12), &[("malformed-address", 12)]);
        check(listens, &limits(11), &[("malformed-address", 11), ("over-limit", 1)]);
        check(listens, &limits(5), &[("malformed-address", 5), ("over-limit", 1)]);
    }

    #[test]
    fn findings_are_made_up_to_a_limit() {
        let limits = |findings| Limits { findings, ..Limits::default() };
        let listens = "1/0/0, 1/0/0, 1/0/0";
        let all = crate::source::Limits::default();
        check(listens, &all, &[("address-twice-in-appliance", 3)]);
        check(listens, &limits(2), &[("address-twice-in-appliance", 2), ("over-limit", 1)]);
    }
}
