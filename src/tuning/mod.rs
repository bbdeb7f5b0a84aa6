//! From the figures to what a maker does next: a target, a verdict, the first bend of the line tie.

mod advice;
mod ballast;
mod by_speed;
mod casts;
mod compare;
mod darts;
mod earlier;
mod keeper;
mod learned;
mod measure;
mod nearest;
mod raised;
mod range;
mod target;
mod target_file;
mod two_speeds;
mod verdict;

pub use advice::{Advice, Bend, CAUTIONS, CHECKS_BEFORE, first_step_mm};
pub use ballast::{BallastChange, Hanging, NewWater, WaterChange, water_change};
pub use by_speed::{BySpeed, ThumpAtSpeed, thump_by_speed};
pub use casts::{CastChart, FEW, LIMIT_FACTOR, RANGE_FACTOR, Rule, Signal, chart_casts};
pub use compare::{Comparison, Sameness, compare, usual_tolerance};
pub use darts::{count_interval, darts_per_metre, darts_per_minute, seen_seconds};
pub use earlier::{Change, Earlier};
pub use keeper::{blank_target_file, keeper_target_file};
pub use learned::{DriftEvent, Learned, NextBend, learn};
pub use measure::Measure;
pub(crate) use nearest::nearest;
pub use range::Range;
pub use target::Target;
pub use two_speeds::{BlowOutMargin, DriftAtSpeed, blow_out_margin};
pub use verdict::{Call, Judged, Verdict, judge, judge_float, judge_thump};
