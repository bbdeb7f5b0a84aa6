//! The command line: arguments in, one library call, printing. Exit status: 0 measured (whatever the
//! verdict), 1 could not measure, 2 wrong usage, 3 outside the target with `--enforce`.

mod batch;
mod bend;
mod compare;
mod demo;
mod export;
mod float;
mod lure;
mod optics;
mod optics_values;
mod outputs;
mod plan;
mod plan_lens;
mod progress;
mod read;
mod record;
mod swim;
mod target;
mod terminal;
mod thump;
mod units;
mod values;

use std::error::Error as _;
use std::process::ExitCode;

use clap::error::{ContextKind, ContextValue, ErrorKind};
use clap::{Parser, Subcommand};

/// Measures how a diving lure swims, from a phone clip, and says how to tune it.
#[derive(Parser)]
#[command(
    name = "truerun",
    version,
    max_term_width = 80,
    arg_required_else_help = true
)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    Demo(demo::DemoArgs),
    Plan(Box<plan::PlanArgs>),
    Float(Box<float::FloatArgs>),
    Swim(Box<swim::SwimArgs>),
    Target(target::TargetArgs),
    Thump(Box<thump::ThumpArgs>),
    Lure(Box<lure::LureArgs>),
    Bend(bend::BendArgs),
    Batch(batch::BatchArgs),
    Compare(compare::CompareArgs),
    Export(export::ExportArgs),
    Import(export::ImportArgs),
}

/// Runs the program on the process's arguments.
pub fn main() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(e) => return usage(&e),
    };
    let done = match cli.command {
        Command::Demo(args) => demo::run(&args),
        Command::Plan(args) => plan::run(&args),
        Command::Float(args) => float::run(&args),
        Command::Swim(args) => swim::run(&args),
        Command::Target(args) => target::run(&args),
        Command::Thump(args) => thump::run(&args),
        Command::Lure(args) => lure::run(&args),
        Command::Bend(args) => bend::run(&args),
        Command::Batch(args) => batch::run(&args),
        Command::Compare(args) => compare::run(&args),
        Command::Export(args) => export::export(&args),
        Command::Import(args) => export::import(&args),
    };
    done.unwrap_or_else(|e| {
        terminal::complain(&e.to_string());
        ExitCode::from(e.exit_status())
    })
}

/// Help and version as clap writes them; a fault in one line.
fn usage(e: &clap::Error) -> ExitCode {
    match e.kind() {
        ErrorKind::DisplayHelp | ErrorKind::DisplayVersion => {
            let text = match terminal::colour(&std::io::stdout()) {
                true => e.render().ansi().to_string(),
                false => e.render().to_string(),
            };
            terminal::print(&text).map_or_else(|_| ExitCode::from(1), |()| ExitCode::SUCCESS)
        }
        ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand => {
            terminal::say(&e.render().to_string());
            ExitCode::from(2)
        }
        _ => {
            let told = refused_value(e);
            terminal::complain(&told.unwrap_or_else(|| in_one_line(&e.render().to_string())));
            ExitCode::from(2)
        }
    }
}

/// A value that one of our own readers refused, said as every other fault: where, what, what to do.
fn refused_value(e: &clap::Error) -> Option<String> {
    let ErrorKind::ValueValidation = e.kind() else {
        return None;
    };
    let text = |kind| match e.get(kind) {
        Some(ContextValue::String(text)) => Some(text.as_str()),
        _ => None,
    };
    let option = text(ContextKind::InvalidArg)?.split(' ').next()?;
    let value = text(ContextKind::InvalidValue)?;
    Some(format!("{option} {value}: {}", e.source()?))
}

/// What is wrong, out of clap's several lines.
fn in_one_line(message: &str) -> String {
    let told: Vec<&str> = message
        .lines()
        .map(str::trim)
        .take_while(|line| !line.starts_with("Usage:") && !line.starts_with("For more information"))
        .filter(|line| !line.is_empty())
        .collect();
    let told = told.join(" ");
    format!(
        "{}; `truerun help` and `truerun COMMAND --help` show how",
        told.strip_prefix("error: ").unwrap_or(&told)
    )
}
