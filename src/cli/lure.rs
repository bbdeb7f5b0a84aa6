//! `truerun lure`: lures and builds entered, shown, listed, edited, retired; the record looked over.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Args, Subcommand};
use truerun::record::{
    BuildEdit, BuildMake, ChangeKind, LureEdit, NewBuild, NewChange, Origin, Record, TestKind,
};
use truerun::report::{self, OutFile};
use truerun::tuning::Target;
use truerun::{Error, Result};

use super::record::{RecordArg, WhenAndWhere};
use super::{terminal, values};

const EXAMPLES: &str = "\
Examples:
  truerun lure add \"Hazel 58\" --length 58 --target hazel58-target.toml
  truerun lure add hazel58-03 --of \"Hazel 58\" --mass 9.4 --lip-angle 40
  truerun lure add hazel58-c01 --of \"Hazel 58\" --cast --from hazel58-03 --mould \"mould 2\"
  truerun lure list
  truerun lure show hazel58-03
  truerun lure show \"Hazel 58\" --report hazel58.html
  truerun lure test hazel58-03 result.json --where reservoir --water fresh
  truerun lure change hazel58-03 lip --note \"1 mm off the lip's end\"
  truerun lure retire hazel58-c01 --why \"cracked\"";

/// The record: lures, their builds and casts, and all that was tested and changed
#[derive(Args)]
#[command(after_help = EXAMPLES)]
pub struct LureArgs {
    #[command(subcommand)]
    command: Command,
    #[command(flatten)]
    record: RecordArg,
}

#[derive(Subcommand)]
enum Command {
    /// Enter a lure, or a build of one (with --of)
    Add(AddArgs),
    /// Show a lure or a build: what was tested and changed, in order
    Show {
        /// Name of the lure or build
        name: String,
        /// Write the history of the lure as one page that works offline
        #[arg(long, value_name = "FILE.html")]
        report: Option<PathBuf>,
    },
    /// List the lures
    List {
        /// The retired ones too
        #[arg(long)]
        all: bool,
    },
    /// Change what is recorded of a lure or build; the old values are kept
    Edit(EditArgs),
    /// Retire a lure or build: it leaves the lists, nothing of it is deleted
    Retire {
        /// Name of the lure or build
        name: String,
        /// Why
        #[arg(long, value_name = "TEXT")]
        why: Option<String>,
        /// Take it back into use
        #[arg(long, conflicts_with = "why")]
        undo: bool,
    },
    /// Save a result that was written with --json as a test of a build
    Test {
        /// Name of the build
        build: String,
        /// The result
        result: PathBuf,
        #[command(flatten)]
        when_and_where: WhenAndWhere,
    },
    /// Log a rework (for a bend of the tie: `truerun bend`)
    Change {
        /// Name of the build
        build: String,
        /// What was changed
        #[arg(value_parser = values::rework, value_name = "lip|ballast|hooks|repaint|other")]
        kind: ChangeKind,
        /// When, as 2026-11-25 or 2026-11-25T14:30 [now]
        #[arg(long, value_name = "DAY")]
        when: Option<String>,
        /// What exactly
        #[arg(long, value_name = "TEXT")]
        note: Option<String>,
    },
    /// Look the record over for damage
    Check,
}

#[derive(Args)]
struct AddArgs {
    /// Name of the lure, or of the build with --of
    name: String,
    /// The lure of which it is a build
    #[arg(long = "of", value_name = "LURE")]
    lure: Option<String>,
    /// It is a cast (else carved)
    #[arg(long, requires = "lure")]
    cast: bool,
    /// The build that it was copied from
    #[arg(long, value_name = "BUILD", requires = "lure")]
    from: Option<String>,
    #[command(flatten)]
    what: WhatArgs,
}

#[derive(Args)]
struct EditArgs {
    /// Name of the lure or build
    name: String,
    /// A new name
    #[arg(long = "name", value_name = "NAME")]
    new_name: Option<String>,
    #[command(flatten)]
    what: WhatArgs,
}

