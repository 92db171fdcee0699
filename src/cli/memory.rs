//! Whether memory that is free for a moment stays with the program.

/// Begins anew as a program that gives no memory back before its end. Nothing may have been read or printed yet.
///
/// Otherwise the allocator gives back what nobody used for a hundredth of a second, and takes it again soon: a fifth of the time
/// of a look at a large house, and half of that of a large review on a machine that has to ask for each page. It can be
/// told so only by the environment that it starts in.
#[cfg(unix)]
pub(super) fn keep() {
    use std::os::unix::process::CommandExt as _;
    const SWITCH: &str = "MIMALLOC_PURGE_DELAY";
    if std::env::var_os(SWITCH).is_some() {
        return;
    }
    let Ok(program) = std::env::current_exe() else { return };
    let mut again = std::process::Command::new(program);
    // Comes back only if it cannot be done; then this program does the work, a little slower.
    let _ = again.args(std::env::args_os().skip(1)).env(SWITCH, "-1").exec();
}

/// Elsewhere a program cannot become another one.
#[cfg(not(unix))]
pub(super) fn keep() {}
