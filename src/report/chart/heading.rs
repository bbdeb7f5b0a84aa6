//! The top of the sheet: the clip, the figures, the verdict in a line.

use plotters::prelude::*;

use super::paint::{self, told};
use super::{Chart, Drawn, Sheet};
use crate::report::layout::wrap;
use crate::report::swim_text::{figure_lines, set_up_line};

/// Letters in a line beside the labels.
const COLUMNS: usize = 112;
/// Width of the labels, px.
const LABEL_PX: i32 = 140;
/// Height of a line, px.
const LINE_PX: i32 = 22;

/// Where the figures begin, px.
const FIGURES_PX: i32 = 82;

/// Height of the heading, px.
pub fn height_px(chart: &Chart) -> u32 {
    let rows: usize = lines(chart)
        .iter()
        .map(|(_, words)| wrap(words, COLUMNS).len())
        .sum();
    (FIGURES_PX + LINE_PX * rows as i32 + 8) as u32
}

/// Draws the heading.
pub fn draw<DB: DrawingBackend>(chart: &Chart, area: &Sheet<DB>) -> Drawn {
    let document = chart.document;
    let left = 24;
    let text = |words: &str, x: i32, y: i32, style: &plotters::style::TextStyle| {
        area.draw_text(words, style, (x, y)).map_err(told)
    };
    text(&document.clip.file, left, 18, &paint::title())?;
    text(&set_up_line(document), left, 48, &paint::letters())?;
    let mut y = FIGURES_PX;
    for (label, words) in lines(chart) {
        text(&label, left, y, &paint::letters())?;
        for line in wrap(&words, COLUMNS) {
            text(&line, left + LABEL_PX, y, &paint::letters())?;
            y += LINE_PX;
        }
    }
    Ok(())
}

fn lines(chart: &Chart) -> Vec<(String, String)> {
    let document = chart.document;
    let verdict = document.verdict.map(|verdict| {
        let each: Vec<String> = verdict
            .measures
            .iter()
            .map(|judged| format!("{} {}", judged.measure.name(), judged.call.word()))
            .collect();
        (
            "verdict",
            format!("{} ({})", verdict.overall.word(), each.join(", ")),
        )
    });
    let figures = match document.swim.found {
        true => figure_lines(document.swim, chart.style.unit),
        false => vec![("lure", "none was found".into())],
    };
    verdict
        .into_iter()
        .chain(figures)
        .map(|(label, words)| (label.to_string(), words))
        .collect()
}
