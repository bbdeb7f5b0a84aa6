//! `truerun plan`: stands in until the plan of a shoot joins it.

use std::process::ExitCode;

use clap::Args;
use truerun::{Error, Result};

use super::plan_lens::{self, LensArgs};

/// Plan the shoot: make a lens file
#[derive(Args)]
pub struct PlanArgs {
    #[command(flatten)]
    lens: LensArgs,
    /// Print nothing but faults
    #[arg(long, short)]
    quiet: bool,
}

/// Runs the command.
pub fn run(args: &PlanArgs) -> Result<ExitCode> {
    if args.lens.asked() {
        return plan_lens::run(&args.lens, args.quiet);
    }
    Err(Error::setting(
        "--lens",
        "is missing",
        "name photos or a clip",
    ))
}
