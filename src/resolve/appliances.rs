//! Rooms and appliances: classes, points, addresses, settings.

use super::keys::Keys;
use super::plan::{Appliance, Confirmed, Point, Role, Room, Setting, Wire};
use super::problem::{Problem, ProblemKind};
use super::told::Told;
use super::{composed, composed_name, given_allows};
use crate::classes::{Class, ClassLibrary, End, Exposure, PointSpec, SettingFault, SettingKind, SettingSpec};
use crate::house::model;
use crate::knx::{self, Dpt, DptId, DptRef, GroupAddress, Notation};
use crate::pieces::Quota;
use crate::source::{Entries, Given, Place, Scalar, Spanned};
use std::sync::{Arc, OnceLock};

/// What appliances are looked up in.
pub(super) struct Surroundings<'a> {
    pub(super) notation: Notation,
    pub(super) buses: &'a Keys,
    pub(super) bridges: &'a Keys,
    pub(super) library: &'a ClassLibrary,
}

/// Looks up one room and its appliances.
pub(super) fn room(
    index: usize,
    key: Spanned<String>,
    written: model::Room,
    surroundings: &Surroundings<'_>,
    quota: &Quota,
) -> (Room, Vec<Appliance>, Vec<Problem>) {
    let mut looking = Looking {
        surroundings,
        told: Told::of_room(quota, index),
        room: key.value.clone(),
        appliance: None,
        without_bus: Vec::new(),
        without_bridge: Vec::new(),
    };
    let bus = looking.bus(&written.bus);
    let bridge = looking.bridge(&written.bridge);
    let entries = written.appliances.into_here().map(|entries| entries.value.0).unwrap_or_default();
    let described = entries.len();
    let mut appliances = Vec::with_capacity(described);
    for (key, appliance) in entries {
        let Some(appliance) = appliance.into_here() else { continue };
        looking.appliance = Some(key.value.clone());
        appliances.extend(looking.appliance(index, key, appliance.value, bus, bridge));
    }
    looking.tell_of_without(key.place);
    let name = written.name.into_here().map_or_else(|| key.clone(), composed_name);
    let floor = written.floor.into_here().map(composed_name);
    let (bus, bridge) = (written.bus.into_here(), written.bridge.into_here());
    let room = Room { name, floor, allows: given_allows(written.allow), bus, bridge, described, key };
    (room, appliances, looking.told.problems)
}

/// Looking things up for one room, and the problems so far.
struct Looking<'a> {
    surroundings: &'a Surroundings<'a>,
    told: Told<'a>,
    room: String,
    appliance: Option<String>,
    /// Appliances that do not say which of several buses they are on.
    without_bus: Vec<Spanned<String>>,
    /// Appliances that do not say which of several bridges they are on.
    without_bridge: Vec<Spanned<String>>,
}

