//! What controllers see after several telegrams, one after the other, and what is sent from there.
//!
//! Expected values: Matter Application Cluster Specification 1.6 and KNX 3/7/2.

use super::scalings::only;
use housewright::classes::{Chosen, Class, ClassLibrary, Direction, Number, SettingValue, Shape, ShapedLink};
use housewright::convert::{Fields, Value};
use serde_json::{Value as Json, json};
use std::sync::Arc;

/// An appliance as a gateway runs it.
struct Appliance {
    class: Arc<Class>,
    shape: Arc<Shape>,
    now: Fields,
}

impl Appliance {
    /// One with these points by these datapoint types (an end alone is written `POINT.feedback`), and these settings.
    fn new(name: &str, points: &[(&str, &str)], settings: &[(&str, Json)]) -> Self {
        let class = ClassLibrary::built_in().get(name).expect(name);
        let whole: Vec<_> =
            points.iter().map(|(point, dpt)| (point.split('.').next().unwrap_or(point), *dpt)).collect();
        let mut chosen = Chosen::default();
        only(name, &whole)(&mut chosen);
        for point in points.iter().filter_map(|(point, _)| point.strip_suffix(".feedback")) {
            let (index, _) = class.point(point).expect(point);
            chosen
                .points
                .iter_mut()
                .filter(|point| point.point == index)
                .for_each(|point| point.command = None);
        }
        let setting = |(name, value): &(&str, Json)| {
            let value = match value {
                Json::String(word) => SettingValue::Text(word.clone()),
                other => {
                    SettingValue::Number(Number::new(other.as_f64().expect("a number")).expect("finite"))
                }
            };
            (class.setting(name).expect(name).0, value)
        };
        chosen.settings = settings.iter().map(setting).collect();
        chosen.settings.sort_by_key(|(index, _)| *index);
        let shape = class.shape(&chosen).expect("a shape");
        let mut now = Fields::new();
        for cluster in shape.parts.iter().flat_map(|part| &part.clusters) {
            for (name, value) in &cluster.attributes {
                if let Ok(value) = Value::from_json(value) {
                    now.put(format!("{}.{name}", cluster.name), value);
                }
            }
        }
        Self { class, shape, now }
    }

    /// The wires between a point and the rest, each with `Cluster.Name` of its Matter end.
    fn links(&self, point: &str, direction: Direction) -> Vec<(String, &ShapedLink)> {
        let (index, _) = self.class.point(point).expect(point);
        let links = self.shape.parts.iter().flat_map(|part| &part.links);
        let links = links.filter(|link| link.point == index && link.direction == direction);
        links.map(|link| (format!("{}.{}", link.cluster, link.target.name()), link)).collect()
    }

    /// A telegram comes in: all links from the state before.
    fn hears(&mut self, point: &str, telegram: &Json) {
        let input = Value::from_json(telegram).expect("a value");
        let links = self.links(point, Direction::FromBus).into_iter();
        let made: Vec<_> = links
            .map(|(name, link)| (name, link.conversion.run(&input, &self.now).expect("converts")))
            .collect();
        for (name, value) in made.into_iter().filter(|(_, value)| *value != Value::Null) {
            self.now.put(name, value);
        }
    }

    fn shows(&self, name: &str) -> Json {
        self.now.get(name).map_or(Json::Null, Value::to_json)
    }
}

/// SystemMode: 0 off, 3 cooling, 4 heating. ThermostatRunningState: 1 heats, 2 cools.
#[test]
fn a_changeover_and_a_mode_are_known_together() {
    let (off, on) = (("mode", json!(4)), ("mode", json!(1)));
    let (cool, heat) = (("changeover", json!(false)), ("changeover", json!(true)));
    let valve = |percent: u8| ("valve", json!(percent));
    for changeover in ["changeover", "changeover.feedback"] {
        let see = |telegrams: &[&(&str, Json)]| {
            let points = [("mode", "20.102"), (changeover, "1.100"), ("valve", "5.001")];
            let mut room = Appliance::new("room-thermostat", &points, &[("function", json!("both"))]);
            telegrams.iter().for_each(|(point, telegram)| room.hears(point, telegram));
            ["SystemMode", "ThermostatRunningState"].map(|name| room.shows(&format!("Thermostat.{name}")))
        };
        // A start in protection: off, whatever the change-over says.
        assert_eq!(see(&[&off, &cool]), [0, 0]);
        assert_eq!(see(&[&cool, &off]), [0, 0]);
        // On again: what the change-over told before or meanwhile.
        assert_eq!(see(&[&cool, &off, &on]), [3, 0]);
        assert_eq!(see(&[&off, &cool, &on]), [3, 0]);
        assert_eq!(see(&[&cool, &off, &heat, &on]), [4, 0]);
        assert_eq!(see(&[&on, &cool]), [3, 0]);
        // The valve serves what is going on.
        assert_eq!(see(&[&cool, &valve(40)]), [3, 2]);
        assert_eq!(see(&[&cool, &valve(40), &heat]), [4, 1]);
        assert_eq!(see(&[&cool, &valve(40), &heat, &valve(0)]), [4, 0]);
    }
}

/// Where the change-over is only reported, controllers offer what the plant does.
#[test]
fn a_plant_that_cools_offers_no_heating() {
    let points = [("mode", "20.102"), ("changeover.feedback", "1.100")];
    let mut room = Appliance::new("room-thermostat", &points, &[("function", json!("both"))]);
    let sequence = "Thermostat.ControlSequenceOfOperation";
    assert_eq!(room.shows(sequence), 4);
    room.hears("changeover", &json!(false));
    assert_eq!(room.shows(sequence), 0);
    room.hears("changeover", &json!(true));
    assert_eq!(room.shows(sequence), 2);
}
