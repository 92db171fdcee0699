//! Another house's ledger.

use crate::findings::{Certainty, Severity};
use crate::ledger::Problem;
use crate::resolve::Plan;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use rustc_hash::FxHashSet;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "ledger-of-another-house",
        family: Family::Identity,
        severity: Severity::Error,
        otherwise: &[],
        summary: "the ledger belongs to another house",
        on_site: "Its numbers and ids would be given a second time: two houses would claim the same endpoints.",
        remedy: "Write the id of the ledger again: a house keeps it for ever. Where the house was copied to make another one, take the ledger out of the copy.",
        source: Source::Format,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 10 } }
--- ledger.yaml
housewright-ledger: 1
house: other-house
#      ^^^^^^^^^^^
",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 10 } }
--- ledger.yaml
housewright-ledger: 1
house: test-house
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Says whose it is. Where the appliances are those of the ledger, or the id is the ledger's but for a slip, somebody has
/// changed the id, and the ledger is the one thing that must stay.
pub(in crate::rules) fn tell(problem: &Problem, context: &Context<'_>, report: &mut Report) {
    let Problem::OtherHouse { place, found, keys } = problem else { return };
    let house = &context.plan.house;
    let is_same = is_slip(&house.id, found) || has_most(keys, context.plan);
    let said = match house.id_place.filter(|_| is_same) {
        Some(id_place) => {
            let message = format!("the house's id is `{}`, and `{found}` in its ledger", house.id);
            Said::new(message, id_place, "another id")
                .with(*place, "the ledger's")
                .help(format!(
                    "write `id: {found}` again: with another id every appliance is a new one and loses its rooms, scenes and \
                     automations; only `name` may change. If this folder is a copy that is to be another house, take its ledger \
                     and its build out: a copied house begins without them"
                ))
                .replace(found, Certainty::ToBeLookedAt)
        }
        None => Said::new(format!("this is the ledger of the house `{found}`"), *place, "another house"),
    };
    report.add(&RULE.card, said);
}

/// Whether at least half of the keys are those of appliances that are described.
fn has_most(keys: &[String], plan: &Plan) -> bool {
    let described: FxHashSet<&str> = plan.appliances.iter().map(|it| it.key.value.as_str()).collect();
    let had = keys.iter().filter(|key| described.contains(key.as_str())).count();
    had > 0 && 2 * had >= keys.len()
}

/// Whether an id is another one mistyped. Ids that differ in a number are those of two houses.
fn is_slip(id: &str, other: &str) -> bool {
    let digits = |id: &str| id.chars().filter(char::is_ascii_digit).collect::<String>();
    let most = if other.len() < 6 { 1 } else { 2 };
    digits(id) == digits(other) && strsim::osa_distance(id, other) <= most
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(id: &str, ledgers: &str, is: bool) {
        assert_eq!(is_slip(id, ledgers), is, "{id} {ledgers}");
    }

    #[test]
    fn a_slip_is_small_and_in_no_number() {
        check("heron-warf", "heron-wharf", true);
        check("heron-wahfr", "heron-wharf", true);
        check("hreon-wahfr", "heron-wharf", false);
        check("rede", "reed", true);
        check("raed", "reed", true);
        check("rood", "reed", false);
        check("quaay", "quays", false);
        check("quarys", "quarry", true);
        check("quaris", "quarry", true);
        check("flat-12", "flat-13", false);
        check("flta-12", "flat-12", true);
    }
}
