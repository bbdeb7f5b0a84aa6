//! What leaves the program: terminal text, JSON, the track as CSV, the chart sheet, the overlay clip.

mod bend_text;
mod casts;
mod chart;
mod compare_text;
mod depth_json;
mod depth_text;
mod float_chart;
mod float_json;
#[cfg(feature = "video")]
mod float_overlay;
mod float_text;
mod history;
mod json;
mod json_parts;
mod layout;
mod numbers;
#[cfg(feature = "video")]
mod overlay;
mod plan_json;
mod plan_sheet;
mod plan_text;
mod record_text;
mod sheet;
mod swim_text;
mod thump_chart;
mod thump_json;
mod thump_text;
mod track_csv;
mod verdict_json;
mod verdict_text;
mod water_change_text;
mod whole_file;

pub use bend_text::{BendAdvice, bend_text, bend_words};
pub use casts::{CastSheet, Tested, cast_json, cast_sheets, cast_svg, cast_text};
pub use chart::{Along, Chart, PathTrace, SwimTrace, chart_svg, write_chart};
pub use compare_text::{Group, MeasureTable, compare_groups, compare_json, compare_text};
pub use float_chart::{float_chart_svg, write_float_chart};
pub use float_json::{FloatDocument, float_json};
#[cfg(feature = "video")]
pub use float_overlay::write_float_overlay;
pub use float_text::{float_text, missing_words};
pub use history::history_page;
pub use json::{SwimDocument, swim_json};
pub use layout::{Ink, TextStyle};
#[cfg(feature = "video")]
pub use overlay::{Overlay, write_overlay};
pub use plan_json::plan_json;
pub use plan_sheet::plan_sheet;
pub use plan_text::plan_text;
pub use record_text::{build_text, lure_list, lure_text};
pub use swim_text::swim_text;
pub use thump_chart::{ThumpChart, thump_chart_svg, write_thump_chart};
pub use thump_json::{ThumpDocument, thump_json};
pub use thump_text::thump_text;
pub use track_csv::track_csv;
pub use verdict_text::{target_text, verdict_text};
pub use whole_file::OutFile;
