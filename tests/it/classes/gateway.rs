//! An appliance as a gateway plays it: telegrams in, attributes kept, commands out.

use housewright::classes::{
    Chosen, ChosenPoint, Class, ClassLibrary, Direction, Joint, Need, SettingValue, Shape, ShapedLink, Target,
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
}

/// An appliance of a class: its points as `NAME.command` or `NAME.feedback`, with a datapoint type after a space where it is
/// not the usual one.
pub(super) fn appliance(class: &str, ends: &[&str], settings: &[(&str, f64)]) -> Gateway {
    let class = ClassLibrary::built_in().get(class).expect(class);
    let mut chosen = Chosen::default();
    for end in ends {
        add(&class, &mut chosen, end);
    }
    chosen.points.sort_by_key(|point| point.point);
    for (name, value) in settings {
        let index = class.settings.iter().position(|setting| setting.name == *name).expect(name);
        let number = housewright::classes::Number::new(*value).expect("a number");
        chosen.settings.push((u16::try_from(index).expect("few"), SettingValue::Number(number)));
    }
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
    Gateway { class, chosen, shape, now, last: BTreeMap::new() }
}

fn add(class: &Class, chosen: &mut Chosen, written: &str) {
    let (address, dpt) = written.split_once(' ').unwrap_or((written, ""));
    let (name, end) = address.split_once('.').expect("NAME.END");
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
    let usual = |end: &Option<housewright::classes::EndSpec>| end.as_ref().expect(written).dpts[0];
    let given = |usual: DptId| Some(if dpt.is_empty() { usual } else { dpt.parse().expect(dpt) });
    let point = &mut chosen.points[at];
    match end {
        "command" => point.command = given(usual(&spec.command)),
        "feedback" => point.feedback = given(usual(&spec.feedback)),
        other => panic!("{other}"),
    }
}

impl Gateway {
    /// A telegram on an address of the point: all its wires see the state from before it.
    pub(super) fn told(&mut self, point: &str, value: Json) {
        let (index, _) = self.class.point(point).expect(point);
        let value = Value::from_json(&value).expect("a value");
        let mut news = Vec::new();
        let shape = Arc::clone(&self.shape);
        for link in shape.parts.iter().flat_map(|part| &part.links) {
            if link.point == index && link.direction == Direction::FromBus {
                let result = link.conversion.run(&value, &self.now).expect("converts");
                if let (Target::Attribute(name), true) = (&link.target, result != Value::Null) {
                    let attribute = format!("{}.{name}", link.cluster);
                    let result = self.together(link, &attribute, result);
                    news.extend(result.map(|result| (attribute, result)));
                }
            }
        }
        assert!(
            self.shape.parts.iter().flat_map(|part| &part.links).any(|link| link.point == index),
            "{point}"
        );
        for (name, value) in news {
            self.now.put(name, value);
        }
    }

    /// What several points make of an attribute; nothing where none of what they told counts.
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

    /// Another word for a setting.
    pub(super) fn choose(&mut self, setting: &str, word: &str) {
        let index = self.class.settings.iter().position(|known| known.name == setting).expect(setting);
        self.chosen.settings.push((u16::try_from(index).expect("few"), SettingValue::Text(word.to_owned())));
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

    /// What an attribute shows.
    pub(super) fn shows(&self, attribute: &str) -> Json {
        self.now.get(attribute).expect(attribute).to_json()
    }

    /// The telegrams that a command sends, as point and value.
    pub(super) fn asked(&self, command: &str, fields: Json) -> Vec<(String, Json)> {
        let Json::Object(fields) = fields else { panic!("fields") };
        let input = Value::from_json(&Json::Object(self.whole(command, fields))).expect("a value");
        let links = self.shape.parts.iter().flat_map(|part| &part.links);
        let links = links.filter(|link| {
            link.direction == Direction::ToBus
                && matches!(&link.target, Target::Command(name) if format!("{}.{name}", link.cluster) == command)
        });
        let sent = links.filter_map(|link| {
            let result = link.conversion.run(&input, &self.now).expect("converts");
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
