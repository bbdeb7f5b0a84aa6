//! From the figures to what a maker does next: a target, a verdict, the first bend of the line tie.

mod advice;
mod darts;
mod earlier;
mod keeper;
mod measure;
mod nearest;
mod range;
mod target;
mod target_file;
mod verdict;

pub use advice::{Advice, Bend, CAUTIONS, CHECKS_BEFORE, first_step_mm};
pub use darts::{count_interval, darts_per_metre, darts_per_minute, seen_seconds};
pub use earlier::{Change, Earlier};
pub use keeper::{blank_target_file, keeper_target_file};
pub use measure::Measure;
pub use range::Range;
pub use target::Target;
pub use verdict::{Call, Judged, Verdict, judge, judge_thump};
