//! An appliance as a gateway plays it: telegrams in, attributes kept, commands out.

use super::one_colour;
use housewright::classes::{
    Chosen, ChosenPoint, Class, ClassLibrary, Direction, Joint, Need, SettingValue, Shape, ShapedLink, Shown,
    Target,
};
use housewright::convert::{Fields, Value};
use housewright::knx::DptId;
use serde_json::{Map, Value as Json};
use std::collections::BTreeMap;
use std::sync::Arc;

/// An appliance with the state of all its endpoints.
pub(super) struct Gateway {
    class: Arc<Class>,
    chosen: Chosen,
    shape: Arc<Shape>,
    now: Fields,
    /// What each point gave last for an attribute that several tell of.
    last: BTreeMap<(String, u16), Value>,
    /// What commands asked for that the bus has not reported yet, by attribute.
    pending: BTreeMap<String, Value>,
    /// The colour that was asked for in the ways that the command did not name, until the bus reports it.
    following: BTreeMap<String, Value>,
    /// Whether a command of colour came in the last 10 s.
    coloured: bool,
    /// What was sent last through each point, as it is on the bus, and the colour that it was sent for.
    sent: BTreeMap<String, (Json, Vec<(String, Value)>)>,
}

/// An appliance of a class: its points as `NAME.command` or `NAME.feedback`, or `NAME` for both of them that the class has,
/// with a datapoint type after a space where it is not the usual one.
pub(super) fn appliance(class: &str, ends: &[&str], settings: &[(&str, Json)]) -> Gateway {
    let class = ClassLibrary::built_in().get(class).expect(class);
    let mut chosen = Chosen::default();
    for end in ends {
        add(&class, &mut chosen, end);
    }
    chosen.points.sort_by_key(|point| point.point);
    for (name, value) in settings {
        chosen.settings.push((class.setting(name).expect(name).0, setting(value)));
    }
    chosen.settings.sort_by_key(|(index, _)| *index);
    let shape = class.shape(&chosen).expect("a shape");
    let mut now = Fields::new();
    for cluster in shape.parts.iter().flat_map(|part| &part.clusters) {
        for (name, value) in &cluster.attributes {
            // Lists are no values of conversions.
            if let Ok(value) = Value::from_json(value) {
                now.put(format!("{}.{name}", cluster.name), value);
            }
        }
    }
    Gateway {
        class,
        chosen,
        shape,
        now,
        last: BTreeMap::new(),
        pending: BTreeMap::new(),
        following: BTreeMap::new(),
        coloured: false,
        sent: BTreeMap::new(),
    }
}

fn setting(value: &Json) -> SettingValue {
    match value {
        Json::String(word) => SettingValue::Text(word.clone()),
        other => {
            let number = other.as_f64().and_then(housewright::classes::Number::new);
            SettingValue::Number(number.expect("a number"))
        }
    }
}

fn add(class: &Class, chosen: &mut Chosen, written: &str) {
    let (address, dpt) = written.split_once(' ').unwrap_or((written, ""));
    let (name, end) = address.split_once('.').unwrap_or((address, "both"));
    let (index, spec) = class.point(name).expect(name);
    let known = chosen.points.iter().position(|point| point.point == index);
    let at = known.unwrap_or(chosen.points.len());
    if known.is_none() {
        let none = None::<DptId>;
        let (command, feedback, listens) = (none, none, none);
        chosen.points.push(ChosenPoint {
            point: index,
            command,
            feedback,
            listens,
            reversed: false,
            range: None,
        });
    }
    let given = |end: &Option<housewright::classes::EndSpec>| -> Option<DptId> {
        let usual = end.as_ref()?.dpts[0];
        Some(if dpt.is_empty() { usual } else { dpt.parse().expect(dpt) })
    };
    let point = &mut chosen.points[at];
    if ["command", "both"].contains(&end) {
        point.command = given(&spec.command);
    }
    if ["feedback", "both"].contains(&end) {
        point.feedback = given(&spec.feedback);
    }
    assert!(point.command.is_some() || point.feedback.is_some(), "{written}");
}

