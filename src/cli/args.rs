//! The command line: every command, argument and option, with the text of `--help`.

pub(super) use super::args_ledger::{BuiltSide, LedgerCommand, LedgerMerge, LedgerRename, LedgerResolve};
pub(super) use super::args_review::{Gate, Review, ReviewForm, StopAt};
use crate::rules::Family;
use crate::source::Limits;
use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Compiles a house on a KNX bus into Matter bridge definitions, checks it on the way, and shows what a change means.
#[derive(Debug, Parser)]
#[command(
    name = "housewright",
    version,
    arg_required_else_help = true,
    after_help = "\
Exit codes: 0 done; 1 findings or consequences at or over the limit asked for; 2 wrong use or unreadable input.

Example: housewright check examples/heron-wharf"
)]
pub(super) struct Cli {
    #[command(subcommand)]
    pub(super) command: Command,
    #[command(flatten)]
    pub(super) shared: Shared,
}

/// Options that every command takes.
#[derive(Clone, Debug, Args)]
pub(super) struct Shared {
    /// When to use colour.
    #[arg(long, global = true, value_enum, default_value_t = Colour::Auto, value_name = "WHEN")]
    pub(super) colour: Colour,
    /// Raise the limits on file sizes, nesting, counts and findings told of a rule by this factor, 1 to 1000.
    #[arg(long, global = true, value_name = "FACTOR", value_parser = factor, allow_negative_numbers = true)]
    pub(super) limits: Option<u32>,
    /// How many threads compute, 1 to 1024; all cores by default. More of them wait for the disk while several houses are built.
    #[arg(long, global = true, value_name = "COUNT", value_parser = threads, allow_negative_numbers = true)]
    pub(super) threads: Option<u16>,
}

/// When to use colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum Colour {
    /// On a terminal, unless `NO_COLOR` is set or `TERM` is `dumb`.
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Begin a house: a small one that builds, with comments.
    New(New),
    /// Look for mistakes.
    Check(Check),
    /// Check, then write the bridge definitions, the manifest and the review.
    Build(Build),
    /// Show what a change means for the family.
    Review(Review),
    /// Explain a rule, a class or one of its points, a key, a datapoint type, or what a review says of a change.
    Explain(Explain),
    /// List classes, rules, datapoint types or kinds of changes.
    List(List),
    /// Print a JSON Schema, for editors and other programs.
    Schema(Schema),
    /// Say what a telegram's payload means.
    Decode(Decode),
    /// Say which payload a value has.
    Encode(Encode),
    /// Mend a ledger: after a merge of two branches, or after a rename that was told too late.
    #[command(
        subcommand,
        after_help = "\
Examples:
  housewright ledger resolve my-house
  housewright ledger rename hall-lamp porch-lamp my-house"
    )]
    Ledger(LedgerCommand),
}

#[derive(Debug, Args)]
#[command(
    override_usage = "housewright new [OPTIONS] <FOLDER>\n       housewright new [OPTIONS] class <NAME>",
    after_help = "\
Examples:
  housewright new my-house
  housewright new class garden-pump --house my-house"
)]
pub(super) struct New {
    /// The folder to make; it must not exist or must be empty. `class NAME` begins a device class in a house instead.
    #[arg(value_name = "FOLDER", num_args = 1..=2, required = true)]
    pub(super) what: Vec<String>,
    /// With `class`: the house whose `classes/` the new class belongs to; the current folder if it is not given.
    #[arg(long, value_name = "FOLDER")]
    pub(super) house: Option<PathBuf>,
}

#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  housewright check examples/heron-wharf
  housewright check examples/heron-wharf --format sarif > findings.sarif
  housewright check my-house --watch
  housewright check my-house --mend
  housewright check my-house --report findings.html --without-names")]
pub(super) struct Check {
    /// Houses: each a folder, a root file, or a folder of houses.
    #[arg(value_name = "HOUSE", default_value = ".")]
    pub(super) houses: Vec<PathBuf>,
    /// How to print.
    #[arg(long, value_enum, default_value_t = FindingsForm::Text)]
    pub(super) format: FindingsForm,
    /// Count warnings as errors.
    #[arg(long)]
    pub(super) strict: bool,
    /// Show the corrections as a diff; with `--apply` make them.
    #[arg(long, conflicts_with = "format")]
    pub(super) mend: bool,
    /// With `--mend`: which corrections to make.
    #[arg(long, value_enum, requires = "mend", value_name = "WHICH")]
    pub(super) apply: Option<Apply>,
    /// Check again whenever a file of the house is saved, until stopped.
    #[arg(long, conflicts_with_all = ["mend", "report", "strict"])]
    pub(super) watch: bool,
    /// Also write the findings as one page, to send to whoever helps.
    #[arg(long, value_name = "FILE", conflicts_with = "mend")]
    pub(super) report: Option<PathBuf>,
    /// With `--report`: leave out all names that the house gives; addresses and rules stay.
    #[arg(long, requires = "report")]
    pub(super) without_names: bool,
}

/// Which corrections to make.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum Apply {
    /// Those that can only have been meant so.
    Sure,
    /// All of them.
    All,
}

/// Output forms of findings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum FindingsForm {
    /// For people: the lines of the source, and what is wrong with them.
    Text,
    /// For programs.
    Json,
    /// For code hosts: SARIF 2.1.0.
    Sarif,
    /// For a merge request.
    Markdown,
    /// For editors: one line a finding.
    Lines,
}

