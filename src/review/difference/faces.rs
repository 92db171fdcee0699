//! What it means that a link of an endpoint came or went: what else there is for the same command or status.

use super::{Inside, link_end};
use crate::bridge::definition::{Cluster, Link, Shown};
use crate::classes::Direction;
use crate::review::address::{Address, address};
use crate::review::change::Kind;
use crate::review::effect;
use rustc_hash::{FxHashMap, FxHashSet};
use std::cell::OnceCell;

/// Of more wires for one thing than these, one more or less is taken to do nothing new: nobody wires so many by hand.
pub(super) const SEVERAL: usize = 32;

/// What the two endpoints show: says what it means that a link came or went.
pub(super) struct Faces<'a> {
    old: Face<'a>,
    new: Face<'a>,
}

/// One endpoint's clusters by name, the ends that have a wire, and what is asked of few links only.
struct Face<'a> {
    links: &'a [Link],
    clusters: FxHashMap<&'a str, &'a Cluster>,
    wired: FxHashMap<Way<'a>, Vec<&'a Link>>,
    /// Ends with wires that take a scale to the bus, and where to.
    graded: OnceCell<FxHashSet<Graded<'a>>>,
    /// The same ends, wherever their wires go.
    graded_ends: OnceCell<FxHashSet<(&'a str, &'a str)>>,
    /// Where wires go to the bus.
    sent_to: OnceCell<FxHashSet<Spot<'a>>>,
    /// Clusters with a wire to the bus after which a state is shown that nothing reports; with its point, where the wire
    /// does not say what is shown.
    guessed: OnceCell<FxHashSet<(&'a str, Option<&'a str>)>>,
}

/// A direction, a cluster, and its command, attribute or event.
type Way<'a> = (Direction, &'a str, &'a str);

fn way(link: &Link) -> Way<'_> {
    (link.direction, &link.cluster, link_end(link))
}

/// A cluster, its command or attribute, a bus and an address.
type Graded<'a> = (&'a str, &'a str, &'a str, Address<'a>);

/// A bus and an address.
type Spot<'a> = (&'a str, Address<'a>);

fn spot(link: &Link) -> Spot<'_> {
    (&link.bus, address(&link.group))
}

fn place(link: &Link) -> Graded<'_> {
    (&link.cluster, link_end(link), &link.bus, address(&link.group))
}

/// Whether links of one end to one address send what they are asked for, in more than two degrees. What only moves or steps
/// but is stopped in time, towards an estimated value, is as good.
fn are_graded(links: &[&Link]) -> bool {
    links.iter().any(|link| link.shown == Some(Shown::Estimated)) || effect::is_graded(links)
}

impl<'a> Face<'a> {
    fn of(endpoint: Inside<'a>) -> Self {
        let mut wired: FxHashMap<Way, Vec<&Link>> = FxHashMap::default();
        for link in endpoint.links {
            wired.entry(way(link)).or_default().push(link);
        }
        Self {
            clusters: endpoint.clusters.iter().map(|cluster| (cluster.name.as_str(), cluster)).collect(),
            wired,
            links: endpoint.links,
            graded: OnceCell::new(),
            graded_ends: OnceCell::new(),
            sent_to: OnceCell::new(),
            guessed: OnceCell::new(),
        }
    }

    fn wires(&self, link: &Link) -> bool {
        self.wired.contains_key(&way(link))
    }

    /// Whether other wires do all that a wire of the other side does, which has none of its like here.
    ///
    /// Where several points together say what an attribute is, each of them counts: what one told no other tells for it, unless
    /// it came in its place.
    fn does_all_of(&self, link: &Link, other: &Self) -> bool {
        let [here, there] =
            [self, other].map(|face| face.wired.get(&way(link)).map_or(&[][..], Vec::as_slice));
        if here.len() > SEVERAL || there.len() > SEVERAL {
            return true;
        }
        if link.joint.is_none() {
            return effect::covers(here, link);
        }
        if here.iter().any(|one| one.point == link.point) {
            return true;
        }
        let known: FxHashSet<&str> = there.iter().map(|one| one.point.as_str()).collect();
        let came: Vec<&Link> =
            here.iter().copied().filter(|one| !known.contains(one.point.as_str())).collect();
        !came.is_empty() && effect::covers(&came, link)
    }

    /// Whether the gateway carries out a command without a link of its own, through the one that asks for what it arrives at.
    fn arrives(&self, link: &Link) -> bool {
        let command = link.command.as_deref().filter(|_| link.direction == Direction::ToBus);
        let at = command.and_then(|command| command.strip_prefix("Step"));
        let absolute = match (link.cluster.as_str(), at) {
            (_, None) => return false,
            ("LevelControl", Some(with)) => format!("MoveToLevel{with}"),
            ("ClosureDimension", _) => "SetTarget".to_owned(),
            (_, Some(what)) => format!("MoveTo{what}"),
        };
        self.wired.contains_key(&(Direction::ToBus, link.cluster.as_str(), absolute.as_str()))
    }

