//! Speed of the codec on one core: payloads decoded and values encoded a second, in the best of 400
//! short windows.
//!
//! `cargo bench --bench codec` prints a line a measurement, `NAME RATE`, with the rate in operations a second.
//! `benches/codec_against_xknx` runs it beside another implementation.

#![allow(
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a measurement prints, and looks at the clock"
)]

use housewright::knx::{Dpt, Payload, Value, codec, dpt};
use std::hint::black_box;
use std::time::{Duration, Instant};

/// How long a window takes.
const WINDOW: Duration = Duration::from_millis(2);
/// How many windows a measurement has.
const WINDOWS: usize = 400;

fn main() {
    let types = [
        "1.001", "5.001", "7.013", "9.001", "13.010", "14.056", "20.102", "232.600", "242.600", "16.001",
        "19.001",
    ];
    for name in types {
        let Ok(dpt) = dpt::lookup(name) else { continue };
        let payloads = payloads(dpt);
        let values: Vec<Value> =
            payloads.iter().filter_map(|payload| codec::decode(dpt, payload).ok()).collect();
        measure(&format!("decode {name}"), &payloads, |payload| {
            codec::decode(dpt, payload).as_ref().map_or(0, use_value)
        });
        measure(&format!("encode {name}"), &values, |value| {
            codec::encode(dpt, value).as_ref().map_or(0, use_payload)
        });
    }
}

/// Payloads of a type that can be decoded, spread over all of them.
fn payloads(dpt: &Dpt) -> Vec<Payload> {
    let mut seed: u64 = 0x9e37_79b9_7f4a_7c15;
    let mut made = Vec::new();
    for _ in 0..2_000_000 {
        // Any spread will do: a linear congruence, its high bits.
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let wide = u128::from(seed) << 64 | u128::from(seed.rotate_left(32));
        let bytes = wide.to_be_bytes();
        let payload = match dpt.size {
            dpt::Size::Bits(bits) => Payload::small(bytes.first().map_or(0, |byte| byte >> (8 - bits))),
            dpt::Size::Bytes(length) => bytes.get(..usize::from(length)).map(Payload::bytes),
            dpt::Size::Variable => None,
        };
        made.extend(payload.filter(|payload| codec::decode(dpt, payload).is_ok()));
        if made.len() == 4096 {
            break;
        }
    }
    // Random bytes are seldom a date or a structure with reserved bits: what there is is taken again and again.
    if made.is_empty() {
        let text = if dpt.id.main == 19 { "2026-07-04 13:23:42" } else { "x=0.3127 y=0.329 brightness=128" };
        let value = housewright::knx::parse_value(dpt, text).ok();
        made.extend(value.and_then(|value| codec::encode(dpt, &value).ok()));
    }
    made.iter().cloned().cycle().take(4096).collect()
}

/// Something that needs the whole value, as a program that goes on with it does.
fn use_value(value: &Value) -> u64 {
    match value {
        Value::Decimal(number) => number.to_bits(),
        Value::Integer(number) => number.cast_unsigned(),
        Value::Enum(raw) => u64::from(*raw),
        Value::Bool(on) => u64::from(*on),
        Value::Step { .. } | Value::Date(_) | Value::Time(_) | Value::Text(_) | Value::Structure(_) => {
            black_box(value);
            1
        }
    }
}

/// Something that needs the payload's bytes.
fn use_payload(payload: &Payload) -> u64 {
    payload.as_bytes().iter().fold(0, |sum, byte| sum << 8 ^ u64::from(*byte))
}

/// The best of many short windows: others may be using the machine.
fn measure<T>(name: &str, inputs: &[T], one: impl Fn(&T) -> u64) {
    let mut best: f64 = 0.0;
    for _ in 0..WINDOWS {
        let start = Instant::now();
        let mut done: usize = 0;
        while start.elapsed() < WINDOW && !inputs.is_empty() {
            let sum = black_box(inputs).iter().fold(0_u64, |sum, input| sum.wrapping_add(one(input)));
            black_box(sum);
            done += inputs.len();
        }
        #[allow(clippy::cast_precision_loss, reason = "a rate")]
        let rate = done as f64 / start.elapsed().as_secs_f64();
        best = best.max(rate);
    }
    println!("{name} {best:.0}");
}
