//! `truerun export` and `truerun import`: everything out of the record, and back in.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Args;
use truerun::record::Record;
use truerun::report::OutFile;
use truerun::{Error, Result};

use super::record::RecordArg;
use super::terminal;

/// Write everything in the record as JSON, or as CSV into a folder
#[derive(Args)]
#[command(
    after_help = "Examples:\n  truerun export record.json\n  truerun export record-csv --csv"
)]
pub struct ExportArgs {
    /// The file to write (`-`: standard output), or with --csv the folder
    to: PathBuf,
    /// One CSV file per table, for a spreadsheet (JSON is the form to restore from)
    #[arg(long)]
    csv: bool,
    #[command(flatten)]
    record: RecordArg,
}

/// Restore a record from an export, into a new one
#[derive(Args)]
#[command(after_help = "Example:\n  truerun import record.json --record new.truerun")]
pub struct ImportArgs {
    /// The JSON file that `truerun export` wrote
    from: PathBuf,
    #[command(flatten)]
    record: RecordArg,
}

/// Runs `export`.
pub fn export(args: &ExportArgs) -> Result<ExitCode> {
    let record = args.record.open_existing()?;
    if args.csv {
        csv(&record, &args.to)?;
    } else if args.to == Path::new("-") {
        terminal::print(&record.to_json()?)?;
        return Ok(ExitCode::SUCCESS);
    } else {
        OutFile::new("export", &args.to, &[record.path()])?.write(record.to_json()?.as_bytes())?;
    }
    terminal::print(&format!("Wrote {}.\n", args.to.display()))?;
    Ok(ExitCode::SUCCESS)
}

fn csv(record: &Record, folder: &Path) -> Result<()> {
    std::fs::create_dir_all(folder).map_err(|e| Error::file(folder, e))?;
    for (table, text) in record.to_csv()? {
        let file = folder.join(format!("{table}.csv"));
        OutFile::new("export", &file, &[record.path()])?.write(&text)?;
    }
    Ok(())
}

/// Runs `import`.
pub fn import(args: &ImportArgs) -> Result<ExitCode> {
    let text = std::fs::read_to_string(&args.from).map_err(|e| Error::file(&args.from, e))?;
    let mut record = args.record.open()?;
    record.restore(&text)?;
    terminal::print(&format!("Restored into {}.\n", record.path().display()))?;
    Ok(ExitCode::SUCCESS)
}
