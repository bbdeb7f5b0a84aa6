//! What a maker wants of a lure: a range for some of the measures.

use std::path::Path;

use super::target_file;
use super::{Measure, Range};
use crate::{Error, Result};

/// What a maker wants of a lure. Every part is optional.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Target {
    /// Name of the lure or of the target, for the report.
    pub lure: Option<String>,
    /// The ranges wanted, in the order of [`Measure::ALL`].
    pub wanted: Vec<(Measure, Range)>,
}

impl Target {
    /// Reads a target file.
    ///
    /// # Errors
    /// [`Error::File`] where it cannot be read; [`Error::Setting`] naming file, line and key where it
    /// holds a typo, a wrong unit or a range that cannot be meant.
    pub fn read(path: &Path) -> Result<Target> {
        let bytes = std::fs::read(path).map_err(|source| Error::file(path, source))?;
        let text = String::from_utf8(bytes).map_err(|_| {
            Error::unreadable(
                path,
                "not a text file",
                "`truerun target new` writes a target file",
            )
        })?;
        Target::parse(&text, &path.display().to_string())
    }

    /// Reads a target from the text of a file called `name` in messages.
    ///
    /// # Errors
    /// [`Error::Setting`] as for [`Target::read`].
    pub fn parse(text: &str, name: &str) -> Result<Target> {
        target_file::parse(text, name)
    }

    /// The range wanted for a measure, if the target speaks about it.
    pub fn range(&self, measure: Measure) -> Option<Range> {
        self.wanted
            .iter()
            .find(|(m, _)| *m == measure)
            .map(|(_, range)| *range)
    }
}
