//! What the headings of an address table mean.
//!
//! The words are common practice of the trade, in English and German, and a few from other languages, written by hand; a
//! house with other headings names them under `columns:`.

use super::Column;
use unicode_normalization::UnicodeNormalization as _;

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
            "groupaddresses",
            "groupaddr",
            "gruppenadressen",
            "gruppenadr",
            "adressedegroupe",
            "indirizzodigruppo",
            "indirizzogruppo",
            "indirizzo",
            "direcciondegrupo",
            "direccion",
            "groepsadres",
            "enderecodegrupo",
            "endereco",
            "gruppadress",
            "gruppeadresse",
            "adresgrupowy",
            "adresygrupowe",
            "skupinovaadresa",
            "adres",
            "adr",
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
            "ganame",
            "adressname",
            "addressname",
            "nomdugroupe",
            "nomdegroupe",
            "nom",
            "libelle",
            "nomegruppo",
            "nome",
            "denominazione",
            "groepsnaam",
            "naam",
            "nombre",
            "nazwa",
            "nazwagrupy",
            "nazev",
            "namn",
            "gruppnamn",
            "navn",
            "nomedogrupo",
            "funktionsname",
            "verbraucher",
            "objektname",
            "objekt",
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
            "knxtyp",
            "typknx",
            "typededonnees",
            "typedepointdedonnees",
            "tipodidatapoint",
            "tipodatapoint",
            "tipopuntodati",
            "tipodedatos",
            "tipodedados",
            "datatyp",
            "typdanych",
            "datovytyp",
            "datapunttype",
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
            "beschrieb",
            "descrizione",
            "descripcion",
            "descricao",
            "beskrivning",
            "beskrivelse",
            "opis",
            "popis",
            "omschrijving",
            "remarque",
            "remarques",
            "commentaire",
            "opmerking",
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
            "vlaggen",
            "drapeaux",
            "drapeau",
            "flaggor",
            "flagg",
            "flagi",
            "banderas",
            "bandiere",
            "bandeiras",
            "sinalizadores",
            "priznaky",
        ],
    ),
    (
        Column::Room,
        &[
            "room",
            "raum",
            "roomname",
            "raumname",
            "location",
            "ort",
            "zimmer",
            "place",
            "einbauort",
            "piece",
            "stanza",
            "habitacion",
            "estancia",
            "divisao",
            "pomieszczenie",
            "mistnost",
            "rum",
        ],
    ),
];

/// The headings that are known without being told, without case, accents and what is no letter or digit.
pub(crate) fn all() -> impl Iterator<Item = (Column, &'static [&'static str])> {
    KNOWN.into_iter()
}

/// Headings of the columns of main, middle and sub group: of their numbers, or of their names.
const LEVELS: [&[&str]; 3] = [
    &[
        "main",
        "maingroup",
        "hauptgruppe",
        "hg",
        "groupeprincipal",
        "gruppoprincipale",
        "grupoprincipal",
        "hoofdgroep",
        "huvudgrupp",
        "hovedgruppe",
        "grupagłowna",
        "hlavniskupina",
    ],
    &[
        "middle",
        "middlegroup",
        "mittelgruppe",
        "mg",
        "groupemedian",
        "groupeintermediaire",
        "gruppointermedio",
        "grupointermedio",
        "grupointermediario",
        "middengroep",
        "mellangrupp",
        "mellemgruppe",
        "mellomgruppe",
        "grupaposrednia",
        "stredniskupina",
    ],
    &[
        "sub",
        "subgroup",
        "untergruppe",
        "ug",
        "sousgroupe",
        "sottogruppo",
        "subgrupo",
        "subgroep",
        "undergrupp",
        "undergruppe",
        "podgrupa",
        "podskupina",
    ],
];

/// A heading as it is compared: letters without accents and digits, in lower case.
pub(super) fn plain(heading: &str) -> String {
    heading.nfd().filter(|character| character.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

/// Bytes of the longest text that may be a known heading: what a wrong delimiter leaves in one piece is longer.
const LONGEST: usize = 64;

/// The meaning of a heading, with its rank among those of the same meaning.
pub(super) fn known(heading: &str) -> Option<(Column, usize)> {
    let heading = Some(heading).filter(|heading| heading.len() <= LONGEST).map(plain)?;
    KNOWN.iter().find_map(|(column, words)| {
        words.iter().position(|word| *word == heading).map(|rank| (*column, rank))
    })
}

/// The number of the level that a heading names: main, middle or sub group.
pub(super) fn level(heading: &str) -> Option<usize> {
    let heading = Some(heading).filter(|heading| heading.len() <= LONGEST).map(plain)?;
    LEVELS.iter().position(|words| words.contains(&heading.as_str()))
}

/// Whether a heading speaks of types.
pub(super) fn hints_at_type(heading: &str) -> bool {
    let heading = plain(heading);
    ["typ", "tipo", "dpt", "dpst", "datap"].iter().any(|word| heading.contains(word))
}
