//! What every chart sheet has alike: SVG or PNG by its name, a heading with the figures, panels below it.

use plotters::coord::Shift;
use plotters::prelude::*;

use super::OutFile;
use super::chart::paint::{self, told};
use super::layout::wrap;
use crate::{Error, Result};

/// Width of a sheet, px; its height follows from what is on it.
const WIDTH_PX: u32 = 1240;
/// Letters in a line of the heading beside the labels, width of these, height of a line, px.
const COLUMNS: usize = 112;
const LABEL_PX: i32 = 140;
const LINE_PX: i32 = 22;
/// Left margin, and where title, the line under it and the figures begin, px.
const LEFT_PX: i32 = 24;
const TITLE_PX: i32 = 18;
const UNDER_PX: i32 = 48;
const FIGURES_PX: i32 = 82;

/// A step of drawing, or what the drawing library said.
pub(super) type Drawn = std::result::Result<(), String>;
/// A part of a sheet.
pub(super) type Area<DB> = DrawingArea<DB, Shift>;

/// What stands over the panels.
pub(super) struct Heading {
    /// The file.
    pub title: String,
    /// How it was measured.
    pub under: String,
    /// Labels and figures.
    pub lines: Vec<(&'static str, String)>,
}

/// A chart sheet.
pub(super) trait Sheet {
    /// What stands over the panels.
    fn heading(&self) -> Heading;

    /// Height of the panels together, px.
    fn panels_px(&self) -> u32;

    /// Draws the panels.
    fn draw_panels<DB: DrawingBackend>(&self, area: &Area<DB>) -> Drawn;
}

/// Writes a sheet as SVG, or as PNG where the name ends in `.png`.
///
/// # Errors
/// [`Error::File`]; nothing unfinished is left behind.
pub(super) fn write(sheet: &impl Sheet, out: &OutFile) -> Result<()> {
    let is_png = out
        .path()
        .extension()
        .is_some_and(|e| e.eq_ignore_ascii_case("png"));
    match is_png {
        true => out.write_with(|unfinished| {
            let picture = BitMapBackend::new(unfinished, size_px(sheet)).into_drawing_area();
            draw(sheet, &picture).map_err(std::io::Error::other)
        }),
        false => out.write(svg(sheet)?.as_bytes()),
    }
}

/// A sheet as SVG text.
///
/// # Errors
/// [`Error::File`] where it cannot be drawn.
pub(super) fn svg(sheet: &impl Sheet) -> Result<String> {
    let mut text = String::new();
    draw(
        sheet,
        &SVGBackend::with_string(&mut text, size_px(sheet)).into_drawing_area(),
    )
    .map_err(|e| Error::file("chart sheet", std::io::Error::other(e)))?;
    Ok(text)
}

fn size_px(sheet: &impl Sheet) -> (u32, u32) {
    (WIDTH_PX, sheet.heading().height_px() + sheet.panels_px())
}

fn draw<DB: DrawingBackend>(sheet: &impl Sheet, whole: &Area<DB>) -> Drawn {
    paint::register_font()?;
    whole.fill(&WHITE).map_err(told)?;
    let heading = sheet.heading();
    let (top, panels) = whole.split_vertically(heading.height_px());
    heading.draw(&top)?;
    sheet.draw_panels(&panels)?;
    whole.present().map_err(told)
}

impl Heading {
    fn height_px(&self) -> u32 {
        let rows = self
            .lines
            .iter()
            .map(|(_, words)| wrap(words, COLUMNS).len());
        (FIGURES_PX + LINE_PX * rows.sum::<usize>() as i32 + 8) as u32
    }

    fn draw<DB: DrawingBackend>(&self, area: &Area<DB>) -> Drawn {
        let text = |words: &str, x: i32, y: i32, style: &TextStyle| {
            area.draw_text(words, style, (x, y)).map_err(told)
        };
        text(&self.title, LEFT_PX, TITLE_PX, &paint::title())?;
        text(&self.under, LEFT_PX, UNDER_PX, &paint::letters())?;
        let mut y = FIGURES_PX;
        for (label, words) in &self.lines {
            text(label, LEFT_PX, y, &paint::letters())?;
            for line in wrap(words, COLUMNS) {
                text(&line, LEFT_PX + LABEL_PX, y, &paint::letters())?;
                y += LINE_PX;
            }
        }
        Ok(())
    }
}
