//! Texts that end sooner than they seem to: in `name: Lamp #2` a comment begins at the `#`.

use super::model::Appliance;
use super::problem::{Problem, ProblemKind};
use super::read::House;
use crate::source::{Given, Place, Sources};

/// Tells every name and free text of a house behind which such a comment stands.
pub(super) fn look(house: &House, sources: &Sources, problems: &mut Vec<Problem>) {
    let mut look_at = |text: &Given<String>, room: Option<&str>, appliance: Option<&str>| {
        let Some(text) = text.here() else { return };
        if let Some(whole) = whole(text.place, sources.source(text.place.file)) {
            let [room, appliance] = [room, appliance].map(|key| key.map(str::to_owned));
            let kind =
                ProblemKind::CutShort { text: text.value.clone(), whole: whole.to_owned(), room, appliance };
            problems.push(Problem { place: text.place, kind });
        }
    };
    look_at(&house.head.name, None, None);
    house.bridges.iter().for_each(|(_, bridge)| look_at(&bridge.name, None, None));
    for (key, room) in &house.rooms {
        let room_key = Some(key.value.as_str());
        [&room.name, &room.floor].into_iter().for_each(|text| look_at(text, room_key, None));
        for (key, appliance) in room.appliances.here().into_iter().flat_map(|entries| entries.value.sound()) {
            let Appliance { name, note, confirmed, .. } = &appliance.value;
            let confirmed = confirmed.value().into_iter().flat_map(|by| [&by.by, &by.checked]);
            for text in [name, note].into_iter().chain(confirmed) {
                look_at(text, room_key, Some(&key.value));
            }
        }
    }
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