impl Looking<'_> {
    fn tell(&mut self, place: Place, kind: ProblemKind) {
        let (appliance, room) = (&self.appliance, &self.room);
        self.told.tell(|| Problem { place, appliance: appliance.clone(), room: Some(room.clone()), kind });
    }

    fn appliance(
        &mut self,
        room: usize,
        key: Spanned<String>,
        written: model::Appliance,
        room_bus: Option<usize>,
        room_bridge: Option<usize>,
    ) -> Option<Appliance> {
        let unread = is_unread(&written);
        let before = self.told.found;
        let without = self.without_bus.len() + self.without_bridge.len();
        let bus = self.bus(&written.bus).or(room_bus);
        let bridge = self.bridge(&written.bridge).or(room_bridge);
        let class = self.class(written.class.into_here()?)?;
        let bus = bus.unwrap_or_else(|| self.the_only_bus(&key));
        let bridge = bridge.unwrap_or_else(|| self.the_only_bridge(&key));
        let confirmed_unread = matches!(written.confirmed, Given::Broken(_));
        let points = self.points(written.points, &class.value);
        let settings = self.settings(written.settings, &class.value);
        let asked = written.bridged.here().map(|bridged| (bridged.value, bridged.place));
        let shown = asked.is_none_or(|(shown, _)| shown);
        let bridged = shown && matches!(class.value.exposure, Exposure::Bridged);
        let name = written.name.into_here().map_or_else(|| key.clone(), composed_name);
        let confirmed = written
            .confirmed
            .into_here()
            .map(|confirmed| Box::new(confirmed.map(|written| confirmed_by(*written))));
        let placed = self.without_bus.len() + self.without_bridge.len() == without;
        let incomplete = unread || self.told.found > before || !placed;
        let (formerly, allows) = (written.formerly.into_here(), given_allows(written.allow));
        Some(Appliance {
            name,
            class,
            room,
            bus,
            bridge,
            points,
            settings,
            formerly,
            bridged,
            asked_for: asked.filter(|(shown, _)| *shown).map(|(_, place)| place),
            confirmed,
            confirmed_unread,
            allows,
            incomplete,
            shape: OnceLock::new(),
            key,
        })
    }

    fn class(&mut self, name: Spanned<String>) -> Option<Spanned<Arc<Class>>> {
        match self.surroundings.library.get(&name.value) {
            Some(class) => Some(Spanned::new(class, name.place)),
            None => {
                // What is wrong with a class of the house's own has been told in its file.
                if !self.surroundings.library.is_broken(&name.value) {
                    self.tell(name.place, ProblemKind::UnknownClass { name: name.value });
                }
                None
            }
        }
    }

    fn bus(&mut self, name: &Given<String>) -> Option<usize> {
        let buses = self.surroundings.buses;
        let unread = || buses.is_unread(name).then_some(Appliance::UNKNOWN);
        let Some(name) = name.here() else { return unread() };
        let found = buses.position(&name.value);
        if found.is_none() {
            let known = Arc::clone(&buses.all);
            self.tell(name.place, ProblemKind::UnknownBus { name: name.value.clone(), known });
        }
        found.or(Some(Appliance::UNKNOWN))
    }

    fn bridge(&mut self, name: &Given<String>) -> Option<usize> {
        let bridges = self.surroundings.bridges;
        let Some(name) = name.here() else { return bridges.is_unread(name).then_some(Appliance::UNKNOWN) };
        let found = bridges.position(&name.value);
        if found.is_none() {
            let known = Arc::clone(&bridges.all);
            self.tell(name.place, ProblemKind::UnknownBridge { name: name.value.clone(), known });
        }
        found.or(Some(Appliance::UNKNOWN))
    }

    fn the_only_bus(&mut self, appliance: &Spanned<String>) -> usize {
        if self.surroundings.buses.are_several() {
            self.without_bus.push(appliance.clone());
            return Appliance::UNKNOWN;
        }
        0
    }

    /// A house without a bridge has been told so once; its appliances are looked at all the same.
    fn the_only_bridge(&mut self, appliance: &Spanned<String>) -> usize {
        if self.surroundings.bridges.are_several() {
            self.without_bridge.push(appliance.clone());
            return Appliance::UNKNOWN;
        }
        0
    }

    /// Appliances that do not say where they are on: several of a room are told at the room.
    fn tell_of_without(&mut self, room: Place) {
        if let Some((place, appliance)) = once(std::mem::take(&mut self.without_bus), room) {
            self.appliance = appliance;
            let known = Arc::clone(&self.surroundings.buses.all);
            self.tell(place, ProblemKind::BusNotNamed { known });
        }
        if let Some((place, appliance)) = once(std::mem::take(&mut self.without_bridge), room) {
            self.appliance = appliance;
            let known = Arc::clone(&self.surroundings.bridges.all);
            self.tell(place, ProblemKind::BridgeNotNamed { known });
        }
    }

    fn points(&mut self, written: Given<Entries<model::Point>>, class: &Arc<Class>) -> Vec<Point> {
        let entries = written.into_here().map(|entries| entries.value.0).unwrap_or_default();
        let mut points = Vec::with_capacity(entries.len());
        for (key, point) in entries {
            let Some((spec, class_point)) = class.point(&key.value) else {
                // What could not be read below it has been told, and may be why it is not known.
                if matches!(point, Given::Broken(_)) {
                    continue;
                }
                let ends = point.here().map(|point| ends(&point.value)).unwrap_or_default();
                let kind = ProblemKind::UnknownPoint { name: key.value, ends, class: Arc::clone(class) };
                self.tell(key.place, kind);
                continue;
            };
            if let Some(point) = point.into_here() {
                points.push(self.point(spec, class_point, key.place, point.value));
            }
        }
        points
    }

    fn point(&mut self, spec: u16, class_point: &PointSpec, key: Place, written: model::Point) -> Point {
        let (dpt, unread) = self.written_dpt(written.dpt);
        let (feedback_dpt, feedback_unread) = self.written_dpt(written.feedback_dpt);
        let dpt_unread = unread || feedback_unread;
        let typed = |dpt: Option<&Spanned<&'static Dpt>>, end| {
            let written = dpt.map(|dpt| dpt.value).filter(|dpt| applies(class_point, end, dpt.id));
            written.or_else(|| usual(class_point, end))
        };
        let on_command = typed(dpt.as_ref(), End::Command);
        let on_feedback = typed(feedback_dpt.as_ref().or(dpt.as_ref()), End::Feedback);
        let command =
            written.command.into_here().and_then(|text| self.wire(&text, on_command, (spec, Role::Command)));
        let feedback = written
            .feedback
            .into_here()
            .and_then(|text| self.wire(&text, on_feedback, (spec, Role::Feedback)));
        let listens =
            written.listens.into_here().map(|list| list.value.texts(list.place)).unwrap_or_default();
        let listens =
            listens.iter().filter_map(|text| self.wire(text, on_command, (spec, Role::Listens))).collect();
        let range = written.range.into_here().filter(|range| self.range(range));
        let reversed =
            written.reversed.here().filter(|reversed| reversed.value).map(|reversed| reversed.place);
        Point { spec, key, command, feedback, listens, dpt, feedback_dpt, dpt_unread, reversed, range }
    }

    fn wire(&mut self, text: &Spanned<String>, dpt: Option<&'static Dpt>, end: (u16, Role)) -> Option<Wire> {
        match GroupAddress::parse(&text.value, self.surroundings.notation) {
            Ok(address) => Some(Wire { address: Spanned::new(address, text.place), dpt: dpt? }),
            Err(error) => {
                self.tell(text.place, ProblemKind::Address { text: text.value.clone(), error, end });
                None
            }
        }
    }

    /// A datapoint type, and whether one is written that could not be read.
    fn written_dpt(&mut self, written: Given<model::DptText>) -> (Option<Spanned<&'static Dpt>>, bool) {
        let is_written = !matches!(written, Given::Absent);
        let dpt = written.into_here().and_then(|text| self.dpt(&text));
        let unread = is_written && dpt.is_none();
        (dpt, unread)
    }

    fn dpt(&mut self, text: &Spanned<model::DptText>) -> Option<Spanned<&'static Dpt>> {
        let written = text.value.0.clone();
        match written.parse::<DptRef>() {
            Err(error) => self.tell(text.place, ProblemKind::MalformedDpt { text: written, error }),
            Ok(DptRef::Exact(id)) => match knx::dpt::find(id) {
                Some(dpt) => return Some(Spanned::new(dpt, text.place)),
                None => {
                    let kind = ProblemKind::UnknownDpt { text: written, near: sub_types(id.main) };
                    self.tell(text.place, kind);
                }
            },
            Ok(DptRef::Main(main)) => {
                self.tell(text.place, ProblemKind::UnknownDpt { text: written, near: sub_types(main) });
            }
        }
        None
    }

    fn range(&mut self, range: &Spanned<[f64; 2]>) -> bool {
        let [low, high] = range.value;
        let sound = low.is_finite() && high.is_finite() && low < high;
        if !sound {
            self.tell(range.place, ProblemKind::Range { range: range.value });
        }
        sound
    }

    fn settings(&mut self, written: Given<Entries<Scalar>>, class: &Arc<Class>) -> Vec<Setting> {
        let entries = written.into_here().map(|entries| entries.value.0).unwrap_or_default();
        let mut settings = Vec::with_capacity(entries.len());
        let is_known = |name: &str| class.setting(name).is_some();
        let known = entries.iter().map(|(key, _)| &key.value).filter(|name| is_known(name)).cloned();
        let beside: Arc<[String]> = if entries.iter().all(|(key, _)| is_known(&key.value)) {
            Arc::default()
        } else {
            known.collect()
        };
        for (key, value) in entries {
            let Some((spec, class_setting)) = class.setting(&key.value) else {
                let (name, class, beside) = (key.value, Arc::clone(class), Arc::clone(&beside));
                let kind = ProblemKind::UnknownSetting { name, beside, class };
                self.tell(key.place, kind);
                continue;
            };
            let Some(value) = value.into_here() else { continue };
            match class_setting.read(&composed(&value.value.text)) {
                Ok(read) => {
                    settings.push(Setting { spec, key: key.place, value: Spanned::new(read, value.place) });
                }
                Err(fault) => {
                    let expected = expected(class_setting, &fault);
                    let (name, text) = (key.value, value.value.text);
                    let meant = class_setting.meant(&text);
                    let is_out = fault == SettingFault::Range;
                    let other_unit = is_out.then(|| class_setting.in_another_unit(&text)).flatten();
                    let kind = ProblemKind::UnfitSetting { name, text, expected, meant, other_unit };
                    self.tell(value.place, kind);
                }
            }
        }
        settings
    }
}

