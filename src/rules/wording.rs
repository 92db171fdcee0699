//! Which rule puts a problem of an earlier stage into words. Each match is complete: a new problem needs a rule.

use super::report::Report;
use super::{Context, address, class, datapoint_type, find, identity, table, writing};
use crate::classes::{Class, Combination, Condition, End};
use crate::knx::{AddressError, Notation};
use crate::resolve::ProblemKind as Resolved;
use crate::resolve::plan::Allow;
use crate::source::{AliasFault, Problem as Source};
use crate::{classes, house, ledger, resolve, source};

/// A problem of reading text.
pub(super) fn source(problem: &source::Problem, _: &Context<'_>, report: &mut Report) {
    match problem {
        Source::Alias { fault: AliasFault::TooMuch, .. }
        | Source::TooDeep { .. }
        | Source::TooMany { .. } => {
            writing::over_limit::tell(problem, report);
        }
        Source::Syntax { .. }
        | Source::Tab { .. }
        | Source::KeyShape { .. }
        | Source::Tag { .. }
        | Source::SecondDocument { .. }
        | Source::Alias { fault: AliasFault::Unknown | AliasFault::Itself, .. } => {
            writing::malformed_yaml::tell(problem, report);
        }
        Source::DuplicateKey { .. } => writing::repeated_key::tell(problem, report),
        Source::MissingInclude { .. } | Source::BadPattern { .. } | Source::MissingFile { .. } => {
            writing::missing_file::tell(problem, report);
        }
        Source::OutsideFolder { .. } | Source::NotAFile { .. } => {
            writing::outside_folder::tell(problem, report)
        }
        Source::NotIncluded { .. } => writing::file_not_included::tell(problem, report),
        Source::IncludeLoop { .. } => writing::include_loop::tell(problem, report),
        Source::NotText { .. } => writing::not_text::tell(problem, report),
        Source::Unreadable { .. } => writing::unreadable_file::tell(problem, report),
        Source::BrokenRow { .. }
        | Source::RepeatedHeading { .. }
        | Source::NoHeading { .. }
        | Source::MixedDelimiters { .. }
        | Source::AddressesElsewhere { .. }
        | Source::AddressesTwice { .. }
        | Source::MissingHeading { .. } => table::unreadable_row::tell_of_source(problem, report),
        Source::NoNames { .. } | Source::PoorNames { .. } => table::nameless_table::tell(problem, report),
        Source::UnknownKey { .. } => writing::unknown_key::tell(problem, report),
        Source::HeadingLeftOut { .. } => writing::missing_key::tell_of_heading(problem, report),
        Source::MissingKey { .. } => writing::missing_key::tell_of_source(problem, report),
        Source::WrongShape { .. } | Source::UnknownWord { .. } | Source::Unfit { .. } => {
            writing::unfit_value::tell(problem, report);
        }
    }
}

/// A problem of reading the description.
pub(super) fn house(problem: &house::Problem, context: &Context<'_>, report: &mut Report) {
    use house::ProblemKind as Kind;
    match &problem.kind {
        Kind::NoVersion
        | Kind::MissingInHouse { .. }
        | Kind::NoName { .. }
        | Kind::NoClass { .. }
        | Kind::NoCapacity { .. } => writing::missing_key::tell(problem, context, report),
        Kind::UnknownVersion { .. } => writing::unknown_version::tell(problem, report),
        Kind::OnlyInRoot { .. } => writing::misplaced_key::tell(problem, report),
        Kind::UnfitKey { .. } => writing::unfit_key::tell(problem, context, report),
        Kind::KeyTwice { .. } => writing::key_used_twice::tell(problem, report),
        Kind::CutShort { .. } => writing::text_cut_short::tell(problem, report),
        Kind::NoReason { .. } => writing::allow_without_reason::tell(problem, report),
    }
}

/// A problem of a class file.
pub(super) fn class(problem: &classes::Problem, context: &Context<'_>, report: &mut Report) {
    if let classes::Problem::Written(problem) = problem {
        return source(problem, context, report);
    }
    class::unfit_class::tell(problem, report);
}

