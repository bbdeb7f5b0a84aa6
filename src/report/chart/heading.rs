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

/// Draws the heading.
pub fn draw<DB: DrawingBackend>(chart: &Chart, area: &Sheet<DB>) -> Drawn {
    let document = chart.document;
    let left = 24;
    let text = |words: &str, x: i32, y: i32, style: &plotters::style::TextStyle| {
        area.draw_text(words, style, (x, y)).map_err(told)
    };
    text(&document.clip.file, left, 18, &paint::title())?;
    text(&set_up_line(document), left, 48, &paint::letters())?;
    let mut y = 82;
    let bottom = area.dim_in_pixel().1 as i32 - LINE_PX;
    for (label, words) in lines(chart) {
        if y > bottom {
            break;
        }
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