    fn graded(&self) -> &FxHashSet<Graded<'a>> {
        self.graded.get_or_init(|| {
            let mut by_place: FxHashMap<Graded, Vec<&Link>> = FxHashMap::default();
            for link in self.links.iter().filter(|link| link.direction == Direction::ToBus) {
                by_place.entry(place(link)).or_default().push(link);
            }
            by_place.into_iter().filter(|(_, links)| are_graded(links)).map(|(place, _)| place).collect()
        })
    }

    /// Whether what the link is for has a wire that takes a scale to the bus.
    fn grades(&self, link: &Link) -> bool {
        let ends = || self.graded().iter().map(|(cluster, end, ..)| (*cluster, *end)).collect();
        self.graded_ends.get_or_init(ends).contains(&(&*link.cluster, link_end(link)))
    }

    /// Whether it has one where the link goes.
    fn grades_there(&self, link: &Link) -> bool {
        link.direction == Direction::ToBus && self.graded().contains(&place(link))
    }

    /// Whether the endpoint sends commands of its own to where a link is wired.
    fn sends_to(&self, link: &Link) -> bool {
        let sent_to = self.sent_to.get_or_init(|| {
            let to_bus = self.links.iter().filter(|link| link.direction == Direction::ToBus);
            to_bus.map(spot).collect()
        });
        sent_to.contains(&spot(link))
    }

    /// Whether the state that the link from the bus was for is still shown, after what was asked for.
    fn guesses(&self, link: &Link) -> bool {
        let guessed = self.guessed.get_or_init(|| {
            let unsaid = |link: &'a Link| link.shown.is_none().then_some(link.point.as_str());
            let to_bus = self.links.iter().filter(|link| link.direction == Direction::ToBus);
            let guessed = to_bus.filter(|link| link.shown != Some(Shown::Reported));
            guessed.map(|link| (link.cluster.as_str(), unsaid(link))).collect()
        });
        [None, Some(link.point.as_str())].iter().any(|point| guessed.contains(&(&*link.cluster, *point)))
    }

    /// Whether the cluster is there, and whether it has the attribute or command that the link is for.
    fn has(&self, link: &Link) -> (bool, bool) {
        let Some(cluster) = self.clusters.get(link.cluster.as_str()) else { return (false, false) };
        let end = match (&link.attribute, &link.command) {
            (Some(attribute), _) => cluster.attributes.contains_key(attribute),
            (None, Some(command)) => cluster.commands.contains(command),
            (None, None) => true,
        };
        (true, end)
    }
}

impl<'a> Faces<'a> {
    pub(super) fn of(old: Inside<'a>, new: Inside<'a>) -> Self {
        Self { old: Face::of(old), new: Face::of(new) }
    }

    /// Whether what the link is for took a scale to the bus and still goes there, but no longer as a scale.
    fn is_reduced(&self, link: &Link) -> bool {
        link.direction == Direction::ToBus
            && self.new.wires(link)
            && self.old.grades(link)
            && !self.new.grades(link)
            && self.new.has(link) == (true, true)
    }

    /// Whether a command that stays as it is for controllers did more than it does.
    pub(super) fn does_less(&self, old: &Link, new: &Link) -> bool {
        (old.dpt != new.dpt || old.conversion != new.conversion)
            && self.old.grades_there(old)
            && self.is_reduced(old)
    }

    /// Whether a status comes from an address that the endpoint sends its own commands to, or no longer does: it is what
    /// was asked for, not what happened.
    pub(super) fn echoes(&self, old: &Link, new: &Link) -> bool {
        old.direction == Direction::FromBus
            && (old.read || new.read)
            && self.old.sends_to(old) != self.new.sends_to(new)
    }

    /// The new cluster of a link.
    pub(super) fn cluster_now(&self, link: &Link) -> Option<&'a Cluster> {
        self.new.clusters.get(link.cluster.as_str()).copied()
    }

    pub(super) fn kind_of_removed(&self, link: &Link) -> Kind {
        let ((had_cluster, had_end), (has_cluster, has_end)) = (self.old.has(link), self.new.has(link));
        if had_cluster && !has_cluster || had_end && !has_end {
            Kind::FunctionRemoved
        } else if self.old.grades_there(link) && self.is_reduced(link) {
            Kind::FunctionReduced
        } else if self.new.wires(link) {
            if self.new.does_all_of(link, &self.old) { Kind::WiresRemoved } else { Kind::FunctionUnwired }
        } else if self.new.arrives(link) {
            Kind::WiresRemoved
        } else if link.direction == Direction::FromBus && link.attribute.is_some() && self.new.guesses(link) {
            Kind::StatusSource
        } else {
            Kind::FunctionUnwired
        }
    }

    pub(super) fn kind_of_added(&self, link: &Link) -> Kind {
        let ((had_cluster, had_end), (has_cluster, has_end)) = (self.old.has(link), self.new.has(link));
        if has_cluster && !had_cluster || has_end && !had_end {
            Kind::InterfaceChanged
        } else if self.is_reduced(link) {
            Kind::FunctionReduced
        } else if self.old.wires(link) {
            if self.old.does_all_of(link, &self.new) { Kind::WiresAdded } else { Kind::FunctionWired }
        } else if self.old.arrives(link) {
            Kind::WiresAdded
        } else if link.direction == Direction::FromBus && link.attribute.is_some() {
            Kind::StatusSource
        } else {
            Kind::FunctionWired
        }
    }
}
