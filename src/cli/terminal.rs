//! Where output goes: width, colour, and the two streams.

use super::args::{Colour, Shared};
use super::error::CliError;
use crate::findings::breaking::broken;
use crate::findings::{brief, visible};
use std::io::{self, IsTerminal as _, Write};
use std::time::{Duration, Instant};

/// Columns where the terminal does not say: the narrowest that is still common.
pub(super) const USUAL_WIDTH: usize = 80;
/// Wider lines are hard to read.
const WIDEST: usize = 120;

/// The terminal, or the pipe, that the program talks to.
#[derive(Clone, Copy)]
pub(super) struct Terminal {
    /// Columns.
    pub(super) width: usize,
    /// Whether standard output takes colour.
    pub(super) colour: bool,
    colour_errors: bool,
    /// Columns of standard error; in a pipe no line of it is broken.
    error_width: usize,
    begun: Instant,
    shows_progress: bool,
    progress_shown: bool,
    /// Whether nobody reads standard output any more: nothing more is written, and the exit code stays what it would be.
    pub(super) closed: bool,
}

impl Terminal {
    /// Finds out width and colour.
    pub(super) fn new(shared: &Shared) -> Self {
        let width = terminal_size::terminal_size().map_or(USUAL_WIDTH, |(width, _)| usize::from(width.0));
        let wanted = |is_terminal: bool| match shared.colour {
            Colour::Always => true,
            Colour::Never => false,
            Colour::Auto => is_terminal && !no_colour(),
        };
        let width = width.clamp(40, WIDEST);
        Self {
            width,
            error_width: if io::stderr().is_terminal() { width } else { usize::MAX },
            colour: wanted(io::stdout().is_terminal()),
            colour_errors: wanted(io::stderr().is_terminal()),
            begun: Instant::now(),
            shows_progress: io::stderr().is_terminal() && !is_plain(),
            progress_shown: false,
            closed: false,
        }
    }

    /// Prints a result.
    pub(super) fn print(&mut self, text: &str) -> Result<(), CliError> {
        self.print_by(|out| out.write_all(text.as_bytes()))
    }

    /// Prints a result that is written piece by piece, so that it is never whole in memory.
    pub(super) fn print_by(
        &mut self,
        write: impl FnOnce(&mut dyn Write) -> io::Result<()>,
    ) -> Result<(), CliError> {
        if self.closed {
            return Ok(());
        }
        let mut out = io::stdout().lock();
        match write(&mut out).and_then(|()| out.flush()) {
            Err(cause) if cause.kind() == io::ErrorKind::BrokenPipe => {
                self.closed = true;
                Ok(())
            }
            written => written.map_err(|cause| CliError::Stream { stream: "output", cause }),
        }
    }

    /// Says something beside the result.
    pub(super) fn say(&mut self, text: &str) {
        self.show(&laid_out(text, self.error_width));
    }

    /// Shows beside the result what has its lines and colours already.
    pub(super) fn show(&mut self, text: &str) {
        // Nothing can be done when standard error is gone.
        let _ = writeln!(io::stderr().lock(), "{text}");
    }

    /// Shows how far long work has come; on a terminal, and only when it takes over a second.
    pub(super) fn progress(&mut self, done: usize, of: usize) {
        if self.shows_progress && self.begun.elapsed() > Duration::from_secs(1) {
            self.progress_shown = true;
            let _ = write!(io::stderr().lock(), "\r{done} of {of} houses");
        }
    }

    /// Takes the line of progress away.
    pub(super) fn end_progress(&mut self) {
        if std::mem::take(&mut self.progress_shown) {
            let _ = write!(io::stderr().lock(), "\r{:40}\r", "");
        }
    }

    /// Says why a command could not be done, once, with its causes.
    pub(super) fn complain(&mut self, error: &CliError) {
        self.tell("error", &error.told(), error.help().as_deref());
    }

    /// Says what is no finding of a file and should be known all the same.
    pub(super) fn warn(&mut self, message: &str, help: &str) {
        self.tell("warning", message, Some(help));
    }

    /// Words are made strong after lines were broken: what does that takes no column.
    fn tell(&mut self, word: &str, message: &str, help: Option<&str>) {
        let laid = |text: String| laid_out(&text, self.error_width);
        let mut text = laid(format!("{word}: {}", shown(message))).replacen(word, &self.strong(word), 1);
        if let Some(help) = help {
            let help = laid(format!("  = help: {}", shown(help)));
            text.push_str(&format!("\n{}", help.replacen("help", &self.strong("help"), 1)));
        }
        self.show(&text);
    }

    fn strong(&self, word: &str) -> String {
        if self.colour_errors {
            format!("{0}{word}{0:#}", anstyle::Style::new().bold())
        } else {
            word.to_owned()
        }
    }
}

/// What is said beside the result: what would hide or move something in it is made visible, and long values are cut, in
/// each line of a list for itself.
fn shown(text: &str) -> String {
    /// A path may be long, and stands nowhere else.
    const LONGEST: usize = 1_000;
    let lines: Vec<String> = text.split('\n').map(|line| brief::text(line.to_owned(), LONGEST)).collect();
    visible::text(&lines.join("\n")).into_owned()
}

/// Lines of so many columns at most; what goes on stands below the text that it belongs to.
fn laid_out(text: &str, width: usize) -> String {
    let indent = |line: &str| if line.starts_with("  = ") { "  = help: ".len() } else { 2 };
    text.split('\n').map(|line| broken(line, width, 0, indent(line))).collect::<Vec<_>>().join("\n")
}

#[allow(clippy::disallowed_methods, reason = "the environment belongs to `cli`")]
fn no_colour() -> bool {
    std::env::var("NO_COLOR").is_ok_and(|value| !value.is_empty()) || is_plain()
}

/// Whether the terminal says that it knows no more than letters and lines.
#[allow(clippy::disallowed_methods, reason = "the environment belongs to `cli`")]
fn is_plain() -> bool {
    std::env::var_os("TERM").is_some_and(|kind| kind == "dumb")
}

#[cfg(test)]
mod tests {
    use super::{laid_out, shown};

    #[test]
    fn a_long_list_is_shown_whole_and_a_long_value_in_it_is_cut() {
        let list = "error: there is no change `remved`; write `removed`\n".repeat(1_000);
        assert_eq!(shown(&list), list);
        let long = format!("{list}error: there is no change `{}`", "x".repeat(5_000));
        assert!(shown(&long).ends_with("xx…`"));
    }

    #[test]
    fn what_is_said_on_a_terminal_fits_its_width_and_is_one_line_in_a_pipe() {
        let said = "warning: the ledger is gone\n  = help: take it back from the other side";
        let told = "warning: the ledger\n  is gone\n  = help: take it\n          back from\n          the other\n          side";
        assert_eq!(laid_out(said, 20), told);
        assert_eq!(laid_out(said, usize::MAX), said);
    }
}
