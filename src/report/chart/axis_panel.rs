//! The swing over a stretch of time, with the fitted wobble and the darts.

use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::paint::{self, told};
use super::{Area, Chart, Drawn};
use crate::camera::Side;
use crate::motion::Hunt;

/// Share of the panel's height that a row of dart labels takes.
const ROW: f64 = 0.075;

/// Draws the panel for the time from `t0` to `t1`, s.
pub fn draw<DB: DrawingBackend>(chart: &Chart, [t0, t1]: [f64; 2], area: &Area<DB>) -> Drawn {
    let trace = chart.trace;
    let labels = dart_labels(&chart.document.swim.hunts.events, [t0, t1], area);
    let rows = labels.iter().map(|label| label.row + 1).max().unwrap_or(0);
    let [lo, hi] = paint::span(trace.swing.iter().copied(), 0.06, 4.0);
    let top = hi + (hi - lo) * ROW * rows as f64 * 1.1;
    let mut plot = paint::plot(area, &caption(chart), t0..t1, lo..top)?;
    paint::axes(&mut plot, ("time, s", 1), (trace.swing_unit, 0))?;

    for label in &labels {
        let shade = Rectangle::new(
            [(label.from, lo), (label.to, top)],
            paint::DART.mix(0.25).filled(),
        );
        plot.draw_series([shade]).map_err(told)?;
        let y = top - (top - lo) * ROW * (label.row as f64 + 0.3);
        let style = paint::placed(&paint::INK, HPos::Center, VPos::Top);
        plot.draw_series([Text::new(label.text.clone(), (label.centre, y), style)])
            .map_err(told)?;
    }
    let fitted: Vec<(f64, f64)> = trace
        .fitted
        .iter()
        .copied()
        .filter(|(t, _)| (t0..=t1).contains(t))
        .collect();
    let times: Vec<f64> = fitted.iter().map(|p| p.0).collect();
    for part in paint::unbroken(&times, &fitted) {
        let line = LineSeries::new(part.iter().copied(), paint::FOUND.stroke_width(2));
        plot.draw_series(line).map_err(told)?;
    }
    let dots = trace
        .t_s
        .iter()
        .zip(&trace.swing)
        .filter(|(t, _)| (t0..=t1).contains(*t));
    plot.draw_series(dots.map(|(t, y)| Circle::new((*t, *y), 2, paint::SEEN.filled())))
        .map_err(told)?;
    Ok(())
}

fn caption(chart: &Chart) -> String {
    let lines = match chart.trace.fitted.is_empty() {
        true => "dots: each frame",
        false => "dots: each frame, line: fitted wobble",
    };
    format!("Swing: {} ({lines})", chart.trace.swing_name)
}

/// "dart 1: own left (your right)".
fn dart_label(number: usize, side: Side) -> String {
    format!(
        "dart {number}: own {} (your {})",
        side.word(),
        side.to_angler().word()
    )
}

struct DartLabel {
    text: String,
    from: f64,
    to: f64,
    centre: f64,
    row: usize,
}

/// Labels above the darts between `t0` and `t1`, kept inside the panel and apart from each other.
fn dart_labels<DB: DrawingBackend>(
    hunts: &[Hunt],
    [t0, t1]: [f64; 2],
    area: &Area<DB>,
) -> Vec<DartLabel> {
    let plot_px =
        f64::from(area.dim_in_pixel().0) - f64::from(paint::LEFT_PX + 2 * paint::MARGIN_PX);
    let width =
        |text: &str| text.chars().count() as f64 * paint::LETTER_WIDTH_PX * (t1 - t0) / plot_px;
    let mut labels: Vec<DartLabel> = hunts
        .iter()
        .enumerate()
        .filter(|(_, hunt)| hunt.start_s < t1 && hunt.end_s > t0)
        .map(|(i, hunt)| {
            let text = dart_label(i + 1, hunt.side);
            let (from, to) = (hunt.start_s.max(t0), hunt.end_s.min(t1));
            let half = width(&text) / 2.0;
            let centre = ((from + to) / 2.0).max(t0 + half).min(t1 - half);
            DartLabel {
                text,
                from,
                to,
                centre,
                row: 0,
            }
        })
        .collect();
    let centres: Vec<f64> = labels.iter().map(|label| label.centre).collect();
    let widths: Vec<f64> = labels.iter().map(|label| width(&label.text)).collect();
    for (label, row) in labels.iter_mut().zip(paint::rows(&centres, &widths)) {
        label.row = row;
    }
    labels
}
