//! What the two sides of a review are, so that whoever gets the review knows what was compared.
//!
//! Nothing in it differs between machines: paths as they were given, the date of a commit, digests.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The two sides of a review.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct Compared {
    /// The old side.
    pub old: Origin,
    /// The new side.
    pub new: Origin,
}

/// Where one side of a review comes from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
#[schemars(rename = "ComparedSide")]
pub struct Origin {
    /// What it is.
    pub kind: OriginKind,
    /// As it was given: a path, or `REVISION:PATH`. Absent in the review of a build, which compares it with the one that it
    /// replaces.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub given: Option<String>,
    /// The commit, where it was read from version control.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub commit: Option<Commit>,
    /// Name and version of the program that made the build, as its manifest has them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub program: Option<String>,
    /// SHA-256 of the build's `manifest.json`, or of the bridge JSON.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sha256: Option<String>,
    /// True for a house that was never built: no numbers were given, so only the rest is compared.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub unbuilt: bool,
}

/// What a side of a review is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "ComparedSideKind")]
pub enum OriginKind {
    /// A build folder.
    BuildFolder,
    /// One bridge JSON.
    BridgeJson,
    /// A house description, compiled for the review.
    House,
    /// Something of a git revision that could not be read.
    Revision,
    /// The build that is replaced.
    LastBuild,
    /// The build that the review is a part of.
    ThisBuild,
}

/// A commit in version control.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct Commit {
    /// Its whole hash.
    pub hash: String,
    /// The date on which it was made, `YYYY-MM-DD`, in the time zone that it was made in.
    pub date: String,
}

impl Origin {
    /// A side of which only this is known.
    pub fn new(kind: OriginKind, given: Option<String>) -> Self {
        Self { kind, given, commit: None, program: None, sha256: None, unbuilt: false }
    }

    /// The side as a phrase.
    pub(super) fn phrase(&self) -> String {
        let kind = match self.kind {
            OriginKind::BuildFolder => "build folder",
            OriginKind::BridgeJson => "bridge JSON",
            OriginKind::House => "house",
            OriginKind::Revision => "revision",
            OriginKind::LastBuild => "the last build",
            OriginKind::ThisBuild => "this build",
        };
        let given = self.given.as_ref().map(|given| format!(" `{given}`")).unwrap_or_default();
        let of = if self.kind == OriginKind::BridgeJson { "SHA-256" } else { "manifest" };
        let commit = self.commit.as_ref().map(|one| format!("commit {} of {}", short(&one.hash), one.date));
        let sha256 = self.sha256.as_ref().map(|digest| format!("{of} {}", short(digest)));
        let facts: Vec<String> = [commit, self.program.clone(), sha256].into_iter().flatten().collect();
        let facts = if facts.is_empty() { String::new() } else { format!(" ({})", facts.join(", ")) };
        let unbuilt = "; it was not built (it has no `ledger.yaml`): all but endpoint numbers is compared";
        format!("{kind}{given}{facts}{}", if self.unbuilt { unbuilt } else { "" })
    }
}

/// The beginning of a hash or digest, by which people know it.
fn short(hash: &str) -> &str {
    hash.get(..12).unwrap_or(hash)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(origin: &Origin, expected: &str) {
        assert_eq!(origin.phrase(), expected);
    }

    #[test]
    fn a_side_is_told_with_all_that_is_known_of_it() {
        let house = Origin::new(OriginKind::House, Some("v1:hut".to_owned()));
        check(&house, "house `v1:hut`");
        let commit = Some(Commit { hash: "0123456789abcdef".to_owned(), date: "2026-01-02".to_owned() });
        check(&Origin { commit, ..house }, "house `v1:hut` (commit 0123456789ab of 2026-01-02)");
        let last = Origin {
            program: Some("housewright 0.1.0".to_owned()),
            sha256: Some("fedcba9876543210".to_owned()),
            ..Origin::new(OriginKind::LastBuild, None)
        };
        check(&last, "the last build (housewright 0.1.0, manifest fedcba987654)");
        let file = Origin::new(OriginKind::BridgeJson, Some("a.json".to_owned()));
        check(&Origin { sha256: Some("ab".to_owned()), ..file }, "bridge JSON `a.json` (SHA-256 ab)");
    }
}
