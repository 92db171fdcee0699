//! `manifest.json`: what a build was made from and what it holds. Format `housewright-manifest`.
//!
//! The types are the file's: names and order of fields are those of the JSON. No clock, host, user or absolute path
//! is in it, so that the same sources give the same bytes on every machine.
//!
//! # History and rule for change
//!
//! | version | program | what is different |
//! | --- | --- | --- |
//! | 1 | 0.1 | the first |
//!
//! A change that a reader of version 1 would misread makes a new version; a new optional key does not. Every version
//! is read for ever.

use super::digest::Digest;
use crate::review::Unshown;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::BTreeMap;

/// The `format` word of every manifest.
pub const FORMAT: &str = "housewright-manifest";
/// The version this program writes.
pub const VERSION: u32 = 1;
/// The manifest's name in the output folder.
pub const MANIFEST_NAME: &str = "manifest.json";

/// What a build was made from and what it holds.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "camelCase")]
pub struct Manifest {
    /// Always `housewright-manifest`.
    pub format: String,
    /// Version of this format.
    pub version: u32,
    /// The program that made the build.
    pub program: Program,
    /// Id of the house.
    pub house: String,
    /// Version of each format in the build and in its sources, by the format's name.
    pub formats: BTreeMap<String, u32>,
    /// Every file that was read, by path.
    pub sources: Vec<SourceFile>,
    /// The ledger as this build left it.
    pub ledger: SourceFile,
    /// Every file that was made, by path; without this manifest.
    pub outputs: Vec<OutputFile>,
    /// The highest endpoint number that each bridge ever gave, by the bridge's key: so a later build sees when the ledger
    /// has forgotten one.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub numbers: BTreeMap<String, u16>,
    /// What is described and not shown to controllers (`bridged: false`), with the places that the ledger keeps for it: so a later
    /// review sees when one is lost, and says of what is shown again that it was there before.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub unshown: Vec<Unshown>,
    /// SHA-256 of the manifest of the build that this one replaced; null for a first build. A build that changes
    /// nothing replaces nothing.
    pub predecessor: Option<Digest>,
}

/// A program and its version.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Program {
    /// Its name.
    pub name: String,
    /// Its version.
    pub version: String,
}

/// A file that a build was made from.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
pub struct SourceFile {
    /// Path in the house's folder, with `/`.
    pub path: String,
    /// SHA-256 of its bytes, each CR LF taken as LF.
    pub sha256: Digest,
}

/// A file of a build.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
pub struct OutputFile {
    /// Path in the output folder, with `/`.
    pub path: String,
    /// SHA-256 of its bytes.
    pub sha256: Digest,
    /// How many bytes it has.
    pub bytes: u64,
    /// Whether it tells of the build before too, as a review does. Such a file does not count when it is asked whether
    /// a build changes anything.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub review: bool,
}

/// The JSON Schema of the manifest.
pub fn schema() -> Value {
    let mut schema = schemars::schema_for!(Manifest);
    schema.insert("title".to_owned(), "housewright manifest".into());
    schema.to_value()
}

impl Manifest {
    /// Whether another build was made from the same and came out the same, whatever was there before.
    pub(super) fn is_same_build(&self, other: &Self) -> bool {
        let made = |manifest: &Self| -> Vec<OutputFile> {
            manifest.outputs.iter().filter(|output| !output.review).cloned().collect()
        };
        self.is_from_same(other) && made(self) == made(other)
    }

    /// Whether another build was made from the same.
    pub(super) fn is_from_same(&self, other: &Self) -> bool {
        let from = |manifest: &Self| Self { outputs: Vec::new(), predecessor: None, ..manifest.clone() };
        from(self) == from(other)
    }

    /// The file's bytes.
    pub(super) fn to_bytes(&self) -> Vec<u8> {
        let mut bytes = serde_json::to_vec_pretty(self).expect("texts, numbers and lists have a JSON form");
        bytes.push(b'\n');
        bytes
    }
}
