//! The Matter data model as far as a bridged house needs it: clusters, device types, datatypes, semantic tags.
//!
//! In: the files of `schema/matter`, each read when it is first asked for. Out: what a name means, what must be there
//! ([`Conformance`]) and which values are allowed ([`Constraint`], [`check_value`]). Knows nothing of classes, houses or
//! the bus.

mod conformance;
mod constraint;
mod facts;
mod model;
mod node_label;
mod value;

pub use conformance::{Choice, Conformance, ConformanceError, Requirement};
pub use constraint::{Constraint, ConstraintError, Lookup, Unit};
pub use facts::{
    cluster, cluster_names, device_type, device_type_names, edition, first_features, first_value,
    is_identifying, tag, tag_name, tag_names,
};
pub use model::{
    Attribute, Bit, Cluster, ClusterNeed, Command, ComponentNeed, Datatype, DeviceType, Edition, ElementKind,
    ElementNeed, Enumerant, Event, Feature, Field, SemanticTag,
};
pub use node_label::{LabelFault, NodeLabel};
pub use value::{Kind, ValueFault, check_value, kind, number_range};