/// A problem of looking things up.
pub(super) fn resolve(problem: &resolve::Problem, context: &Context<'_>, report: &mut Report) {
    match &problem.kind {
        Resolved::WrongNotation { .. } => address::wrong_notation::tell(problem, report),
        Resolved::UnknownClass { .. } => writing::unknown_class::tell(problem, context, report),
        Resolved::UnknownPoint { .. } => writing::unknown_point::tell(problem, context, report),
        Resolved::UnknownPointWords { name } => {
            writing::unknown_point::tell_of_words(name, problem.place, context, report)
        }
        Resolved::UnknownSetting { .. } => writing::unknown_setting::tell(problem, report),
        Resolved::UnfitSetting { .. } => writing::unfit_setting::tell(problem, report),
        Resolved::Address { error, .. } => match error {
            AddressError::OtherNotation { .. } => address::other_notation::tell(problem, context, report),
            AddressError::OutOfRange { .. } => address::address_out_of_range::tell(problem, context, report),
            AddressError::Reserved { .. } => address::reserved_address::tell(problem, context, report),
            AddressError::Malformed { .. } => address::malformed_address::tell(problem, context, report),
        },
        Resolved::MalformedDpt { .. } => {
            datapoint_type::malformed_datapoint_type::tell(problem, context, report);
        }
        Resolved::UnknownDpt { .. } => datapoint_type::unknown_datapoint_type::tell(problem, context, report),
        Resolved::UnknownBus { .. } => writing::unknown_bus::tell(problem, report),
        Resolved::UnknownBridge { .. } => writing::unknown_bridge::tell(problem, report),
        Resolved::BusNotNamed { .. } => writing::unnamed_bus::tell(problem, report),
        Resolved::BridgeNotNamed { .. } => writing::unnamed_bridge::tell(problem, report),
        Resolved::NoBridge => writing::no_bridge::tell(problem, report),
        Resolved::TableWithoutAddress => table::empty_table::tell(problem, report),
        Resolved::TableAddress { .. }
        | Resolved::TableDpt { .. }
        | Resolved::TableFlags { .. }
        | Resolved::TableCells { .. } => table::unreadable_row::tell(problem, context, report),
        Resolved::Range { .. } => writing::unfit_range::tell(problem, report),
    }
}

/// A problem of the ledger.
pub(super) fn ledger(problem: &ledger::Problem, context: &Context<'_>, report: &mut Report) {
    use ledger::Problem as Kind;
    match problem {
        Kind::Unmerged { .. } => identity::ledger_unmerged::tell(problem, report),
        Kind::OtherHouse { .. } => identity::ledger_of_another_house::tell(problem, context, report),
        Kind::SameNumber { .. } => identity::number_given_twice::tell(problem, report),
        Kind::SameUniqueId { .. } | Kind::LivingAndRetired { .. } => {
            identity::unique_id_given_twice::tell(problem, report);
        }
        Kind::NoVersion { .. }
        | Kind::Garbled { .. }
        | Kind::KeyTwice { .. }
        | Kind::UnknownVersion { .. }
        | Kind::NoHouse { .. }
        | Kind::UnknownKey { .. }
        | Kind::WrongShape { .. }
        | Kind::Malformed { .. }
        | Kind::OutOfRange { .. } => identity::ledger_unreadable::tell(problem, report),
    }
}

/// An `allow` that hid nothing: of a rule that there is, and that may find an error there, or of none.
pub(super) fn idle_allow(allow: &Allow, stands: bool, report: &mut Report) {
    match find(&allow.rule.value) {
        Some(rule) => writing::idle_allow::tell(allow, rule, stands, report),
        None => writing::unknown_rule::tell(allow, report),
    }
}

/// What a structure of the description is called in a sentence.
pub fn structure(name: &str) -> &'static str {
    match name {
        "DescriptionFile" => "a file of the description",
        "HouseHead" => "`house`",
        "Bus" => "a bus",
        "Columns" => "`columns`",
        "Bridge" => "a bridge",
        "Room" => "a room",
        "WordList" => "a word list",
        "Appliance" => "an appliance",
        "Confirmed" => "`confirmed`",
        "Point" => "a point",
        _ => "this place",
    }
}

/// An address in a notation, for "write …".
pub(super) fn example_address(notation: Notation) -> &'static str {
    match notation {
        Notation::ThreeLevel => "three numbers with slashes, like `1/2/3`, without zeros before them",
        Notation::TwoLevel => "two numbers with a slash, like `1/515`, without zeros before them",
        Notation::Free => "one number, like `2563`, without zeros before it",
    }
}

/// What a combination of points asks for, in words: "`brightness` or the command of `dimming`".
pub(super) fn asked(any: &[Condition], class: &Class) -> String {
    let name = |index: &u16| class.points.get(usize::from(*index)).map_or("", |point| point.name.as_str());
    let words: Vec<String> = any
        .iter()
        .map(|condition| match condition {
            Condition::Point(point) => format!("`{}`", name(point)),
            Condition::Address(point, End::Command) => format!("the command of `{}`", name(point)),
            Condition::Address(point, End::Feedback) => format!("the feedback of `{}`", name(point)),
            Condition::Address(point, End::Listens) => {
                format!("an address that `{}` listens to", name(point))
            }
            Condition::Given(_) | Condition::Set(..) | Condition::Typed(..) => String::new(),
            Condition::Any(any) => asked(any, class),
        })
        .filter(|words| !words.is_empty())
        .collect();
    words.join(" or ")
}

/// The help of combinations that are not kept: what to wire, and why.
pub(super) fn advice<'a>(unmet: impl Iterator<Item = &'a Combination>, class: &Class) -> Option<String> {
    let advice: Vec<String> = unmet
        .map(|combination| match asked(&combination.any, class) {
            asked if asked.is_empty() => combination.why.clone(),
            asked => format!("wire {asked}: {}", combination.why),
        })
        .collect();
    (!advice.is_empty()).then(|| advice.join("; "))
}