#[derive(Args)]
struct WhatArgs {
    /// Of a lure: body length without lip, as 58, 58mm or 2.3in
    #[arg(long, value_parser = values::length_mm, value_name = "MM", allow_hyphen_values = true)]
    length: Option<f64>,
    /// Of a lure: its target file
    #[arg(long, value_name = "FILE")]
    target: Option<PathBuf>,
    /// Of a build: mass with hooks or the weights in their stead, g
    #[arg(long, value_parser = values::mass_g, value_name = "G", allow_hyphen_values = true)]
    mass: Option<f64>,
    /// Of a build: angle between lip and body, degrees
    #[arg(long, value_parser = values::lip_angle_deg, value_name = "DEG", allow_hyphen_values = true)]
    lip_angle: Option<f64>,
    /// Of a build: length of the lip out of the body, mm
    #[arg(long, value_parser = values::lip_mm, value_name = "MM", allow_hyphen_values = true)]
    lip_length: Option<f64>,
    /// Of a build: width of the lip, mm
    #[arg(long, value_parser = values::lip_mm, value_name = "MM", allow_hyphen_values = true)]
    lip_width: Option<f64>,
    /// Of a build: ballast, what and where
    #[arg(long, value_name = "TEXT")]
    ballast: Option<String>,
    /// Of a build: hooks, or the weights in their stead
    #[arg(long, value_name = "TEXT")]
    hooks: Option<String>,
    /// Of a build: the mould it was cast in
    #[arg(long, value_name = "TEXT")]
    mould: Option<String>,
    /// Of a build: the day it was made, as 2026-11-25
    #[arg(long, value_name = "DAY")]
    made_on: Option<String>,
    /// A note
    #[arg(long, value_name = "TEXT")]
    note: Option<String>,
    /// A photo, noted by its path (may be given more than once)
    #[arg(long, value_name = "FILE")]
    photo: Vec<PathBuf>,
}

impl WhatArgs {
    fn make(&self) -> BuildMake {
        BuildMake {
            mould: self.mould.clone(),
            mass_g: self.mass,
            lip_angle_deg: self.lip_angle,
            lip_length_mm: self.lip_length,
            lip_width_mm: self.lip_width,
            ballast: self.ballast.clone(),
            hooks: self.hooks.clone(),
            made_on: self.made_on.clone(),
            note: self.note.clone(),
        }
    }

    fn lure(&self, name: Option<String>) -> Result<LureEdit> {
        let build_only = BuildMake {
            note: None,
            ..self.make()
        };
        if build_only != BuildMake::default() {
            return Err(Error::setting(
                "lure",
                "mass, lip, ballast, hooks, mould and day are of a build, not of a lure",
                "enter the build with --of LURE",
            ));
        }
        Ok(LureEdit {
            name,
            length_mm: self.length,
            target: self.target.as_deref().map(target_text).transpose()?,
            note: self.note.clone(),
        })
    }

    fn build_alone(&self) -> Result<()> {
        match (self.length, &self.target) {
            (None, None) => Ok(()),
            _ => Err(Error::setting(
                "build",
                "length and target are of the lure, not of a build",
                "`truerun lure edit LURE` changes them",
            )),
        }
    }
}

/// The text of a target file that is in order.
fn target_text(file: &Path) -> Result<String> {
    Target::read(file)?;
    std::fs::read_to_string(file).map_err(|e| Error::file(file, e))
}

/// Runs the command.
pub fn run(args: &LureArgs) -> Result<ExitCode> {
    match &args.command {
        Command::Add(add) => self::add(&args.record, add)?,
        Command::Show { name, report } => {
            show(&args.record.open_existing()?, name, report.as_deref())?
        }
        Command::List { all } => {
            let record = args.record.open_existing()?;
            terminal::print(&report::lure_list(&record.lures(*all)?))?;
        }
        Command::Edit(what) => edit(&mut args.record.open_existing()?, what)?,
        Command::Retire { name, why, undo } => {
            let mut record = args.record.open_existing()?;
            let done = match undo {
                true => record.take_back(name).map(|()| "is in use again"),
                false => record
                    .retire(name, why.as_deref())
                    .map(|()| "is retired; nothing of it is deleted"),
            };
            terminal::print(&format!("{name} {}.\n", done?))?;
        }
        Command::Test {
            build,
            result,
            when_and_where,
        } => {
            let text = std::fs::read_to_string(result).map_err(|e| Error::file(result, e))?;
            let mut record = args.record.open_existing()?;
            let id = record.save_test(build, kind_of(&text), &when_and_where.test(), &text)?;
            terminal::print(&format!("Saved as test {id} of {build}.\n"))?;
        }
        Command::Change {
            build,
            kind,
            when,
            note,
        } => {
            let change = NewChange {
                kind: *kind,
                when: when.clone(),
                sideways: None,
                upright: None,
                note: note.clone(),
            };
            let id = args.record.open_existing()?.log_change(build, &change)?;
            terminal::print(&format!("Logged as change {id} of {build}.\n"))?;
        }
        Command::Check => return check(&args.record.open_existing()?),
    }
    Ok(ExitCode::SUCCESS)
}

