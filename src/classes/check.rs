//! Whether everything that a class can become is what the data model demands.

use super::blueprint::{Blueprint, ClusterRule, Hook, Joining, LinkRule, Steps};
use super::breach::Breach;
use super::choices::choices_within;
use super::class::{Class, End, Need, PointSpec};
use super::conformity::breaches;
use super::problem::Problem;
use super::shape::{Chosen, Direction, Shape, ShapeFault, ShapedLink, ShapedPart, Shown, Target};
use super::shaping::misfit;
use crate::knx::DptId;
use crate::source::Place;
use rustc_hash::FxHashSet;

/// Choices that are looked at: more than any class of use has, few enough to be done at once.
const MOST_CHOICES: usize = 2_000;

/// What looking at all classes of a house's own may cost, in the measure of [`cost`]: half a second or so.
///
/// They share it. Where it does not go far enough a class is looked at as a part of what it can become, and, as always, as what
/// appliances of it are built as.
pub(super) const WORK: usize = 1_000_000;

/// What looking at a class as one thing that it can become costs, about.
fn cost(class: &Class) -> usize {
    let Blueprint { layers, links, .. } = &class.blueprint;
    let clusters = layers.iter().flat_map(|layer| &layer.clusters);
    let attributes: usize = clusters.map(|rule| 1 + rule.attributes.len() + rule.commands.len()).sum();
    let steps: usize = class.blueprint.chains().map(|steps| 4 * steps.count() + steps.values()).sum();
    40 + 2 * (class.points.len() + class.settings.len() + class.combinations.len() + attributes)
        + links.len() * links.len() / 32
        + 2 * links.len()
        + steps / 4
}

/// Looks at what the class can become, as far as the work goes; each problem is told once, for the first choice that shows it.
pub(super) fn check(class: &Class, work: usize) -> Vec<Problem> {
    let mut checker = Checker::of(class);
    let affordable = (work / cost(class)).max(1);
    for (index, chosen) in choices_within(class, MOST_CHOICES, affordable).iter().enumerate() {
        match class.make(chosen) {
            Ok(shape) => checker.shape(&shape, chosen),
            // Numbers at the ends of their ranges need not go together; the defaults must.
            Err(faults) if index == 0 => checker.faults(&faults),
            Err(_) => {}
        }
    }
    checker.problems
}

/// Looks at what appliances of the class are built as, where the class allows what they have.
pub(super) fn check_built(class: &Class, built: &[Chosen]) -> Vec<Problem> {
    let mut checker = Checker { is_built: true, ..Checker::of(class) };
    let mut seen = FxHashSet::default();
    for chosen in built.iter().filter(|chosen| seen.insert(*chosen) && is_allowed(class, chosen)) {
        if let Ok(shape) = class.shape(chosen) {
            checker.shape(&shape, chosen);
        }
    }
    checker.problems
}

/// Whether an appliance may have these points: what is wrong with others is not the class's fault.
fn is_allowed(class: &Class, chosen: &Chosen) -> bool {
    let all_ends = [End::Command, End::Feedback, End::Listens];
    let fits = |(index, spec): (u16, &PointSpec)| {
        let Some(point) = chosen.points.iter().find(|point| point.point == index) else {
            return spec.need != Need::Required;
        };
        all_ends.into_iter().all(|end| match (point.dpt(end), spec.end(end)) {
            (Some(dpt), Some(spec)) => spec.dpts.contains(&dpt),
            (Some(_), None) => false,
            (None, spec) => end == End::Listens || spec.is_none_or(|spec| spec.need != Need::Required),
        })
    };
    (0..).zip(&class.points).all(fits)
        && class.unmet(chosen).all(|combination| combination.need != Need::Required)
}

struct Checker<'a> {
    class: &'a Class,
    home: Place,
    /// Whether appliances are what is looked at.
    is_built: bool,
    problems: Vec<Problem>,
}

impl<'a> Checker<'a> {
    fn of(class: &'a Class) -> Self {
        Self { class, home: class.blueprint.home, is_built: false, problems: Vec::new() }
    }
}

impl<'a> Checker<'a> {
    fn tell(&mut self, problem: Problem) {
        let same = |other: &Problem| match (other, &problem) {
            (Problem::Breach { breach: a, .. }, Problem::Breach { breach: b, .. }) => a == b,
            (a, b) => a == b,
        };
        if !self.problems.iter().any(same) {
            self.problems.push(problem);
        }
    }

