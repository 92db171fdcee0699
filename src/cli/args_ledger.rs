//! Arguments of `ledger`.

use clap::{Args, Subcommand, ValueEnum};
use std::path::PathBuf;

#[derive(Debug, Subcommand)]
pub(super) enum LedgerCommand {
    /// Three-way merge, as a git merge driver runs it: the result is written to OURS.
    Merge(LedgerMerge),
    /// Bring a ledger into order in which a git merge left a conflict or gave numbers twice.
    Resolve(LedgerResolve),
    /// Give a renamed appliance back what it lost because `formerly` was forgotten when it was built.
    Rename(LedgerRename),
}

#[derive(Debug, Args)]
#[command(after_help = "\
As a git merge driver:
  git config merge.ledger.driver 'housewright ledger merge %O %A %B'
  echo 'ledger.yaml merge=ledger' >> .gitattributes")]
pub(super) struct LedgerMerge {
    /// The common ancestor.
    pub(super) base: PathBuf,
    /// This branch's ledger; the merged one is written here.
    pub(super) ours: PathBuf,
    /// The other branch's ledger.
    pub(super) theirs: PathBuf,
    /// Which branch's build the gateways have; the other one gives way.
    #[arg(long, value_enum, default_value_t = BuiltSide::Ours)]
    pub(super) built: BuiltSide,
}

#[derive(Debug, Args)]
#[command(after_help = "\
Example: housewright ledger resolve my-house

Where git left the lines of both branches, `--built` says which branch's build
the gateways have. Where it merged the lines, the last build in the output
folder says who keeps a number; without a build it cannot be known, and `--keep`
says it.")]
pub(super) struct LedgerResolve {
    /// The house's folder, or its root file.
    #[arg(value_name = "HOUSE", default_value = ".")]
    pub(super) house: PathBuf,
    /// Which branch's build the gateways have; the other one gives way. `ours` if it is not given.
    #[arg(long, value_enum)]
    pub(super) built: Option<BuiltSide>,
    /// The appliance that keeps its number where no build says it.
    #[arg(long, value_name = "KEY")]
    pub(super) keep: Vec<String>,
    /// The output folder of the last build; `build` in the house's folder if it is not given.
    #[arg(long, value_name = "FOLDER")]
    pub(super) out: Option<PathBuf>,
}

#[derive(Debug, Args)]
#[command(after_help = "\
Example: housewright ledger rename hall-lamp porch-lamp my-house

A class that was changed and built by mistake: change it back, then give the
key twice, and the appliance has its old endpoint again:
  housewright ledger rename hall-lamp hall-lamp my-house")]
pub(super) struct LedgerRename {
    /// The key that the appliance had.
    pub(super) old: String,
    /// The key that it has now.
    pub(super) new: String,
    /// The house's folder, or its root file.
    #[arg(value_name = "HOUSE", default_value = ".")]
    pub(super) house: PathBuf,
}

/// Which branch's build the gateways have.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum BuiltSide {
    /// This branch's.
    Ours,
    /// The other one's.
    Theirs,
}
