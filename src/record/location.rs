//! Where the record lies when no `--record` is given: the user's data folder.

use std::ffi::OsString;
use std::path::PathBuf;

use crate::{Error, Result};

const FILE: &str = "record.truerun";

/// `truerun/record.truerun` under the user's data folder: `XDG_DATA_HOME` or `~/.local/share` (XDG
/// base directory specification 0.8), on macOS `~/Library/Application Support`, on Windows `%APPDATA%`.
///
/// # Errors
/// [`Error::Setting`] where the system names no such folder.
pub fn default_record_path() -> Result<PathBuf> {
    data_folder(cfg!(target_os = "macos"), cfg!(windows), |name| {
        std::env::var_os(name)
    })
    .map(|folder| folder.join("truerun").join(FILE))
    .ok_or_else(|| {
        Error::setting(
            "--record",
            "the system names no folder for your data",
            "give a file with --record FILE",
        )
    })
}

fn data_folder(
    macos: bool,
    windows: bool,
    variable: impl Fn(&str) -> Option<OsString>,
) -> Option<PathBuf> {
    // A relative path in these variables is to be ignored, says the specification.
    let folder = |name| {
        variable(name)
            .map(PathBuf::from)
            .filter(|p| p.is_absolute())
    };
    if windows {
        return folder("APPDATA");
    }
    if macos {
        return folder("HOME").map(|home| home.join("Library/Application Support"));
    }
    folder("XDG_DATA_HOME").or_else(|| folder("HOME").map(|home| home.join(".local/share")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[cfg(unix)]
    #[test]
    fn by_the_rules_of_each_system() {
        let of = |known: &'static [(&str, &str)], macos| {
            data_folder(macos, false, |name| {
                known.iter().find(|k| k.0 == name).map(|k| k.1.into())
            })
        };
        assert_eq!(of(&[("XDG_DATA_HOME", "/d")], false), Some("/d".into()));
        assert_eq!(
            of(&[("XDG_DATA_HOME", "d"), ("HOME", "/h")], false),
            Some("/h/.local/share".into())
        );
        assert_eq!(
            of(&[("HOME", "/h")], true),
            Some("/h/Library/Application Support".into())
        );
        assert_eq!(of(&[], false), None);
    }
}
