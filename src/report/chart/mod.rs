//! The chart sheet: heading with the figures, the swing over time, its spectrum, the path.

mod axis_panel;
mod heading;
mod paint;
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

/// Size of the sheet, px.
const SHEET_PX: (u32, u32) = (1240, 1560);
/// Height left for the heading, px.
const HEADING_PX: u32 = 370;
/// Height of the swing panel and of the spectrum panel, px.
const PANEL_PX: [u32; 2] = [420, 360];

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
        &SVGBackend::with_string(&mut svg, SHEET_PX).into_drawing_area(),
    )
    .map_err(|e| Error::file("chart sheet", std::io::Error::other(e)))?;
    Ok(svg)
}

fn draw_png(chart: &Chart, path: &Path) -> std::result::Result<(), String> {
    draw(
        chart,
        &BitMapBackend::new(path, SHEET_PX).into_drawing_area(),
    )
}

type Drawn = std::result::Result<(), String>;
type Sheet<DB> = DrawingArea<DB, Shift>;

fn draw<DB: DrawingBackend>(chart: &Chart, sheet: &Sheet<DB>) -> Drawn {
    paint::register_font()?;
    sheet.fill(&WHITE).map_err(paint::told)?;
    let (heading, rest) = sheet.split_vertically(HEADING_PX);
    let (swing, rest) = rest.split_vertically(PANEL_PX[0]);
    let (spectrum, path) = rest.split_vertically(PANEL_PX[1]);
    heading::draw(chart, &heading)?;
    axis_panel::draw(chart, &swing)?;
    spectrum_panel::draw(chart, &spectrum)?;
    path_panel::draw(chart, &path)?;
    sheet.present().map_err(paint::told)
}
