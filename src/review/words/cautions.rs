//! What can hurt somebody about an appliance that comes. A definition does not name the class of an appliance, so it is
//! recognised by what the classes of the program look like.

use crate::bridge::definition::{Cluster, DeviceTypeRef, Direction, Link};
use crate::classes::{Chosen, Class, ClassLibrary, ShapedPart};
use crate::review::difference::{Difference, What, application_types};
use crate::review::outline::Outline;
use crate::sort;
use serde_json::Value as Json;
use std::sync::LazyLock;

/// What an appliance of a class looks like, whatever points it has.
struct Look {
    class: String,
    title: String,
    device_types: Vec<u32>,
    /// Its semantic tags, which tell a gate from a garage door.
    tags: Option<Json>,
    /// What sort of window covering it is.
    covering: Option<Json>,
    points: Vec<String>,
    /// The clusters of its main endpoint.
    clusters: Vec<String>,
    /// The beginning of its caution.
    caution: Option<String>,
}

static LOOKS: LazyLock<Vec<Look>> = LazyLock::new(|| {
    let library = ClassLibrary::built_in();
    let classes = library.names().into_iter().filter_map(|name| library.get(name));
    classes.filter_map(|class| look(&class)).collect()
});

fn look(class: &Class) -> Option<Look> {
    let shape = class.shape(&Chosen::default()).ok()?;
    let main = shape.parts.first()?;
    let attribute = |(cluster, attribute): (&str, &str)| {
        let cluster = main.clusters.iter().find(|one| one.name == cluster)?;
        cluster.attributes.get(attribute).cloned()
    };
    let caution = class.caution.as_ref().map(|caution| beginning(&caution.text));
    Some(Look {
        class: class.name.clone(),
        title: class.title.to_lowercase(),
        device_types: application_types(&device_types(main)),
        tags: attribute(TAGS),
        covering: attribute(COVERING),
        points: class.points.iter().map(|point| point.name.clone()).collect(),
        clusters: main.clusters.iter().map(|one| one.name.clone()).collect(),
        caution,
    })
}

/// The first sentences of a caution, as many as say something, without the last full stop.
fn beginning(caution: &str) -> String {
    const ENOUGH: usize = 40;
    let words: Vec<&str> = caution.split_whitespace().collect();
    let text = words.join(" ");
    let ends = text.match_indices(". ").map(|(at, _)| at);
    let end = ends.chain([text.len()]).find(|end| *end >= ENOUGH).unwrap_or(text.len());
    text.get(..end).unwrap_or(&text).trim_end_matches('.').to_owned()
}

/// Where the semantic tags of an endpoint stand, and what sort of window covering it is.
pub(super) const TAGS: (&str, &str) = ("Descriptor", "TagList");
const COVERING: (&str, &str) = ("WindowCovering", "Type");

fn device_types(part: &ShapedPart) -> Vec<DeviceTypeRef> {
    let of = |one: &crate::classes::ShapedDeviceType| DeviceTypeRef {
        id: one.id,
        name: one.name.clone(),
        revision: one.revision,
    };
    part.device_types.iter().map(of).collect()
}

/// The cautions of the classes that an appliance may be of, given its main endpoint. Where these differ, each says of what
/// it is.
pub(super) fn cautions(endpoint: &Outline) -> Vec<String> {
    let types = application_types(endpoint.device_types());
    let has = |(cluster, attribute): (&str, &str), value: &Option<Json>| {
        let found = endpoint.clusters().iter().find(|one: &&Cluster| one.name == cluster);
        found.and_then(|one| one.attributes.get(attribute)) == value.as_ref()
    };
    let fits = |look: &&Look| {
        look.device_types == types
            && (look.tags.is_none() || has(TAGS, &look.tags))
            && endpoint.uses().iter().all(|one| look.points.iter().any(|point| **point == *one.point))
    };
    let mut looks: Vec<&Look> = LOOKS.iter().filter(fits).collect();
    if looks.iter().any(|look| look.covering.is_some() && has(COVERING, &look.covering)) {
        looks.retain(|look| has(COVERING, &look.covering));
    }
    // The plain class before those that are based on it.
    sort::by_key(&mut looks, |look| look.points.len());
    let sure = looks.iter().all(|look| looks.first().is_some_and(|first| first.caution == look.caution));
    let mut told: Vec<(&str, String)> = Vec::new();
    for look in looks {
        let Some(caution) =
            look.caution.as_deref().filter(|text| !told.iter().any(|(known, _)| known == text))
        else {
            continue;
        };
        let only = if sure { String::new() } else { format!(", if it is a {}", look.title) };
        told.push((caution, format!("Caution{only}: {caution} (`housewright explain {}`)", look.class)));
    }
    told.into_iter().map(|(_, told)| told).collect()
}

