//! The one table of consequences: what each kind of change means for the family and for the gateway, and why.

use super::change::Kind;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::sync::LazyLock;

/// What the family notices, from nothing to the worst.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Consequence {
    /// Wiring or documentation only; the family notices nothing.
    Unseen,
    /// A name, room or limit that controllers display changes.
    Shown,
    /// Controllers must read the appliance anew; it stays in its rooms and automations.
    Regained,
    /// An endpoint or a function disappears or is replaced; rooms, scenes and automations that use it break.
    Lost,
}

impl Consequence {
    /// All, worst first.
    pub const WORST_FIRST: [Self; 4] = [Self::Lost, Self::Regained, Self::Shown, Self::Unseen];

    /// The word, as options and forms write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Unseen => "unseen",
            Self::Shown => "shown",
            Self::Regained => "regained",
            Self::Lost => "lost",
        }
    }

    /// The consequence of that name.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::WORST_FIRST.into_iter().find(|one| one.word() == word)
    }

    /// What it means, as one plain sentence without its full stop.
    pub fn meaning(self) -> &'static str {
        match self {
            Self::Unseen => "wiring or documentation only; the family notices nothing",
            Self::Shown => "a name, room, limit or state that controllers display changes",
            Self::Regained => "controllers read the appliance anew; it stays in its rooms and automations",
            Self::Lost => {
                "something disappears or is replaced; rooms, scenes and automations that use it break"
            }
        }
    }
}

/// What the gateway has to do before the new definitions are in force.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Gateway {
    /// Nothing.
    Nothing,
    /// Read its definitions again.
    Reread,
    /// Read its definitions and start anew.
    Restart,
}

impl Gateway {
    /// What the gateway has to do, to stand after "the gateway".
    pub fn phrase(self) -> &'static str {
        match self {
            Self::Nothing => "has nothing to do",
            Self::Reread => "reads its definitions again",
            Self::Restart => "must be restarted",
        }
    }
}

/// What one kind of change means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Judgement {
    /// The kind of change.
    pub kind: Kind,
    /// Its name, as accept lists write it.
    pub name: &'static str,
    /// What it is, in a few words.
    pub title: &'static str,
    /// For the family.
    pub consequence: Consequence,
    /// For the gateway.
    pub gateway: Gateway,
    /// Why it has this consequence: one sentence, with its full stop.
    pub reason: &'static str,
    /// Sections of the Matter 1.6 specification, or `common practice`, as developers write them; see [`cited`](Self::cited).
    pub source: &'static str,
}

/// How the table writes the books of the specification, and what they are called.
const BOOKS: [(&str, &str); 3] = [
    ("core§", "Matter 1.6 Core Specification"),
    ("device§", "Matter 1.6 Device Library Specification"),
    ("cluster§", "Matter 1.6 Application Cluster Specification"),
];

impl Judgement {
    /// The source in full, for who reads a review: "Matter 1.6 Core Specification, 9.5 and 9.12". Whether somebody looked it
    /// up is for who writes the table.
    pub fn cited(&self) -> &'static str {
        static CITED: LazyLock<Vec<String>> =
            LazyLock::new(|| TABLE.iter().map(|row| cited(row.source)).collect());
        CITED.get(self.kind as usize).map_or(self.source, String::as_str)
    }
}

fn cited(sources: &str) -> String {
    let mut cited = String::new();
    let mut last = "";
    for source in sources.split([';', ',']).map(|one| one.trim().trim_end_matches(FROM_MEMORY)) {
        let book = BOOKS.iter().find_map(|(short, book)| Some((*book, source.strip_prefix(short)?)));
        let (book, section) = book.unwrap_or((source, ""));
        cited += &match (last == book, section.is_empty(), cited.is_empty()) {
            (true, ..) => format!(" and {section}"),
            (false, true, true) => book.to_owned(),
            (false, false, true) => format!("{book}, {section}"),
            (false, true, false) => format!("; {book}"),
            (false, false, false) => format!("; {book}, {section}"),
        };
        last = book;
    }
    cited
}

/// What the table writes behind a section that was not looked up.
const FROM_MEMORY: &str = " (from memory)";

