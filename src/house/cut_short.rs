//! Texts that end sooner than they seem to: in `name: Lamp #2` a comment begins at the `#`.

use super::model::{Appliance, Room};
use super::problem::{Problem, ProblemKind};
use super::read::House;
use crate::pieces;
use crate::source::{Given, Place, Sources, Spanned};

/// Tells every name and free text of a house behind which such a comment stands.
pub(super) fn look(house: &House, sources: &Sources) -> Vec<Problem> {
    let look_at = |text: &Given<String>, room: Option<&str>, appliance: Option<&str>| {
        let text = text.here()?;
        let whole = whole(text.place, sources.source(text.place.file))?.to_owned();
        let [room, appliance] = [room, appliance].map(|key| key.map(str::to_owned));
        let kind = ProblemKind::CutShort { text: text.value.clone(), whole, room, appliance };
        Some(Problem { place: text.place, kind })
    };
    let in_room = |(key, room): &(Spanned<String>, Room)| {
        let room_key = Some(key.value.as_str());
        let names = [&room.name, &room.floor].into_iter().filter_map(|text| look_at(text, room_key, None));
        let mut problems: Vec<Problem> = names.collect();
        for (key, appliance) in room.appliances.here().into_iter().flat_map(|entries| entries.value.sound()) {
            let Appliance { name, note, confirmed, .. } = &appliance.value;
            let confirmed = confirmed.value().into_iter().flat_map(|by| [&by.by, &by.checked]);
            let texts = [name, note].into_iter().chain(confirmed);
            problems.extend(texts.filter_map(|text| look_at(text, room_key, Some(&key.value))));
        }
        problems
    };
    let names = house.bridges.iter().map(|(_, bridge)| &bridge.name);
    let names = [&house.head.name].into_iter().chain(names);
    let mut problems: Vec<Problem> = names.filter_map(|text| look_at(text, None, None)).collect();
    problems.append(&mut pieces::flat(house.rooms.len(), pieces::HEAVY, |range, problems| {
        problems.extend(house.rooms.get(range).unwrap_or_default().iter().flat_map(in_room));
    }));
    problems
}

/// A text without quotes together with the comment behind it, if a letter or digit follows the `#` directly: who
/// writes a comment leaves a space.
fn whole(place: Place, source: &str) -> Option<&str> {
    let (start, end) = (place.start as usize, place.end as usize);
    let behind = source.get(end..)?;
    let comment = behind.trim_start_matches(' ').strip_prefix('#')?;
    let is_text = comment.starts_with(char::is_alphanumeric) && behind.starts_with(' ');
    let is_plain = !source.get(start..end)?.starts_with(['"', '\'', '|', '>']);
    let line = behind.split(['\n', '\r']).next()?;
    let line = line.split_once(" # ").map_or(line, |(text, _)| text).trim_end();
    source.get(start..end + line.len()).filter(|whole| is_text && is_plain && !whole.contains('\n'))
}