impl Gateway {
    /// A telegram on an address of the point: all its wires see the state from before it.
    pub(super) fn told(&mut self, point: &str, value: Json) {
        let (index, _) = self.class.point(point).expect(point);
        let as_sent = self.sent.get(point).filter(|(sent, _)| *sent == value);
        let sent_for = as_sent.map(|(_, colour)| colour.clone()).unwrap_or_default();
        let value = Value::from_json(&value).expect("a value");
        let mut news = Vec::new();
        let shape = Arc::clone(&self.shape);
        for link in shape.parts.iter().flat_map(|part| &part.links) {
            if link.point == index && link.direction == Direction::FromBus {
                let may_be_null = |name: &str| {
                    let cluster = housewright::matter::cluster(&link.cluster).expect("a cluster");
                    cluster.attribute(name).expect("an attribute").nullable
                };
                let result = link.conversion.run(&value, &self.now).expect("converts");
                if let (Target::Attribute(name), true) = (&link.target, result != Value::Null) {
                    let attribute = format!("{}.{name}", link.cluster);
                    let none = may_be_null(name).then_some(Value::Null);
                    let result = self.together(link, &attribute, result).or(none);
                    news.extend(result.map(|result| (attribute, result)));
                }
            }
        }
        assert!(
            self.shape.parts.iter().flat_map(|part| &part.links).any(|link| link.point == index),
            "{point}"
        );
        let before = self.now.clone();
        for (name, value) in &news {
            self.pending.remove(name);
            self.following.remove(name);
            let colour = sent_for.iter().find(|(of, _)| of == name).map(|(_, colour)| colour);
            self.now.put(name.clone(), colour.unwrap_or(value).clone());
        }
        self.follow_the_wall(&before, &news);
    }

    /// A telegram that changes a white which the bus reports tells that the lamp shows it, and so on.
    fn follow_the_wall(&mut self, before: &Fields, news: &[(String, Value)]) {
        let mut links = self.shape.parts.iter().flat_map(|part| &part.links);
        let reports_white = links.any(|link| {
            link.direction == Direction::FromBus && link.target.name() == "ColorTemperatureMireds"
        });
        let changed = |name: &&str| before.get(name) != self.now.get(name);
        let Some(told) = one_colour::ALL.iter().find(|name| changed(name)) else { return };
        if !reports_white || self.coloured {
            return;
        }
        let mode = one_colour::mode_of(told);
        self.set_mode(mode);
        if mode == 2 {
            for (name, value) in one_colour::in_other_ways(mode, &self.now) {
                if news.iter().all(|(set, _)| *set != name) {
                    self.now.put(name, value);
                }
            }
        }
    }

    fn set_mode(&mut self, mode: u8) {
        for name in ["ColorControl.ColorMode", "ColorControl.EnhancedColorMode"] {
            self.place(name, mode.into());
        }
    }

    /// More than 10 s pass in which nothing happens: what was asked for and never reported is given up.
    pub(super) fn wait(&mut self) {
        self.coloured = false;
        self.pending.clear();
    }

    /// What several points make of an attribute; nothing where none of what they told counts, which is null if it may be.
    fn together(&mut self, link: &ShapedLink, attribute: &str, result: Value) -> Option<Value> {
        let Some(joint) = &link.joint else { return Some(result) };
        self.last.insert((attribute.to_owned(), link.point), result);
        let told: Vec<&Value> =
            self.last.iter().filter(|((of, _), _)| of == attribute).map(|(_, value)| value).collect();
        match joint {
            Joint::Bits => {
                let bits =
                    told.iter().filter_map(|value| value.to_json().as_u64()).fold(0, |all, one| all | one);
                Value::from_json(&bits.into()).ok()
            }
            Joint::FirstOf(ranked) => {
                let first = ranked.iter().find(|value| told.iter().any(|one| one.equals_json(value)));
                first.and_then(|first| Value::from_json(first).ok())
            }
        }
    }

    /// What the links of a command say of what is shown.
    pub(super) fn shown(&self, command: &str) -> Vec<Option<Shown>> {
        let links = self.shape.parts.iter().flat_map(|part| &part.links);
        let of = links.filter(|link| matches!(&link.target, Target::Command(name) if name == command));
        of.map(|link| link.shown).collect()
    }

    /// Whether anything comes from the bus through the point.
    pub(super) fn hears(&self, point: &str) -> bool {
        let (index, _) = self.class.point(point).expect(point);
        let mut links = self.shape.parts.iter().flat_map(|part| &part.links);
        links.any(|link| link.point == index && link.direction == Direction::FromBus)
    }

    /// Another word for a setting.
    pub(super) fn choose(&mut self, setting: &str, word: &str) {
        let (index, _) = self.class.setting(setting).expect(setting);
        self.chosen.settings.push((index, SettingValue::Text(word.to_owned())));
        self.shape = self.class.shape(&self.chosen).expect("a shape");
    }

    /// What the class asks for that is not so.
    pub(super) fn unmet(&self) -> Vec<&str> {
        let unmet = self.class.unmet(&self.chosen).filter(|combination| combination.need == Need::Required);
        unmet.map(|combination| combination.why.as_str()).collect()
    }

    /// The events that a telegram on an address of the point raises, with their fields.
    pub(super) fn events(&self, point: &str, value: Json) -> Vec<(String, Json)> {
        let (index, _) = self.class.point(point).expect(point);
        let value = Value::from_json(&value).expect("a value");
        let links = self.shape.parts.iter().flat_map(|part| &part.links).filter(|link| link.point == index);
        let raised = links.filter_map(|link| {
            let Target::Event(name) = &link.target else { return None };
            let result = link.conversion.run(&value, &self.now).expect("converts");
            (result != Value::Null).then(|| (name.clone(), result.to_json()))
        });
        raised.collect()
    }

