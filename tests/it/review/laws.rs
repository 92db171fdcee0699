//! What holds of the review of any two builds.

use super::pointer::patched;
use super::random::{build, pair};
use housewright::bridge::definition::BridgeDefinition;
use housewright::review::forms::{self, ReviewDocument};
use housewright::review::{
    Build, BuildFile, Change, Kind, Review, What, apply, json_patch, read_both, review, same,
};
use proptest::prelude::*;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

pub(super) fn compare(old: &[BridgeDefinition], new: &[BridgeDefinition]) -> Review {
    review(&Build::of(old), &Build::of(new))
}

/// No difference stands in a review twice.
pub(super) fn told_once(review: &Review) -> Result<(), TestCaseError> {
    let all: Vec<String> = review
        .changes
        .iter()
        .flat_map(|change| &change.differences)
        .map(|difference| serde_json::to_string(difference).unwrap())
        .collect();
    prop_assert_eq!(all.iter().collect::<BTreeSet<_>>().len(), all.len());
    Ok(())
}

/// The document that a JSON patch is for.
fn whole(build: &[BridgeDefinition]) -> Value {
    build.iter().map(|bridge| (bridge.bridge.key.clone(), serde_json::to_value(bridge).unwrap())).collect()
}

/// The same build with everything in another order whose order means nothing.
fn turned(build: &[BridgeDefinition]) -> Vec<BridgeDefinition> {
    let mut build = build.to_vec();
    build.reverse();
    for bridge in &mut build {
        bridge.endpoints.reverse();
        for endpoint in &mut bridge.endpoints {
            endpoint.device_types.reverse();
            endpoint.clusters.reverse();
            for cluster in &mut endpoint.clusters {
                cluster.features.reverse();
                cluster.commands.reverse();
            }
            // Links of one start keep their order; a stable sort by anything else than their place is another order.
            endpoint.links.sort_by_key(|link| {
                std::cmp::Reverse(format!(
                    "{:?} {} {:?} {:?}",
                    link.direction, link.cluster, link.attribute, link.command
                ))
            });
        }
    }
    build
}

/// Markdown without its code: fenced lines and what stands between backticks that are not escaped.
fn outside_code(markdown: &str) -> String {
    let mut fenced = false;
    let mut out = String::new();
    for line in markdown.lines() {
        if line.trim_start().starts_with("```") {
            fenced = !fenced;
        } else if !fenced {
            let hidden = line.replace("\\`", "");
            out.extend(hidden.split('`').step_by(2));
            out.push('\n');
        }
    }
    out
}

/// The files of a build: as a build writes them, or each on one line.
fn written(build: &[BridgeDefinition], lines: bool) -> Vec<(String, Vec<u8>)> {
    let text = |one: &BridgeDefinition| {
        let mut text = Vec::new();
        match lines {
            true => housewright::emit::write_definition(&mut text, one).unwrap(),
            false => serde_json::to_writer(&mut text, one).unwrap(),
        }
        text
    };
    build.iter().map(|one| (format!("{}.bridge.json", one.bridge.key), text(one))).collect()
}

fn files(texts: &[(String, Vec<u8>)]) -> Vec<BuildFile<'_>> {
    texts.iter().map(|(name, bytes)| BuildFile::of(name, bytes.clone())).collect()
}

fn has_twice(bridge: &BridgeDefinition, key: &str) -> bool {
    bridge.endpoints.iter().filter(|endpoint| endpoint.key == key).count() > 1
}

