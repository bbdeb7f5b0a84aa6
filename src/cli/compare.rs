//! `truerun compare`: builds against each other, or one build before and after a change.

use std::process::ExitCode;

use clap::Args;
use truerun::record::{Entry, Record, Run};
use truerun::report::{self, Group};
use truerun::tuning::Measure;
use truerun::{Error, Result};

use super::record::RecordArg;
use super::{terminal, values};

const EXAMPLES: &str = "\
Examples:
  truerun compare hazel58-03 hazel58-04              is the second really different from the first?
  truerun compare hazel58-03 hazel58-c01 hazel58-c02 --within rate_hz=0.3
  truerun compare hazel58-03                         before and after its last change
  truerun compare hazel58-03 --change 12             before and after change 12

Pull each at least three times: one run does not show how much pulls differ.";

/// Say whether builds really differ, or one build before and after a change
#[derive(Args)]
#[command(after_help = EXAMPLES)]
pub struct CompareArgs {
    /// The builds: each is compared with the first; a single one with itself before its last change
    #[arg(required = true, value_name = "BUILD")]
    builds: Vec<String>,
    /// Number of the change before and after which to compare a single build
    #[arg(long, value_name = "NUMBER")]
    change: Option<i64>,
    /// A difference that does not matter, as rate_hz=0.3 (may be given more than once)
    #[arg(long, value_parser = values::tolerance, value_name = "MEASURE=VALUE")]
    within: Vec<(Measure, f64)>,
    /// Write the comparison as JSON (`-`: standard output, and nothing else there)
    #[arg(long, value_name = "FILE")]
    json: Option<std::path::PathBuf>,
    #[command(flatten)]
    record: RecordArg,
}

/// Runs the command.
pub fn run(args: &CompareArgs) -> Result<ExitCode> {
    let record = args.record.open_existing()?;
    let groups = match &args.builds[..] {
        [build] => before_and_after(&record, build, args.change)?,
        _ if args.change.is_some() => {
            return Err(Error::setting(
                "--change",
                "is for a single build",
                "give one build",
            ));
        }
        builds => builds
            .iter()
            .map(|build| whole(&record, build))
            .collect::<Result<_>>()?,
    };
    let table = report::compare_groups(&groups, &args.within);
    match args.json.as_deref() {
        Some(path) if path == std::path::Path::new("-") => {
            terminal::print(&report::compare_json(&table))?
        }
        Some(path) => {
            let out = report::OutFile::new("--json", path, &[record.path()])?;
            out.write(report::compare_json(&table).as_bytes())?;
            terminal::print(&report::compare_text(&table))?;
        }
        None => terminal::print(&report::compare_text(&table))?,
    }
    Ok(ExitCode::SUCCESS)
}

/// The runs of a build since its last change: what it is now.
fn whole(record: &Record, name: &str) -> Result<Group> {
    let build = record.build(name)?;
    let mut runs: Vec<Run> = Vec::new();
    let mut earlier = 0;
    for entry in record.life(&build)? {
        match entry {
            Entry::Run(run) => runs.push(*run),
            Entry::Change(_) => {
                earlier += runs.len();
                runs.clear();
            }
        }
    }
    let name = match earlier {
        0 => build.name,
        _ => format!("{} (since its last change)", build.name),
    };
    Ok(Group { name, runs })
}

fn before_and_after(record: &Record, name: &str, change: Option<i64>) -> Result<Vec<Group>> {
    let build = record.build(name)?;
    let life = record.life(&build)?;
    let changes: Vec<(usize, i64)> = life
        .iter()
        .enumerate()
        .filter_map(|(i, entry)| match entry {
            Entry::Change(change) => Some((i, change.id)),
            Entry::Run(_) => None,
        })
        .collect();
    let which = match change {
        None => changes.last(),
        Some(id) => changes.iter().find(|c| c.1 == id),
    };
    let Some((at, id)) = which.copied() else {
        return Err(Error::setting(
            name,
            "no such change is in the record",
            "give two builds, or log changes with `truerun bend` and `truerun lure change`",
        ));
    };
    let is_change = |entry: &&Entry| matches!(entry, Entry::Change(_));
    let runs = |entries: Vec<&Entry>| -> Vec<Run> {
        entries
            .into_iter()
            .filter_map(|entry| match entry {
                Entry::Run(run) => Some((**run).clone()),
                Entry::Change(_) => None,
            })
            .collect()
    };
    // From the change before to this one, and from this one to the next.
    let before = runs(
        life[..at]
            .iter()
            .rev()
            .take_while(|e| !is_change(e))
            .collect(),
    );
    let after = runs(
        life[at + 1..]
            .iter()
            .take_while(|e| !is_change(e))
            .collect(),
    );
    Ok(vec![
        Group {
            name: format!("{} before change {id}", build.name),
            runs: before,
        },
        Group {
            name: format!("{} after it", build.name),
            runs: after,
        },
    ])
}