    fn faults(&mut self, faults: &[ShapeFault]) {
        for fault in faults {
            let (place, settings) = match fault {
                ShapeFault::Value { cluster, attribute, settings, .. } => {
                    (self.place_of(None, cluster, Some(attribute)), settings)
                }
                ShapeFault::Step { point, settings } => {
                    let rule = self.class.blueprint.links.iter().find(|rule| {
                        rule.point == *point
                            && matches!(&rule.steps, Steps::Made { settings: used, .. } if used == settings)
                    });
                    (rule.map_or(self.home, |rule| rule.steps_place), settings)
                }
            };
            let name = |index: &u16| {
                self.class.settings.get(usize::from(*index)).map(|setting| setting.name.clone())
            };
            let settings = settings.iter().filter_map(name).collect();
            self.tell(Problem::Settings { place, settings, fault: None });
        }
    }

    fn shape(&mut self, shape: &Shape, chosen: &Chosen) {
        for breach in breaches(shape) {
            if !self.is_built && self.has_links_of(&breach) {
                continue;
            }
            let place = self.place(&breach);
            self.tell(Problem::Breach { place, breach, points: names(self.class, chosen) });
        }
        for part in &shape.parts {
            self.fits(part, chosen);
            self.reported_once(part);
        }
    }

    /// Whether a part without a link has some for other appliances: then it counts where one is built so.
    fn has_links_of(&self, breach: &Breach) -> bool {
        let Breach::NoLink { part } = breach else { return false };
        let index = self.class.parts.iter().position(|spec| spec.name == *part);
        self.class.blueprint.links.iter().any(|rule| Some(usize::from(rule.part)) == index)
    }

    fn fits(&mut self, part: &ShapedPart, chosen: &Chosen) {
        for link in part.links() {
            let point = chosen.points.iter().find(|point| point.point == link.point);
            let turned = point.is_some_and(|point| point.reversed || point.range.is_some());
            let rule = self.rule(part, link);
            let by_setting = rule.is_some_and(|rule| self.is_by_setting(rule, link.dpt));
            let detail = misfit(link, &part.clusters, turned, by_setting);
            if let Some(detail) = detail {
                let place = rule.map_or(self.home, |rule| rule.steps_place);
                let target = format!("{}.{}", link.cluster, link.target.name());
                self.tell_unfit(place, link.dpt.to_string(), target, detail);
            }
        }
    }

    /// One conversion that does not fit is told once, with all the datapoint types that show it, and for each of these with
    /// the first thing that does not fit.
    fn tell_unfit(&mut self, place: Place, dpt: String, target: String, detail: String) {
        for problem in &mut self.problems {
            let Problem::Unfit { place: at, dpts, detail: told, .. } = problem else { continue };
            if *at != place {
                continue;
            }
            if dpts.contains(&dpt) {
                return;
            }
            if *told == detail {
                dpts.push(dpt);
                return;
            }
        }
        self.problems.push(Problem::Unfit { place, dpts: vec![dpt], target, detail });
    }

    /// Whether a setting draws a line between the bus and the Matter end of a wire.
    fn is_by_setting(&self, rule: &LinkRule, dpt: DptId) -> bool {
        let units = self.class.blueprint.units.get(usize::from(rule.point)).into_iter().flatten();
        let units = units.filter(|units| units.dpt == dpt);
        let near_bus = units.flat_map(|units| std::iter::once(&units.from_bus).chain(&units.to_bus));
        near_bus.chain([&rule.steps]).any(Steps::draw_line_by_setting)
    }

    /// Two points that report the same attribute would overwrite each other.
    fn reported_once(&mut self, part: &ShapedPart) {
        let reported = |link: &&ShapedLink| {
            link.direction == Direction::FromBus
                && link.shown == Some(Shown::Reported)
                && matches!(link.target, Target::Attribute(_))
        };
        let links: Vec<_> = part.links().filter(reported).map(|link| (link, self.rule(part, link))).collect();
        for (index, (first, one)) in links.iter().enumerate() {
            let rest = links.iter().skip(index + 1);
            let same = |(other, _): &&(&ShapedLink, _)| {
                other.cluster == first.cluster && other.target == first.target
            };
            for (_, other) in rest.filter(same) {
                let (Some(one), Some(other)) = (one, other) else { continue };
                if one.joint == Joining::Never || one.joint != other.joint {
                    let attribute = format!("{}.{}", first.cluster, first.target.name());
                    self.tell(Problem::SameAttribute { place: other.place, first: one.place, attribute });
                }
            }
        }
    }