    /// Says how an attribute stands.
    pub(super) fn place(&mut self, attribute: &str, value: Json) {
        self.now.put(attribute.to_owned(), Value::from_json(&value).expect("a value"));
    }

    /// The first value of an attribute, also of a list.
    pub(super) fn built(&self, attribute: &str) -> Json {
        let (cluster, name) = attribute.split_once('.').expect("Cluster.Attribute");
        let clusters = self.shape.parts.iter().flat_map(|part| &part.clusters);
        let mut found = clusters.filter(|own| own.name == cluster).filter_map(|own| own.attributes.get(name));
        found.next().expect(attribute).clone()
    }

    /// What an attribute shows.
    pub(super) fn shows(&self, attribute: &str) -> Json {
        self.now.get(attribute).expect(attribute).to_json()
    }

    /// The telegrams that a command of a lamp sends; what it asks for counts from then on, until the bus reports it.
    pub(super) fn commanded(&mut self, command: &str, fields: Json) -> Vec<(String, Json)> {
        let sent = self.asked(command, fields.clone());
        let (cluster, name) = command.split_once('.').expect("Cluster.Command");
        for (field, value) in fields.as_object().expect("fields") {
            let field = field.strip_prefix("Color").filter(|way| way.len() == 1).unwrap_or(field);
            let current = [format!("{cluster}.Current{field}"), format!("{cluster}.{field}")];
            if let Some(attribute) = current.into_iter().find(|name| self.now.get(name).is_some()) {
                self.following.remove(&attribute);
                self.pending.insert(attribute, Value::from_json(value).expect("a value"));
            }
        }
        if cluster == "ColorControl" {
            let mode = one_colour::mode_of(name);
            self.set_mode(mode);
            self.coloured = true;
            self.following.extend(one_colour::in_other_ways(mode, &self.looked_at()));
            self.pending.retain(|name, _| !self.following.contains_key(name));
        }
        let seen = self.looked_at();
        let named = |name: &str| Some((name.to_owned(), seen.get(name)?.clone()));
        let colour: Vec<(String, Value)> = one_colour::HUES.iter().filter_map(|name| named(name)).collect();
        for (point, value) in &sent {
            self.sent.insert(point.clone(), (one_colour::on_the_bus(value), colour.clone()));
        }
        self.show_what_nothing_reports();
        sent
    }

    /// What no link reports is shown as it was asked for.
    fn show_what_nothing_reports(&mut self) {
        let links = self.shape.parts.iter().flat_map(|part| &part.links);
        let heard = links.filter(|link| link.direction == Direction::FromBus);
        let reported: Vec<String> =
            heard.map(|link| format!("{}.{}", link.cluster, link.target.name())).collect();
        for asked in [&mut self.following, &mut self.pending] {
            let shown: Vec<String> = asked.keys().filter(|name| !reported.contains(name)).cloned().collect();
            for name in shown {
                let value = asked.remove(&name).expect("one of its keys");
                self.now.put(name, value);
            }
        }
    }

    /// What the conversions of a command look at.
    fn looked_at(&self) -> Fields {
        let mut all = self.now.clone();
        for (name, value) in self.following.iter().chain(&self.pending) {
            all.put(name.clone(), value.clone());
        }
        all
    }

    /// The telegrams that a command sends, as point and value.
    pub(super) fn asked(&self, command: &str, fields: Json) -> Vec<(String, Json)> {
        let Json::Object(fields) = fields else { panic!("fields") };
        self.sends(command, Json::Object(self.whole(command, fields)))
    }

    /// The telegrams that a value sends which a controller writes to an attribute, as point and value.
    pub(super) fn written(&self, attribute: &str, value: Json) -> Vec<(String, Json)> {
        self.sends(attribute, value)
    }

    /// What the links of a Matter end make of an input, in their order.
    fn sends(&self, end: &str, input: Json) -> Vec<(String, Json)> {
        let input = Value::from_json(&input).expect("a value");
        let seen = self.looked_at();
        let links = self.shape.parts.iter().flat_map(|part| &part.links).filter(|link| {
            link.direction == Direction::ToBus && format!("{}.{}", link.cluster, link.target.name()) == end
        });
        let sent = links.filter_map(|link| {
            let result = link.conversion.run(&input, &seen).expect("converts");
            let point = &self.class.points[usize::from(link.point)].name;
            (result != Value::Null).then(|| (point.clone(), result.to_json()))
        });
        sent.collect()
    }

    /// Fields that a controller leaves out are null.
    fn whole(&self, command: &str, fields: Map<String, Json>) -> Map<String, Json> {
        let (cluster, name) = command.split_once('.').expect("Cluster.Command");
        let command =
            housewright::matter::cluster(cluster).and_then(|found| found.command(name)).expect(command);
        let all = command.fields.iter().map(|field| (field.name.clone(), Json::Null));
        all.chain(fields).collect()
    }
}
