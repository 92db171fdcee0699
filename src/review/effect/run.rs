//! Runs conversions before and after on the same samples.

use super::Example;
use super::samples::{Around, of_attribute, of_bus, of_command};
use super::types::{Shared, Types};
use crate::bridge::definition::Link;
use crate::classes::Direction;
use crate::convert::attribute::person;
use crate::convert::bus::{value_from_bus, value_to_bus};
use crate::convert::{Chain, Fields, Value};
use crate::knx::{Dpt, Payload, codec, dpt};
use crate::matter;
use serde_json::json;

/// So many samples are tried beside the first one of each input.
const TRIED: usize = 1024;

/// The field of a command that asks for a mode.
const MODE: &str = "NewMode";

/// A cluster and its attribute, command or event.
type End<'a> = (&'a str, &'a str);

/// What is run before and after.
pub(super) struct Runs<'a> {
    pub(super) direction: Direction,
    pub(super) end: End<'a>,
    pub(super) types: Types,
    /// The conversions before and after; of several the last that gives anything counts.
    pub(super) chains: [&'a [Chain]; 2],
    /// What a value of the one type is as one of the other.
    pub(super) shared: Option<Shared>,
    /// The modes that can be asked for, where that is said.
    offered: Option<&'a [u64]>,
}

/// What comes in, and how the attributes stand that the conversions look at.
pub(super) struct Sample {
    input: Input,
    standing: Fields,
}

#[derive(Clone, PartialEq)]
enum Input {
    /// What is asked for.
    Asked(Value),
    /// A telegram, and its value as the old type reads it.
    Telegram(Payload, Value),
}

