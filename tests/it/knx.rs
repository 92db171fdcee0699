//! Laws of the codec, for every datapoint type.

#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::cast_precision_loss,
    reason = "a test may panic"
)]

use housewright::knx::dpt::{self, Dpt, Kind, Shape, Size};
use housewright::knx::{Payload, Value, codec, guess, parse_value};
use proptest::prelude::*;

/// Any type of the table.
fn any_dpt() -> impl Strategy<Value = &'static Dpt> {
    (0..dpt::all().len()).prop_map(|at| &dpt::all()[at])
}

/// Any payload at all.
fn any_payload() -> impl Strategy<Value = Payload> {
    prop_oneof![
        (0..64_u8).prop_map(|bits| Payload::small(bits).unwrap()),
        proptest::collection::vec(any::<u8>(), 0..20).prop_map(|bytes| Payload::bytes(&bytes)),
    ]
}

/// A type with a payload of its length, any bits; texts mostly of characters.
fn any_typed_payload() -> impl Strategy<Value = (&'static Dpt, Payload)> {
    any_dpt().prop_flat_map(|dpt| {
        let bytes: BoxedStrategy<u8> = if dpt.shape == Shape::Text {
            prop_oneof![32..127_u8, any::<u8>()].boxed()
        } else {
            biased().boxed()
        };
        let length = match dpt.size {
            Size::Bits(_) => 1,
            Size::Bytes(length) => usize::from(length),
            Size::Variable => 0,
        };
        let most = if dpt.size == Size::Variable { 20 } else { length };
        proptest::collection::vec(bytes, length..=most).prop_map(move |bytes| {
            let small = match dpt.size {
                Size::Bits(width) => Payload::small(bytes[0] & ((1 << width) - 1)),
                Size::Bytes(_) | Size::Variable => None,
            };
            (dpt, small.unwrap_or_else(|| Payload::bytes(&bytes)))
        })
    })
}

/// Bytes that make valid payloads of structures often enough.
fn biased() -> impl Strategy<Value = u8> {
    prop_oneof![3 => any::<u8>(), 2 => 0..4_u8, 1 => 0..64_u8, 1 => Just(0xff_u8)]
}

/// Any number: of every magnitude, near the ends of ranges, and none at all.
fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        any::<f64>(),
        -1000.0..1000.0,
        -700_000.0..700_000.0,
        Just(f64::NAN),
        Just(f64::INFINITY),
        Just(1e40),
        any::<i64>().prop_map(|number| number as f64),
        (any_dpt(), -3..=3_i8).prop_map(|(dpt, steps)| {
            let step = dpt.resolution().unwrap_or(1.0);
            dpt.range().map_or(0.0, |range| range.max + step * f64::from(steps) / 2.0)
        }),
    ]
}

