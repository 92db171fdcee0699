//! Device classes: what an appliance of a kind is on the bus and what it becomes in Matter.
//!
//! In: templates (built-in ones of `templates/classes`, the house's own of `classes/`). Out: a [`ClassLibrary`] of
//! checked [`Class`]es, and for the points that an appliance has the [`Shape`] of its endpoints. Knows nothing of
//! houses, rooms, addresses or endpoint numbers.

mod alike;
mod blueprint;
mod breach;
mod check;
mod choices;
mod class;
mod compile;
mod conformity;
mod explain;
mod explain_point;
mod idle;
mod library;
mod losses;
mod meant;
mod own;
mod paper;
mod problem;
mod setting;
mod shape;
mod shaping;
mod starter;
mod template;
mod things;
mod told;

pub use breach::Breach;

pub use choices::choices;
pub use class::{
    Caution, Class, Combination, Condition, End, EndSpec, Exposure, Group, LinkSpec, Need, PartSpec,
    PointSpec, Precaution,
};
pub use conformity::breaches;
pub use explain::{explain, list};
pub use explain_point::{explain_point, explain_points};
pub use library::{ClassLibrary, built_in_problems};
pub use losses::{Loss, each_subject, known_losses, known_proofs, losses, prove_what_shows};
pub use problem::{EndFault, Named, Problem};
pub use setting::{Number, SettingFault, SettingKind, SettingSpec, SettingValue};
pub use shape::{
    Chosen, ChosenPoint, Direction, ENDPOINT_ABOVE, Joint, Shape, ShapeFault, ShapedCluster,
    ShapedDeviceType, ShapedLink, ShapedPart, Shown, THIS_ENDPOINT, Target,
};
pub use starter::{schema, starter};
pub use things::{Thing, things};
