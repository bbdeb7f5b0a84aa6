//! Output files that are there whole or not at all, and whose path is tried before the long run.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use crate::{Error, Result};

/// Where a result goes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutFile {
    path: PathBuf,
}

impl OutFile {
    /// An output at `path`, given by the option `option`; `inputs` are files that it must not replace.
    ///
    /// # Errors
    /// [`Error::Setting`] where the path cannot be written: a folder, a folder that is missing or
    /// locked, or one of the inputs.
    pub fn new(option: &str, path: &Path, inputs: &[&Path]) -> Result<OutFile> {
        let fault = |what: &str, remedy: &str| {
            Err(Error::setting(
                format!("{option} {}", path.display()),
                what,
                remedy,
            ))
        };
        if path.file_name().is_none() || path.is_dir() {
            return fault("is a folder, not a file", "add a file name");
        }
        if path.exists() && !path.is_file() {
            return fault(
                "is not a plain file",
                "give the name of a file; `-` is standard output",
            );
        }
        if inputs.iter().any(|input| same_file(input, path)) {
            return fault("would overwrite an input", "give another name");
        }
        let out = OutFile {
            path: path.to_path_buf(),
        };
        let folder = out.folder();
        if !folder.is_dir() {
            let missing = format!("there is no folder {}", folder.display());
            return fault(&missing, "make it first");
        }
        if let Err(e) = out.try_folder() {
            return fault(&format!("cannot be written: {e}"), "choose another folder");
        }
        Ok(out)
    }

    /// The path as given.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// A name beside the file to write to until it is whole; it keeps the extension, from which some
    /// writers tell the format.
    pub fn unfinished(&self) -> PathBuf {
        let name = self.path.file_name().unwrap_or_default().to_string_lossy();
        self.folder()
            .join(format!(".{}-unfinished-{name}", std::process::id()))
    }

    /// Writes `bytes` whole.
    ///
    /// # Errors
    /// [`Error::File`]; the file is then as it was before.
    pub fn write(&self, bytes: &[u8]) -> Result<()> {
        self.write_with(|unfinished| {
            let mut file = fs::File::create(unfinished)?;
            file.write_all(bytes)?;
            file.sync_all()
        })
    }

    /// Lets `write` fill a file under an unfinished name, then gives it its own.
    ///
    /// # Errors
    /// What `write` failed with, as [`Error::File`]; nothing unfinished is left behind.
    pub fn write_with<E: Into<std::io::Error>>(
        &self,
        write: impl FnOnce(&Path) -> std::result::Result<(), E>,
    ) -> Result<()> {
        let unfinished = self.unfinished();
        write(&unfinished)
            .map_err(Into::into)
            .and_then(|()| fs::rename(&unfinished, &self.path))
            .map_err(|source| {
                // The first fault is the one to tell; a leftover that cannot be removed is not.
                let _ = fs::remove_file(&unfinished);
                Error::file(&self.path, source)
            })
    }

    fn folder(&self) -> PathBuf {
        match self.path.parent() {
            Some(folder) if !folder.as_os_str().is_empty() => folder.to_path_buf(),
            _ => PathBuf::from("."),
        }
    }

    fn try_folder(&self) -> std::io::Result<()> {
        let probe = self.unfinished();
        fs::File::create(&probe)?;
        fs::remove_file(&probe)
    }
}

fn same_file(a: &Path, b: &Path) -> bool {
    match (fs::canonicalize(a), fs::canonicalize(b)) {
        (Ok(a), Ok(b)) => a == b,
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_that_cannot_be_written_is_told_beforehand() {
        let folder = tempfile::tempdir().unwrap();
        let clip = folder.path().join("a.mp4");
        fs::write(&clip, "clip").unwrap();
        let fault = |path: &Path| {
            OutFile::new("--json", path, &[&clip])
                .unwrap_err()
                .to_string()
        };
        assert!(fault(folder.path()).contains("is a folder"));
        assert!(fault(&clip).contains("overwrite an input"));
        assert!(fault(&folder.path().join("./a.mp4")).contains("overwrite an input"));
        assert!(fault(&folder.path().join("no/a.json")).contains("there is no folder"));
    }

    #[test]
    fn a_failed_write_leaves_the_old_file_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.json");
        let out = OutFile::new("--json", &path, &[]).unwrap();
        out.write(b"old").unwrap();
        let failed = out.write_with(|unfinished| {
            fs::write(unfinished, "half")?;
            Err(std::io::Error::other("stopped"))
        });
        assert!(failed.unwrap_err().to_string().contains("stopped"));
        assert_eq!(fs::read(&path).unwrap(), b"old");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}
