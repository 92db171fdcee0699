//! Corrections of a user's file, and the files of a new house.

use super::{Place, read};
use housewright::emit::{EmitError, write_edits, write_new};
use std::ops::Range;
use std::os::unix::fs::symlink;

/// Corrects `abcdef` and says what comes of it.
fn check(edits: &[(Range<usize>, &str)], expected: Result<&str, fn(&EmitError) -> bool>) {
    let place = Place::new();
    place.write("house.yaml", "abcdef");
    let done = write_edits(place.0.path(), &place.path("house.yaml"), b"abcdef", edits);
    match (done, expected) {
        (Ok(()), Ok(text)) => assert_eq!(place.read("house.yaml"), text),
        (Err(fault), Err(is)) => {
            assert!(is(&fault), "{fault:?}");
            assert_eq!(place.read("house.yaml"), "abcdef");
        }
        (done, _) => panic!("{done:?} for {edits:?}"),
    }
    assert_eq!(place.files(), ["house.yaml"]);
}

#[test]
fn edits_change_their_bytes_and_no_other() {
    let misfit: fn(&EmitError) -> bool = |fault| matches!(fault, EmitError::Edits { .. });
    check(&[], Ok("abcdef"));
    check(&[(1..2, "XYZ")], Ok("aXYZcdef"));
    check(&[(4..6, ""), (0..0, "<"), (2..3, "-")], Ok("<ab-d"));
    check(&[(6..6, "g")], Ok("abcdefg"));
    check(&[(2..2, "1"), (2..2, "2"), (2..3, "C")], Ok("ab12Cdef"));
    check(&[(1..3, "x"), (2..4, "y")], Err(misfit));
    check(&[(5..7, "x")], Err(misfit));
    #[expect(clippy::reversed_empty_ranges, reason = "that is the fault")]
    check(&[(3..2, "x")], Err(misfit));
}

#[test]
fn a_file_that_changed_since_it_was_read_is_left_alone() {
    let place = Place::new();
    place.write("house.yaml", "abcdeF");
    let fault = write_edits(place.0.path(), &place.path("house.yaml"), b"abcdef", &[(0..1, "x")]);
    assert!(matches!(fault, Err(EmitError::Changed { .. })), "{fault:?}");
    assert_eq!(place.read("house.yaml"), "abcdeF");
}

#[test]
fn links_are_followed_within_the_house_only() {
    let place = Place::new();
    place.write("house/real.yaml", "abc");
    place.write("other/real.yaml", "abc");
    symlink("real.yaml", place.path("house/in.yaml")).expect("the folder is ours");
    symlink("../other/real.yaml", place.path("house/out.yaml")).expect("the folder is ours");
    let edit =
        |name| write_edits(&place.path("house"), &place.path("house").join(name), b"abc", &[(0..1, "x")]);
    edit("in.yaml").expect("it stays in the house");
    assert_eq!(place.read("house/real.yaml"), "xbc");
    assert!(place.path("house/in.yaml").is_symlink());
    assert!(matches!(edit("out.yaml"), Err(EmitError::Outside { .. })));
    assert_eq!(place.read("other/real.yaml"), "abc");
}

#[test]
fn a_new_house_overwrites_nothing_and_is_whole_or_not_at_all() {
    let files: [(&str, &[u8]); 3] =
        [("house.yaml", b"h"), ("rooms/hall.yaml", b"r"), ("bus/addresses.csv", b"b")];
    let place = Place::new();
    write_new(&place.path("new/house"), &files).expect("nothing is there");
    assert_eq!(read(&place.path("new/house/rooms/hall.yaml")), "r");
    let fault = write_new(&place.path("new/house"), &files).expect_err("it is there");
    assert!(matches!(fault, EmitError::Exists { .. }), "{fault:?}");
    // A folder with other files is no obstacle; one of the files is, and then none is made.
    place.write("old/notes.txt", "mine");
    place.write("old/bus/addresses.csv", "mine");
    write_new(&place.path("old"), &files).expect_err("one is there");
    // What stands in the way may also be found only while writing.
    place.write("older/rooms", "mine");
    write_new(&place.path("older"), &files).expect_err("a file is where a folder must be");
    assert_eq!(
        place.files(),
        [
            "new/house/bus/addresses.csv",
            "new/house/house.yaml",
            "new/house/rooms/hall.yaml",
            "old/bus/addresses.csv",
            "old/notes.txt",
            "older/rooms",
        ]
    );
}
