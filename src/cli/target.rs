//! `truerun target`: writes target files and reads them back.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Args, Subcommand};
use truerun::report::{self, OutFile};
use truerun::tuning::{self, Target};
use truerun::{Error, Result};

use super::{terminal, values};

const EXAMPLES: &str = "\
Examples:
  truerun target new hazel58-target.toml --lure \"Hazel 58\"
  truerun swim hazel58-03.mp4 --view above --length 58 --json keeper.json
  truerun target new hazel58-target.toml --lure \"Hazel 58\" --from keeper.json --within 8
  truerun target check hazel58-target.toml";

/// Write a target file, or check one
#[derive(Args)]
#[command(after_help = EXAMPLES)]
pub struct TargetArgs {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Write a target file to fill in, or one made from a keeper's result
    #[command(after_help = EXAMPLES)]
    New {
        /// The file to write; an existing one is never replaced
        file: PathBuf,
        /// Name of the lure
        #[arg(long, default_value = "my lure", value_name = "NAME")]
        lure: String,
        /// JSON result of a keeper whose figures the copies shall match
        #[arg(long, value_name = "RESULT.json")]
        from: Option<PathBuf>,
        /// With --from: tolerance in per cent of each figure
        #[arg(long, value_parser = values::percent, default_value = "10", requires = "from", value_name = "PERCENT", allow_hyphen_values = true)]
        within: f64,
    },
    /// Check a target file and show what it wants
    Check {
        /// The file
        file: PathBuf,
    },
}

/// Runs the command.
pub fn run(args: &TargetArgs) -> Result<ExitCode> {
    match &args.command {
        Command::New {
            file,
            lure,
            from,
            within,
        } => {
            let out = new_file(file)?;
            let text = match from {
                Some(result) => from_keeper(lure, result, *within)?,
                None => tuning::blank_target_file(lure),
            };
            out.write(text.as_bytes())?;
            terminal::print(&format!("Wrote {}.\n", file.display()))?;
        }
        Command::Check { file } => {
            let target = Target::read(file)?;
            terminal::print(&format!(
                "{} is in order.\n{}",
                file.display(),
                report::target_text(&target)
            ))?;
        }
    }
    Ok(ExitCode::SUCCESS)
}

fn new_file(file: &Path) -> Result<OutFile> {
    if file.is_file() {
        return Err(Error::setting(
            file.display().to_string(),
            "is there already",
            "give another name, or remove it first",
        ));
    }
    OutFile::new("target new", file, &[])
}

fn from_keeper(lure: &str, result: &Path, percent: f64) -> Result<String> {
    let text = std::fs::read(result).map_err(|e| Error::file(result, e))?;
    serde_json::from_slice(&text)
        .ok()
        .and_then(|object| tuning::keeper_target_file(lure, &object, percent))
        .ok_or_else(|| {
            Error::unreadable(
                result,
                "not a result of truerun",
                "give a file that `truerun swim`, `thump` or `float` wrote with --json",
            )
        })
}
