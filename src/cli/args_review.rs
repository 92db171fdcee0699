//! Arguments of `review`, and of the gate that `build` has too.

use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// What stops a build step.
#[derive(Debug, Args)]
pub(super) struct Gate {
    /// Exit with 1 when a change has this consequence for the family or a worse one; `build` then builds nothing.
    #[arg(long, value_enum, value_name = "CONSEQUENCE")]
    pub(super) stop_at: Option<StopAt>,
    /// A file with the changes that the owner agreed to.
    #[arg(long, value_name = "FILE")]
    pub(super) accept: Option<PathBuf>,
}

/// A consequence for the family.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum StopAt {
    /// Wiring or documentation only.
    Unseen,
    /// A name, room, limit or state that controllers display.
    Shown,
    /// Controllers must read the appliance anew.
    Regained,
    /// Something disappears or is replaced.
    Lost,
}

#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  housewright review my-house
      the sources against the last build
  housewright review my-house --since main
      the sources against a state in git
  housewright review v1:my-house my-house/build
      two of what a side can be, in any mix
  housewright review my-house --since main --stop-at lost --accept accepted.yaml
      exit code 1 for what is lost, but for what the owner agreed to

For git, to show `ledger.yaml` and bridge JSON in words, write in .gitattributes
  ledger.yaml diff=house
  *.bridge.json diff=house
and have git show a review instead of lines
  git config diff.house.command 'housewright review --git-driver'
or lines that say what they mean
  git config diff.house.textconv 'housewright review --git-driver'")]
pub(super) struct Review {
    /// A house: its sources against its last build. Or two of: build folder, bridge JSON, house, `REV:` in git.
    #[arg(value_name = "OLD NEW", num_args = 0..=2)]
    pub(super) of: Vec<String>,
    /// Compare with the house as it was at this git revision.
    #[arg(long, value_name = "REV")]
    pub(super) since: Option<String>,
    /// How to print.
    #[arg(long, value_enum, default_value_t = ReviewForm::Text)]
    pub(super) format: ReviewForm,
    /// As text: one line a change.
    #[arg(long)]
    pub(super) brief: bool,
    /// As text: names, values and conversions before and after, line by line.
    #[arg(long, conflicts_with = "brief")]
    pub(super) lines: bool,
    /// Stand in for git's own diff: of the two versions that git names in 7 arguments, or with one file as its filter.
    #[arg(
        long,
        value_name = "FROM GIT",
        num_args = 1..=9,
        allow_hyphen_values = true,
        conflicts_with_all = ["of", "since", "format", "stop_at", "accept"]
    )]
    pub(super) git_driver: Vec<String>,
    #[command(flatten)]
    pub(super) gate: Gate,
}

/// Output forms of a review.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum ReviewForm {
    /// For a terminal.
    Text,
    /// For a merge request.
    Markdown,
    /// For programs.
    Json,
    /// One self-contained page.
    Html,
    /// A JSON patch (RFC 6902) that makes the new bridge JSONs of the old ones, each under its key.
    JsonPatch,
}