/// The cautions of the classes that an appliance may be of that learns more than it did, by what it learns it for: commands
/// that wait for it may do something now. Of too many none is told.
pub(super) fn of_wires(differences: &[Difference]) -> Vec<String> {
    const MOST: usize = 2;
    let came: Vec<&Link> = differences
        .iter()
        .filter_map(|difference| match &difference.what {
            What::LinkAdded { link, .. } if link.direction == Direction::FromBus && link.joint.is_some() => {
                Some(&**link)
            }
            _ => None,
        })
        .collect();
    let fits = |look: &&Look| {
        !came.is_empty()
            && came
                .iter()
                .all(|link| look.points.contains(&link.point) && look.clusters.contains(&link.cluster))
    };
    let mut told: Vec<(&str, String)> = Vec::new();
    for look in LOOKS.iter().filter(fits) {
        let Some(caution) = look.caution.as_deref() else { continue };
        if !told.iter().any(|(known, _)| *known == caution) {
            let text = format!(
                "Caution, if it is a {}: {caution} (`housewright explain {}`)",
                look.title, look.class
            );
            told.push((caution, text));
        }
    }
    if told.len() > MOST { Vec::new() } else { told.into_iter().map(|(_, told)| told).collect() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bridge::definition::Endpoint;
    use crate::classes::ChosenPoint;
    use serde_json::json;

    /// An endpoint of a class with one of its points, without addresses.
    fn endpoint(class: &Class, point: u16) -> Option<Outline> {
        let spec = class.points.get(usize::from(point))?;
        let dpt =
            |end: &Option<crate::classes::EndSpec>| end.as_ref().and_then(|end| end.dpts.first().copied());
        let (command, feedback) = (dpt(&spec.command), dpt(&spec.feedback));
        let chosen = ChosenPoint { point, command, feedback, listens: None, reversed: false, range: None };
        let shape = class.shape(&Chosen { points: vec![chosen], settings: Vec::new() }).ok()?;
        let main = shape.parts.first()?;
        let clusters = main.clusters.iter().map(|one| Cluster {
            id: one.id,
            name: one.name.clone(),
            revision: one.revision,
            features: one.features.clone(),
            attributes: one.attributes.clone(),
            commands: one.commands.clone(),
        });
        let link = json!({"point": spec.name, "cluster": "OnOff", "attribute": "OnOff", "direction": "from-bus", "bus": "main",
            "group": "1/1/1", "dpt": "1.001", "conversion": []});
        let mut endpoint: Endpoint =
            serde_json::from_value(json!({"number": 2, "parent": 1, "key": "it", "uniqueId": "u",
            "nodeLabel": "It", "room": "Hall", "deviceTypes": [], "clusters": [], "links": [link]}))
            .expect("it keeps to the format");
        endpoint.device_types = device_types(main);
        endpoint.clusters = clusters.collect();
        Some(Outline::from(endpoint))
    }

    #[test]
    fn a_new_appliance_has_the_caution_of_its_class() {
        let library = ClassLibrary::built_in();
        for class in library.names().into_iter().filter_map(|name| library.get(name)) {
            let Some(own) = look(&class).and_then(|look| look.caution) else { continue };
            for point in (0..).zip(&class.points).map(|(at, _)| at) {
                let Some(endpoint) = endpoint(&class, point) else { continue };
                let told = cautions(&endpoint);
                assert!(told.iter().any(|one| one.contains(&own)), "{} {point}: {told:?}", class.name);
            }
        }
    }

    #[test]
    fn what_hurts_nobody_has_none() {
        let library = ClassLibrary::built_in();
        let lamp = library.get("dimmable-light").expect("a class of the program");
        assert_eq!(cautions(&endpoint(&lamp, 0).expect("it has a point")), Vec::<String>::new());
    }
}