    /// The rule that a link was made from.
    fn rule(&self, part: &ShapedPart, link: &ShapedLink) -> Option<&'a LinkRule> {
        let part = self.class.parts.iter().position(|spec| spec.name == part.name)?;
        self.class.blueprint.links.iter().find(|rule| {
            let hook = match (link.direction, link.end) {
                (Direction::ToBus, _) => rule.hook == Hook::ToCommand,
                (Direction::FromBus, End::Feedback) => matches!(rule.hook, Hook::Feedback | Hook::State),
                (Direction::FromBus, End::Command) => matches!(rule.hook, Hook::Command | Hook::State),
                (Direction::FromBus, End::Listens) => matches!(rule.hook, Hook::Listens | Hook::State),
            };
            hook && usize::from(rule.part) == part
                && rule.point == link.point
                && rule.cluster.name == link.cluster
                && rule.target == link.target
                && (rule.dpts.is_empty() || rule.dpts.contains(&link.dpt))
                // Under other conditions it may be put together otherwise.
                && match (&rule.joint, link.direction) {
                    (Joining::Together(joint), Direction::FromBus) => link.joint.as_ref() == Some(joint),
                    _ => link.joint.is_none(),
                }
        })
    }

    /// What in the file comes nearest to a breach.
    fn place(&self, breach: &Breach) -> Place {
        match breach {
            Breach::DeviceType { part, name, .. } => self.place_of_type(part, name),
            Breach::Need { part, device_type, cluster, demanded, .. } => {
                if *demanded {
                    self.place_of_type(part, device_type)
                } else {
                    self.place_of(Some(part), cluster, None)
                }
            }
            Breach::Component { part, device_type, .. } => self.place_of_type(part, device_type),
            Breach::Choice { part, within, .. } => {
                let cluster = self.find(Some(part), within).next().map(|rule| rule.place);
                cluster.unwrap_or_else(|| self.place_of_type(part, within))
            }
            Breach::Cluster { part, name, .. } => self.place_of(Some(part), name, None),
            Breach::Element { part, cluster, name, demanded, .. } => {
                self.place_of(Some(part), cluster, (!demanded).then_some(name))
            }
            Breach::NoElement { part, cluster, name, .. }
            | Breach::Value { part, cluster, attribute: name, .. }
            | Breach::NoValue { part, cluster, attribute: name, .. }
            | Breach::Told { part, cluster, attribute: name, .. } => {
                self.place_of(Some(part), cluster, Some(name))
            }
            Breach::NoDeviceType { part } | Breach::NoLink { part } => self.place_of_part(part),
            Breach::Idle { part, cluster, .. } => self.place_of(Some(part), cluster, None),
            Breach::LinkEnd { cluster, target, .. } => {
                let mut rules = self.class.blueprint.links.iter();
                let rule = rules.find(|rule| rule.cluster.name == *cluster && rule.target.name() == target);
                rule.map_or(self.home, |rule| rule.place)
            }
        }
    }

    fn find<'s>(&'s self, part: Option<&'s str>, cluster: &'s str) -> impl Iterator<Item = &'s ClusterRule> {
        let part = part.and_then(|part| self.class.parts.iter().position(|spec| spec.name == part));
        let layers = self.class.blueprint.layers.iter();
        let layers = layers.filter(move |layer| part.is_none_or(|part| usize::from(layer.part) == part));
        layers.flat_map(|layer| &layer.clusters).filter(move |rule| rule.cluster.name == cluster)
    }

    /// Where a cluster or one of its elements is spoken of; the class's name if nowhere.
    fn place_of(&self, part: Option<&str>, cluster: &str, element: Option<&String>) -> Place {
        let rules: Vec<_> = self.find(part, cluster).collect();
        let of_element = element.and_then(|name| {
            rules.iter().rev().find_map(|rule| {
                let attribute = rule.attributes.iter().find(|(attribute, _)| attribute.name == *name);
                let feature = rule.features.iter().find(|(code, _)| code == name);
                attribute.map(|(_, value)| value.place).or(feature.map(|(_, place)| *place))
            })
        });
        of_element.or(rules.first().map(|rule| rule.place)).unwrap_or(self.home)
    }

    fn place_of_part(&self, part: &str) -> Place {
        let part = self.class.parts.iter().position(|spec| spec.name == part);
        part.and_then(|part| self.class.blueprint.parts.get(part)).map_or(self.home, |rule| rule.place)
    }

    fn place_of_type(&self, part: &str, name: &str) -> Place {
        let part = self.class.parts.iter().position(|spec| spec.name == part);
        let layers = self.class.blueprint.layers.iter().filter(|layer| Some(usize::from(layer.part)) == part);
        let mut types = layers.filter_map(|layer| layer.device_types.as_ref()).flatten();
        types.find(|(device_type, _)| device_type.name == name).map_or(self.home, |(_, place)| *place)
    }
}

/// The points of a choice, with their addresses.
fn names(class: &Class, chosen: &Chosen) -> Vec<String> {
    let ends = [(End::Command, "command"), (End::Feedback, "feedback")];
    let all = chosen.points.iter().flat_map(|point| {
        let name = class.points.get(usize::from(point.point)).map_or("", |spec| spec.name.as_str());
        ends.iter()
            .filter(|(end, _)| point.dpt(*end).is_some())
            .map(move |(_, word)| format!("{name}.{word}"))
    });
    all.collect()
}