impl<'a> Runs<'a> {
    /// None where the two types have nothing in common.
    pub(super) fn of(
        direction: Direction,
        end: End<'a>,
        types: Types,
        chains: [&'a [Chain]; 2],
        offered: Option<&'a [u64]>,
    ) -> Option<Self> {
        let shared = Some(types.shared()?);
        let mut runs = Self { direction, end, types, chains, shared, offered };
        // How many of the new steps are one of the old ones, only what is asked for can tell.
        if direction == Direction::ToBus && shared == Some(Shared::Zero) {
            runs.shared = Some(Shared::Values(runs.slope()?));
        }
        Some(runs)
    }

    /// How much of the old type a number of the new one is, by what the furthest values become that can be asked for.
    fn slope(&self) -> Option<f64> {
        let examples = self.examples();
        let pairs = examples.iter().filter_map(|(_, one)| one.before.number().zip(one.now.number()));
        let pairs: Vec<(f64, f64)> = pairs.collect();
        let least = pairs.iter().min_by(|one, two| one.0.total_cmp(&two.0))?;
        let most = pairs.iter().max_by(|one, two| one.0.total_cmp(&two.0))?;
        let slope = ((most.0 - least.0) / (most.1 - least.1)).abs();
        (slope.is_finite() && slope > 0.0).then_some(slope)
    }

    /// What comes of each sample.
    pub(super) fn examples(&self) -> Vec<(Sample, Example)> {
        let chains: Vec<&Chain> = self.chains.iter().copied().flatten().collect();
        let inputs: Vec<Input> = match self.direction {
            Direction::ToBus => {
                let asked = inputs(self.end, &chains).into_iter().filter(|asked| self.is_offered(asked));
                asked.map(Input::Asked).collect()
            }
            Direction::FromBus => {
                let payloads = of_bus(self.types.old, &chains).into_iter();
                let read = payloads.filter_map(|payload| {
                    let value = read(self.types.old, &payload)?;
                    self.told_anew(&payload, &value)?;
                    Some(Input::Telegram(payload, value))
                });
                read.collect()
            }
        };
        let around = self.around(&chains, &inputs);
        let example = |sample: Sample| {
            let [before, after, now] = self.run(&sample.input, &sample.standing);
            let (Input::Asked(input) | Input::Telegram(_, input)) = &sample.input;
            let example = Example { input: input.clone(), standing: Vec::new(), before, after, now };
            (sample, example)
        };
        samples(&inputs, &around).into_iter().map(example).collect()
    }

    /// Whether controllers can ask for it: of modes only for those that there are.
    fn is_offered(&self, asked: &Value) -> bool {
        let (Some(offered), Value::Structure(fields)) = (self.offered, asked) else { return true };
        fields.get(MODE).is_none_or(|mode| offered.iter().any(|one| mode.equals_json(&json!(one))))
    }

    /// Of samples that differ the first, beside attributes with the first of their names: a drive that moves is an example
    /// before one that is being set up.
    pub(super) fn plainest<'s>(&self, samples: &[&'s (Sample, Example)]) -> Option<&'s (Sample, Example)> {
        let (first, _) = samples.first()?;
        let alike = samples.iter().filter(|(sample, _)| sample.input == first.input);
        let names: Vec<&str> =
            first.standing.iter().map(|(name, _)| name).filter(|name| is_named(name)).collect();
        let order = |(sample, _): &&&'s (Sample, Example)| -> f64 {
            names.iter().filter_map(|name| sample.standing.get(name)?.number()).sum()
        };
        alike.min_by(|one, two| order(one).total_cmp(&order(two))).copied()
    }

    /// How the attributes may stand that the conversions look at. The one that comes of them stands as they set it before:
    /// what only the new ones set never stood there. Where its values have names, another link may have set each of them.
    fn around(&self, chains: &[&Chain], inputs: &[Input]) -> Around {
        let mut around = Around::of(chains);
        let end = self.own();
        if self.direction == Direction::FromBus && !is_named(&end) {
            let set = |(at, input): (usize, &Input)| self.run(input, &around.at(at))[0].clone();
            let set: Vec<Value> = inputs.iter().enumerate().map(set).collect();
            around.keep(&end, |value| set.contains(value));
        }
        around
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
                let [before, after, _] = self.run(&sample.input, &standing);
                let own = standing.get(&self.own()).filter(|_| self.direction == Direction::FromBus);
                !differ(&before, &after, own)
            })
        };
        let around = Around::of(&chains);
        let decisive = around.values().filter(|(name, values)| decides(name, values));
        decisive.filter_map(|(name, _)| Some((name.to_owned(), sample.standing.get(name)?.clone()))).collect()
    }

    /// What the bus tells in the new type where it tells a value in the old one; none where it has no telegram for that.
    fn told_anew(&self, payload: &Payload, value: &Value) -> Option<Value> {
        let new = self.types.new;
        match self.shared? {
            // What the new type cannot read is told in vain.
            Shared::Telegrams => Some(read(new, payload).unwrap_or(Value::Null)),
            shared => self.types.told_anew(shared, value).filter(|told| sent(new, told).is_some()),
        }
    }

    /// Values of a percentage that are not only counted from the other end.
    pub(super) fn beside_the_turn(&self, example: &Example) -> bool {
        const ALL: f64 = 100.0;
        const ROUNDED: f64 = 1.0;
        let percent = |value: &Value| match self.direction {
            Direction::ToBus if self.types.old.unit() == "%" => value.number(),
            Direction::ToBus => None,
            Direction::FromBus => percentage(self.end, value),
        };
        let pair = percent(&example.before).zip(percent(&example.after));
        pair.is_some_and(|(before, after)| (before + after - ALL).abs() > ROUNDED)
    }

    /// What comes out before and after, and that as the new type reads it. What is sent is told as the old type reads it.
    fn run(&self, input: &Input, standing: &Fields) -> [Value; 3] {
        let [before, after] = self.chains;
        let Types { old, new, .. } = self.types;
        let shared = self.shared.unwrap_or(Shared::Telegrams);
        match input {
            Input::Asked(asked) => {
                let telegrams =
                    [sent(old, &last(before, asked, standing)), sent(new, &last(after, asked, standing))];
                let [was, is] = telegrams;
                let now = is.as_ref().and_then(|payload| read(new, payload)).unwrap_or(Value::Null);
                let after = match shared {
                    Shared::Telegrams => {
                        is.as_ref().and_then(|payload| read(old, payload)).unwrap_or(Value::Null)
                    }
                    _ => self.types.sent_before(shared, &now),
                };
                [was.and_then(|payload| read(old, &payload)).unwrap_or(Value::Null), after, now]
            }
            Input::Telegram(payload, value) => {
                let told = self.told_anew(payload, value).unwrap_or(Value::Null);
                let after = last(after, &told, standing);
                [last(before, value, standing), after.clone(), after]
            }
        }
    }
}

