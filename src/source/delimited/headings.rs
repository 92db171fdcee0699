//! What the headings of an address table mean.
//!
//! The words are common practice of the trade, in English and German, written by hand; a house with other headings
//! names them under `columns:`.

use super::Column;

/// Headings that are known without being told, as [`plain`] leaves them. Of two columns with the same meaning, the
/// one whose heading stands first here counts.
const KNOWN: [(Column, &[&str]); 6] = [
    (
        Column::Address,
        &[
            "groupaddress",
            "gruppenadresse",
            "knxaddress",
            "knxadresse",
            "ga",
            "address",
            "adresse",
            "addr",
            "gruppe",
        ],
    ),
    (
        Column::Name,
        &[
            "name",
            "groupname",
            "gruppenname",
            "groupaddressname",
            "gruppenadressname",
            "gruppenadressenname",
            "bezeichnung",
            "designation",
            "label",
            "function",
            "funktion",
            "title",
            "titel",
            "text",
        ],
    ),
    (
        Column::Dpt,
        &[
            "dpt",
            "datapointtype",
            "datapointtypes",
            "datenpunkttyp",
            "datenpunkttypen",
            "dptype",
            "dptyp",
            "dpst",
            "dptid",
            "datatype",
            "datentyp",
            "type",
            "typ",
            "format",
        ],
    ),
    (
        Column::Description,
        &[
            "description",
            "beschreibung",
            "comment",
            "comments",
            "kommentar",
            "remark",
            "remarks",
            "bemerkung",
            "bemerkungen",
            "note",
            "notes",
            "notiz",
            "notizen",
            "anmerkung",
        ],
    ),
    (
        Column::Flags,
        &[
            "flags",
            "flag",
            "objectflags",
            "objektflags",
            "communicationflags",
            "kommunikationsflags",
            "crwtu",
        ],
    ),
    (
        Column::Room,
        &["room", "raum", "roomname", "raumname", "location", "ort", "zimmer", "place", "einbauort"],
    ),
];

/// A heading as it is compared: letters and digits, in lower case.
pub(super) fn plain(heading: &str) -> String {
    heading.chars().filter(|character| character.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

/// The meaning of a heading, with its rank among those of the same meaning.
pub(super) fn known(heading: &str) -> Option<(Column, usize)> {
    let heading = plain(heading);
    KNOWN.iter().find_map(|(column, words)| {
        words.iter().position(|word| *word == heading).map(|rank| (*column, rank))
    })
}
