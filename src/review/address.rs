//! Group addresses as definitions write them: read as far as a review needs to see what moved where.

/// A group address, equal to another if it is the same on the bus, however it is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) enum Address<'a> {
    /// Its 16 bits.
    Raw(u16),
    /// Text that is no group address; it is compared as it stands.
    Text(&'a str),
}

/// Reads an address. It never fails: what is no address stays text.
pub(super) fn address(text: &str) -> Address<'_> {
    raw_address(text).map_or(Address::Text(text), Address::Raw)
}

/// The address as its 16 bits, in whichever notation it is written: `1/2/3`, `1/515` or `2563`.
///
/// `None` for text that is no group address.
fn raw_address(text: &str) -> Option<u16> {
    // An address of a large house is read many times over, so byte by byte.
    let mut parts = [0u16; 3];
    let (mut count, mut digits, mut value) = (0, 0, 0u32);
    for byte in text.bytes().chain([b'/']) {
        if byte.is_ascii_digit() {
            digits += 1;
            value = value * 10 + u32::from(byte - b'0');
            if digits > 5 {
                return None;
            }
        } else if byte == b'/' && digits > 0 {
            *parts.get_mut(count)? = u16::try_from(value).ok()?;
            count += 1;
            (digits, value) = (0, 0);
        } else {
            return None;
        }
    }
    match (count, parts) {
        (1, [address, ..]) => Some(address),
        (2, [main @ 0..=31, sub @ 0..=2047, _]) => Some(main << 11 | sub),
        (3, [main @ 0..=31, middle @ 0..=7, sub @ 0..=255]) => Some(main << 11 | middle << 8 | sub),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::raw_address;

    fn check(text: &str, expected: Option<u16>) {
        assert_eq!(raw_address(text), expected, "{text}");
    }

    #[test]
    fn the_three_notations_are_read_alike() {
        check("1/2/3", Some(2563));
        check("1/515", Some(2563));
        check("2563", Some(2563));
        check("31/7/255", Some(65535));
        check("65535", Some(65535));
    }

    #[test]
    fn what_is_no_address_stays_text() {
        for text in
            ["", "/", "1/8/0", "32/0/1", "1/2048", "1/2/256", "1/2/3/4", "a/b/c", "+1/2/3", "65536", "1//2"]
        {
            check(text, None);
        }
    }
}
