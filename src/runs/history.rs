//! A house, or a build, as it was at a git revision: its files, brought into a folder that is gone when it is dropped.
//!
//! Asks the `git` program; nothing of the repository or its work tree is changed.

use crate::emit;
use crate::review::Commit;
use crate::source::{Limits, resolve_path};
use std::collections::BTreeMap;
use std::ffi::OsString;
use std::io::{self, BufReader, Read as _, Write as _};
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
            Self::NoRepository { .. } => "keep the house under version control, or give two folders instead",
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
}

impl House {
    /// A text that may name it or files of it, without the place where they lie now.
    pub(crate) fn without_path(&self, text: &str) -> String {
        let place = self.folder.path().display().to_string();
        text.replace(&format!("{place}/"), "").replace(&format!("`{place}`"), "this folder")
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
    let blobs = blobs(&listed, limits);
    let broken = |cause| HistoryError::Broken { revision: revision.to_owned(), cause };
    let target = tempfile::tempdir().map_err(broken)?;
    bring_out(&top, &blobs, target.path(), limits).map_err(broken)?;
    let commit = commit(&top, revision)?;
    Ok(House { folder: target, root: root.map(ToOwned::to_owned), commit })
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

/// A file of a revision.
struct Blob {
    object: String,
    /// Path in the house's folder.
    path: String,
    is_link: bool,
}

/// The files of a listing and its links; modules are left out, and so is what is too large for a house, to be told as missing
/// there.
fn blobs(listed: &[u8], limits: &Limits) -> Vec<Blob> {
    let entries = listed.split(|byte| *byte == 0).filter_map(|entry| std::str::from_utf8(entry).ok());
    entries
        .filter_map(|entry| {
            let (facts, path) = entry.split_once('\t')?;
            let mut facts = facts.split_ascii_whitespace();
            let (mode, object, size) = (facts.next()?, facts.nth(1)?, facts.next()?);
            let is_link = mode == "120000";
            let wanted = is_link || mode.starts_with("100");
            let fits = size.parse().is_ok_and(|size: u64| size <= limits.file_bytes);
            let blob = || Blob { object: object.to_owned(), path: path.to_owned(), is_link };
            (wanted && fits).then(blob)
        })
        .collect()
}

/// A file to be written: what it is, where it goes, and how many links to folders lead there.
struct Due<'b> {
    blob: &'b Blob,
    path: String,
    steps: usize,
}

/// What a file of a revision is, once links are followed.
enum Led {
    /// A file.
    File(Vec<u8>),
    /// A link to something that is no file: this path, if it is in the house.
    Folder(Option<String>),
}

fn bring_out(top: &Path, blobs: &[Blob], target: &Path, limits: &Limits) -> io::Result<()> {
    let mut child = program(top)
        .args(["cat-file", "--batch"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()?;
    let (Some(mut asked), Some(answers)) = (child.stdin.take(), child.stdout.take()) else {
        return Err(io::ErrorKind::BrokenPipe.into());
    };
    let mut answers = BufReader::new(answers);
    let mut ask = |object: &str| {
        writeln!(asked, "{object}")?;
        asked.flush()?;
        answer(&mut answers)
    };
    let by_path: BTreeMap<&str, &Blob> = blobs.iter().map(|blob| (blob.path.as_str(), blob)).collect();
    let mut due: Vec<Due> =
        blobs.iter().map(|blob| Due { blob, path: blob.path.clone(), steps: 0 }).collect();
    // What links to folders bring a second time, within what a house may have.
    let (mut files, mut bytes) = (0, 0);
    while let Some(Due { blob, path, steps }) = due.pop() {
        match led(blob, &by_path, &mut ask)? {
            Led::File(text) => {
                // The one that is too much is written too, so that the reader says so.
                if bytes <= limits.house_bytes {
                    emit::write_passing(target, &path, &text).map_err(io::Error::other)?;
                }
                bytes += if steps == 0 { 0 } else { text.len() as u64 };
            }
            Led::Folder(Some(folder)) if steps < MOST_LINKS && !leads_up(blob, &folder) => {
                let below = format!("{folder}/");
                let inside = by_path.range(below.as_str()..).map(|(_, blob)| *blob);
                let inside = inside.take_while(|blob| blob.path.starts_with(&below));
                for blob in inside.take(limits.files.saturating_sub(files)) {
                    let rest = blob.path.strip_prefix(&below).unwrap_or_default();
                    due.push(Due { blob, path: format!("{path}/{rest}"), steps: steps + 1 });
                    files += 1;
                }
            }
            Led::Folder(_) => {}
        }
    }
    drop(asked);
    child.wait().map(|_| ())
}

/// Follows links from file to file. One that leads out of the house leads nowhere.
fn led(
    blob: &Blob,
    by_path: &BTreeMap<&str, &Blob>,
    ask: &mut impl FnMut(&str) -> io::Result<Vec<u8>>,
) -> io::Result<Led> {
    let (mut at, mut bytes) = (blob, ask(&blob.object)?);
    for _ in 0..MOST_LINKS {
        if !at.is_link {
            return Ok(Led::File(bytes));
        }
        let path = std::str::from_utf8(&bytes).ok().and_then(|to| resolve_path(&at.path, to));
        let Some(next) = path.as_deref().and_then(|path| by_path.get(path).copied()) else {
            return Ok(Led::Folder(path));
        };
        (at, bytes) = (next, ask(&next.object)?);
    }
    Ok(Led::Folder(None))
}

/// Whether a link leads to a folder that it is in: round and round.
fn leads_up(link: &Blob, folder: &str) -> bool {
    folder.is_empty() || link.path.strip_prefix(folder).is_some_and(|rest| rest.starts_with('/'))
}

/// Links that lead to each other at most.
const MOST_LINKS: usize = 8;

/// One answer: a line `OBJECT blob SIZE`, the bytes, a line end.
fn answer(answers: &mut impl io::BufRead) -> io::Result<Vec<u8>> {
    let mut head = String::new();
    answers.read_line(&mut head)?;
    let size = head.trim_end().rsplit(' ').next().and_then(|size| size.parse::<u64>().ok());
    let size = size.ok_or_else(|| io::Error::other(head.trim_end().to_owned()))?;
    let mut bytes = Vec::new();
    answers.take(size).read_to_end(&mut bytes)?;
    let mut end = [0; 1];
    answers.read_exact(&mut end)?;
    Ok(bytes)
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;

    #[test]
    fn what_links_bring_is_written_until_it_is_more_than_a_house_may_have() {
        let folder = tempfile::tempdir().expect("a folder for the test");
        let here = folder.path();
        let git = |arguments: &[&str]| {
            let said = git(here, arguments).expect("git is installed");
            said.expect("git does what it is asked");
        };
        for path in ["once/a", "once/b", "once/c"] {
            emit::write_passing(here, path, b"ten bytes!").expect("a file");
        }
        std::os::unix::fs::symlink("once", here.join("twice")).expect("a link");
        git(&["init", "-q"]);
        git(&["add", "."]);
        git(&["-c", "user.name=Ada", "-c", "user.email=ada@example.org", "commit", "-q", "-m", "House"]);
        let brought = |house_bytes| {
            let house = at("HEAD", here, &Limits { house_bytes, ..Limits::default() }).expect("a house");
            std::fs::read_dir(house.path().join("twice")).map_or(0, Iterator::count)
        };
        // One file too many, for the reader to see that the house is too large.
        assert_eq!([brought(30), brought(19), brought(9)], [3, 2, 1]);
    }
}
