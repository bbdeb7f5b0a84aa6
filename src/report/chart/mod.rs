//! The chart sheet: heading with the figures, the swing over time, its spectrum, the path.

mod axis_panel;
mod heading;
pub(in crate::report) mod paint;
mod path_panel;
mod spectrum_panel;
mod swing_fit;
mod trace;

use plotters::prelude::*;

use super::sheet::{self, Area, Drawn, Heading, Sheet};
use super::{OutFile, SwimDocument, TextStyle};
use crate::Result;

pub use trace::{Along, PathTrace, SwimTrace};

/// Height of a panel, px.
const PANEL_PX: u32 = 390;
/// The swing of a long clip is broken into rows of this many seconds …
const ROW_S: f64 = 12.0;
/// … but into no more rows than this.
const MOST_ROWS: usize = 4;

/// What a chart sheet shows.
#[derive(Debug, Clone, Copy)]
pub struct Chart<'a> {
    /// The figures.
    pub document: &'a SwimDocument<'a>,
    /// The curves.
    pub trace: &'a SwimTrace,
    /// In which unit lengths are shown in the heading.
    pub style: TextStyle,
}

/// Writes the chart sheet as SVG, or as PNG where the name ends in `.png`.
///
/// # Errors
/// [`Error::File`](crate::Error::File); nothing unfinished is left behind.
pub fn write_chart(chart: &Chart, out: &OutFile) -> Result<()> {
    sheet::write(chart, out)
}

/// The chart sheet as SVG text.
///
/// # Errors
/// [`Error::File`](crate::Error::File) where it cannot be drawn.
pub fn chart_svg(chart: &Chart) -> Result<String> {
    sheet::svg(chart)
}

impl Sheet for Chart<'_> {
    fn heading(&self) -> Heading {
        heading::of(self)
    }

    fn panels_px(&self) -> u32 {
        (swing_rows(self.trace).len() as u32 + 2) * PANEL_PX
    }

    fn draw_panels<DB: DrawingBackend>(&self, area: &Area<DB>) -> Drawn {
        let mut rest = area.clone();
        for window in swing_rows(self.trace) {
            let (row, below) = rest.split_vertically(PANEL_PX);
            axis_panel::draw(self, window, &row)?;
            rest = below;
        }
        let (spectrum, path) = rest.split_vertically(PANEL_PX);
        spectrum_panel::draw(self, &spectrum)?;
        path_panel::draw(self, &path)
    }
}

/// The stretches of time, s, over which the swing is drawn row by row.
fn swing_rows(trace: &SwimTrace) -> Vec<[f64; 2]> {
    let [first, last] = paint::span(trace.t_s.iter().copied(), 0.0, 1.0);
    let rows = ((last - first) / ROW_S).ceil().clamp(1.0, MOST_ROWS as f64);
    let step = (last - first) / rows;
    (0..rows as usize)
        .map(|i| first + step * i as f64)
        .map(|from| [from, from + step])
        .collect()
}
