//! A house, or a build, as it was at a git revision: its files, brought into a folder that is gone when it is dropped.
//!
//! Asks the `git` program; nothing of the repository or its work tree is changed.

mod files;

use crate::review::Commit;
use crate::source::{self, Limits, Sources};
use files::LeftOut;
use std::ffi::OsString;
use std::io;
use std::path::{Component, Path, PathBuf};
use std::process::{Command, Stdio};
use tempfile::TempDir;

/// Why a revision could not be read.
#[derive(Debug, thiserror::Error)]
pub(crate) enum HistoryError {
    /// There is no `git` program, or it cannot be started.
    #[error("`git` cannot be run")]
    NoGit(#[source] io::Error),
    /// The house is in no repository, or in one that git does not read.
    #[error("`{house}` is in no git repository that can be read: {said}")]
    NoRepository {
        /// The house's folder.
        house: PathBuf,
        /// What git says.
        said: String,
    },
    /// The repository does not have the revision.
    #[error("the repository has no revision `{revision}`")]
    NoRevision {
        /// The revision as written.
        revision: String,
    },
    /// The revision does not have the folder.
    #[error("`{revision}` has no folder `{folder}`, counted from the top of the repository")]
    NoFolder {
        /// The revision as written.
        revision: String,
        /// The folder, from the top of the repository.
        folder: String,
    },
    /// A file of the revision could not be brought out.
    #[error("a file of `{revision}` cannot be read")]
    Broken {
        /// The revision as written.
        revision: String,
        /// Why.
        #[source]
        cause: io::Error,
    },
}

impl HistoryError {
    /// What to do next.
    pub(crate) fn help(&self) -> &'static str {
        match self {
            Self::NoGit(_) => "install git, or give two folders instead",
            Self::NoRepository { .. } => {
                "keep the house in the work tree of a repository, or give two folders instead"
            }
            Self::NoRevision { .. } => {
                "`git log` shows the revisions that there are; a shallow clone lacks the older ones"
            }
            Self::NoFolder { .. } => {
                "the path after `:` starts in the folder you are in, so `HEAD:.` is the house there; `git log -- FOLDER` shows \
                 the revisions that have a folder"
            }
            Self::Broken { .. } => "`git fsck` looks for what is broken in the repository",
        }
    }
}

/// A house as it was, in a folder that is gone when this is dropped.
#[derive(Debug)]
pub(crate) struct House {
    folder: TempDir,
    root: Option<OsString>,
    /// The commit that the revision names, if it names one.
    pub(crate) commit: Option<Commit>,
    /// What of it was not brought out.
    left_out: LeftOut,
}

impl House {
    /// A text that may name it or files of it, without the place where they lie now.
    pub(crate) fn without_path(&self, text: &str) -> String {
        let place = self.folder.path().display().to_string();
        text.replace(&format!("{place}/"), "").replace(&format!("`{place}`"), "this folder")
    }

    /// Why the files that were read are not all that it had: something was not brought out that one of them names, or may name.
    /// What is wrong, and what to do.
    pub(crate) fn lacks(&self, sources: &Sources) -> Option<(String, String)> {
        let (path, why) =
            self.left_out.iter().find(|(path, why)| source::may_read(sources, path, why.there()))?;
        Some((why.of(path), why.help().to_owned()))
    }

    /// The house's folder, or its root file if that was asked for.
    pub(crate) fn path(&self) -> PathBuf {
        self.root.as_ref().map_or_else(|| self.folder.path().to_owned(), |root| self.folder.path().join(root))
    }
}

/// A house, given by its folder or its root file in the work tree, as it was at a revision.
///
/// # Errors
/// [`HistoryError`].
pub(crate) fn at(revision: &str, house: &Path, limits: &Limits) -> Result<House, HistoryError> {
    // It may be gone from the work tree; then its name must tell.
    let named_as_file =
        house.extension().is_some_and(|ending| ending == "yaml" || ending == "yml" || ending == "json");
    let root = house.file_name().filter(|_| house.is_file() || !house.is_dir() && named_as_file);
    let folder = if root.is_some() { house.parent().unwrap_or(Path::new(".")) } else { house };
    let (top, prefix) = repository(folder)?;
    let tree = format!("{revision}:{prefix}");
    let listed = match git(&top, &["ls-tree", "-r", "-l", "-z", "--full-tree", "--end-of-options", &tree])? {
        Ok(listed) => listed,
        Err(_) => return Err(not_there(&top, revision, &prefix)?),
    };
    let broken = |cause| HistoryError::Broken { revision: revision.to_owned(), cause };
    let target = tempfile::tempdir().map_err(broken)?;
    let left_out = files::bring_out(&top, &listed, target.path(), limits).map_err(broken)?;
    let commit = commit(&top, revision)?;
    Ok(House { folder: target, root: root.map(ToOwned::to_owned), commit, left_out })
}

/// What git has of a file in a folder while a merge is not finished: what both came from, empty where both made the file; the
/// file of the branch that is merged into; that of the branch that is merged. None where there is no such merge.
pub(crate) fn unmerged(folder: &Path, name: &str) -> Option<[String; 3]> {
    let version = |stage: u8| {
        let said = git(folder, &["cat-file", "blob", &format!(":{stage}:./{name}")]).ok()?.ok()?;
        String::from_utf8(said).ok()
    };
    Some([version(1).unwrap_or_default(), version(2)?, version(3)?])
}

