//! How many files the system lets the program have open at once.

/// Files that a house in hand has open at once, at most: its tables and rooms one after the other, the build and its lock.
const OF_A_HOUSE: u64 = 12;

/// Files that are open whatever is done.
const OF_THE_PROGRAM: u64 = 32;

/// How many houses may be in hand at once. Raises the soft limit to the hard one first: it is low on some systems so that
/// old programs go on working.
#[cfg(unix)]
pub(super) fn hands() -> usize {
    use rustix::process::{Resource, Rlimit, getrlimit, setrlimit};
    let limit = getrlimit(Resource::Nofile);
    let _as_it_was = setrlimit(Resource::Nofile, Rlimit { current: limit.maximum, ..limit });
    let files = getrlimit(Resource::Nofile).current.unwrap_or(u64::MAX);
    usize::try_from(files.saturating_sub(OF_THE_PROGRAM) / OF_A_HOUSE).unwrap_or(usize::MAX).max(1)
}

#[cfg(not(unix))]
pub(super) fn hands() -> usize {
    usize::MAX
}
