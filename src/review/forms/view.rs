//! The order in which people read a review: by consequence, worst first, then by room.

use crate::review::change::{Change, Kind, Remedy, Review, Side, Subject};
use crate::review::difference::What;
use crate::review::judgement::{Consequence, Gateway, Judgement, judgement};
use crate::review::words::{Telling, tell};
use crate::sort;

/// The changes with one consequence.
pub(super) struct Group<'r> {
    pub(super) consequence: Consequence,
    pub(super) rooms: Vec<Room<'r>>,
    /// How many changes there are.
    pub(super) count: usize,
    /// The kinds of changes in it, in the order of the table.
    pub(super) kinds: Vec<&'static Judgement>,
}

/// The changes of a group in one room.
pub(super) struct Room<'r> {
    pub(super) name: &'r str,
    pub(super) changes: Vec<&'r Change>,
}

/// The groups of a review that have changes.
pub(super) fn groups(review: &Review) -> Vec<Group<'_>> {
    let mut groups: Vec<Group> = Vec::new();
    for change in &review.changes {
        let consequence = change.consequence();
        if groups.last().is_none_or(|group| group.consequence != consequence) {
            groups.push(Group { consequence, rooms: Vec::new(), count: 0, kinds: Vec::new() });
        }
        let Some(group) = groups.last_mut() else { continue };
        group.count += 1;
        let kind = judgement(change.kind);
        if !group.kinds.contains(&kind) {
            group.kinds.push(kind);
        }
        let name = room(change);
        match group.rooms.last_mut() {
            Some(room) if room.name == name => room.changes.push(change),
            _ => group.rooms.push(Room { name, changes: vec![change] }),
        }
    }
    for group in &mut groups {
        sort::by_key(&mut group.kinds, |judgement| judgement.kind);
    }
    groups
}

/// The heading under which a change stands.
pub(super) fn room(change: &Change) -> &str {
    match &change.subject {
        Subject::House => "The house",
        Subject::Bridge { .. } => "Bridges",
        Subject::Appliances(_) => match change.room() {
            None => "Several rooms",
            Some("") => "No room",
            Some(room) => room,
        },
    }
}

/// The change in words, without characters that would steer a terminal or turn the reading direction.
pub(super) fn telling(change: &Change) -> Telling {
    let Telling { headline, mut details } = tell(change);
    details.extend(change.agreed.as_ref().map(|reason| format!("Agreed to by the owner: {reason}")));
    Telling { headline: clean(&headline), details: details.iter().map(|detail| clean(detail)).collect() }
}

/// The text without control characters and direction marks; line ends stay.
pub(super) fn clean(text: &str) -> String {
    let steers = |letter: char| {
        letter.is_control() && letter != '\n'
            || matches!(letter, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    };
    // Hardly any text has one.
    if text.chars().any(steers) {
        text.chars().map(|letter| if steers(letter) { '\u{fffd}' } else { letter }).collect()
    } else {
        text.to_owned()
    }
}

/// What the review is of.
pub(super) fn title(review: &Review) -> String {
    clean(review.house.as_ref().map_or("Two builds", |house| house.name.as_str()))
}

/// The two sides, each with its name: what was compared.
pub(super) fn sides(review: &Review) -> Vec<(&'static str, String)> {
    let sides = review.compared.iter().flat_map(|both| [(Side::Old, &both.old), (Side::New, &both.new)]);
    sides.map(|(of, origin)| (side(of), clean(&origin.phrase()).replace('\n', "\u{fffd}"))).collect()
}

/// What so many new identities at once are probably due to, as a sentence without its full stop.
pub(super) fn hint(review: &Review) -> Option<String> {
    const MANY: usize = 5;
    let anew = |change: &&Change| {
        matches!(change.kind, Kind::NewIdentity | Kind::NumberReused | Kind::ProbableRename)
    };
    let count = review.changes.iter().filter(anew).count();
    (count >= MANY && count * 10 >= review.after.appliances).then(|| {
        format!(
            "{count} appliances have another identity at once: was the new build made with the `ledger.yaml` of the old \
             one?"
        )
    })
}

/// How much changed, in one sentence without its full stop.
pub(super) fn summary(review: &Review) -> String {
    let (before, after) = (review.before.appliances, review.after.appliances);
    let size = if before == after {
        format!("two builds of {}", counted(after, "appliance"))
    } else {
        format!("a build of {} and one of {after}", counted(before, "appliance"))
    };
    // A side that could not be read has no bridge.
    let nothing = review.before.bridges == 0 || review.after.bridges == 0;
    match (review.changes.len(), review.unread.is_empty()) {
        (0, false) if nothing => "nothing could be compared".to_owned(),
        (0, true) => format!("no change between {size}"),
        (0, false) => "what could be compared is the same, but not everything could be compared".to_owned(),
        (count, true) => format!("{} between {size}", counted(count, "change")),
        (count, false) => format!("{} in what could be compared", counted(count, "change")),
    }
}

/// How many changes have which consequence, worst first, as one phrase.
pub(super) fn counts(review: &Review) -> String {
    let told: Vec<String> = Consequence::WORST_FIRST
        .into_iter()
        .map(|one| (review.count(one), one.word()))
        .filter(|(count, _)| *count > 0)
        .map(|(count, word)| format!("{count} {word}"))
        .collect();
    told.join(", ")
}

/// What the gateway has to do for all changes.
pub(super) fn gateway(review: &Review) -> String {
    format!("the gateway {}", review.gateway().phrase())
}

/// What the gateway has to do for one change.
pub(super) fn gateway_of(gateway: Gateway) -> String {
    format!("the gateway {}", gateway.phrase())
}

/// Name of a side.
pub(super) fn side(side: Side) -> &'static str {
    match side {
        Side::Old => "old",
        Side::New => "new",
        Side::Both => "both",
    }
}

/// A number of things: `1 change`, `2 changes`.
pub(super) fn counted(count: usize, noun: &str) -> String {
    if count == 1 { format!("1 {noun}") } else { format!("{count} {noun}s") }
}

/// What to write so that the place is kept. Who reads this may have built already, and the line then does nothing.
pub(super) fn remedy(change: &Change) -> Option<String> {
    let Remedy { appliance, line } = change.remedy.as_ref()?;
    let write = format!("Write `{line}` under `{appliance}`");
    let told = match line.strip_prefix("formerly: ") {
        Some(old) => format!(
            "{write} before you build, and it keeps its place; after a build, `housewright ledger rename {old} {appliance} HOUSE` \
             and another build bring it back"
        ),
        None => format!("{write}, and it keeps its place"),
    };
    Some(clean(&told))
}

/// The side of a change that only takes endpoints away or only brings some: there is nothing to compare them with.
pub(super) fn only_side(change: &Change) -> Option<Side> {
    let all = |wanted: fn(&What) -> bool| change.differences.iter().all(|one| wanted(&one.what));
    if all(|what| matches!(what, What::EndpointRemoved { .. })) {
        Some(Side::Old)
    } else if all(|what| matches!(what, What::EndpointAdded { .. })) {
        Some(Side::New)
    } else {
        None
    }
}

/// The keys to name a change by in an accept list.
pub(super) fn keys(change: &Change) -> Vec<&str> {
    match &change.subject {
        Subject::House => Vec::new(),
        Subject::Bridge { key, .. } => vec![key],
        Subject::Appliances(members) => members.iter().map(|member| member.key.as_str()).collect(),
    }
}
