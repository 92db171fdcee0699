//! The JSON form holds every change, however many there are, and is what `serde_json` writes of its document.

use super::adverse::PAIRS;
use housewright::review::forms::{self, ReviewDocument};
use housewright::review::{Build, Review, review};
use std::io::{self, Write};

/// A review of so many renamed appliances.
fn renamed(count: usize) -> Review {
    let (name, pair) = PAIRS[1];
    assert_eq!(name, "all keys renamed");
    let (old, new) = pair(count);
    let review = review(&Build::of(&old), &Build::of(&new));
    assert_eq!(review.changes.len(), count);
    review
}

#[test]
fn the_json_form_is_the_indented_text_of_its_document_and_loses_no_change() {
    for count in [0, 1, 64, 65, 1024, 3000] {
        let review = renamed(count);
        let expected = serde_json::to_string_pretty(&forms::document(&review)).unwrap() + "\n";
        let text = forms::json(&review);
        let same = text.bytes().zip(expected.bytes()).take_while(|(one, other)| one == other).count();
        assert!(text == expected, "{count} changes: another text from byte {same} of {}", expected.len());
        let read: ReviewDocument = serde_json::from_str(&text).expect("its own format");
        assert!(Review::from(read) == review, "{count} changes: another review");
    }
}

/// Fails once, at the write that has the byte at this position, and takes everything else.
struct Faulty(usize);

impl Write for Faulty {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let left = self.0.checked_sub(bytes.len());
        self.0 = left.unwrap_or(usize::MAX);
        left.map_or(Err(io::ErrorKind::StorageFull.into()), |_| Ok(bytes.len()))
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_json_form_that_cannot_be_written_whole_is_an_error() {
    let review = renamed(2100);
    let whole = forms::json(&review).len();
    for at in (0..whole).step_by(whole / 50).chain([1, whole - 1]) {
        assert!(forms::write_json(&review, &mut Faulty(at)).is_err(), "byte {at} of {whole}");
    }
    assert!(forms::write_json(&review, &mut Faulty(whole)).is_ok());
}
