//! The chain of a link, in the order in which it is run.

use super::{Shaper, evaluate};
use crate::classes::blueprint::{LinkRule, Steps};
use crate::classes::class::PointSpec;
use crate::classes::shape::{ChosenPoint, Direction, ShapeFault, ShapedCluster};
use crate::convert::{Chain, Step};
use crate::knx::DptId;

impl Shaper<'_> {
    /// The steps of a link: those of the template between those of the installation, with its limits.
    pub(super) fn chain(
        &mut self,
        rule: &LinkRule,
        point: &ChosenPoint,
        direction: Direction,
        dpt: DptId,
        clusters: &[ShapedCluster],
    ) -> Option<Chain> {
        let own = self.steps(rule.point, &rule.steps)?;
        let units = self.class.blueprint.units.get(usize::from(rule.point));
        let units = units.and_then(|units| units.iter().find(|units| units.dpt == dpt));
        let spec = self.class.points.get(usize::from(rule.point));
        let installed = Chain { steps: spec.map_or_else(Vec::new, |spec| installed(spec, point, dpt)) };
        let mut chain = Chain::default();
        match direction {
            Direction::FromBus => {
                if let Some(units) = units {
                    chain.steps.extend(self.steps(rule.point, &units.from_bus)?.steps);
                }
                chain.steps.extend(installed.steps);
                chain.steps.extend(own.steps);
            }
            Direction::ToBus => {
                chain.steps.extend(own.steps);
                chain.steps.extend(self.turned(rule, &installed)?.steps);
                match units.map(|units| (units.to_bus.as_ref(), &units.from_bus)) {
                    Some((Some(to_bus), _)) => chain.steps.extend(self.steps(rule.point, to_bus)?.steps),
                    Some((None, from_bus)) => {
                        let from_bus = self.steps(rule.point, from_bus)?;
                        chain.steps.extend(self.turned(rule, &from_bus)?.steps);
                    }
                    None => {}
                }
            }
        }
        super::finish::finish(&mut chain, rule, direction, dpt, clusters);
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

/// What the installation has otherwise than the class: the range that it uses, the direction that it counts in.
fn installed(spec: &PointSpec, point: &ChosenPoint, dpt: DptId) -> Vec<Step> {
    let mut steps = Vec::new();
    if let (Some(to), Some([low, high])) = (spec.range, point.range) {
        steps.push(Step::Scale { from: [low.get(), high.get()], to });
    }
    if point.reversed {
        steps.push(match dpt.main {
            1 => Step::Not,
            3 => Step::Within { name: "control".to_owned(), steps: Chain { steps: vec![Step::Not] } },
            _ => {
                let [low, high] = spec.range.unwrap_or([0.0, 100.0]);
                Step::Scale { from: [low, high], to: [high, low] }
            }
        });
    }
    steps
}
