//! What can keep a build from being put in place.

use super::verify::{ManifestError, back};
use std::io;
use std::path::PathBuf;

/// Why something was not written. The last build and the ledger are whole in every case.
#[derive(Debug, thiserror::Error)]
pub enum EmitError {
    /// A file or folder could not be made or written.
    #[error("cannot write `{path}`")]
    Write {
        /// What was to be written.
        path: PathBuf,
        /// Why it could not be.
        #[source]
        cause: io::Error,
    },
    /// A file has its new content, and the system would not bring its name to the disk.
    #[error("`{path}` was written, and may be as it was before after a power cut")]
    Unsettled {
        /// The file.
        path: PathBuf,
        /// Why it is not on the disk.
        #[source]
        cause: io::Error,
    },
    /// The output folder changed while a build was made for it, after the ledger had been written.
    #[error("the build was not put in place")]
    Late {
        /// What is wrong with the folder now.
        #[source]
        cause: Box<EmitError>,
    },
    /// A file or folder that is there could not be read.
    #[error("cannot read `{path}`")]
    Read {
        /// What was to be read.
        path: PathBuf,
        /// Why it could not be.
        #[source]
        cause: io::Error,
    },
    /// What an earlier build left could not be taken away.
    #[error("cannot remove `{path}`, which an earlier build left")]
    Remove {
        /// The folder or file.
        path: PathBuf,
        /// Why it could not be.
        #[source]
        cause: io::Error,
    },
    /// The finished build could not take the place of the last one.
    #[error("cannot put the build in place as `{path}`")]
    Place {
        /// The output folder.
        path: PathBuf,
        /// Why it could not be.
        #[source]
        cause: io::Error,
    },
    /// The output folder holds something that no build has made.
    #[error("`{folder}` holds `{found}`, which no build has made")]
    Foreign {
        /// The output folder.
        folder: PathBuf,
        /// The first such file, relative to the folder.
        found: String,
    },
    /// The output folder holds bridge definitions, and no manifest says what build they are of.
    #[error("`{folder}` holds `{found}`, and no `manifest.json` that says what build it is of")]
    NoManifest {
        /// The output folder.
        folder: PathBuf,
        /// The first definition.
        found: String,
    },
    /// The output folder holds the build of another house.
    #[error("`{folder}` holds the build of the house `{found}`, not of `{house}`")]
    OtherHouse {
        /// The output folder.
        folder: PathBuf,
        /// The id of the house whose build is there.
        found: String,
        /// The id of the house that is being built.
        house: String,
    },
    /// Where a folder is needed there is something else.
    #[error("`{path}` is not a folder")]
    NotAFolder {
        /// What is there.
        path: PathBuf,
    },
    /// Where a file is needed there is something else.
    #[error("`{path}` is not a file")]
    NotAFile {
        /// What is there.
        path: PathBuf,
    },
    /// A symbolic link where it would lead the writing elsewhere.
    #[error("`{path}` is a symbolic link")]
    Link {
        /// The link.
        path: PathBuf,
    },
    /// The output folder is a mounted file system, which nothing can be renamed to.
    #[error("`{folder}` is a mount point, so a build cannot take its place in one step")]
    MountPoint {
        /// The output folder.
        folder: PathBuf,
    },
    /// The output folder has no name of its own, such as `/` or `..`.
    #[error("`{folder}` is no folder that a build can replace")]
    NoName {
        /// As given.
        folder: PathBuf,
    },
    /// An output's name that would lead out of the output folder or is no file name everywhere.
    #[error("`{name}` cannot be the name of an output")]
    BadName {
        /// The name.
        name: String,
    },
    /// Two outputs have names that some file systems take for one.
    #[error("two outputs are named `{name}`")]
    SameName {
        /// The name.
        name: String,
    },
    /// The manifest of the build that is there cannot be trusted.
    #[error("cannot use the build in `{folder}`")]
    Manifest {
        /// The output folder.
        folder: PathBuf,
        /// What is wrong with it.
        #[source]
        cause: ManifestError,
    },
    /// Another build holds the lock.
    #[error("another build is at work in `{folder}`")]
    Busy {
        /// The folder of the house, or the output folder.
        folder: PathBuf,
    },
    /// A file is not what it was when it was read.
    #[error("`{path}` has changed since it was read")]
    Changed {
        /// The file.
        path: PathBuf,
    },
    /// A file that must not be there is there.
    #[error("`{path}` is there already")]
    Exists {
        /// The file.
        path: PathBuf,
    },
    /// A file where a report should go that is no report, or that somebody has changed.
    #[error("`{path}` is no report as `check` made it")]
    Theirs {
        /// The file.
        path: PathBuf,
    },
    /// Corrections that overlap or lie outside the file they are for.
    #[error("the corrections of `{path}` do not fit together")]
    Edits {
        /// The file.
        path: PathBuf,
    },
    /// A file that leads out of the house's folder.
    #[error("`{path}` is outside of the house's folder")]
    Outside {
        /// The file.
        path: PathBuf,
    },
}

