//! The chart sheet: heading with the figures, the swing over time, its spectrum, the path.

mod axis_panel;
mod heading;
pub(in crate::report) mod paint;
mod path_panel;
mod spectrum_panel;
mod swing_fit;
mod trace;

use std::path::Path;

use plotters::coord::Shift;
use plotters::prelude::*;

use super::{OutFile, SwimDocument, TextStyle};
use crate::{Error, Result};

pub use trace::{Along, PathTrace, SwimTrace};

/// Width of the sheet, px; its height follows from what is on it.
const WIDTH_PX: u32 = 1240;
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
/// [`Error::File`]; nothing unfinished is left behind.
pub fn write_chart(chart: &Chart, out: &OutFile) -> Result<()> {
    let is_png = out
        .path()
        .extension()
        .is_some_and(|e| e.eq_ignore_ascii_case("png"));
    match is_png {
        true => {
            out.write_with(|unfinished| draw_png(chart, unfinished).map_err(std::io::Error::other))
        }
        false => out.write(chart_svg(chart)?.as_bytes()),
    }
}

/// The chart sheet as SVG text.
///
/// # Errors
/// [`Error::File`] where it cannot be drawn.
pub fn chart_svg(chart: &Chart) -> Result<String> {
    let mut svg = String::new();
    draw(
        chart,
        &SVGBackend::with_string(&mut svg, size_px(chart)).into_drawing_area(),
    )
    .map_err(|e| Error::file("chart sheet", std::io::Error::other(e)))?;
    Ok(svg)
}

fn draw_png(chart: &Chart, path: &Path) -> std::result::Result<(), String> {
    draw(
        chart,
        &BitMapBackend::new(path, size_px(chart)).into_drawing_area(),
    )
}

type Drawn = std::result::Result<(), String>;
type Sheet<DB> = DrawingArea<DB, Shift>;

fn draw<DB: DrawingBackend>(chart: &Chart, sheet: &Sheet<DB>) -> Drawn {
    paint::register_font()?;
    sheet.fill(&WHITE).map_err(paint::told)?;
    let (heading, mut rest) = sheet.split_vertically(heading::height_px(chart));
    heading::draw(chart, &heading)?;
    for window in swing_rows(chart.trace) {
        let (row, below) = rest.split_vertically(PANEL_PX);
        axis_panel::draw(chart, window, &row)?;
        rest = below;
    }
    let (spectrum, path) = rest.split_vertically(PANEL_PX);
    spectrum_panel::draw(chart, &spectrum)?;
    path_panel::draw(chart, &path)?;
    sheet.present().map_err(paint::told)
}

fn size_px(chart: &Chart) -> (u32, u32) {
    let panels = swing_rows(chart.trace).len() as u32 + 2;
    (WIDTH_PX, heading::height_px(chart) + panels * PANEL_PX)
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
