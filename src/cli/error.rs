//! Why a command could not be done.

use crate::emit::EmitError;
use crate::source::LoadError;
use std::error::Error as _;
use std::io;

/// Why a command could not be done. Printed once, with its causes, by [`Terminal`](super::terminal::Terminal).
#[derive(Debug, thiserror::Error)]
pub(super) enum CliError {
    /// Told already.
    #[error("see above")]
    Told,
    /// Standard output or input failed.
    #[error("cannot use standard {stream}")]
    Stream {
        /// Which.
        stream: &'static str,
        /// The system's reason.
        #[source]
        cause: io::Error,
    },
    /// There is no house to read.
    #[error(transparent)]
    Load(#[from] LoadError),
    /// A build was not put in place.
    #[error(transparent)]
    Emit(#[from] EmitError),
    /// Something else, told with what to do.
    #[error("{message}")]
    Refused {
        /// What is wrong.
        message: String,
        /// What to do next.
        help: String,
    },
}

impl CliError {
    /// What is wrong, and what to do next.
    pub(super) fn refused(message: impl Into<String>, help: impl Into<String>) -> Self {
        Self::Refused { message: message.into(), help: help.into() }
    }

    /// What is wrong, with its causes.
    pub(super) fn told(&self) -> String {
        let mut text = self.to_string();
        let mut cause = self.source();
        while let Some(next) = cause {
            text.push_str(&format!(": {next}"));
            cause = next.source();
        }
        text
    }

    /// What to do next.
    pub(super) fn help(&self) -> Option<String> {
        match self {
            Self::Told | Self::Stream { .. } => None,
            Self::Load(error) => Some(error.help().to_owned()),
            Self::Emit(error) => Some(error.help().to_string()),
            Self::Refused { help, .. } => Some(help.clone()),
        }
    }
}
