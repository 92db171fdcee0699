//! The files of a revision, brought into a folder, and what of it was not.

use super::program;
use crate::emit;
use crate::source::{At, Limits, resolve_path};
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::io::{self, BufReader, Read as _, Write as _};
use std::path::Path;
use std::process::Stdio;

/// A file of a revision.
struct Blob {
    object: String,
    /// Path in the house's folder.
    path: String,
    is_link: bool,
    bytes: u64,
}

/// Why something of a revision is not brought out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Why {
    /// It is in another repository.
    Module,
    /// It is larger than a file of a house may be.
    TooLarge,
    /// It is neither a description nor a part of a build, and there is too much of that.
    TooMuch,
    /// It is a link to a folder, and such links bring too many files a second time.
    TooManyLinked,
    /// Its name is no UTF-8.
    Unnamed,
    /// It is a link to nothing that there is in the house.
    LeadsNowhere,
}

impl Why {
    /// What would be there.
    pub(super) fn there(self) -> At {
        match self {
            Self::Module | Self::TooManyLinked => At::Folder,
            Self::TooLarge | Self::TooMuch | Self::Unnamed | Self::LeadsNowhere => At::File,
        }
    }

    /// What is so.
    pub(super) fn of(self, path: &str) -> String {
        match self {
            Self::Module => format!("`{path}` is a submodule, and nothing in it was read"),
            Self::TooLarge => format!("`{path}` is larger than a file of a house may be, and was not read"),
            Self::TooMuch => format!("`{path}` is more than a house may have, and was not read"),
            Self::TooManyLinked => {
                format!("`{path}` brings more files than links to folders may, and not all of them were read")
            }
            Self::Unnamed => format!("`{path}` has a name that is no UTF-8, and was not read"),
            Self::LeadsNowhere => format!("`{path}` is a link to no file of the house, and nothing was read"),
        }
    }

    /// What to do.
    pub(super) fn help(self) -> &'static str {
        match self {
            Self::Module => "check the revision out with its submodules, and give the two folders instead",
            Self::LeadsNowhere => "look at a revision that has the file itself",
            Self::TooLarge | Self::TooMuch => {
                "keep what is no part of the house out of its folder, or `--limits` raises all limits"
            }
            Self::TooManyLinked => {
                "check the revision out, and give the two folders instead, or `--limits` raises all limits"
            }
            Self::Unnamed => "rename it, or check the revision out and give the two folders instead",
        }
    }
}

/// What is not brought out, by path.
pub(super) type LeftOut = BTreeMap<String, Why>;

/// The files of a listing and its links, and what is left out.
fn blobs(listed: &[u8], limits: &Limits) -> (Vec<Blob>, LeftOut) {
    let (mut blobs, mut left_out) = (Vec::new(), LeftOut::new());
    for entry in listed.split(|byte| *byte == 0) {
        let text = String::from_utf8_lossy(entry);
        let Some((facts, path)) = text.split_once('\t') else { continue };
        let mut facts = facts.split_ascii_whitespace();
        let (Some(mode), Some(object), Some(size)) = (facts.next(), facts.nth(1), facts.next()) else {
            continue;
        };
        let is_link = mode == "120000";
        let bytes = size.parse().ok().filter(|bytes| *bytes <= limits.file_bytes);
        let why = match bytes {
            _ if matches!(text, Cow::Owned(_)) => Why::Unnamed,
            _ if !is_link && !mode.starts_with("100") => Why::Module,
            None => Why::TooLarge,
            Some(bytes) => {
                blobs.push(Blob { object: object.to_owned(), path: path.to_owned(), is_link, bytes });
                continue;
            }
        };
        left_out.insert(path.to_owned(), why);
    }
    leave_out_the_rest(&mut blobs, &mut left_out, limits.house_bytes);
    (blobs, left_out)
}

/// Leaves out what lies in a house's folder and is hardly a part of it, such as photos: of what is no description as much is
/// brought out as a house may have, tables before the rest, and the small files first. Of a build its JSON counts as
/// descriptions do.
fn leave_out_the_rest(blobs: &mut Vec<Blob>, left_out: &mut LeftOut, most: u64) {
    let is_house = blobs.iter().any(|blob| blob.path == "house.yaml");
    let ending = |blob: &Blob| {
        blob.path.rsplit_once('.').map_or_else(String::new, |(_, ending)| ending.to_ascii_lowercase())
    };
    let is_part = |blob: &Blob| {
        let ending = ending(blob);
        blob.is_link || matches!(ending.as_str(), "yaml" | "yml") || !is_house && ending == "json"
    };
    let is_table = |blob: &Blob| matches!(ending(blob).as_str(), "csv" | "tsv" | "txt");
    let rest = blobs.iter().filter(|blob| !is_part(blob));
    let mut rest: Vec<(bool, u64, &str)> =
        rest.map(|blob| (!is_table(blob), blob.bytes, blob.path.as_str())).collect();
    rest.sort_unstable();
    let mut left = most;
    rest.retain(|(_, bytes, _)| {
        let fits = left.checked_sub(*bytes);
        left = fits.unwrap_or(0);
        fits.is_none()
    });
    left_out.extend(rest.into_iter().map(|(.., path)| (path.to_owned(), Why::TooMuch)));
    blobs.retain(|blob| !left_out.contains_key(&blob.path));
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

/// Brings the files of a listing into a folder, and gives what was left out.
pub(super) fn bring_out(top: &Path, listed: &[u8], target: &Path, limits: &Limits) -> io::Result<LeftOut> {
    let (blobs, mut left_out) = blobs(listed, limits);
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
            Led::Folder(Some(folder)) if let Some(why) = why_left_out(&folder, &left_out) => {
                left_out.insert(path, why);
            }
            Led::Folder(Some(folder)) if steps < MOST_LINKS && !leads_up(blob, &folder) => {
                let below = format!("{folder}/");
                let inside = by_path.range(below.as_str()..).map(|(_, blob)| *blob);
                let mut inside = inside.take_while(|blob| blob.path.starts_with(&below)).peekable();
                let leads_nowhere = inside.peek().is_none();
                for blob in inside.by_ref().take(limits.linked_files.saturating_sub(files)) {
                    let rest = blob.path.strip_prefix(&below).unwrap_or_default();
                    due.push(Due { blob, path: format!("{path}/{rest}"), steps: steps + 1 });
                    files += 1;
                }
                let are_too_many = inside.next().is_some();
                let inside = left_out.range(below.clone()..).take_while(|(path, _)| path.starts_with(&below));
                let inside = inside.map(|(inner, why)| (inner.replacen(&folder, &path, 1), *why));
                let mut inside: Vec<_> = inside.take(limits.linked_files).collect();
                if are_too_many {
                    inside.push((path, Why::TooManyLinked));
                } else if leads_nowhere && inside.is_empty() {
                    inside.push((path, Why::LeadsNowhere));
                }
                left_out.extend(inside);
            }
            Led::Folder(Some(_)) => {}
            Led::Folder(None) => drop(left_out.insert(path, Why::LeadsNowhere)),
        }
    }
    drop(asked);
    child.wait().map(|_| left_out)
}

/// Why nothing is at a path: it, or a folder that it lies in, is left out.
fn why_left_out(path: &str, left_out: &LeftOut) -> Option<Why> {
    let ends = path.match_indices('/').map(|(at, _)| at).chain([path.len()]);
    ends.filter_map(|end| left_out.get(path.get(..end)?)).copied().next()
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
