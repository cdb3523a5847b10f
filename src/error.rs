//! What can go wrong, and the exit code that says so.

use std::io;
use std::path::{Path, PathBuf};

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
    /// The program came to something that no station can come to: a fault of its own.
    #[error("{}", fault_text(.found, .file.as_deref()))]
    Internal {
        /// What that is.
        found: String,
        /// The file that was examined.
        file: Option<PathBuf>,
    },
    /// Standard output could not be written.
    #[error("cannot write the result: {0}")]
    Output(#[source] io::Error),
}

impl Error {
    /// The exit code: 1 the scenario is wrong, 2 the command line is wrong, 3 the station misses a
    /// target asked for, 4 reading or writing failed, 5 a fault of the program, which then gives no
    /// answer. (0 is a run without an error.)
    #[must_use]
    pub fn exit_code(&self) -> u8 {
        match self {
            Self::Scenario { .. } => 1,
            Self::CommandLine(_) => 2,
            Self::TargetMissed(_) => 3,
            Self::File { .. } | Self::Output(_) => 4,
            Self::Internal { .. } => 5,
        }
    }

    /// A fault of the program: what it came to.
    #[must_use]
    pub fn fault(found: impl Into<String>) -> Self {
        Self::Internal { found: found.into(), file: None }
    }

    /// The same, with the file that was examined where the fault is one of the program.
    #[must_use]
    pub fn in_file(self, examined: Option<&Path>) -> Self {
        match self {
            Self::Internal { found, file: None } => {
                Self::Internal { found, file: examined.map(Path::to_path_buf) }
            }
            other => other,
        }
    }

    /// Whether the reader of standard output went away, as `| head` does: no failure.
    #[must_use]
    pub fn is_closed_pipe(&self) -> bool {
        matches!(self, Self::Output(source) if source.kind() == io::ErrorKind::BrokenPipe)
    }
}

/// What is told of a fault of the program.
fn fault_text(found: &str, file: Option<&Path>) -> String {
    let file = match file {
        Some(path) if path.as_os_str() != "-" => format!("`{}`", path.display()),
        _ => "the scenario".to_owned(),
    };
    format!(
        "this is a fault of longwatch, not of your station.\n  {found}\n  No answer is given: it would be \
         wrong. Please report the fault, and send {file}, all files that it names, the command that you \
         typed, and `longwatch --version`."
    )
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
    fn a_fault_of_the_program_says_so_and_which_file_to_send() {
        let error =
            Error::fault("trial 3: the charge is NaN").in_file(Some(Path::new("hall.json")));
        let text = error.to_string();
        for part in ["a fault of longwatch", "trial 3: the charge is NaN", "`hall.json`"] {
            assert!(text.contains(part), "{text}");
        }
        assert_eq!(error.exit_code(), 5);
        let unread = Error::fault("x").in_file(Some(Path::new("-")));
        assert!(unread.to_string().contains("send the scenario"));
        let wrong = Error::CommandLine("x".into()).in_file(Some(Path::new("hall.json")));
        assert_eq!(wrong.exit_code(), 2);
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
