//! The review as one page for a browser: self-contained, readable with scripts off, nothing fetched.
//!
//! The page is `templates/papers/review.html`, embedded; it is given plain values, which it escapes.

use super::page::{Piece, pieces, written};
use super::view::{
    clean, gateway, gateway_of, groups, hint, keys, only_side, remedy, room, side, sides, summary, telling,
    title,
};
use crate::review::change::{Change, Review, Side};
use crate::review::judgement::Judgement;
use crate::review::words::{Row, capital, list, rows};
use crate::sort;
use serde::Serialize;
use std::collections::BTreeSet;

/// More changes than this of one consequence are not shown: a browser would take seconds for them.
const SHOWN: usize = 2000;
/// More facts than this of one change are not shown.
const ROWS: usize = 200;

#[derive(Serialize)]
struct Page<'r> {
    title: String,
    summary: String,
    gateway: Option<String>,
    /// What was compared.
    sides: Vec<SideLine>,
    hint: Option<Vec<Piece>>,
    unread: Vec<UnreadLine>,
    rooms: BTreeSet<String>,
    kinds: Vec<KindLine<'r>>,
    groups: Vec<GroupPart<'r>>,
}

#[derive(Serialize)]
struct SideLine {
    side: String,
    origin: Vec<Piece>,
}

#[derive(Serialize)]
struct UnreadLine {
    side: &'static str,
    name: String,
    why: Vec<Piece>,
    help: Vec<Piece>,
}

#[derive(Clone, Serialize)]
struct KindLine<'r> {
    name: &'r str,
    title: &'r str,
    reason: &'r str,
    gateway: String,
    source: &'r str,
}

#[derive(Serialize)]
struct GroupPart<'r> {
    word: &'r str,
    heading: String,
    meaning: String,
    count: usize,
    rooms: Vec<RoomPart<'r>>,
    more: usize,
    kinds: Vec<KindLine<'r>>,
}

#[derive(Serialize)]
struct RoomPart<'r> {
    name: String,
    changes: Vec<ChangePart<'r>>,
}

#[derive(Serialize)]
struct ChangePart<'r> {
    kind: &'r str,
    /// The heading that it stands under and the rooms of its appliances, a line each.
    rooms: String,
    keys: String,
    gateway: String,
    headline: Vec<Piece>,
    details: Vec<Vec<Piece>>,
    remedy: Option<Vec<Piece>>,
    caption: String,
    /// For what is only new or only gone: there is nothing to compare.
    only: Option<Only>,
    rows: Vec<RowPart>,
    more: usize,
}

#[derive(Clone, Copy, Serialize)]
struct Only {
    heading: &'static str,
    side: &'static str,
}

#[derive(Serialize)]
struct RowPart {
    what: String,
    before: Option<String>,
    after: Option<String>,
}

/// Writes the review as one self-contained page.
pub fn html(review: &Review) -> String {
    written("review.html", include_str!("../../../templates/papers/review.html"), page(review))
}

fn page(review: &Review) -> Page<'static> {
    let groups: Vec<_> = groups(review);
    let mut kinds: Vec<&Judgement> = groups.iter().flat_map(|group| group.kinds.iter().copied()).collect();
    sort::by_key(&mut kinds, |kind| kind.title);
    Page {
        title: title(review),
        summary: capital(&summary(review)),
        gateway: (!review.changes.is_empty()).then(|| capital(&gateway(review))),
        sides: sides(review).into_iter().map(side_line).collect(),
        hint: hint(review).map(|hint| pieces(&hint)),
        unread: review
            .unread
            .iter()
            .map(|(of, one)| UnreadLine {
                side: side(*of),
                name: clean(&one.name),
                why: pieces(&clean(&one.why)),
                help: pieces(&clean(&one.help)),
            })
            .collect(),
        rooms: review.changes.iter().flat_map(all_rooms).collect(),
        kinds: kinds.into_iter().map(kind_line).collect(),
        groups: groups
            .into_iter()
            .map(|group| {
                let mut left = SHOWN;
                let mut rooms = Vec::new();
                for room in &group.rooms {
                    let changes: Vec<_> =
                        room.changes.iter().take(left).map(|change| change_part(change)).collect();
                    left -= changes.len();
                    if !changes.is_empty() {
                        rooms.push(RoomPart { name: clean(room.name), changes });
                    }
                }
                GroupPart {
                    word: group.consequence.word(),
                    heading: capital(group.consequence.word()),
                    meaning: capital(group.consequence.meaning()),
                    count: group.count,
                    rooms,
                    more: group.count.saturating_sub(SHOWN),
                    kinds: group.kinds.into_iter().map(kind_line).collect(),
                }
            })
            .collect(),
    }
}

fn side_line((side, origin): (&str, String)) -> SideLine {
    SideLine { side: capital(side), origin: pieces(&origin) }
}

fn kind_line(kind: &'static Judgement) -> KindLine<'static> {
    KindLine {
        name: kind.name,
        title: kind.title,
        reason: kind.reason,
        gateway: capital(&gateway_of(kind.gateway)),
        source: kind.cited(),
    }
}

fn change_part(change: &Change) -> ChangePart<'static> {
    let telling = telling(change);
    let all = rows(change);
    let more = all.len().saturating_sub(ROWS);
    let only = only_side(change).map(|side| match side {
        Side::Old => Only { heading: "What it was", side: "before" },
        Side::New | Side::Both => Only { heading: "What it is", side: "after" },
    });
    ChangePart {
        kind: change.kind.name(),
        rooms: all_rooms(change).into_iter().collect::<Vec<_>>().join("\n"),
        keys: clean(&list_of(&keys(change))),
        gateway: gateway_of(change.gateway()),
        only,
        caption: telling.headline.replace('`', ""),
        headline: pieces(&telling.headline),
        details: telling.details.iter().map(|detail| pieces(detail)).collect(),
        remedy: remedy(change).map(|remedy| pieces(&remedy)),
        rows: all.into_iter().take(ROWS).map(row_part).collect(),
        more,
    }
}

/// The rooms by which a change is looked for: where it stands, and those of all its appliances.
fn all_rooms(change: &Change) -> BTreeSet<String> {
    let members = change.members().iter().filter(|member| !member.room.is_empty());
    let rooms = members.map(|member| clean(&member.room));
    rooms.chain([clean(room(change))]).collect()
}

fn list_of(keys: &[&str]) -> String {
    if keys.is_empty() { String::new() } else { list(keys) }
}

fn row_part(row: Row) -> RowPart {
    let value = |value: Option<String>| value.map(|value| clean(value.trim_end()));
    RowPart { what: clean(&row.what), before: value(row.before), after: value(row.after) }
}