/// The one appliance of a room, or the room for several.
fn once(appliances: Vec<Spanned<String>>, room: Place) -> Option<(Place, Option<String>)> {
    let several = appliances.len() > 1;
    let first = appliances.into_iter().next()?;
    Some(if several { (room, None) } else { (first.place, Some(first.value)) })
}

/// Whether a part of an appliance that rules miss could not be read.
fn is_unread(appliance: &model::Appliance) -> bool {
    let of_points = match &appliance.points {
        Given::Absent => false,
        Given::Broken(_) => true,
        Given::Here(points) => points.value.0.iter().any(|(_, point)| is_point_unread(point)),
    };
    of_points || matches!(appliance.allow, Given::Broken(_))
}

fn is_point_unread(point: &Given<model::Point>) -> bool {
    match point {
        Given::Absent => false,
        Given::Broken(_) => true,
        Given::Here(point) => {
            let model::Point { command, feedback, listens, .. } = &point.value;
            let is_broken = [matches!(command, Given::Broken(_)), matches!(feedback, Given::Broken(_))];
            is_broken.contains(&true) || matches!(listens, Given::Broken(_))
        }
    }
}

fn confirmed_by(written: model::Confirmed) -> Confirmed {
    let text = |given: Given<String>| given.into_here().map(|text| text.value).unwrap_or_default();
    Confirmed { by: text(written.by), checked: text(written.checked), on: written.on.into_here() }
}

