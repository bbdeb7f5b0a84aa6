//! The swing over time, with the fitted wobble and the darts.

use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::paint::{self, told};
use super::{Chart, Drawn, Sheet};
use crate::camera::Side;
use crate::motion::Hunt;
use crate::report::numbers::shown;

/// Share of the panel's height that a row of dart labels takes.
const ROW: f64 = 0.075;

/// Draws the panel.
pub fn draw<DB: DrawingBackend>(chart: &Chart, area: &Sheet<DB>) -> Drawn {
    let trace = chart.trace;
    let [t0, t1] = paint::span(trace.t_s.iter().copied(), 0.0, 1.0);
    let darts = DartLabels::of(&chart.document.swim.hunts.events, [t0, t1], area);
    let [lo, hi] = paint::span(trace.swing.iter().copied(), 0.06, 4.0);
    let top = hi + (hi - lo) * ROW * darts.rows() as f64 * 1.1;
    let mut plot = ChartBuilder::on(area)
        .margin(paint::MARGIN_PX)
        .caption(caption(chart), paint::title())
        .x_label_area_size(paint::BELOW_PX)
        .y_label_area_size(paint::LEFT_PX)
        .build_cartesian_2d(t0..t1, lo..top)
        .map_err(told)?;
    plot.configure_mesh()
        .light_line_style(TRANSPARENT)
        .bold_line_style(paint::GRID)
        .axis_style(paint::INK)
        .label_style(paint::letters())
        .x_desc("time, s")
        .y_desc(trace.swing_unit)
        .x_label_formatter(&|x| shown(*x, 1))
        .y_label_formatter(&|y| shown(*y, 0))
        .draw()
        .map_err(told)?;

    for (hunt, label) in chart.document.swim.hunts.events.iter().zip(&darts.labels) {
        let (from, to) = (hunt.start_s.clamp(t0, t1), hunt.end_s.clamp(t0, t1));
        let shade = Rectangle::new([(from, lo), (to, top)], paint::DART.mix(0.25).filled());
        plot.draw_series([shade]).map_err(told)?;
        let y = top - (top - lo) * ROW * (label.row as f64 + 0.3);
        let style = paint::placed(&paint::INK, HPos::Center, VPos::Top);
        plot.draw_series([Text::new(label.text.clone(), (label.centre, y), style)])
            .map_err(told)?;
    }
    let times: Vec<f64> = trace.fitted.iter().map(|p| p.0).collect();
    for part in paint::unbroken(&times, &trace.fitted) {
        let line = LineSeries::new(part.iter().copied(), paint::FOUND.stroke_width(2));
        plot.draw_series(line).map_err(told)?;
    }
    let dots = trace.t_s.iter().zip(&trace.swing);
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
pub fn dart_label(number: usize, side: Side) -> String {
    format!(
        "dart {number}: own {} (your {})",
        side.word(),
        side.to_angler().word()
    )
}

struct DartLabel {
    text: String,
    centre: f64,
    row: usize,
}

struct DartLabels {
    labels: Vec<DartLabel>,
}

impl DartLabels {
    /// Labels above the darts, kept inside the panel and apart from each other.
    fn of<DB: DrawingBackend>(hunts: &[Hunt], [t0, t1]: [f64; 2], area: &Sheet<DB>) -> Self {
        let plot_px = f64::from(area.dim_in_pixel().0 - paint::LEFT_PX - 2 * paint::MARGIN_PX);
        let per_px = (t1 - t0) / plot_px;
        let texts: Vec<String> = hunts
            .iter()
            .enumerate()
            .map(|(i, hunt)| dart_label(i + 1, hunt.side))
            .collect();
        let widths: Vec<f64> = texts
            .iter()
            .map(|text| text.chars().count() as f64 * paint::LETTER_WIDTH_PX * per_px)
            .collect();
        let centres: Vec<f64> = hunts
            .iter()
            .zip(&widths)
            .map(|(hunt, width)| {
                let middle = (hunt.start_s + hunt.end_s) / 2.0;
                middle.max(t0 + width / 2.0).min(t1 - width / 2.0)
            })
            .collect();
        let rows = paint::rows(&centres, &widths);
        let labels = texts
            .into_iter()
            .zip(centres)
            .zip(rows)
            .map(|((text, centre), row)| DartLabel { text, centre, row })
            .collect();
        DartLabels { labels }
    }

    fn rows(&self) -> usize {
        self.labels
            .iter()
            .map(|label| label.row + 1)
            .max()
            .unwrap_or(0)
    }
}
