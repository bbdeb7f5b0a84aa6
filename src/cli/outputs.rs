//! The files that a swim test writes: tried before the long run, written after it.

use std::path::{Path, PathBuf};

use clap::Args;
use truerun::report::OutFile;
use truerun::{Error, Result};

/// Where results go.
#[derive(Args)]
#[command(next_help_heading = "Results")]
pub struct OutputArgs {
    /// Write the result as JSON (`-`: standard output, and nothing else there)
    #[arg(long, value_name = "FILE")]
    pub json: Option<PathBuf>,
    /// Write the lure's place and axis in every frame as CSV
    #[arg(long, value_name = "FILE.csv")]
    pub track: Option<PathBuf>,
    /// Write the chart sheet: axis over time, spectrum, path (.svg or .png; may be given twice)
    #[arg(long, value_name = "FILE")]
    pub chart: Vec<PathBuf>,
    /// Write the clip with outline, axis, path and darts drawn in
    #[arg(long, value_name = "FILE.mp4")]
    pub overlay: Option<PathBuf>,
}

/// Paths that were tried.
#[derive(Default)]
pub struct Outputs {
    pub json: Option<OutFile>,
    pub json_to_stdout: bool,
    pub track: Option<OutFile>,
    pub charts: Vec<OutFile>,
    #[cfg_attr(not(feature = "video"), allow(dead_code))]
    pub overlay: Option<OutFile>,
}

impl OutputArgs {
    /// Tries every path.
    pub fn check(&self, inputs: &[&Path]) -> Result<Outputs> {
        let single = [&self.json, &self.track, &self.overlay];
        all_different(single.into_iter().flatten().chain(&self.chart))?;
        let to_stdout = self.json.as_deref() == Some(Path::new("-"));
        let out = |option: &str, path: &Option<PathBuf>, extensions: &[&str]| {
            path.as_deref()
                .map(|path| checked(option, path, extensions, inputs))
                .transpose()
        };
        Ok(Outputs {
            json: if to_stdout {
                None
            } else {
                out("--json", &self.json, &[])?
            },
            json_to_stdout: to_stdout,
            track: out("--track", &self.track, &[])?,
            charts: self
                .chart
                .iter()
                .map(|path| checked("--chart", path, &["svg", "png"], inputs))
                .collect::<Result<_>>()?,
            overlay: out("--overlay", &self.overlay, &["mp4"])?,
        })
    }
}

/// Refuses two results that would go to one file, however their paths are written.
pub fn all_different<'a>(given: impl IntoIterator<Item = &'a PathBuf>) -> Result<()> {
    let mut places = Vec::new();
    for path in given {
        let place = place(path);
        if places.contains(&place) {
            return Err(Error::setting(
                path.display().to_string(),
                "is given for two results",
                "give each its own name",
            ));
        }
        places.push(place);
    }
    Ok(())
}

/// The path with its folder as the system knows it; as written where there is no such folder.
fn place(path: &Path) -> PathBuf {
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    match (folder.canonicalize(), path.file_name()) {
        (Ok(folder), Some(name)) => folder.join(name),
        _ => path.to_path_buf(),
    }
}

/// Tries the path of one result: its ending, and that it can be written.
pub fn checked(
    option: &str,
    path: &Path,
    extensions: &[&str],
    inputs: &[&Path],
) -> Result<OutFile> {
    if path == Path::new("-") {
        return Err(Error::setting(
            format!("{option} -"),
            "this result does not go to standard output",
            "give the name of a file",
        ));
    }
    let extension = path
        .extension()
        .unwrap_or_default()
        .to_string_lossy()
        .to_lowercase();
    if !extensions.is_empty() && !extensions.contains(&extension.as_str()) {
        return Err(Error::setting(
            format!("{option} {}", path.display()),
            "the ending does not tell the format",
            format!("end the name in .{}", extensions.join(" or .")),
        ));
    }
    OutFile::new(option, path, inputs)
}