#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  housewright build examples/heron-wharf
  housewright build my-house --out out/my-house --stop-at lost
  housewright build my-house --stop-at lost --accept accepted.yaml")]
pub(super) struct Build {
    /// Houses: each a folder, a root file, or a folder of houses.
    #[arg(value_name = "HOUSE", default_value = ".")]
    pub(super) houses: Vec<PathBuf>,
    /// The output folder; `build` beside the root file by default. With several houses each gets a folder in it.
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
    /// How to print findings.
    #[arg(long, value_enum, default_value_t = FindingsForm::Text)]
    pub(super) format: FindingsForm,
    /// Count warnings as errors.
    #[arg(long)]
    pub(super) strict: bool,
    #[command(flatten)]
    pub(super) gate: Gate,
}

#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  housewright explain feedback-is-command
  housewright explain class dimmable-light
  housewright explain brightness
  housewright explain dimmable-light brightness
  housewright explain 9.001
  housewright explain change reversed
  housewright explain lost")]
pub(super) struct Explain {
    /// A rule, class, point, datapoint type, kind of change, consequence or key of the description. Where a name means
    /// several: `rule NAME`, `class NAME`, `point NAME`, `datapoint-type NUMBER`, `change NAME`, `consequence NAME`, `key
    /// NAME`. `CLASS POINT` is a point of one class.
    #[arg(value_name = "WHAT", num_args = 1..=2, required = true)]
    pub(super) what: Vec<String>,
    /// The house whose own classes count too.
    #[arg(long, value_name = "HOUSE")]
    pub(super) house: Option<PathBuf>,
}

#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  housewright list classes
  housewright list datapoint-types --unit °C
  housewright list rules --family feedback")]
pub(super) struct List {
    /// What to list.
    #[arg(value_enum)]
    pub(super) what: Listed,
    /// Only what holds this text.
    #[arg(long)]
    pub(super) text: Option<String>,
    /// Datapoint types: only those of this unit.
    #[arg(long)]
    pub(super) unit: Option<String>,
    /// Datapoint types: only those of this size, such as `1 bit` or `2 bytes`.
    #[arg(long)]
    pub(super) size: Option<String>,
    /// Rules: only those of this family.
    #[arg(long, value_parser = family)]
    pub(super) family: Option<Family>,
    /// The house whose own classes count too.
    #[arg(long, value_name = "HOUSE")]
    pub(super) house: Option<PathBuf>,
}

fn factor(word: &str) -> Result<u32, String> {
    let fits = |factor: &u32| (1..=Limits::MOST_FACTOR).contains(factor);
    word.parse().ok().filter(fits).ok_or_else(|| "it takes a whole number from 1 to 1000".to_owned())
}

fn threads(word: &str) -> Result<u16, String> {
    let fits = |threads: &u16| (1..=1024).contains(threads);
    word.parse().ok().filter(fits).ok_or_else(|| "it takes a whole number from 1 to 1024".to_owned())
}

fn family(word: &str) -> Result<Family, String> {
    Family::ALL.into_iter().find(|family| family.word() == word).ok_or_else(|| {
        let words: Vec<&str> = Family::ALL.iter().map(|family| family.word()).collect();
        format!("the families are {}", words.join(", "))
    })
}

/// What can be listed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum Listed {
    /// The device classes.
    Classes,
    /// The rules of the checks.
    Rules,
    /// The datapoint types.
    DatapointTypes,
    /// The kinds of changes that a review tells, with what each means for the family and the gateway, and why.
    Changes,
}

#[derive(Debug, Args)]
#[command(after_help = "Example: housewright schema house > house.schema.json")]
pub(super) struct Schema {
    /// Which format.
    #[arg(value_enum)]
    pub(super) of: SchemaOf,
}

/// Formats that have a JSON Schema.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum SchemaOf {
    /// A file of a house description.
    House,
    /// A device class.
    Class,
    /// A word list of a house.
    Words,
    /// The ledger.
    Ledger,
    /// Bridge JSON.
    Bridge,
    /// The manifest of a build.
    Manifest,
    /// A review as JSON.
    Review,
    /// The list of changes that the owner agreed to.
    Accept,
    /// Findings as JSON.
    Findings,
}

#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  housewright decode 9.001 0C 1A
  housewright decode --guess 0C1A
  housewright decode < telegrams.txt

A line of telegrams.txt has a datapoint type and a payload; one that begins with
`#` is passed over. One that is wrong is told, and the exit code is 1 then.")]
pub(super) struct Decode {
    /// The datapoint type and the payload in hexadecimal; without them, lines of these from standard input.
    #[arg(value_name = "DPT PAYLOAD", num_args = 0..)]
    pub(super) what: Vec<String>,
    /// List the datapoint types that a payload could be.
    #[arg(long)]
    pub(super) guess: bool,
}

#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  housewright encode 9.001 21.5
  housewright encode 232.600 red=255 green=0 blue=10
  housewright encode < values.txt

A line of values.txt has a datapoint type and a value; one that begins with `#`
is passed over. One that is wrong is told, and the exit code is 1 then.")]
pub(super) struct Encode {
    /// The datapoint type and the value; without them, lines of these from standard input.
    #[arg(value_name = "DPT VALUE", num_args = 0.., allow_hyphen_values = true)]
    pub(super) what: Vec<String>,
}
