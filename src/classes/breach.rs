//! Ways in which an endpoint is not what the data model demands.

use crate::matter::{ElementKind, ValueFault};

/// A way in which an endpoint is not what the data model demands.
#[derive(Clone, Debug, PartialEq)]
pub enum Breach {
    /// A device type that the facts do not know, or with another revision.
    DeviceType {
        /// The part.
        part: String,
        /// The device type.
        name: String,
        /// The data model's revision; `None` for an unknown device type.
        revision: Option<u16>,
    },
    /// A part without a device type: Core §9.5.6.1 wants one.
    NoDeviceType {
        /// The part.
        part: String,
    },
    /// A part that takes commands and has no link at all.
    NoLink {
        /// The part.
        part: String,
    },
    /// A command that no link carries out, beside one of the same cluster that is carried out.
    Idle {
        /// The part.
        part: String,
        /// The cluster.
        cluster: String,
        /// The command.
        command: String,
    },
    /// A cluster that the facts do not know, or with another id or revision.
    Cluster {
        /// The part.
        part: String,
        /// The cluster.
        name: String,
        /// The data model's revision; `None` for an unknown cluster.
        revision: Option<u16>,
    },
    /// A cluster that a device type demands (`true`) or forbids (`false`).
    Need {
        /// The part.
        part: String,
        /// The device type.
        device_type: String,
        /// The cluster.
        cluster: String,
        /// Demanded, else forbidden.
        demanded: bool,
        /// The data model's conformance.
        conformance: String,
    },
    /// An element that must be there, or must not.
    Element {
        /// The part.
        part: String,
        /// Who demands or forbids it: a device type, or `None` for the cluster itself.
        device_type: Option<String>,
        /// The cluster.
        cluster: String,
        /// What kind of element.
        kind: ElementKind,
        /// Its name; a feature's code.
        name: String,
        /// Demanded, else forbidden.
        demanded: bool,
        /// The data model's conformance.
        conformance: String,
    },
    /// An element that the cluster has not.
    NoElement {
        /// The part.
        part: String,
        /// The cluster.
        cluster: String,
        /// What kind of element.
        kind: ElementKind,
        /// Its name.
        name: String,
    },
    /// Too few or too many of a choice group.
    Choice {
        /// The part.
        part: String,
        /// The cluster or device type that offers the choice.
        within: String,
        /// The names of the group.
        names: Vec<String>,
        /// How many of them are there.
        found: usize,
        /// Fewest that must be.
        fewest: u8,
        /// Most that may be.
        most: Option<u8>,
    },
    /// A device type that belongs to another and is on neither its endpoint nor one below, as that one wants it.
    Component {
        /// The part.
        part: String,
        /// The device type that wants it.
        device_type: String,
        /// The device type that is wanted.
        component: String,
    },
    /// A first value that is none.
    Value {
        /// The part.
        part: String,
        /// The cluster.
        cluster: String,
        /// The attribute.
        attribute: String,
        /// What is wrong.
        fault: ValueFault,
    },
    /// A mandatory attribute without a value: neither class nor link nor the standard gives one.
    NoValue {
        /// The part.
        part: String,
        /// The cluster.
        cluster: String,
        /// The attribute.
        attribute: String,
        /// The data model's conformance.
        conformance: String,
    },
    /// A rule that the data model tells in prose.
    Told {
        /// The part.
        part: String,
        /// The cluster.
        cluster: String,
        /// The attribute that breaks it.
        attribute: String,
        /// The section that tells it.
        section: &'static str,
    },
    /// A link to something that the endpoint has not.
    LinkEnd {
        /// The part.
        part: String,
        /// The cluster.
        cluster: String,
        /// The attribute, command or event.
        target: String,
        /// Other parts that have it.
        others: Vec<String>,
    },
}