/// The kind that a result says it is of; a swim where it says nothing (and is then refused as one).
fn kind_of(result: &str) -> TestKind {
    let object: serde_json::Value = serde_json::from_str(result).unwrap_or_default();
    object["schema"]
        .as_str()
        .and_then(|schema| schema.strip_prefix("truerun/"))
        .and_then(|rest| TestKind::of_word(rest.split('/').next()?))
        .unwrap_or(TestKind::Swim)
}

fn add(record: &RecordArg, args: &AddArgs) -> Result<()> {
    let what = &args.what;
    let said = match &args.lure {
        None => {
            let lure = what.lure(Some(args.name.clone()))?;
            let lure = record.open()?.add_lure(&lure)?;
            format!("Entered the lure {}.\n", lure.name)
        }
        Some(lure) => {
            what.build_alone()?;
            let new = NewBuild {
                name: args.name.clone(),
                lure: lure.clone(),
                origin: if args.cast {
                    Origin::Cast
                } else {
                    Origin::Carved
                },
                parent: args.from.clone(),
                make: what.make(),
            };
            let build = record.open_existing()?.add_build(&new)?;
            format!("Entered {}, a build of {lure}.\n", build.name)
        }
    };
    note_photos(&mut record.open_existing()?, &args.name, &what.photo)?;
    terminal::print(&said)
}

fn note_photos(record: &mut Record, name: &str, photos: &[PathBuf]) -> Result<()> {
    for photo in photos {
        let path = std::path::absolute(photo).map_err(|e| Error::file(photo, e))?;
        record.add_photo(name, &path.display().to_string(), None)?;
    }
    Ok(())
}

fn edit(record: &mut Record, args: &EditArgs) -> Result<()> {
    let what = &args.what;
    let now_called = if record.is_build(&args.name)? {
        what.build_alone()?;
        let to = BuildEdit {
            name: args.new_name.clone(),
            make: what.make(),
        };
        record.edit_build(&args.name, &to)?.name
    } else {
        record
            .edit_lure(&args.name, &what.lure(args.new_name.clone())?)?
            .name
    };
    note_photos(record, &now_called, &what.photo)?;
    terminal::print(&format!(
        "Changed {now_called}; what it was before is kept.\n"
    ))
}

fn show(record: &Record, name: &str, page: Option<&Path>) -> Result<()> {
    let is_build = record.is_build(name)?;
    let lure = match is_build {
        true => record.lure_of_id(record.build(name)?.lure_id)?,
        false => record.lure(name)?,
    };
    if let Some(page) = page {
        let out = OutFile::new("--report", page, &[record.path()])?;
        out.write(report::history_page(record, &lure)?.as_bytes())?;
        return terminal::print(&format!("Wrote {}.\n", page.display()));
    }
    let text = match is_build {
        true => {
            let build = record.build(name)?;
            report::build_text(&lure, &build, &record.life(&build)?)
        }
        false => report::lure_text(&lure, &record.builds(lure.id)?, &record.photos(lure.id)?),
    };
    terminal::print(&text)
}

fn check(record: &Record) -> Result<ExitCode> {
    let faults = record.check()?;
    if faults.is_empty() {
        terminal::print(&format!("{} is in order.\n", record.path().display()))?;
        return Ok(ExitCode::SUCCESS);
    }
    for fault in &faults {
        terminal::complain(&format!("{}: {fault}", record.path().display()));
    }
    terminal::complain("keep the file as it is, and restore a copy or an export of it");
    Ok(ExitCode::from(1))
}
