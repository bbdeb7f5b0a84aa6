//! `truerun bend`: logs a bend of the tie, or advises the next from the build's own history.

use std::process::ExitCode;

use clap::Args;
use truerun::camera::Side;
use truerun::record::{ChangeKind, DriftHistory, NewChange};
use truerun::report::{self, TextStyle};
use truerun::tuning::{self, Measure, Range, Target};
use truerun::{Error, Result};

use super::record::RecordArg;
use super::{terminal, values};

const EXAMPLES: &str = "\
Examples:
  truerun bend hazel58-03                 what to do next, from its own tests and bends
  truerun bend hazel58-03 --left 0.3      log: the tie's eye was bent 0.3 mm to its own left
  truerun bend hazel58-03 --up 0.3        log a bend upward

Left and right are the lure's own: seen from behind, its back up and its nose away from you.";

/// Log a bend of the line tie; without one: advice for this build from its own history
#[derive(Args)]
#[command(after_help = EXAMPLES)]
pub struct BendArgs {
    /// Name of the build
    build: String,
    /// The eye was bent this far to the lure's own left (your right as it comes to you), mm
    #[arg(long, value_parser = values::bend_mm, value_name = "MM", conflicts_with = "right", allow_hyphen_values = true)]
    left: Option<f64>,
    /// The eye was bent this far to the lure's own right (your left as it comes to you), mm
    #[arg(long, value_parser = values::bend_mm, value_name = "MM", allow_hyphen_values = true)]
    right: Option<f64>,
    /// The eye was bent this far up, mm
    #[arg(long, value_parser = values::bend_mm, value_name = "MM", conflicts_with = "down", allow_hyphen_values = true)]
    up: Option<f64>,
    /// The eye was bent this far down, mm
    #[arg(long, value_parser = values::bend_mm, value_name = "MM", allow_hyphen_values = true)]
    down: Option<f64>,
    /// When, as 2026-11-25 or 2026-11-25T14:30 [now]
    #[arg(long, value_name = "DAY")]
    when: Option<String>,
    /// A note
    #[arg(long, value_name = "TEXT")]
    note: Option<String>,
    /// For advice: the drift aimed at, degrees, + to its own right [the lure's target, or 0]
    #[arg(long, value_parser = values::aim_deg, value_name = "DEG", allow_hyphen_values = true)]
    aim: Option<f64>,
    /// For advice: how far off the aim is good enough, degrees [the lure's target, or 1]
    #[arg(long, value_parser = values::within_deg, value_name = "DEG", allow_hyphen_values = true)]
    within: Option<f64>,
    #[command(flatten)]
    record: RecordArg,
}

impl BendArgs {
    fn sideways(&self) -> Option<(Side, f64)> {
        let left = self.left.map(|mm| (Side::Left, mm));
        left.or(self.right.map(|mm| (Side::Right, mm)))
    }

    fn upright(&self) -> Option<(bool, f64)> {
        self.up
            .map(|mm| (true, mm))
            .or(self.down.map(|mm| (false, mm)))
    }

    fn wanted(&self, target: Option<&str>) -> Result<Range> {
        let own = target
            .map(|text| Target::parse(text, "the lure's target"))
            .transpose()?
            .and_then(|target| target.range(Measure::Drift));
        let (aim, within) = own.map_or((0.0, 1.0), |r| (r.middle(), (r.hi - r.lo) / 2.0));
        Range::around(self.aim.unwrap_or(aim), self.within.unwrap_or(within))
            .ok_or_else(|| Error::setting("--within", "is no tolerance", "give degrees, as 1"))
    }
}

/// Runs the command.
pub fn run(args: &BendArgs) -> Result<ExitCode> {
    match (args.sideways(), args.upright()) {
        (None, None) => advise(args)?,
        (sideways, upright) => {
            let change = NewChange {
                kind: ChangeKind::Tie,
                when: args.when.clone(),
                sideways,
                upright,
                note: args.note.clone(),
            };
            let id = args
                .record
                .open_existing()?
                .log_change(&args.build, &change)?;
            let what = report::bend_words(sideways, upright);
            terminal::print(&format!(
                "Logged as change {id} of {}: {what}.\n",
                args.build
            ))?;
        }
    }
    Ok(ExitCode::SUCCESS)
}

fn advise(args: &BendArgs) -> Result<()> {
    let record = args.record.open_existing()?;
    let build = record.build(&args.build)?;
    let lure = record.lure_of_id(build.lure_id)?;
    let wanted = args.wanted(lure.target.as_deref())?;
    let history = DriftHistory::of(&record.life(&build)?);
    let learned = tuning::learn(
        &history.events,
        wanted.middle(),
        (wanted.hi - wanted.lo) / 2.0,
        lure.length_mm,
    );
    let margin = tuning::blow_out_margin(&history.at_speeds);
    let style = TextStyle {
        colour: terminal::colour(&std::io::stdout()),
        ..TextStyle::default()
    };
    let advice = report::BendAdvice {
        build: &build.name,
        wanted,
        history: &history,
        learned: &learned,
        margin: &margin,
    };
    terminal::print(&report::bend_text(&advice, &style))
}
