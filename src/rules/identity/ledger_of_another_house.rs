//! Another house's ledger.

use crate::findings::{Certainty, Severity};
use crate::ledger::Problem;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "ledger-of-another-house",
        family: Family::Identity,
        severity: Severity::Error,
        summary: "the ledger belongs to another house",
        on_site: "Its numbers and ids would be given a second time: two houses would claim the same endpoints.",
        remedy: "Take the ledger of another house out of this folder; a copied house begins without one.",
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

/// Says whose it is; where the house's id is that one but for a slip, at the house.
pub(in crate::rules) fn tell(problem: &Problem, context: &Context<'_>, report: &mut Report) {
    let Problem::OtherHouse { place, found } = problem else { return };
    let house = &context.plan.house;
    let said = match house.id_place.filter(|_| is_slip(&house.id, found)) {
        Some(id_place) => {
            let message = format!("the house's id is `{}`, and `{found}` in its ledger", house.id);
            Said::new(message, id_place, "another id")
                .with(*place, "the ledger's")
                .help(format!(
                    "write `{found}`; or, if this is a copy of that house, take the ledger out of this folder: a copied \
                     house begins without one"
                ))
                .replace(found, Certainty::ToBeLookedAt)
        }
        None => Said::new(format!("this is the ledger of the house `{found}`"), *place, "another house"),
    };
    report.add(&RULE.card, said);
}

/// Whether an id is another one mistyped. Ids that differ in a number are those of two houses.
fn is_slip(id: &str, other: &str) -> bool {
    let digits = |id: &str| id.chars().filter(char::is_ascii_digit).collect::<String>();
    let most = if other.len() < 6 { 1 } else { 2 };
    digits(id) == digits(other) && strsim::osa_distance(id, other) <= most
}
