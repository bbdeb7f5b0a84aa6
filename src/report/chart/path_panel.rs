//! The path with the drift line and the darts.

use plotters::coord::types::RangedCoordf64;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::paint::{self, told};
use super::trace::{Along, PathTrace};
use super::{Area, Chart, Drawn};
use crate::Warning;
use crate::camera::{Side, View};
use crate::motion::Hunt;
use crate::report::numbers::shown;

type Plot<'a, DB> = ChartContext<'a, DB, Cartesian2d<RangedCoordf64, RangedCoordf64>>;

/// Draws the panel.
pub fn draw<DB: DrawingBackend>(chart: &Chart, area: &Area<DB>) -> Drawn {
    match &chart.trace.path {
        Some(path) if path.along.len() > 1 => Panel::new(chart, path).draw(chart, path, area),
        _ => {
            area.draw_text("Path", &paint::title(), (24, 18))
                .map_err(told)?;
            area.draw_text(why_none(chart), &paint::letters(), (24, 54))
                .map_err(told)
        }
    }
}

fn why_none(chart: &Chart) -> &'static str {
    let document = chart.document;
    if document.swim.warnings.iter().any(Warning::doubts_the_view) {
        "No path: the view that was given contradicts the clip."
    } else if document.setup.length_mm.is_none() {
        "No path: without a scale there are no millimetres; give --length."
    } else {
        "No path: it could not be laid over ground (see drift)."
    }
}

/// Own left is up, as seen from above with the lure going right: the upright axis is −sideways.
struct Panel {
    title: String,
    along: [f64; 2],
    up: [f64; 2],
    x_desc: &'static str,
    y_desc: &'static str,
    ends: [&'static str; 2],
    /// The drift line.
    line: Option<[(f64, f64); 2]>,
}

impl Panel {
    fn new(chart: &Chart, path: &PathTrace) -> Panel {
        let from_side = chart.document.setup.view == View::Side;
        let line = if from_side {
            None
        } else {
            drift_line(chart, path)
        };
        let along = paint::span(path.along.iter().copied(), 0.0, 1e-3);
        let ups = path.sideways_mm.iter().map(|s| -s);
        let ups = ups.chain(line.iter().flatten().map(|p| p.1));
        let up = paint::span(ups, 0.12, 40.0);
        Panel {
            title: match (from_side, path.kind) {
                (true, _) => "Path seen from the side".into(),
                (false, Along::Way) if line.is_some() => {
                    "Path seen from above, the rod tip to the right (dashes: drift)".into()
                }
                (false, Along::Way) => "Path seen from above, the rod tip to the right".into(),
                (false, Along::Time) => "Way sideways over time".into(),
            },
            along,
            up,
            x_desc: match path.kind {
                Along::Way => "way along the pull, mm",
                Along::Time => "time, s",
            },
            y_desc: match from_side {
                true => "down and up, mm",
                false => "to its own left, right, mm",
            },
            ends: if from_side {
                ["up", "down"]
            } else {
                ["left", "right"]
            },
            line,
        }
    }

    fn draw<DB: DrawingBackend>(&self, chart: &Chart, path: &PathTrace, area: &Area<DB>) -> Drawn {
        let mut plot = paint::plot(
            area,
            &self.title,
            self.along[0]..self.along[1],
            self.up[0]..self.up[1],
        )?;
        let side = |up: &f64| match shown(up.abs(), 0).as_str() {
            "0" => "0".to_string(),
            size => format!(
                "{size} {}",
                if *up > 0.0 {
                    self.ends[0]
                } else {
                    self.ends[1]
                }
            ),
        };
        plot.configure_mesh()
            .light_line_style(TRANSPARENT)
            .bold_line_style(paint::GRID)
            .axis_style(paint::INK)
            .label_style(paint::letters())
            .x_desc(self.x_desc)
            .y_desc(self.y_desc)
            .x_label_formatter(&|x| shown(*x, if path.kind == Along::Time { 1 } else { 0 }))
            .y_label_formatter(&side)
            .draw()
            .map_err(told)?;
        let points: Vec<(f64, f64)> = path
            .along
            .iter()
            .copied()
            .zip(path.sideways_mm.iter().map(|s| -s))
            .collect();
        for part in paint::unbroken(&path.t_s, &points) {
            let line = LineSeries::new(part.iter().copied(), paint::SEEN.stroke_width(2));
            plot.draw_series(line).map_err(told)?;
        }
        if let Some(line) = self.line {
            let dashes = DashedLineSeries::new(line, 10, 6, paint::FOUND.stroke_width(2));
            plot.draw_series(dashes).map_err(told)?;
        }
        for (i, hunt) in chart.document.swim.hunts.events.iter().enumerate() {
            self.draw_dart(&mut plot, i + 1, hunt, path, &points)?;
        }
        Ok(())
    }

    fn draw_dart<DB: DrawingBackend>(
        &self,
        plot: &mut Plot<DB>,
        number: usize,
        hunt: &Hunt,
        path: &PathTrace,
        points: &[(f64, f64)],
    ) -> Drawn {
        let from = path.t_s.partition_point(|t| *t < hunt.start_s);
        let to = path.t_s.partition_point(|t| *t <= hunt.end_s);
        let dart = &points[from..to];
        let line = LineSeries::new(dart.iter().copied(), paint::DART.stroke_width(5));
        plot.draw_series(line).map_err(told)?;
        let is_up = hunt.side == Side::Left;
        let Some((x, y)) = farthest(dart, is_up) else {
            return Ok(());
        };
        let room = 0.02 * (self.up[1] - self.up[0]);
        let (y, upright) = match is_up {
            true => (y + room, VPos::Bottom),
            false => (y - room, VPos::Top),
        };
        let style = paint::placed(&paint::INK, HPos::Center, upright);
        plot.draw_series([Text::new(format!("dart {number}"), (x, y), style)])
            .map_err(told)?;
        Ok(())
    }
}

/// The point of a dart that lies farthest up or down.
fn farthest(dart: &[(f64, f64)], up: bool) -> Option<(f64, f64)> {
    let height = |p: &&(f64, f64)| if up { p.1 } else { -p.1 };
    dart.iter()
        .max_by(|a, b| height(a).total_cmp(&height(b)))
        .copied()
}

/// The measured drift as a line through the middle of the path (medians, so that darts do not pull).
fn drift_line(chart: &Chart, path: &PathTrace) -> Option<[(f64, f64); 2]> {
    let drift = &chart.document.swim.drift.deg;
    let slope = drift
        .value
        .filter(|_| drift.is_measured() && path.kind == Along::Way)?;
    let slope = slope.to_radians().tan();
    let mut offsets: Vec<f64> = path
        .along
        .iter()
        .zip(&path.sideways_mm)
        .map(|(x, s)| s - slope * x)
        .collect();
    offsets.sort_by(f64::total_cmp);
    let offset = *offsets.get(offsets.len() / 2)?;
    let at = |x: f64| (x, -(offset + slope * x));
    let [from, to] = paint::span(path.along.iter().copied(), 0.0, 1e-3);
    Some([at(from), at(to)])
}
