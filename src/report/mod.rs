//! What leaves the program: terminal text, JSON, the track as CSV, the chart sheet, the overlay clip.

mod chart;
mod json;
mod layout;
mod numbers;
#[cfg(feature = "video")]
mod overlay;
mod swim_text;
mod thump_chart;
mod thump_json;
mod thump_text;
mod track_csv;
mod verdict_json;
mod verdict_text;
mod whole_file;

pub use chart::{Along, Chart, PathTrace, SwimTrace, chart_svg, write_chart};
pub use json::{SwimDocument, swim_json};
pub use layout::{Ink, TextStyle};
#[cfg(feature = "video")]
pub use overlay::{Overlay, write_overlay};
pub use swim_text::swim_text;
pub use thump_chart::{ThumpChart, thump_chart_svg, write_thump_chart};
pub use thump_json::{ThumpDocument, thump_json};
pub use thump_text::thump_text;
pub use track_csv::track_csv;
pub use verdict_text::{target_text, verdict_text};
pub use whole_file::OutFile;