/// The addresses that a point is written with.
fn ends(point: &model::Point) -> Vec<End> {
    let ends = [
        (point.command.here().is_some(), End::Command),
        (point.feedback.here().is_some(), End::Feedback),
        (point.listens.here().is_some(), End::Listens),
    ];
    ends.into_iter().filter(|(is_written, _)| *is_written).map(|(_, end)| end).collect()
}

/// Whether a type that is written at a point is meant for this end of it: one that the class takes at another end alone is
/// not, so that a status keeps its own. One that it takes nowhere is meant for all, and told.
fn applies(point: &PointSpec, end: End, written: DptId) -> bool {
    let takes = |end: End| point.end(end).is_some_and(|spec| spec.dpts.contains(&written));
    takes(end) || ![End::Command, End::Feedback].into_iter().any(takes)
}

/// The class's usual type at an end; where the class has no such end, that of the other one.
fn usual(point: &PointSpec, end: End) -> Option<&'static Dpt> {
    let spec = point.end(end).or(point.command.as_ref()).or(point.feedback.as_ref());
    spec.and_then(|spec| spec.dpts.first()).and_then(|&id| knx::dpt::find(id))
}

fn sub_types(main: u16) -> Vec<String> {
    knx::dpt::all().iter().filter(|dpt| dpt.id.main == main).map(|dpt| dpt.id.to_string()).collect()
}

fn expected(spec: &SettingSpec, fault: &SettingFault) -> String {
    let unit = if spec.unit.is_empty() { String::new() } else { format!(" {}", spec.unit) };
    match &spec.kind {
        SettingKind::Number { range: [low, high], whole } => {
            let kind = if *whole || *fault == SettingFault::Fraction { "a whole number" } else { "a number" };
            format!("{kind} from {low} to {high}{unit}")
        }
        SettingKind::Choice { words } => {
            let words: Vec<&str> = words.iter().map(|(word, _)| word.as_str()).collect();
            format!("one of {}", words.join(", "))
        }
        SettingKind::Flag => "true or false".to_owned(),
        SettingKind::Text { .. } if *fault == SettingFault::Empty => "a text that people can read".to_owned(),
        SettingKind::Text { longest } => format!("a text of at most {longest} bytes"),
    }
}