/// The judgement of a kind.
pub fn judgement(kind: Kind) -> &'static Judgement {
    // That there is a row for the last kind too is held by a test.
    TABLE.get(kind as usize).unwrap_or(&TABLE[0])
}

/// A row out of place would judge one kind as another, a loss as unseen: no such program is compiled.
const _: () = {
    let (mut rest, mut at): (&[Judgement], usize) = (&TABLE, 0);
    while let [row, others @ ..] = rest {
        assert!(row.kind as usize == at, "`TABLE` has one row for each variant of `Kind`, in their order");
        (rest, at) = (others, at + 1);
    }
};

/// The whole table, in the order of [`Kind`].
pub fn judgements() -> &'static [Judgement] {
    &TABLE
}

impl Kind {
    /// The kind of that name.
    pub fn from_name(name: &str) -> Option<Self> {
        TABLE.iter().find(|row| row.name == name).map(|row| row.kind)
    }

    /// Its name.
    pub fn name(self) -> &'static str {
        judgement(self).name
    }
}

const fn row(
    kind: Kind,
    (name, title): (&'static str, &'static str),
    consequence: Consequence,
    gateway: Gateway,
    reason: &'static str,
    source: &'static str,
) -> Judgement {
    Judgement { kind, name, title, consequence, gateway, reason, source }
}