fn has(review: &Review, kind: Kind) -> bool {
    review.changes.iter().any(|change| change.kind == kind)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 3000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_review_is_a_patch_from_old_to_new((old, new) in pair()) {
        let patched = apply(&compare(&old, &new), &old).expect("made from these definitions");
        prop_assert!(same(&patched, &new));
    }

}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_review_with_a_difference_in_the_links_gives_their_order_too((old, new) in pair()) {
        let patched = apply(&compare(&old, &new), &old).expect("made from these definitions");
        for (patched, new) in patched.iter().zip(&new) {
            for (patched, new) in patched.endpoints.iter().zip(&new.endpoints) {
                let number = new.number;
                let was = old.iter().flat_map(|one| &one.endpoints).filter(|one| one.number == number);
                let only_order = was.map(|one| &one.links).any(|links| *links == patched.links);
                prop_assert!(only_order || patched.links == new.links);
                prop_assert_eq!(&patched.clusters, &new.clusters);
            }
        }
    }

    #[test]
    fn a_review_is_empty_exactly_when_the_builds_are_the_same((old, new) in pair()) {
        prop_assert_eq!(compare(&old, &new).is_empty(), same(&old, &new));
    }

    #[test]
    fn a_build_in_another_order_is_the_same_build(build in build()) {
        prop_assert!(compare(&build, &build).is_empty());
        let turned = turned(&build);
        let review = compare(&build, &turned);
        prop_assert!(review.is_empty(), "{:#?}", review.changes);
    }

    #[test]
    fn no_difference_is_told_twice_and_none_is_idle((old, new) in pair()) {
        let review = compare(&old, &new);
        told_once(&review)?;
        for (at, change) in review.changes.iter().enumerate() {
            for (leaf, difference) in change.differences.iter().enumerate() {
                if matches!(difference.what, What::LinkOrder { .. }) {
                    continue;
                }
                let mut less = review.clone();
                less.changes[at].differences.remove(leaf);
                let reached = apply(&less, &old).is_ok_and(|reached| same(&reached, &new));
                prop_assert!(!reached, "{:?} is idle", difference);
            }
        }
    }

    #[test]
    fn an_appliance_has_one_change_a_kind((old, new) in pair()) {
        // No build of ours has a key twice in a bridge; where one is read all the same, each is an appliance.
        let all = old.iter().chain(&new).flat_map(|one| &one.endpoints);
        let most = |key: &str| all.clone().filter(|endpoint| endpoint.key == key).count().max(1);
        let mut seen = BTreeMap::new();
        for change in compare(&old, &new).changes {
            for member in change.members() {
                // What was two appliances may be one afterwards: each of them has its change.
                let was = member.former_key.clone();
                let key = (change.kind, member.bridge.clone(), member.key.clone(), was, member.side);
                let times: &mut usize = seen.entry(key.clone()).or_default();
                *times += 1;
                let names = [Some(&member.key), member.former_key.as_ref()].into_iter().flatten();
                let all = || old.iter().chain(&new);
                let doubled = names.filter(|name| all().any(|one| has_twice(one, name)));
                let allowed = doubled.map(|name| most(name)).max().unwrap_or(1);
                prop_assert!(*times <= allowed, "{key:?}");
            }
        }
    }

    #[test]
    fn the_json_form_carries_the_whole_review((old, new) in pair()) {
        let review = compare(&old, &new);
        let text = forms::json(&review);
        let read: ReviewDocument = serde_json::from_str(&text).expect("its own format");
        let read = Review::from(read);
        prop_assert_eq!(&read, &review);
        prop_assert!(same(&apply(&read, &old).unwrap(), &new));
    }

    #[test]
    fn the_json_patch_makes_the_new_definitions_of_the_old((old, new) in pair()) {
        let patch = json_patch(&compare(&old, &new), &old).expect("made from these definitions");
        let reached = patched(whole(&old), &patch);
        let Value::Object(reached) = reached else { panic!("a document of bridges") };
        let mut reached: Vec<BridgeDefinition> =
            reached.into_values().map(|bridge| serde_json::from_value(bridge).unwrap()).collect();
        reached.sort_by(|a, b| a.bridge.key.cmp(&b.bridge.key));
        let expected = apply(&compare(&old, &new), &old).unwrap();
        prop_assert_eq!(reached, expected);
    }

    #[test]
    fn reading_both_sides_at_once_finds_the_same_changes((old, new) in pair(), lines in any::<bool>()) {
        let (old_texts, new_texts) = (written(&old, lines), written(&new, lines));
        let (a, b) = read_both(files(&old_texts), files(&new_texts));
        prop_assert_eq!(review(&a, &b), compare(&old, &new));
        prop_assert_eq!(a.size(), Build::read(files(&old_texts)).size());
        prop_assert_eq!(b.size(), Build::of(&new).size());
    }

    #[test]
    fn a_file_that_was_cut_or_spoilt_is_never_without_change(old in build(), cut in any::<prop::sample::Index>()) {
        let whole = written(&old, true);
        let mut spoilt = whole.clone();
        prop_assume!(!spoilt.is_empty());
        let text = &mut spoilt[0].1;
        let at = cut.index(text.len());
        text.truncate(at);
        for (a, b) in [(&whole, &spoilt), (&spoilt, &whole), (&spoilt, &spoilt)] {
            let (a, b) = read_both(files(a), files(b));
            let review = review(&a, &b);
            // Only the line end after the last bracket may be missing.
            prop_assert!(!review.is_empty() || at + 1 >= whole[0].1.len(), "cut at {at}");
        }
    }

    #[test]
    fn a_swap_is_a_swap_both_ways((old, new) in pair()) {
        prop_assert_eq!(has(&compare(&old, &new), Kind::Swap), has(&compare(&new, &old), Kind::Swap));
    }

    #[test]
    fn every_form_is_written_for_every_review((old, new) in pair()) {
        let review = compare(&old, &new);
        let told = |change: &Change| change.kind.name();
        for detail in [forms::Detail::Brief, forms::Detail::Usual, forms::Detail::Lines] {
            let text = forms::text(&review, &forms::TextOptions { detail, ..Default::default() });
            for change in &review.changes {
                prop_assert!(text.contains(told(change)), "{} is not in\n{}", told(change), text);
            }
        }
        let markdown = forms::markdown(&review);
        prop_assert!(!outside_code(&markdown).contains("<b>"), "a name wrote HTML in\n{}", markdown);
        let html = forms::html(&review);
        prop_assert!(!html.contains("<b>`"), "a name wrote HTML");
    }
}
