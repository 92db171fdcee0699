//! The review for programs: format `housewright-review`, version 1.
//!
//! Version 1 is the first. A change that a reader of version 1 would misread makes a new version; a new optional key
//! or a new kind of change does not.

use super::view::telling;
use crate::bridge::definition::HouseRef;
use crate::review::build::{Size, Unread};
use crate::review::change::{Change, Kind, Member, Remedy, Review, Side, Subject};
use crate::review::compared::Compared;
use crate::review::difference::Difference;
use crate::review::judgement::{Consequence, Gateway, judgement};
use rayon::prelude::*;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::borrow::Cow;
use std::io::{self, BufWriter, Write};

/// The `format` word of every review JSON.
pub const FORMAT: &str = "housewright-review";
/// The version this program writes.
pub const VERSION: u32 = 1;

/// What changed between two builds, and what the family notices of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
#[schemars(title = "housewright review")]
pub struct ReviewDocument<'a> {
    /// Always `housewright-review`.
    pub format: String,
    /// Version of this format.
    pub version: u32,
    /// The house, as the new build names it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub house: Option<HouseRef>,
    /// What the two sides are: what was compared.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub compared: Option<Compared>,
    /// How much the old build holds.
    pub before: Size,
    /// How much the new build holds.
    pub after: Size,
    /// Whether everything could be compared. If not, what is not listed here may still have changed.
    pub complete: bool,
    /// Counts.
    pub summary: SummaryDocument,
    /// What could not be read, and so was not compared.
    pub unread: Vec<UnreadDocument>,
    /// Every change, worst consequence first, then by room.
    pub changes: Vec<ChangeDocument<'a>>,
}

/// Counts of a review.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct SummaryDocument {
    /// All changes.
    pub changes: usize,
    /// Those the family does not notice.
    pub unseen: usize,
    /// Those that change what controllers show.
    pub shown: usize,
    /// Those after which controllers read an appliance anew.
    pub regained: usize,
    /// Those that break rooms, scenes or automations.
    pub lost: usize,
    /// The worst consequence; absent without a change.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub worst: Option<Consequence>,
    /// What the gateway has to do for all of them.
    pub gateway: Gateway,
}

/// Something that could not be read.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct UnreadDocument {
    /// On which side.
    pub side: Side,
    /// What, and why.
    pub what: Unread,
}

/// One change.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct ChangeDocument<'a> {
    /// What sort of change.
    pub kind: Kind,
    /// What the family notices.
    pub consequence: Consequence,
    /// What the gateway has to do.
    pub gateway: Gateway,
    /// The change in one sentence.
    pub sentence: String,
    /// More sentences.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub details: Vec<String>,
    /// Why it has this consequence.
    pub reason: Cow<'a, str>,
    /// Section of the Matter specification, or `common practice`.
    pub source: Cow<'a, str>,
    /// The bridge it is about, if it is about one as a whole.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bridge: Option<BridgeName>,
    /// The appliances it is about.
    #[serde(default, skip_serializing_if = "is_empty")]
    pub appliances: Cow<'a, [Member]>,
    /// What to write so that the place is kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub remedy: Option<Cow<'a, Remedy>>,
    /// Why the owner agreed to it, as the accept list of the build says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub agreed: Option<Cow<'a, str>>,
    /// The differences of the definitions that it accounts for.
    pub differences: Cow<'a, [Difference]>,
}

/// A bridge by key and name.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct BridgeName {
    /// Its key.
    pub key: String,
    /// Its name.
    pub name: String,
}

/// Bytes that are gathered before they are written.
const BUFFER: usize = 1 << 16;

/// Writes the review as JSON, indented, with a line end. The text is never whole in memory.
///
/// # Errors
/// What `out` reports.
pub fn write_json(review: &Review, out: &mut dyn Write) -> io::Result<()> {
    let mut out = BufWriter::with_capacity(BUFFER, out);
    serde_json::to_writer_pretty(&mut out, &document(review))?;
    out.write_all(b"\n")?;
    out.flush()
}

/// The review as JSON, as [`write_json`] writes it.
pub fn json(review: &Review) -> String {
    let mut text = Vec::new();
    write_json(review, &mut text).expect("a review is plain data, and memory takes all of it");
    String::from_utf8(text).expect("JSON is text")
}

/// The JSON Schema (draft 2020-12) of a review JSON.
pub fn schema() -> serde_json::Value {
    schemars::schema_for!(ReviewDocument).to_value()
}

/// The review as its JSON document.
pub fn document(review: &Review) -> ReviewDocument<'_> {
    ReviewDocument {
        format: FORMAT.to_owned(),
        version: VERSION,
        house: review.house.clone(),
        compared: review.compared.clone(),
        before: review.before,
        after: review.after,
        complete: review.unread.is_empty(),
        summary: SummaryDocument {
            changes: review.changes.len(),
            unseen: review.count(Consequence::Unseen),
            shown: review.count(Consequence::Shown),
            regained: review.count(Consequence::Regained),
            lost: review.count(Consequence::Lost),
            worst: review.worst(),
            gateway: review.gateway(),
        },
        unread: review
            .unread
            .iter()
            .map(|(side, what)| UnreadDocument { side: *side, what: what.clone() })
            .collect(),
        changes: review.changes.par_iter().map(ChangeDocument::of).collect(),
    }
}

fn is_empty(members: &[Member]) -> bool {
    members.is_empty()
}

impl<'a> ChangeDocument<'a> {
    fn of(change: &'a Change) -> Self {
        let judged = judgement(change.kind);
        let telling = telling(change);
        let bridge = match &change.subject {
            Subject::Bridge { key, name } => Some(BridgeName { key: key.clone(), name: name.clone() }),
            Subject::House | Subject::Appliances(_) => None,
        };
        Self {
            kind: change.kind,
            consequence: judged.consequence,
            gateway: judged.gateway,
            sentence: telling.headline,
            details: telling.details,
            reason: judged.reason.into(),
            source: judged.cited().into(),
            bridge,
            appliances: Cow::Borrowed(change.members()),
            remedy: change.remedy.as_ref().map(Cow::Borrowed),
            agreed: change.agreed.as_deref().map(Cow::Borrowed),
            differences: Cow::Borrowed(&change.differences),
        }
    }
}

impl From<ReviewDocument<'_>> for Review {
    /// The review that a document tells of; nothing is lost on the way.
    fn from(document: ReviewDocument<'_>) -> Self {
        let change = |one: ChangeDocument<'_>| Change {
            kind: one.kind,
            subject: match one.bridge {
                Some(BridgeName { key, name }) => Subject::Bridge { key, name },
                None if one.appliances.is_empty() => Subject::House,
                None => Subject::Appliances(one.appliances.into_owned()),
            },
            remedy: one.remedy.map(Cow::into_owned),
            agreed: one.agreed.map(Cow::into_owned),
            differences: one.differences.into_owned(),
        };
        Self {
            house: document.house,
            compared: document.compared,
            before: document.before,
            after: document.after,
            changes: document.changes.into_iter().map(change).collect(),
            unread: document.unread.into_iter().map(|one| (one.side, one.what)).collect(),
        }
    }
}
