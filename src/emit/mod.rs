//! Files out, all or nothing: the only writer of files.
//!
//! In go a finished build (outputs, the next ledger, what it was made from) and the folder it goes to; out comes the
//! folder, put in place by one rename. It never decides what a build holds, and it knows the ledger only as text.
//!
//! What holds at every instant, also after a kill, a full disk or a power cut:
//!
//! - The output folder is one whole build: the last one, or the new one with all its files and its manifest.
//! - The ledger is whole, and it is on the disk before a build that uses its numbers appears. So the ledger knows
//!   every number of every build there ever was, and none is given twice. A ledger that was put back or edited learns it
//!   from the build that is replaced (`recall`), whose manifest has the highest number that each bridge gave.
//! - What no build has made is not touched: a folder with somebody's file in it is refused.
//!
//! The order of a build, all of it under the [`Lock`]s of the house and of the output folder:
//!
//! 1. what an interrupted build left is put right or thrown away ([`Target::open`]);
//! 2. all outputs are written into a folder beside the output folder, digested on the way, and brought to the disk;
//! 3. the ledger is written beside itself, brought to the disk and renamed;
//! 4. the two folders are exchanged, and the old one is removed.
//!
//! A build that would make what is there already writes nothing at all.

mod definition;
mod digest;
mod durable;
mod edit;
mod error;
mod last;
mod lock;
mod manifest;
mod place;
mod report;
mod starter;
mod target;
mod verify;

pub use definition::{write_definition, write_endpoints, write_texts};
pub use digest::{Digest, digest_source};
pub use durable::replace_file;
pub use edit::write_edits;
pub use error::EmitError;
pub use last::{BRIDGE_ENDING, Believed, Definition, believed, read_definitions};
pub use lock::{Lock, Patience};
pub use manifest::{FORMAT, MANIFEST_NAME, Manifest, OutputFile, Program, SourceFile, VERSION, schema};
pub use report::write_report;
pub use starter::{write_new, write_new_file, write_passing};
pub use target::{Build, Content, LedgerText, Outcome, Output, Role, Target, Writing, last_build};
pub use verify::{ManifestError, read_manifest, verify};