/// The commit that a revision names; none where it names a tree.
fn commit(top: &Path, revision: &str) -> Result<Option<Commit>, HistoryError> {
    let asked = format!("{revision}^{{commit}}");
    let said = git(top, &["rev-list", "-1", "--format=%H %ci", "--end-of-options", &asked])?;
    let text = String::from_utf8_lossy(said.as_deref().unwrap_or_default()).into_owned();
    // Before what was asked for stands a line `commit HASH`; behind the date, the time.
    let line = text.lines().nth(1).and_then(|line| line.split_once(' '));
    Ok(line.map(|(hash, date)| Commit {
        hash: hash.to_owned(),
        date: date.chars().take_while(|letter| *letter != ' ').collect(),
    }))
}

/// Why a folder of a revision cannot be listed.
fn not_there(top: &Path, revision: &str, prefix: &str) -> Result<HistoryError, HistoryError> {
    let root = format!("{revision}^{{tree}}");
    let known = git(top, &["rev-parse", "--verify", "--quiet", "--end-of-options", &root])?;
    let revision = revision.to_owned();
    Ok(match (known, prefix.trim_end_matches('/')) {
        (Ok(_), folder) if !folder.is_empty() => {
            HistoryError::NoFolder { revision, folder: folder.to_owned() }
        }
        _ => HistoryError::NoRevision { revision },
    })
}

/// The top of the repository, and the folder's path in it with a `/` behind it.
fn repository(folder: &Path) -> Result<(PathBuf, String), HistoryError> {
    let none = |said| HistoryError::NoRepository { house: folder.to_owned(), said };
    // The folder may be gone from the work tree; then its nearest parent tells where the repository is.
    let there =
        folder.ancestors().find(|folder| folder.is_dir()).filter(|folder| !folder.as_os_str().is_empty());
    let gone = there.map_or(folder, |there| folder.strip_prefix(there).unwrap_or(Path::new("")));
    let said = git(there.unwrap_or(Path::new(".")), &["rev-parse", "--show-toplevel", "--show-prefix"])?;
    let said = said.map_err(none)?;
    let text = String::from_utf8_lossy(&said);
    let mut lines = text.lines();
    let top = lines.next().ok_or_else(|| none("it names no work tree".to_owned()))?;
    let mut prefix = lines.next().unwrap_or_default().to_owned();
    for part in gone.components().filter(|part| *part != Component::CurDir) {
        prefix = format!("{prefix}{}/", part.as_os_str().display());
    }
    Ok((PathBuf::from(top), prefix))
}

/// Output of a git command, or the first line of what git says where it says no.
fn git(folder: &Path, arguments: &[&str]) -> Result<Result<Vec<u8>, String>, HistoryError> {
    let output = program(folder).args(arguments).output().map_err(HistoryError::NoGit)?;
    let said = || String::from_utf8_lossy(&output.stderr).lines().next().unwrap_or_default().to_owned();
    Ok(if output.status.success() { Ok(output.stdout) } else { Err(said()) })
}

/// Git at work in a folder, on the repository that the folder is in: inside a hook the environment names another one.
fn program(folder: &Path) -> Command {
    let mut command = Command::new("git");
    command.arg("-C").arg(folder).stdin(Stdio::null()).env("LC_ALL", "C");
    command.env_remove("GIT_DIR").env_remove("GIT_WORK_TREE");
    command
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;
    use crate::emit;

    /// A repository with these files of ten bytes, each committed.
    fn repository(paths: &[&str], link: Option<(&str, &str)>) -> TempDir {
        let folder = tempfile::tempdir().expect("a folder for the test");
        let here = folder.path();
        let git = |arguments: &[&str]| {
            let said = git(here, arguments).expect("git is installed");
            said.expect("git does what it is asked");
        };
        for path in paths {
            emit::write_passing(here, path, b"ten bytes!").expect("a file");
        }
        if let Some((to, from)) = link {
            std::os::unix::fs::symlink(to, here.join(from)).expect("a link");
        }
        git(&["init", "-q"]);
        git(&["add", "."]);
        git(&["-c", "user.name=Ada", "-c", "user.email=ada@example.org", "commit", "-q", "-m", "House"]);
        folder
    }

    #[test]
    fn what_is_no_description_is_brought_out_as_far_as_a_house_may_have_it() {
        let paths = ["house.yaml", "hall.yaml", "main.csv", "a.jpg", "b.jpg"];
        let folder = repository(&paths, None);
        let there = |house_bytes| {
            let limits = Limits { house_bytes, ..Limits::default() };
            let house = at("HEAD", folder.path(), &limits).expect("a house");
            paths.map(|path| house.path().join(path).is_file())
        };
        assert_eq!(there(30), [true, true, true, true, true]);
        assert_eq!(there(29), [true, true, true, true, false]);
        assert_eq!(there(10), [true, true, true, false, false]);
    }

    #[test]
    fn what_links_bring_is_written_until_it_is_more_than_a_house_may_have() {
        let folder = repository(&["once/a.yaml", "once/b.yaml", "once/c.yaml"], Some(("once", "twice")));
        let here = folder.path();
        let brought = |house_bytes| {
            let house = at("HEAD", here, &Limits { house_bytes, ..Limits::default() }).expect("a house");
            std::fs::read_dir(house.path().join("twice")).map_or(0, Iterator::count)
        };
        // One file too many, for the reader to see that the house is too large.
        assert_eq!([brought(30), brought(19), brought(9)], [3, 2, 1]);
    }

    #[test]
    fn links_bring_so_many_files_a_second_time_and_more_is_told() {
        let folder = repository(&["once/a.yaml", "once/b.yaml", "once/c.yaml"], Some(("once", "twice")));
        let brought = |linked_files| {
            let house = at("HEAD", folder.path(), &Limits { linked_files, ..Limits::default() });
            let house = house.expect("a house");
            let files = std::fs::read_dir(house.path().join("twice")).map_or(0, Iterator::count);
            (files, house.left_out.contains_key("twice"))
        };
        assert_eq!([brought(3), brought(2), brought(0)], [(3, false), (2, true), (0, true)]);
    }
}
