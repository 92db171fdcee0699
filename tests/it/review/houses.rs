//! What holds of the review of a house before and after what integrators do to it.

use super::edits::{Edit, Site, edited};
use super::house::House;
use super::laws::{compare, told_once};
use housewright::bridge::definition::BridgeDefinition;
use housewright::review::{Kind, Review, apply, same};
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use std::collections::BTreeSet;

/// The review as a patch must give the new build, be told once, and be empty only where nothing differs.
fn check(old: &[BridgeDefinition], new: &[BridgeDefinition], review: &Review) -> Result<(), TestCaseError> {
    let patched = apply(review, old).expect("made from these definitions");
    prop_assert!(same(&patched, new));
    prop_assert_eq!(review.is_empty(), same(old, new));
    told_once(review)
}

#[test]
fn a_review_of_what_integrators_do_is_a_patch_and_every_sort_of_change_occurs() {
    let mut seen: BTreeSet<Kind> = BTreeSet::new();
    // The same edits each time: a sort of change that is rare must not be missed by chance.
    let config = Config { cases: 4000, failure_persistence: None, ..Config::default() };
    let mut runner = TestRunner::new_with_rng(config, TestRng::deterministic_rng(RngAlgorithm::ChaCha));
    let tried = std::cell::RefCell::new(&mut seen);
    runner
        .run(&edited(), |(_, old, new)| {
            let review = compare(&old, &new);
            tried.borrow_mut().extend(review.changes.iter().map(|change| change.kind));
            check(&old, &new, &review)
        })
        .unwrap();
    // What the edits cannot do: another house, another edition, faults of a ledger, other names of clusters and bridges,
    // exchanged and taken keys, conversions turned round or to another effect, what is described and not shown.
    let never = [
        Kind::HouseId,
        Kind::MatterEdition,
        Kind::NewIdentity,
        Kind::NumberReused,
        Kind::Regrouped,
        Kind::ShownAgain,
        Kind::NoLongerShown,
        Kind::PlaceLost,
        Kind::InterfaceChanged,
        Kind::FunctionRemoved,
        Kind::FunctionReduced,
        Kind::BridgeRekeyed,
        Kind::KeysExchanged,
        Kind::KeyTaken,
        Kind::Reversed,
        Kind::OtherEffect,
        Kind::ShownOtherwise,
        Kind::FunctionWired,
        Kind::TelegramSize,
        Kind::ValuesChanged,
        Kind::FirstValueChanged,
        Kind::TelegramOrder,
        Kind::Wording,
    ];
    let all = housewright::review::judgements().iter().map(|row| row.kind);
    let missing: Vec<_> = all.filter(|kind| !seen.contains(kind) && !never.contains(kind)).collect();
    assert!(missing.is_empty(), "never seen: {missing:?}");
}

/// What one edit of a house of twenty appliances must be told as, and how many changes that is.
fn one(edit: Edit, kind: Kind, changes: usize) {
    let old = Site::new(20);
    let mut new = old.clone();
    new.edit(edit);
    let (old, new) = (old.built(), new.built());
    let review = compare(&old, &new);
    let kinds: Vec<Kind> = review.changes.iter().map(|change| change.kind).collect();
    assert!(kinds.contains(&kind) && kinds.len() == changes, "{edit:?}: {kinds:?}");
    check(&old, &new, &review).unwrap();
}

#[test]
fn one_edit_is_one_change() {
    one(Edit::Rename(5), Kind::ProbableRename, 1);
    one(Edit::Rekey(1), Kind::Rekeyed, 1);
    one(Edit::Swap(0, 4), Kind::Swap, 1);
    one(Edit::Renumber(1), Kind::BlockMoved, 1);
    one(Edit::Split(2), Kind::Split, 1);
    one(Edit::Merge(0, 4), Kind::Merged, 1);
    one(Edit::Class(0), Kind::ClassChanged, 1);
    one(Edit::Class(2), Kind::ClassChanged, 1);
    one(Edit::Room(2, 1), Kind::RoomChanged, 1);
    one(Edit::Label(2), Kind::Relabelled, 1);
    one(Edit::Limits(2), Kind::LimitsChanged, 1);
    one(Edit::Timing(3), Kind::TimingChanged, 1);
    one(Edit::Joint(2), Kind::ConversionChanged, 1);
    one(Edit::Conversion(2), Kind::ConversionChanged, 1);
    one(Edit::Feedback(0), Kind::StatusSource, 1);
    one(Edit::Central(0), Kind::WiresAdded, 1);
    one(Edit::Uncentral(1), Kind::WiresRemoved, 1);
    one(Edit::Unwire(0), Kind::FunctionUnwired, 1);
    one(Edit::Remove(0), Kind::Removed, 1);
    one(Edit::Remove(1), Kind::Removed, 1);
    one(Edit::Add(1), Kind::Added, 1);
    one(Edit::AddPart(0), Kind::PartAdded, 1);
    one(Edit::RemovePart(1), Kind::PartRemoved, 1);
    one(Edit::Bridge(3), Kind::BridgeChanged, 1);
    one(Edit::Notation, Kind::NotationChanged, 1);
    // A bridge and its lamp; a gone one and its two appliances; two names of bridges and one of the house.
    one(Edit::AddBridge, Kind::BridgeAdded, 2);
    one(Edit::Names, Kind::BridgeRenamed, 3);
}

#[test]
fn what_is_stopped_in_time_does_no_less_than_what_sends_a_value() {
    let (old, mut new) = (House::new(), House::new());
    let link = &mut new.at("lantern").links[3];
    (link.dpt, link.shown) = ("3.007".to_owned(), serde_json::from_value("estimated".into()).unwrap());
    let kinds: Vec<Kind> = compare(&old.0, &new.0).changes.iter().map(|change| change.kind).collect();
    assert!(!kinds.is_empty() && !kinds.contains(&Kind::FunctionReduced), "{kinds:?}");
}
