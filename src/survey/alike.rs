//! How many appliances of which class have just these points: what one without a class is probably like.

use super::Survey;
use crate::resolve::Plan;
use rustc_hash::FxHashMap;

/// Appliances that are looked at: more would not tell more.
const LOOKED_AT: usize = 1_000;

/// For the names of points in order, how many appliances of each class have them and no others.
pub(super) type Alike = FxHashMap<Vec<String>, FxHashMap<String, usize>>;

impl Survey {
    /// How many appliances of a class have just these points.
    pub fn alike(&self, plan: &Plan, points: &[String], class: &str) -> usize {
        let alike = self.alike.get_or_init(|| of(plan));
        let mut sorted = points.to_vec();
        sorted.sort_unstable();
        alike.get(&sorted).and_then(|classes| classes.get(class)).copied().unwrap_or_default()
    }
}

fn of(plan: &Plan) -> Alike {
    let mut alike = Alike::default();
    for appliance in plan.appliances.iter().take(LOOKED_AT) {
        let mut points: Vec<String> =
            appliance.points.iter().map(|point| point.name(appliance).to_owned()).collect();
        points.sort_unstable();
        let class = appliance.class.value.name.clone();
        *alike.entry(points).or_default().entry(class).or_default() += 1;
    }
    alike
}