impl EmitError {
    /// What to do next.
    pub fn help(&self) -> String {
        match self {
            Self::Write { cause, path } => format!("{}; nothing was changed", write_help(cause, path)),
            Self::Unsettled { cause, path } => {
                format!("{}; the file has its new content already", write_help(cause, path))
            }
            Self::Late { cause } => format!(
                "{}; what is in the output folder was left as it is, and the ledger has the new numbers already",
                cause.help()
            ),
            Self::Place { cause, path } => format!(
                "{}; what is in the output folder is whole, and the ledger has the new numbers already",
                write_help(cause, path)
            ),
            Self::Remove { path, .. } => format!("remove `{}`, then build again", path.display()),
            Self::Read { .. } => "check that it is there and that you may read it".to_owned(),
            Self::Foreign { folder, found } => format!(
                "nothing is overwritten that no build has made: move `{}` elsewhere, or give another folder with `--out`",
                folder.join(found).display()
            ),
            Self::NoManifest { folder, .. } => back(&folder.display()),
            Self::OtherHouse { house, found, .. } => format!(
                "if it is the same house, write `id: {found}` again: with another id every appliance is a new one; if `{house}` is \
                 another house, give it an output folder of its own with `--out`"
            ),
            Self::NotAFolder { .. } => "give the name of a folder, or of none that exists, with `--out`".to_owned(),
            Self::NotAFile { .. } => "move it elsewhere; a file is written there".to_owned(),
            Self::Link { .. } => "name the place that it leads to; links are not followed when writing".to_owned(),
            Self::MountPoint { folder } => {
                format!("give a folder within it: `--out {}`", folder.join("build").display())
            }
            Self::NoName { .. } => "give a folder with a name, such as `--out build`".to_owned(),
            Self::BadName { .. } => {
                "names of outputs come from the keys of bridges: give the bridge a key of letters, digits and `-` that \
                 is no device on any system (`con`, `nul`, `com1`)".to_owned()
            }
            Self::SameName { .. } => "give the bridges keys that differ in more than capitals".to_owned(),
            Self::Manifest { folder, cause } => cause.help(folder),
            Self::Busy { .. } => "wait until it is done, then build again".to_owned(),
            Self::Changed { .. } => "run the command again; it then sees the file as it is now".to_owned(),
            Self::Exists { .. } => "nothing is overwritten: move it elsewhere, or give another folder".to_owned(),
            Self::Theirs { .. } => "it may hold what somebody wrote: move it elsewhere, or give another name".to_owned(),
            Self::Edits { .. } => "run the command again after the first corrections are in the file".to_owned(),
            Self::Outside { .. } => "correct it by hand; only files of the house are written".to_owned(),
        }
    }
}

fn write_help(cause: &io::Error, path: &std::path::Path) -> String {
    let path = path.display();
    #[expect(
        clippy::wildcard_enum_match_arm,
        reason = "every other kind of failure gets the same general advice"
    )]
    match cause.kind() {
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
            "the disk is full: make room and build again".to_owned()
        }
        io::ErrorKind::PermissionDenied => {
            format!("make the folder of `{path}` writable, or give another folder")
        }
        io::ErrorKind::ReadOnlyFilesystem => {
            "the file system can only be read: give a folder on another one".to_owned()
        }
        _ => "mend the cause and build again".to_owned(),
    }
}
