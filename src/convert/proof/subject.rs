//! What is to be proven.

use super::super::{Chain, Fields, Range, Surroundings, Value};
use super::{AttributeSide, BusSide};
use std::fmt;

/// What is to be proven: a datapoint type, the attributes it shows as, and the chains both ways.
#[derive(Clone, Copy)]
pub struct Subject<'a> {
    /// The bus's side.
    pub bus: &'a dyn BusSide,
    /// The attributes: one, or the several that one bus value shows as (the hue, saturation and level of a colour).
    pub shown: &'a [Shown<'a>],
    /// The way to the bus; none where nothing is written.
    pub to_bus: Option<ToBus<'a>>,
    /// Attributes beside those shown that the chains look at, as they stand.
    pub around: &'a Fields,
    /// What the installation uses of the bus's range, in the bus's unit; none for all of it.
    pub bus_range: Option<Range>,
}

impl fmt::Debug for Subject<'_> {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut shown = formatter.debug_struct("Subject");
        shown.field("bus", &self.bus.name()).field("shown", &self.shown).field("to_bus", &self.to_bus);
        shown.field("around", &self.around).field("bus_range", &self.bus_range).finish()
    }
}

/// An attribute and the way to it.
#[derive(Clone, Copy, Debug)]
pub struct Shown<'a> {
    /// The attribute.
    pub side: &'a AttributeSide,
    /// From the bus to it; none where the bus reports nothing.
    pub from_bus: Option<&'a Chain>,
}

/// The way to the bus.
#[derive(Clone, Copy, Debug)]
pub struct ToBus<'a> {
    /// What goes into the chain.
    pub input: &'a Input,
    /// The chain.
    pub chain: &'a Chain,
}

/// What goes into a chain to the bus.
#[derive(Clone, Debug, PartialEq)]
pub enum Input {
    /// The value of the attribute with this index among those shown.
    Attribute(usize),
    /// A command's fields, each with the index of the attribute that it asks for.
    Fields(Vec<(String, usize)>),
}

/// The attributes while a chain to the bus runs: those shown, then those around.
pub(super) struct Standing<'a> {
    pub(super) subject: &'a Subject<'a>,
    pub(super) values: &'a [Value],
}

impl Surroundings for Standing<'_> {
    fn attribute(&self, of: &str) -> Option<Value> {
        let at = self.subject.shown.iter().position(|shown| shown.side.name == of);
        at.and_then(|at| self.values.get(at)).cloned().or_else(|| self.subject.around.attribute(of))
    }
}

impl Input {
    pub(super) fn value(&self, values: &[Value]) -> Value {
        let at = |index: &usize| values.get(*index).cloned().unwrap_or(Value::Null);
        match self {
            Input::Attribute(index) => at(index),
            Input::Fields(fields) => {
                Value::Structure(fields.iter().map(|(name, index)| (name.clone(), at(index))).collect())
            }
        }
    }
}
