//! The one error type of the library: each message says what is wrong, where, and what to do.

use std::path::PathBuf;

/// What a library call can fail with.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// A file could not be opened, read or written.
    #[error("{path}: {}", plainly(source))]
    File {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// A file was opened but is not what it should be.
    #[error("{path}: {what}; {remedy}")]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        what: String,
        /// What the user can do.
        remedy: String,
    },
    /// An option or a setting has a value that cannot be meant.
    #[error("{option}: {what}; {remedy}")]
    Setting {
        /// The option or the key, as the user wrote it.
        option: String,
        /// What is wrong with it.
        what: String,
        /// What the user can do.
        remedy: String,
    },
    /// OpenCV failed inside.
    #[error(
        "a picture could not be worked on ({0}); write the clip anew with a video program and try that"
    )]
    Video(String),
}

/// What the system said, with what to do where that is known.
fn plainly(source: &std::io::Error) -> String {
    use std::io::ErrorKind;
    match source.kind() {
        ErrorKind::NotFound => "there is no such file; check the name and the folder".into(),
        ErrorKind::IsADirectory => "this is a folder; name a file in it".into(),
        ErrorKind::NotADirectory => "a part of this path is no folder; check the name".into(),
        ErrorKind::PermissionDenied => {
            "you may not read or write this; change its permissions, or use another folder".into()
        }
        ErrorKind::StorageFull => "the disk is full; make room, then try again".into(),
        _ => source.to_string(),
    }
}

/// Result with [`Error`].
pub type Result<T> = std::result::Result<T, Error>;

impl Error {
    /// Exit status that the command line gives for this error: 2 for wrong usage, 1 for all else.
    pub fn exit_status(&self) -> u8 {
        match self {
            Error::Setting { .. } => 2,
            _ => 1,
        }
    }

    /// A [`Error::File`] for `path`.
    pub fn file(path: impl Into<PathBuf>, source: std::io::Error) -> Self {
        Error::File {
            path: path.into(),
            source,
        }
    }

    /// A [`Error::Unreadable`] for `path`.
    pub fn unreadable(
        path: impl Into<PathBuf>,
        what: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        Error::Unreadable {
            path: path.into(),
            what: what.into(),
            remedy: remedy.into(),
        }
    }

    /// A [`Error::Setting`] for `option`.
    pub fn setting(
        option: impl Into<String>,
        what: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        Error::Setting {
            option: option.into(),
            what: what.into(),
            remedy: remedy.into(),
        }
    }
}

#[cfg(feature = "video")]
impl From<opencv::Error> for Error {
    fn from(e: opencv::Error) -> Self {
        Error::Video(
            e.message
                .lines()
                .next()
                .unwrap_or_default()
                .trim()
                .to_owned(),
        )
    }
}