/// What an attribute shows people, if it is a percentage.
fn percentage(end: End, value: &Value) -> Option<f64> {
    let cluster = matter::cluster(end.0)?;
    let person = person(cluster, cluster.attribute(end.1)?);
    if person.unit != "%" {
        return None;
    }
    person.steps.run(value, &()).ok()?.number()
}

/// Whether the values of an attribute have names, so that a conversion which looks at it looks for one.
fn is_named(attribute: &str) -> bool {
    let kind = attribute.split_once('.').and_then(|(cluster, name)| {
        let cluster = matter::cluster(cluster)?;
        matter::kind(cluster, &cluster.attribute(name)?.datatype)
    });
    matches!(kind, Some(matter::Kind::Enumeration(Some(_))))
}

/// Every input beside some way in which the attributes stand; then, as one of them alone may decide, beside each of these
/// ways, and of too many beside some.
fn samples(inputs: &[Input], around: &Around) -> Vec<Sample> {
    let together = around.every();
    let first =
        inputs.iter().enumerate().map(|(at, input)| Sample { input: input.clone(), standing: around.at(at) });
    let mut samples: Vec<Sample> = first.collect();
    // Without an attribute, or with one way only, there is nothing more to try.
    if together.len() > 1 {
        let mut distinct: Vec<&Input> = Vec::new();
        for input in inputs {
            if !distinct.contains(&input) {
                distinct.push(input);
            }
        }
        let apart = (distinct.len() * together.len()).div_ceil(TRIED).max(1);
        let tried = distinct.into_iter().enumerate().flat_map(|(at, input)| {
            let ways = together.iter().skip(at % apart).step_by(apart);
            ways.map(|standing| Sample { input: input.clone(), standing: standing.clone() })
        });
        samples.extend(tried);
    }
    samples
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

/// Whether what is asked for at an end has a name: a mode, not a number.
pub(super) fn asks_by_name(end: End) -> bool {
    let Some(cluster) = matter::cluster(end.0) else { return false };
    let is_named = |datatype| matter::kind(cluster, datatype).is_some_and(|kind| has_names(&kind));
    match cluster.attribute(end.1) {
        Some(attribute) => is_named(&attribute.datatype),
        None => {
            let command = cluster.commands.iter().find(|command| command.name == end.1);
            command.is_some_and(|command| command.fields.iter().any(|field| is_named(&field.datatype)))
        }
    }
}

/// Whether values of a kind are told one by one.
pub(super) fn has_names(kind: &matter::Kind) -> bool {
    use matter::Kind;
    matches!(kind, Kind::Bool | Kind::Enumeration(Some(_)) | Kind::Bitmap(..) | Kind::Structure(_))
}

/// Whether each of some wires sends something for a value that is asked for, however all else stands; for each value.
pub(super) fn sent_by(end: End, links: &[&Link]) -> Vec<Vec<bool>> {
    let chains: Vec<&Chain> = links.iter().map(|link| &link.conversion).collect();
    let dpts: Vec<Option<&Dpt>> = links.iter().map(|link| dpt::lookup(&link.dpt).ok()).collect();
    let ways = Around::of(&chains).every();
    let for_asked = |asked: Value| -> Vec<bool> {
        let sends = |(dpt, chain): (&Option<&Dpt>, &&Chain)| {
            dpt.is_some_and(|dpt| {
                ways.iter().any(|standing| {
                    let result = chain.run(&asked, standing).unwrap_or(Value::Null);
                    sent(dpt, &result).is_some()
                })
            })
        };
        dpts.iter().zip(&chains).map(sends).collect()
    };
    inputs(end, &chains).into_iter().map(for_asked).collect()
}

/// What a telegram can be shown as, whatever stands around it.
pub(super) fn shown(dpt: &Dpt, payload: &Payload, chain: &Chain) -> Vec<Value> {
    let Some(value) = read(dpt, payload) else { return Vec::new() };
    let ways = Around::of(&[chain]).every();
    ways.iter().map(|standing| chain.run(&value, standing).unwrap_or(Value::Null)).collect()
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
