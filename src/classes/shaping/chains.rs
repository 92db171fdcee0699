//! The chain of a link, in the order in which it is run.

use super::{Shaper, evaluate};
use crate::classes::blueprint::{LinkRule, Steps};
use crate::classes::class::PointSpec;
use crate::classes::setting::Number;
use crate::classes::shape::{ChosenPoint, Direction, ShapeFault, ShapedCluster};
use crate::convert::{Chain, Step};
use crate::knx::{self, DptId};
use std::sync::Arc;

impl Shaper<'_> {
    /// The steps of a link: those of the template between those of the installation, with its limits.
    pub(super) fn chain(
        &mut self,
        rule: &LinkRule,
        point: &ChosenPoint,
        direction: Direction,
        dpt: DptId,
        clusters: &[Arc<ShapedCluster>],
    ) -> Option<Chain> {
        let mut own = self.steps(rule.point, &rule.steps)?;
        let spec = self.class.points.get(usize::from(rule.point))?;
        let units = self.class.blueprint.units.get(usize::from(rule.point));
        let units = units.and_then(|units| units.iter().find(|units| units.dpt == dpt));
        let used = used_range(spec, point, dpt).filter(|_| !rule.outside_range);
        let (bits, numbers) = reversal(spec, point, dpt);
        let mut chain = Chain::default();
        match direction {
            Direction::FromBus => {
                chain.steps.extend(bits);
                match (used, units) {
                    (Some(used), _) => {
                        // What is ignored first is a value of the bus, also where only a part of its range is used.
                        let ignored =
                            own.steps.iter().take_while(|step| matches!(step, Step::Ignore { .. })).count();
                        chain.steps.extend(own.steps.drain(..ignored));
                        chain.steps.push(used);
                    }
                    (None, Some(units)) => chain.steps.extend(self.steps(rule.point, &units.from_bus)?.steps),
                    (None, None) => {}
                }
                chain.steps.extend(numbers);
                chain.steps.extend(own.steps);
            }
            Direction::ToBus => {
                chain.steps.extend(own.steps);
                // A reversal is its own inverse.
                chain.steps.extend(numbers);
                match (used, units.map(|units| (units.to_bus.as_ref(), &units.from_bus))) {
                    (Some(used), _) => {
                        let used = Chain { steps: vec![used] };
                        chain.steps.extend(self.turned(rule, &used)?.steps);
                    }
                    (None, Some((Some(to_bus), _))) => {
                        chain.steps.extend(self.steps(rule.point, to_bus)?.steps);
                    }
                    (None, Some((None, from_bus))) => {
                        let from_bus = self.steps(rule.point, from_bus)?;
                        chain.steps.extend(self.turned(rule, &from_bus)?.steps);
                    }
                    (None, None) => {}
                }
                chain.steps.extend(bits);
            }
        }
        super::finish::finish(&mut chain, rule, direction, dpt, clusters);
        chain.steps.shrink_to_fit();
        Some(chain)
    }

    /// The inverse of steps near the bus.
    fn turned(&mut self, rule: &LinkRule, steps: &Chain) -> Option<Chain> {
        let turned = steps.inverse().ok();
        if turned.is_none() {
            self.faults.push(ShapeFault::Step { point: rule.point, settings: Vec::new() });
        }
        turned
    }

    fn steps(&mut self, point: u16, steps: &Steps) -> Option<Chain> {
        match steps {
            Steps::Fixed(chain) => Some(chain.clone()),
            Steps::Made { steps, settings, .. } => match evaluate::chain(self.class, self.chosen, steps) {
                Ok(chain) => chain,
                Err(evaluate::NoResult) => {
                    self.faults.push(ShapeFault::Step { point, settings: settings.clone() });
                    None
                }
            },
        }
    }
}

/// An installation that uses a part of the range: its bus values to those that the class counts in.
fn used_range(spec: &PointSpec, point: &ChosenPoint, dpt: DptId) -> Option<Step> {
    let ends = point.range.filter(|_| !matches!(dpt.main, 1 | 3))?;
    Some(Step::Scale { from: on_the_bus(ends, dpt), to: spec.range? })
}

/// The ends of a range as the type can say them. A blind that is at 95 % is closed: its telegram says 94.9 %, and no other
/// comes nearer.
pub(in crate::classes) fn on_the_bus(ends: [Number; 2], dpt: DptId) -> [f64; 2] {
    let given = ends.map(Number::get);
    let nearest = given.map(|end| nearest(end, dpt).unwrap_or(end));
    let [low, high] = nearest;
    if low < high { nearest } else { given }
}

/// The value of the type that is nearest to a number.
fn nearest(number: f64, dpt: DptId) -> Option<f64> {
    let dpt = knx::dpt::find(dpt)?;
    let payload = knx::codec::encode_number(dpt, number).ok()?;
    knx::codec::decode_number(dpt, &payload).ok()
}

/// A bus that counts the other way round: truth values and directions are turned next to the bus, numbers in the range
/// of the class; a number without one, such as power or current, gets the other sign, unless it is one of the shares and
/// angles of main type 5. A point that takes no `reversed` is left as it is.
fn reversal(spec: &PointSpec, point: &ChosenPoint, dpt: DptId) -> (Option<Step>, Option<Step>) {
    if !point.reversed || !spec.reversible {
        return (None, None);
    }
    match dpt.main {
        1 => (Some(Step::Not), None),
        3 => {
            (Some(Step::Within { name: "control".to_owned(), steps: Chain { steps: vec![Step::Not] } }), None)
        }
        _ if spec.range.is_none() && dpt.main != 5 => {
            (None, Some(Step::Scale { from: [0.0, 1.0], to: [0.0, -1.0] }))
        }
        _ => {
            let [low, high] = spec.range.unwrap_or([0.0, 100.0]);
            (None, Some(Step::Scale { from: [low, high], to: [high, low] }))
        }
    }
}
