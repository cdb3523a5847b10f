//! What can go wrong, and the exit code that says so.

use std::io;
use std::path::PathBuf;

/// What went wrong. Its text is for people; [`Error::exit_code`] is for programs.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The scenario is wrong; all its problems are rendered already.
    #[error("{rendered}")]
    Scenario {
        /// Every problem with its place in the file, ready to be shown.
        rendered: String,
    },
    /// The command line asks for something that cannot be.
    #[error("{0}")]
    CommandLine(String),
    /// The station misses a target that was asked for; the sentence says by how much.
    #[error("{0}")]
    TargetMissed(String),
    /// A file or folder could not be read or written.
    #[error("cannot {action} `{}`: {source}", .path.display())]
    File {
        /// What was tried: `read`, `write`, `create`.
        action: &'static str,
        /// The file or folder.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// Standard output could not be written.
    #[error("cannot write the result: {0}")]
    Output(#[source] io::Error),
}

impl Error {
    /// The exit code: 1 the scenario is wrong, 2 the command line is wrong, 3 the station misses a
    /// target asked for, 4 reading or writing failed. (0 is a run without an error.)
    #[must_use]
    pub fn exit_code(&self) -> u8 {
        match self {
            Self::Scenario { .. } => 1,
            Self::CommandLine(_) => 2,
            Self::TargetMissed(_) => 3,
            Self::File { .. } | Self::Output(_) => 4,
        }
    }

    /// Whether the reader of standard output went away, as `| head` does: no failure.
    #[must_use]
    pub fn is_closed_pipe(&self) -> bool {
        matches!(self, Self::Output(source) if source.kind() == io::ErrorKind::BrokenPipe)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_error_names_the_file_and_the_reason() {
        let source = io::Error::new(io::ErrorKind::NotFound, "no such file");
        let error = Error::File { action: "read", path: "hall.json".into(), source };
        assert_eq!(error.to_string(), "cannot read `hall.json`: no such file");
        assert_eq!(error.exit_code(), 4);
        assert!(!error.is_closed_pipe());
    }

    #[test]
    fn only_a_closed_standard_output_is_a_closed_pipe() {
        let broken = || io::Error::from(io::ErrorKind::BrokenPipe);
        assert!(Error::Output(broken()).is_closed_pipe());
        assert!(!Error::Output(io::Error::from(io::ErrorKind::StorageFull)).is_closed_pipe());
        let file = Error::File { action: "write", path: "fifo".into(), source: broken() };
        assert!(!file.is_closed_pipe());
    }
}