/// Written by hand. Sections are those of the Matter 1.6.0 data model (core: Core Specification, device: Device
/// Library, cluster: Application Cluster Specification); "(from memory)" where the section was not looked up.
static TABLE: [Judgement; 52] = {
    use Consequence::{Lost, Regained, Shown, Unseen};
    use Gateway::{Nothing, Reread, Restart};
    use Kind as K;
    [
        row(
            K::HouseId,
            ("house-id", "other house id"),
            Unseen,
            Restart,
            "Controllers do not see the house's id; the unique ids made from it are compared one by one. It should \
             never change: these may be builds of two houses.",
            "common practice",
        ),
        row(
            K::HouseRenamed,
            ("house-renamed", "house renamed"),
            Unseen,
            Nothing,
            "The house's name stands in papers; controllers show the bridge's.",
            "common practice",
        ),
        row(
            K::BridgeRenamed,
            ("bridge-renamed", "bridge renamed"),
            Shown,
            Restart,
            "It is the node's NodeLabel: controllers show it, unless the family has given a name of its own.",
            "core§11.1.5.6",
        ),
        row(
            K::BridgeAdded,
            ("bridge-added", "new bridge"),
            Shown,
            Restart,
            "A bridge is a node of its own: the family adds it to its controllers, and what is there already stays.",
            "core§9.13; device§11.2",
        ),
        row(
            K::BridgeRemoved,
            ("bridge-removed", "bridge gone"),
            Lost,
            Restart,
            "With the node, everything behind it leaves every controller.",
            "core§9.13; device§11.2",
        ),
        row(
            K::BridgeRekeyed,
            ("bridge-rekeyed", "other key of a bridge"),
            Lost,
            Restart,
            "A bridge is known by its key: under another one it is a new node, which the family commissions anew, and \
             everything behind the old one leaves every controller.",
            "core§9.13; device§11.2",
        ),
        row(
            K::MatterEdition,
            ("matter-edition", "other edition of the standard"),
            Regained,
            Restart,
            "Specification and data model revision are fixed while a node runs; controllers read the node anew.",
            "core§11.1.5 (from memory)",
        ),
        row(
            K::Added,
            ("added", "new appliance"),
            Shown,
            Reread,
            "It joins the aggregator's PartsList under a number of its own; what was there before is not touched.",
            "core§9.5, core§9.12 (from memory)",
        ),
        row(
            K::ShownAgain,
            ("shown-again", "shown again, in its old place"),
            Shown,
            Reread,
            "It comes back with the endpoint number and UniqueID that it had; what controllers dropped when it went is made anew.",
            "core§9.12 (from memory)",
        ),
        row(
            K::Removed,
            ("removed", "appliance gone"),
            Lost,
            Reread,
            "Its endpoint leaves the PartsList, and controllers drop it from rooms, scenes and automations.",
            "core§9.12 (from memory)",
        ),
        row(
            K::NoLongerShown,
            ("no-longer-shown", "described and no longer shown"),
            Lost,
            Reread,
            "Its endpoint leaves the PartsList, and controllers drop it from rooms, scenes and automations. Endpoint number and \
             unique id are kept for the day on which it is shown again.",
            "core§9.12 (from memory)",
        ),
        row(
            K::PlaceLost,
            ("place-lost", "kept place given up"),
            Lost,
            Reread,
            "What is not shown keeps its endpoint number and UniqueID; once they are retired it can only come back as a new \
             appliance.",
            "core§9.12 (from memory)",
        ),
        row(
            K::Rekeyed,
            ("rekeyed", "other key, same identity"),
            Unseen,
            Nothing,
            "The key is the description's own word; endpoint number and unique id stayed.",
            "common practice",
        ),
        row(
            K::ProbableRename,
            ("probable-rename", "probably only another key"),
            Lost,
            Reread,
            "Without `formerly:` the old identity is retired and a new one is given, so controllers see one appliance \
             go and another come.",
            "core§9.12 (from memory)",
        ),
        row(
            K::ClassChanged,
            ("class-changed", "other device type"),
            Lost,
            Reread,
            "Controllers do not expect an endpoint to change its device type, so it comes as a new one.",
            "core§9.5.6.1",
        ),
        row(
            K::NewIdentity,
            ("new-identity", "other endpoint number or unique id"),
            Lost,
            Reread,
            "Controllers know an appliance by endpoint number and UniqueID; with another one it is another appliance. Where the \
             old one stands below `retired:` in the ledger, `housewright ledger rename KEY KEY` brings it back.",
            "core§9.13.5.3; core§9.12 (from memory)",
        ),
        row(
            K::NumberReused,
            ("number-reused", "endpoint number given again"),
            Lost,
            Reread,
            "Controllers may take the new appliance for the one that had its number; a number is never to be given \
             again.",
            "core§9.12 (from memory)",
        ),
        row(
            K::BridgeChanged,
            ("bridge-changed", "behind another bridge"),
            Lost,
            Restart,
            "Another bridge is another node: the appliance goes from one and comes to the other.",
            "core§9.13",
        ),
        row(
            K::Split,
            ("split", "one appliance became several"),
            Lost,
            Reread,
            "The old endpoint is gone; the new ones are in no room, scene or automation yet.",
            "core§9.12 (from memory)",
        ),
        row(
            K::SplitOff,
            ("split-off", "part of an appliance became one of its own"),
            Shown,
            Reread,
            "A new appliance comes; what the old one lost with it is told as changes of its own.",
            "core§9.12 (from memory)",
        ),
        row(
            K::Merged,
            ("merged", "several appliances became one"),
            Lost,
            Reread,
            "The old endpoints are gone; the new one is in no room, scene or automation yet.",
            "core§9.12 (from memory)",
        ),
        row(
            K::MergedInto,
            ("merged-into", "appliance absorbed by another"),
            Lost,
            Reread,
            "Its endpoint is gone; the appliance that took over its addresses keeps its own place.",
            "core§9.12 (from memory)",
        ),
        row(
            K::PartAdded,
            ("part-added", "further endpoint of an appliance"),
            Shown,
            Reread,
            "A further endpoint appears beside those that the appliance keeps.",
            "core§9.2 (from memory)",
        ),
        row(
            K::PartRemoved,
            ("part-removed", "endpoint of an appliance gone"),
            Lost,
            Reread,
            "What used this endpoint breaks, though the rest of the appliance stays.",
            "core§9.2 (from memory)",
        ),
        row(
            K::Regrouped,
            ("regrouped", "endpoint below another one"),
            Regained,
            Reread,
            "The PartsLists change while number and UniqueID stay, so controllers read the structure anew.",
            "core§9.2 (from memory)",
        ),
        row(
            K::Relabelled,
            ("relabelled", "other name"),
            Shown,
            Reread,
            "NodeLabel is what controllers show, unless the family has given a name of its own, which stays.",
            "core§11.1.5.6",
        ),
        row(
            K::RoomChanged,
            ("room-changed", "other room or floor"),
            Shown,
            Reread,
            "Controllers that take rooms from the bridge show the new one; a room that the family chose stays.",
            "core§9.8; common practice",
        ),
        row(
            K::InterfaceChanged,
            ("interface-changed", "other clusters, features or revisions"),
            Regained,
            Reread,
            "Controllers remember what an endpoint can do and read it anew when that changes.",
            "core§9.13.5.4; core§7.13 (from memory)",
        ),
        row(
            K::FunctionRemoved,
            ("function-removed", "cluster, feature, command or status gone"),
            Lost,
            Reread,
            "The appliance stays in its room, but scenes and automations that use the function break.",
            "core§7.13 (from memory); common practice",
        ),
        row(
            K::LimitsChanged,
            ("limits-changed", "other limits"),
            Shown,
            Reread,
            "Controllers draw their sliders and dials from these limits.",
            "cluster§3.2.7, cluster§4.3; common practice",
        ),
        row(
            K::ValuesChanged,
            ("values-changed", "other fixed values"),
            Regained,
            Reread,
            "Controllers read such values once and keep them until they read the appliance anew.",
            "core§7.13 (from memory)",
        ),
        row(
            K::FirstValueChanged,
            ("first-value-changed", "other first value"),
            Shown,
            Reread,
            "It is shown after a start of the gateway, until the bus reports the true one.",
            "common practice",
        ),
        row(
            K::FunctionUnwired,
            ("function-unwired", "command or status without a wire"),
            Lost,
            Reread,
            "Controllers still offer it and nothing happens or comes, or a part of it never does, so automations that use it do \
             nothing.",
            "common practice",
        ),
        row(
            K::FunctionReduced,
            ("function-reduced", "command that does less"),
            Lost,
            Reread,
            "Controllers still offer every value of it, and the bus gets one of two: what asks for a value in between \
             does something else, and a blind asked for 40 % may close.",
            "common practice",
        ),
        row(
            K::FunctionWired,
            ("function-wired", "command, event or status that has a wire now"),
            Shown,
            Reread,
            "Controllers offered it and nothing came of it, or a part of it never came; scenes and automations that use it do \
             something from now on, and so does what waited for it.",
            "common practice",
        ),
        row(
            K::StatusSource,
            ("status-source", "status from elsewhere"),
            Shown,
            Reread,
            "What controllers show was reported, asked for or estimated, and is now another of these.",
            "common practice",
        ),
        row(
            K::Rewired,
            ("rewired", "other group addresses"),
            Unseen,
            Reread,
            "Controllers never see group addresses. Whether the right device answers at the new ones, only a try on site tells.",
            "common practice",
        ),
        row(
            K::Swap,
            ("swap", "addresses exchanged"),
            Unseen,
            Reread,
            "Controllers never see group addresses; on site it mends a mix-up or makes one, so try each of them.",
            "common practice",
        ),
        row(
            K::KeysExchanged,
            ("keys-exchanged", "keys exchanged, or moved on"),
            Lost,
            Reread,
            "Identity goes with the key, so each takes another's place: rooms, scenes and automations of the one now use the \
             other.",
            "common practice",
        ),
        row(
            K::KeyTaken,
            ("key-taken", "key of another appliance"),
            Lost,
            Reread,
            "Identity goes with the key: rooms, scenes and automations of the appliance that is gone now use the one that has \
             its key, and those that this one had are lost.",
            "common practice",
        ),
        row(
            K::BlockMoved,
            ("block-moved", "block of addresses moved"),
            Unseen,
            Reread,
            "Group addresses are the bus's affair; a line that is numbered anew moves all of them together.",
            "common practice",
        ),
        row(
            K::NotationChanged,
            ("notation-changed", "other notation of addresses"),
            Unseen,
            Reread,
            "The same addresses are written in another way; none has moved.",
            "common practice",
        ),
        row(
            K::WiresAdded,
            ("wires-added", "further or other wires"),
            Unseen,
            Reread,
            "The appliance does what it did, through further or other addresses.",
            "common practice",
        ),
        row(
            K::WiresRemoved,
            ("wires-removed", "fewer wires"),
            Unseen,
            Reread,
            "Every function still has a wire; the appliance answers to fewer addresses.",
            "common practice",
        ),
        row(
            K::Reversed,
            ("reversed", "now the other way round"),
            Lost,
            Reread,
            "Commands, scenes and automations do the opposite of what they did, and states are shown the other way round. \
             It mends a mix-up or makes one, so try it on site.",
            "common practice",
        ),
        row(
            K::OtherEffect,
            ("other-effect", "same command, other effect"),
            Lost,
            Reread,
            "Scenes and automations ask for what they always did, or a button is pressed as ever, and something else is \
             done. It mends a mistake or makes one, so try it on site.",
            "common practice",
        ),
        row(
            K::ShownOtherwise,
            ("shown-otherwise", "same report, other value shown"),
            Shown,
            Reread,
            "The bus reports what it always did, and controllers show another value. Automations keep their limits, so \
             look at those that compare it.",
            "common practice",
        ),
        row(
            K::TelegramSize,
            ("telegram-size", "telegrams of another size"),
            Lost,
            Reread,
            "A device takes and sends telegrams of one size: unless it was set to the new type as well, this address worked \
             and no longer does, or did nothing and works now. It mends a mistake or makes one, so try it on site.",
            "common practice",
        ),
        row(
            K::ConversionChanged,
            ("conversion-changed", "other conversion"),
            Unseen,
            Reread,
            "Values are converted in another way, and come to the same for everybody.",
            "common practice",
        ),
        row(
            K::TimingChanged,
            ("timing-changed", "other times"),
            Unseen,
            Reread,
            "Times and reading are between the gateway and the bus.",
            "common practice",
        ),
        row(
            K::TelegramOrder,
            ("telegram-order", "other order of telegrams"),
            Unseen,
            Reread,
            "The same telegrams are sent for a command, one before the other.",
            "common practice",
        ),
        row(
            K::Wording,
            ("wording", "names for readers"),
            Unseen,
            Nothing,
            "Ids stayed; only the names beside them, for people who read the definitions, are others.",
            "common practice",
        ),
    ]
};

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_has_one_row_a_kind_in_order_and_names_are_the_kinds_own() {
        for row in judgements() {
            let written = serde_json::to_value(row.kind).expect("a kind is text");
            assert_eq!(written, row.name);
            assert_eq!(Kind::from_name(row.name), Some(row.kind));
            assert_eq!(row.kind.name(), row.name);
        }
        // The schema lists every kind there is, so that one without a row is missed here.
        let schema = schemars::schema_for!(Kind).to_value();
        let words = schema.get("oneOf").and_then(serde_json::Value::as_array).expect("a list of words");
        assert_eq!(words.len(), judgements().len(), "kinds, and rows of the table");
    }

    #[test]
    fn every_reason_is_a_sentence_with_a_source() {
        for row in judgements() {
            assert!(row.reason.ends_with('.'), "{}", row.name);
            let known = ["core§", "device§", "cluster§", "common practice"];
            assert!(known.iter().any(|start| row.source.starts_with(start)), "{}", row.name);
            assert!(!row.title.is_empty());
            let cited = row.cited();
            assert!(!cited.contains(['§', '(']), "{cited}");
        }
    }

    #[test]
    fn sources_are_cited_in_full() {
        let check = |kind: Kind, expected: &str| assert_eq!(judgement(kind).cited(), expected);
        check(Kind::Rewired, "common practice");
        check(Kind::Added, "Matter 1.6 Core Specification, 9.5 and 9.12");
        check(
            Kind::BridgeAdded,
            "Matter 1.6 Core Specification, 9.13; Matter 1.6 Device Library Specification, 11.2",
        );
        check(Kind::RoomChanged, "Matter 1.6 Core Specification, 9.8; common practice");
        check(
            Kind::LimitsChanged,
            "Matter 1.6 Application Cluster Specification, 3.2.7 and 4.3; common practice",
        );
    }

    #[test]
    fn only_documentation_leaves_the_gateway_alone() {
        for row in judgements().iter().filter(|row| row.gateway == Gateway::Nothing) {
            assert_eq!(row.consequence, Consequence::Unseen, "{}", row.name);
        }
    }

    #[test]
    fn words_of_consequences_are_read_back() {
        for one in Consequence::WORST_FIRST {
            assert_eq!(Consequence::from_word(one.word()), Some(one));
        }
        assert_eq!(Consequence::from_word("broken"), None);
        assert!(Consequence::Lost > Consequence::Regained && Consequence::Shown > Consequence::Unseen);
    }
}
