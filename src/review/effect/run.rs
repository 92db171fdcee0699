//! Runs conversions before and after on the same samples.

use super::samples::{Around, of_attribute, of_bus, of_command};
use super::{Example, Types};
use crate::classes::Direction;
use crate::convert::bus::{value_from_bus, value_to_bus};
use crate::convert::{Chain, Fields, Value};
use crate::knx::{Dpt, Payload, codec};
use crate::matter;

/// A cluster and its attribute, command or event.
type End<'a> = (&'a str, &'a str);

/// What is run before and after.
pub(super) struct Runs<'a> {
    pub(super) direction: Direction,
    pub(super) end: End<'a>,
    pub(super) types: Types,
    /// The conversions before and after; of several the last that gives anything counts.
    pub(super) chains: [&'a [Chain]; 2],
}

/// What comes in, and how the attributes stand that the conversions look at.
pub(super) struct Sample {
    input: Input,
    standing: Fields,
}

enum Input {
    /// What is asked for.
    Asked(Value),
    /// A telegram, and its value as the old type reads it.
    Telegram(Payload, Value),
}

impl Runs<'_> {
    /// What comes of each sample; none where the two types have nothing in common.
    pub(super) fn examples(&self) -> Option<Vec<(Sample, Example)>> {
        if !self.types.share_telegrams() && !self.types.share_values() {
            return None;
        }
        let chains: Vec<&Chain> = self.chains.iter().copied().flatten().collect();
        let inputs: Vec<Input> = match self.direction {
            Direction::ToBus => inputs(self.end, &chains).into_iter().map(Input::Asked).collect(),
            Direction::FromBus => {
                let payloads = of_bus(self.types.old, &chains).into_iter();
                let read = payloads.filter_map(|payload| {
                    let value = read(self.types.old, &payload)?;
                    Some(Input::Telegram(payload, value))
                });
                read.collect()
            }
        };
        let around = self.around(&chains, &inputs);
        let samples =
            inputs.into_iter().enumerate().map(|(at, input)| Sample { input, standing: around.at(at) });
        let example = |sample: Sample| {
            let [before, after] = self.run(&sample.input, &sample.standing);
            let (Input::Asked(input) | Input::Telegram(_, input)) = &sample.input;
            let example = Example { input: input.clone(), standing: Vec::new(), before, after };
            (sample, example)
        };
        Some(samples.map(example).collect())
    }

    /// How the attributes may stand that the conversions look at. The one that comes of them stands as they set it before:
    /// what only the new ones set never stood there. Where its values have names, another link may have set each of them.
    fn around(&self, chains: &[&Chain], inputs: &[Input]) -> Around {
        let mut around = Around::of(chains);
        if self.direction == Direction::FromBus && !self.is_named() {
            let end = self.own();
            let set = |(at, input): (usize, &Input)| self.run(input, &around.at(at))[0].clone();
            let set: Vec<Value> = inputs.iter().enumerate().map(set).collect();
            around.keep(&end, |value| set.contains(value));
        }
        around
    }

    /// Whether the values of the attribute at the end have names, so that a conversion which looks at it looks for one.
    fn is_named(&self) -> bool {
        let kind = matter::cluster(self.end.0)
            .and_then(|cluster| matter::kind(cluster, &cluster.attribute(self.end.1)?.datatype));
        matches!(kind, Some(matter::Kind::Enumeration(Some(_))))
    }

    /// The name of the attribute at the end, as conversions name it.
    fn own(&self) -> String {
        format!("{}.{}", self.end.0, self.end.1)
    }

    /// How the attribute stands that comes of a sample, if that is known.
    pub(super) fn stands<'s>(&self, sample: &'s Sample) -> Option<&'s Value> {
        if self.direction == Direction::FromBus { sample.standing.get(&self.own()) } else { None }
    }

    /// The attributes of a sample that differs without whose values it would not: another value of one, all else as it is.
    pub(super) fn decisive(
        &self,
        sample: &Sample,
        differ: impl Fn(&Value, &Value, Option<&Value>) -> bool,
    ) -> Vec<(String, Value)> {
        let chains: Vec<&Chain> = self.chains.iter().copied().flatten().collect();
        let decides = |name: &str, values: &[Value]| {
            values.iter().any(|value| {
                let mut standing = sample.standing.clone();
                standing.put(name.to_owned(), value.clone());
                let [before, after] = self.run(&sample.input, &standing);
                let own = standing.get(&self.own()).filter(|_| self.direction == Direction::FromBus);
                !differ(&before, &after, own)
            })
        };
        let around = Around::of(&chains);
        let decisive = around.values().filter(|(name, values)| decides(name, values));
        decisive.filter_map(|(name, _)| Some((name.to_owned(), sample.standing.get(name)?.clone()))).collect()
    }

    /// What comes out before and after. What is sent is told as the old type reads it.
    fn run(&self, input: &Input, standing: &Fields) -> [Value; 2] {
        let by_telegram = self.types.share_telegrams();
        let [before, after] = self.chains;
        match input {
            Input::Asked(asked) => {
                let new = if by_telegram { self.types.new } else { self.types.old };
                let sent = |dpt, chains| {
                    let payload = sent(dpt, &last(chains, asked, standing))?;
                    read(self.types.old, &payload)
                };
                [sent(self.types.old, before), sent(new, after)].map(|value| value.unwrap_or(Value::Null))
            }
            Input::Telegram(payload, old) => {
                let new = if by_telegram { read(self.types.new, payload) } else { Some(old.clone()) };
                let new = new.unwrap_or(Value::Null);
                [last(before, old, standing), last(after, &new, standing)]
            }
        }
    }
}

/// The last result that is one.
fn last(chains: &[Chain], input: &Value, standing: &Fields) -> Value {
    let results = chains.iter().rev().map(|chain| chain.run(input, standing).unwrap_or(Value::Null));
    results.into_iter().find(|value| *value != Value::Null).unwrap_or(Value::Null)
}

/// What a telegram says.
fn read(dpt: &Dpt, payload: &Payload) -> Option<Value> {
    codec::decode(dpt, payload).ok().map(|value| value_from_bus(dpt, &value))
}

/// The different telegrams that what is asked for can become, everything around standing as it is.
pub(super) fn telegrams(end: End, dpt: &Dpt, chain: &Chain) -> Vec<Payload> {
    let standing = Around::of(&[chain]).at(0);
    let mut telegrams = Vec::new();
    for input in inputs(end, &[chain]) {
        let result = chain.run(&input, &standing).unwrap_or(Value::Null);
        if let Some(payload) = sent(dpt, &result).filter(|payload| !telegrams.contains(payload)) {
            telegrams.push(payload);
        }
    }
    telegrams
}

/// The telegram of a value; none where nothing is sent.
fn sent(dpt: &Dpt, value: &Value) -> Option<Payload> {
    let value = value_to_bus(dpt, value).ok().flatten()?;
    codec::encode(dpt, &value).ok()
}

/// What can be asked for: the values of an attribute that is written, or the fields of a command.
fn inputs(end: End, chains: &[&Chain]) -> Vec<Value> {
    let facts = matter::cluster(end.0);
    match facts.and_then(|cluster| Some((cluster, cluster.attribute(end.1)?))) {
        Some((cluster, attribute)) => of_attribute(cluster, attribute, chains),
        None => of_command(end, chains),
    }
}
