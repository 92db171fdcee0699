//! A house as it was at a git revision: its files, brought into a folder that is gone when it is dropped.
//!
//! Asks the `git` program; nothing of the repository or its work tree is changed.

use crate::emit;
use crate::source::Limits;
use std::io::{self, BufReader, Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use tempfile::TempDir;

/// Why a revision could not be read.
#[derive(Debug, thiserror::Error)]
pub(crate) enum HistoryError {
    /// There is no `git` program, or it cannot be started.
    #[error("`git` cannot be run")]
    NoGit(#[source] io::Error),
    /// The house is in no repository.
    #[error("`{house}` is in no git repository")]
    NoRepository {
        /// The house's folder.
        house: PathBuf,
    },
    /// The repository does not have the revision, or the house was not in it then.
    #[error("the repository has no `{revision}` with this house in it")]
    NoRevision {
        /// The revision as written.
        revision: String,
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
            Self::NoRevision { .. } => "`git log` in the house's folder shows the revisions that have it",
            Self::Broken { .. } => "`git fsck` looks for what is broken in the repository",
        }
    }
}

/// The house of `house`'s folder as it was at a revision.
///
/// # Errors
/// [`HistoryError`].
pub(crate) fn at(revision: &str, house: &Path, limits: &Limits) -> Result<TempDir, HistoryError> {
    let folder = if house.is_file() { house.parent().unwrap_or(Path::new(".")) } else { house };
    let (top, prefix) = repository(folder)?;
    let tree = format!("{revision}:{prefix}");
    let listed = git(&top, &["ls-tree", "-r", "-z", "--full-tree", &tree])?
        .ok_or_else(|| HistoryError::NoRevision { revision: revision.to_owned() })?;
    let blobs = blobs(&listed);
    let broken = |cause| HistoryError::Broken { revision: revision.to_owned(), cause };
    let target = tempfile::tempdir().map_err(broken)?;
    bring_out(&top, &blobs, target.path(), limits).map_err(broken)?;
    Ok(target)
}

/// The top of the repository, and the folder's path in it with a `/` behind it.
fn repository(folder: &Path) -> Result<(PathBuf, String), HistoryError> {
    let none = || HistoryError::NoRepository { house: folder.to_owned() };
    // The folder may be gone from the work tree; then its nearest parent tells where the repository is.
    let there =
        folder.ancestors().find(|folder| folder.is_dir()).filter(|folder| !folder.as_os_str().is_empty());
    let there = there.unwrap_or(Path::new("."));
    let said = git(there, &["rev-parse", "--show-toplevel", "--show-prefix"])?.ok_or_else(none)?;
    let text = String::from_utf8_lossy(&said);
    let mut lines = text.lines();
    let top = lines.next().ok_or_else(none)?;
    let mut prefix = lines.next().unwrap_or_default().to_owned();
    if let Ok(rest) = folder.strip_prefix(there)
        && !rest.as_os_str().is_empty()
        && there != Path::new(".")
    {
        prefix = format!("{prefix}{}/", rest.display());
    }
    Ok((PathBuf::from(top), prefix))
}

/// Output of a git command; `None` when git says no.
fn git(folder: &Path, arguments: &[&str]) -> Result<Option<Vec<u8>>, HistoryError> {
    let output = Command::new("git")
        .arg("-C")
        .arg(folder)
        .args(arguments)
        .stdin(Stdio::null())
        .stderr(Stdio::null())
        .output()
        .map_err(HistoryError::NoGit)?;
    Ok(output.status.success().then_some(output.stdout))
}

/// Object name and path of each regular file of a listing; links and modules are left out.
fn blobs(listed: &[u8]) -> Vec<(String, String)> {
    let entries = listed.split(|byte| *byte == 0).filter_map(|entry| std::str::from_utf8(entry).ok());
    entries
        .filter_map(|entry| {
            let (facts, path) = entry.split_once('\t')?;
            let mut facts = facts.split(' ');
            let regular = facts.next()?.starts_with("100");
            let object = facts.nth(1)?;
            // Hidden files are none of a house's.
            let hidden = path.split('/').any(|part| part.starts_with('.'));
            (regular && !hidden).then(|| (object.to_owned(), path.to_owned()))
        })
        .collect()
}

fn bring_out(top: &Path, blobs: &[(String, String)], target: &Path, limits: &Limits) -> io::Result<()> {
    let mut child = Command::new("git")
        .arg("-C")
        .arg(top)
        .args(["cat-file", "--batch"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()?;
    let (Some(mut asked), Some(answers)) = (child.stdin.take(), child.stdout.take()) else {
        return Err(io::ErrorKind::BrokenPipe.into());
    };
    let mut answers = BufReader::new(answers);
    for (object, path) in blobs {
        writeln!(asked, "{object}")?;
        asked.flush()?;
        let bytes = answer(&mut answers)?;
        // What is too large for a house is left away here and told as missing there.
        if bytes.len() as u64 <= limits.file_bytes {
            emit::write_new(target, &[(path.as_str(), bytes.as_slice())]).map_err(io::Error::other)?;
        }
    }
    drop(asked);
    child.wait().map(|_| ())
}

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