/// Largest distance between a value and the one that its payload stands for.
fn worst_error(dpt: &Dpt, value: f64) -> f64 {
    let step = dpt.resolution().unwrap_or(0.0);
    let relative = match dpt.value_field().map(|field| field.kind) {
        // Half of the last of 11 bits, and of 24 bits.
        Some(Kind::Float16) => value.abs() / 2048.0,
        Some(Kind::Float32) => value.abs() / 16_777_216.0,
        _ => 0.0,
    };
    (step / 2.0 + relative) * (1.0 + 1e-9) + f64::from(f32::from_bits(1))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_payload_makes_the_decoder_panic(dpt in any_dpt(), payload in any_payload()) {
        let _ = codec::decode(dpt, &payload);
        let _ = codec::decode_number(dpt, &payload);
    }

    #[test]
    fn what_is_decoded_is_encoded_to_the_same_value((dpt, payload) in any_typed_payload()) {
        if let Ok(value) = codec::decode(dpt, &payload) {
            let again = codec::encode(dpt, &value).expect("a decoded value can be encoded");
            prop_assert_eq!(codec::decode(dpt, &again), Ok(value));
            // 16-bit floats have several raw numbers for a value; fields that hold nothing are written as 0.
            let one_form = dpt.fields.iter().all(|field| field.kind != Kind::Float16)
                && dpt.value_fields().all(|field| !field.is_optional())
                && dpt.size != Size::Variable;
            if one_form {
                prop_assert_eq!(again, payload);
            }
        }
    }

    #[test]
    fn what_is_written_is_read_back((dpt, payload) in any_typed_payload()) {
        if let Ok(value) = codec::decode(dpt, &payload) {
            let text = value.text(dpt);
            let read = parse_value(dpt, &text);
            prop_assert!(read.is_ok(), "{} `{}`: {:?}", dpt.id, text, read);
            let bare = parse_value(dpt, &value.text_without_unit(dpt));
            let payload = codec::encode(dpt, &value);
            prop_assert_eq!(read.map(|read| codec::encode(dpt, &read)), Ok(payload.clone()), "{}", text);
            prop_assert_eq!(bare.map(|read| codec::encode(dpt, &read)), Ok(payload));
        }
    }

    #[test]
    fn fields_make_the_same_value((dpt, payload) in any_typed_payload()) {
        let value = codec::decode(dpt, &payload).ok();
        if let Some((value, mut fields)) = value.and_then(|value| value.fields().map(|fields| (value, fields))) {
            fields.reverse();
            let again = Value::from_fields(dpt, fields.iter().map(|(name, value)| (*name, value.clone())));
            prop_assert_eq!(again, Ok(value));
        }
    }

    #[test]
    fn numbers_go_to_the_nearest_and_never_wrap(dpt in any_dpt(), number in any_number()) {
        let Some(range) = dpt.range() else {
            return Ok(());
        };
        let inside = number >= range.min && number <= range.max;
        match codec::encode_number(dpt, number) {
            Ok(payload) => {
                prop_assert!(inside, "{} took {}", dpt.id, number);
                let back = codec::decode_number(dpt, &payload).expect("what is encoded can be decoded");
                prop_assert!((back - number).abs() <= worst_error(dpt, number), "{} {} {}", dpt.id, number, back);
            }
            Err(error) => {
                let edge = dpt.id.main == 29 && number.abs() >= 9.2e18;
                prop_assert!(!inside || edge, "{} refused {}: {}", dpt.id, number, error);
            }
        }
    }

    #[test]
    fn whole_numbers_are_exact(dpt in any_dpt(), number in any::<i64>(), shift in 0..64_u32) {
        let number = number >> shift;
        let exact = dpt.shape == Shape::Integer && dpt.resolution() == Some(1.0);
        match codec::encode(dpt, &Value::Integer(number)) {
            Ok(payload) if exact => prop_assert_eq!(codec::decode(dpt, &payload), Ok(Value::Integer(number))),
            Ok(_) | Err(_) => {}
        }
    }

    #[test]
    fn no_text_makes_the_reader_panic(dpt in any_dpt(), text in "\\PC{0,30}") {
        if let Ok(value) = parse_value(dpt, &text) {
            let _ = codec::encode(dpt, &value);
        }
    }

    #[test]
    fn any_value_for_any_type_is_taken_or_refused((dpt, payload) in any_typed_payload(), other in any_dpt()) {
        if let Ok(value) = codec::decode(dpt, &payload) {
            let _ = codec::encode(other, &value);
            let _ = value.text(other);
            let _ = value.json(other);
        }
    }

    #[test]
    fn a_guess_holds_the_right_type((dpt, payload) in any_typed_payload()) {
        let guesses = guess(&payload);
        let right = codec::decode(dpt, &payload).ok();
        let found = guesses.iter().find(|guess| guess.dpt.id == dpt.id).and_then(|guess| guess.value.clone().ok());
        prop_assert_eq!(found, right);
    }
}

/// Every raw number of every type of up to 16 bits: decode and encode are each other's inverse.
#[test]
fn all_raw_numbers_of_16_bits_come_back() {
    let wide = |dpt: &&Dpt| matches!(dpt.size, Size::Bits(_) | Size::Bytes(1 | 2));
    for dpt in dpt::all().iter().filter(wide) {
        for raw in 0..=u16::MAX {
            let [high, low] = raw.to_be_bytes();
            let payload = match (dpt.size, high) {
                (Size::Bits(_), 0) if low < 64 => Payload::small(low).unwrap(),
                (Size::Bytes(1), 0) => Payload::bytes(&[low]),
                (Size::Bytes(2), _) => Payload::bytes(&[high, low]),
                _ => break,
            };
            let Ok(value) = codec::decode(dpt, &payload) else { continue };
            let again = codec::encode(dpt, &value).unwrap();
            if dpt.id.main == 9 {
                assert_eq!(codec::decode(dpt, &again), Ok(value), "{} {payload}", dpt.id);
            } else {
                assert_eq!(again, payload, "{}", dpt.id);
            }
        }
    }
}

/// Numbers, truth values, enums and steps need no heap, either way.
#[test]
fn numbers_need_no_heap() {
    for dpt in dpt::all().iter().filter(|dpt| {
        matches!(
            dpt.shape,
            Shape::Bool
                | Shape::Integer
                | Shape::Decimal
                | Shape::Enum
                | Shape::Step
                | Shape::Date
                | Shape::Time
        )
    }) {
        let value = parse_value(dpt, &example(dpt)).unwrap();
        let payload = codec::encode(dpt, &value).unwrap();
        let used = allocation_counter::measure(|| {
            let decoded = codec::decode(dpt, &payload);
            let encoded = codec::encode(dpt, &value);
            assert!(decoded.is_ok() && encoded.is_ok());
        });
        assert_eq!(used.count_total, 0, "{}", dpt.id);
    }
}

fn example(dpt: &Dpt) -> String {
    match dpt.shape {
        Shape::Date => "2026-07-04".to_owned(),
        Shape::Time => "monday 07:30:00".to_owned(),
        Shape::Step => format!("control={} step=3", dpt.fields[0].members[0].name),
        Shape::Bool | Shape::Enum => dpt.members()[0].name.to_owned(),
        _ => "1".to_owned(),
    }
}
