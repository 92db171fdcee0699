//! A datapoint type, and a payload or a text for it.
#![no_main]

use housewright::knx::{self, Payload, dpt};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|input: &[u8]| {
    // Two bytes say which type, one whether the payload travels inside the service octet.
    let [high, low, form, bytes @ ..] = input else { return };
    let (number, small) = (u16::from_be_bytes([*high, *low]), form & 1 == 1);
    let all = dpt::all();
    let of = &all[usize::from(number) % all.len()];
    let payload = match bytes {
        [byte] if small => Payload::small(byte & 63).unwrap_or(Payload::bytes(bytes)),
        _ => Payload::bytes(bytes),
    };
    if let Ok(value) = knx::decode(of, &payload) {
        let again = knx::encode(of, &value);
        let back = again.as_ref().ok().map(|payload| knx::decode(of, payload));
        assert!(
            back.as_ref().is_some_and(|back| back.as_ref().is_ok_and(|back| *back == value)),
            "{} {payload:?} is {value:?}, which is {again:?}, which is {back:?}",
            of.id
        );
    }
    knx::guess(&payload);
    if let Ok(text) = std::str::from_utf8(bytes) {
        let _ = knx::describe::guesses(text);
        let _ = Payload::parse_small(text);
        let _ = dpt::lookup(text);
        if let Ok(value) = knx::parse_value(of, text)
            && let Ok(payload) = knx::encode(of, &value)
        {
            let read = knx::decode(of, &payload);
            assert!(read.is_ok(), "{} `{text}` is {value:?}, which is {payload:?}, which is {read:?}", of.id);
        }
    }
});
