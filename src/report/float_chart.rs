//! The float test's chart sheet: the figures, the waterline on the outline, angle and height over time.

use plotters::prelude::*;

use super::chart::paint::{self, told};
use super::float_text::{float_lines, float_set_up_line};
use super::numbers::shown;
use super::sheet::{self, Area, Drawn, Heading, Sheet};
use super::{FloatDocument, OutFile};
use crate::Result;
use crate::camera::FloatView;
use crate::units::LengthUnit;

/// Height of a panel, px.
const PANEL_PX: u32 = 380;
/// The water.
const WATER: RGBColor = RGBColor(86, 180, 233);

/// A float test with the unit of its heading.
struct FloatSheet<'a> {
    document: &'a FloatDocument<'a>,
    unit: LengthUnit,
}

/// Writes the chart sheet as SVG, or as PNG where the name ends in `.png`.
///
/// # Errors
/// [`Error::File`](crate::Error::File); nothing unfinished is left behind.
pub fn write_float_chart(document: &FloatDocument, unit: LengthUnit, out: &OutFile) -> Result<()> {
    sheet::write(&FloatSheet { document, unit }, out)
}

/// The chart sheet as SVG text.
///
/// # Errors
/// [`Error::File`](crate::Error::File) where it cannot be drawn.
pub fn float_chart_svg(document: &FloatDocument, unit: LengthUnit) -> Result<String> {
    sheet::svg(&FloatSheet { document, unit })
}

impl Sheet for FloatSheet<'_> {
    fn heading(&self) -> Heading {
        Heading {
            title: self.document.report.clip.file.clone(),
            under: float_set_up_line(self.document),
            lines: float_lines(self.document, self.unit),
        }
    }

    fn panels_px(&self) -> u32 {
        let over_time = !self.document.report.photo;
        (1 + u32::from(over_time) + u32::from(has_heights(self.document))) * PANEL_PX
    }

    fn draw_panels<DB: DrawingBackend>(&self, area: &Area<DB>) -> Drawn {
        let document = self.document;
        let (sketch, rest) = area.split_vertically(PANEL_PX);
        draw_sketch(document, &sketch)?;
        if !document.report.photo {
            let (angle, rest) = rest.split_vertically(PANEL_PX);
            draw_angle(document, &angle)?;
            if has_heights(document) {
                draw_height(document, &rest)?;
            }
        }
        Ok(())
    }
}

fn has_heights(document: &FloatDocument) -> bool {
    let above = &document.report.trace.above_mm;
    !document.report.photo && above.iter().any(|h| h.is_finite())
}

/// The outline as it lies, level as level, with the water behind it.
fn draw_sketch<DB: DrawingBackend>(document: &FloatDocument, area: &Area<DB>) -> Drawn {
    let trace = &document.report.trace;
    let float = &document.report.float;
    let (scale, unit) = float.mm_per_px.map_or((1.0, "px"), |mm| (mm, "mm"));
    let outline: Vec<(f64, f64)> = trace
        .outline_px
        .iter()
        .map(|[x, y]| (x * scale, y * scale))
        .collect();
    let [lo, hi] = paint::span(outline.iter().map(|p| p.0), 0.12, 10.0);
    let (width, height) = area.dim_in_pixel();
    let inner = f64::from(width - paint::LEFT_PX - 2 * paint::MARGIN_PX);
    let tall = f64::from(height - paint::BELOW_PX - 2 * paint::MARGIN_PX - 34);
    let [bottom, top] = paint::span(outline.iter().map(|p| p.1), 0.3, 6.0);
    // one scale for both directions
    let per_px = ((hi - lo) / inner).max((top - bottom) / tall);
    let (middle_x, middle_y) = ((lo + hi) / 2.0, (top + bottom) / 2.0);
    let (half_x, half_y) = (per_px * inner / 2.0, per_px * tall / 2.0);
    let caption = match document.report.setup.view {
        FloatView::Side { .. } => "At rest, seen from the side: body and water".to_string(),
        FloatView::End { from } => {
            format!("At rest, seen from the {}: body and water", from.word())
        }
    };
    let mut plot = paint::plot(
        area,
        &caption,
        middle_x - half_x..middle_x + half_x,
        middle_y - half_y..middle_y + half_y,
    )?;
    plot.configure_mesh()
        .disable_mesh()
        .axis_style(paint::INK)
        .label_style(paint::letters())
        .x_desc(unit)
        .y_desc(unit)
        .x_label_formatter(&|x| shown(*x, 0))
        .y_label_formatter(&|y| shown(*y, 0))
        .draw()
        .map_err(told)?;
    if let Some(water) = trace.water_px {
        let level = water * scale;
        let pool = Rectangle::new(
            [
                (middle_x - half_x, middle_y - half_y),
                (middle_x + half_x, level),
            ],
            WATER.mix(0.35).filled(),
        );
        plot.draw_series([pool]).map_err(told)?;
        let line = [(middle_x - half_x, level), (middle_x + half_x, level)];
        plot.draw_series(LineSeries::new(line, paint::SEEN.stroke_width(2)))
            .map_err(told)?;
    }
    plot.draw_series([Polygon::new(outline.clone(), paint::DART.mix(0.35))])
        .map_err(told)?;
    let closed = outline.iter().copied().chain(outline.first().copied());
    plot.draw_series(LineSeries::new(closed, paint::INK.stroke_width(2)))
        .map_err(told)?;
    if let FloatView::Side { .. } = document.report.setup.view {
        let right = outline.iter().copied().max_by(|a, b| a.0.total_cmp(&b.0));
        let left = outline.iter().copied().min_by(|a, b| a.0.total_cmp(&b.0));
        if let (Some(a), Some(b)) = (left, right) {
            plot.draw_series(LineSeries::new([a, b], paint::FOUND.stroke_width(1)))
                .map_err(told)?;
        }
    }
    Ok(())
}

fn draw_angle<DB: DrawingBackend>(document: &FloatDocument, area: &Area<DB>) -> Drawn {
    let trace = &document.report.trace;
    let fit = document.report.float.rocking.fit.as_ref();
    let name = match document.report.setup.view {
        FloatView::Side { .. } => "nose down, degrees",
        FloatView::End { .. } => "own right side down, degrees",
    };
    let caption = match fit {
        Some(_) => "Angle (dots: each frame, line: fitted rocking)",
        None => "Angle (dots: each frame)",
    };
    let [t0, t1] = paint::span(trace.t_s.iter().copied(), 0.0, 0.5);
    let curve: Vec<(f64, f64)> = fit.map_or(Vec::new(), |fit| {
        let from = fit.start_s;
        (0..=600)
            .map(|i| from + (t1 - from) * f64::from(i) / 600.0)
            .map(|t| (t, fit.at(t)))
            .collect()
    });
    over_time(
        area,
        caption,
        name,
        [t0, t1],
        &trace.t_s,
        &trace.angle_deg,
        &curve,
        2.0,
    )
}

fn draw_height<DB: DrawingBackend>(document: &FloatDocument, area: &Area<DB>) -> Drawn {
    let trace = &document.report.trace;
    let span = paint::span(trace.t_s.iter().copied(), 0.0, 0.5);
    let caption = "Height of the body's middle over the water";
    over_time(
        area,
        caption,
        "mm",
        span,
        &trace.t_s,
        &trace.above_mm,
        &[],
        4.0,
    )
}

#[allow(clippy::too_many_arguments)]
fn over_time<DB: DrawingBackend>(
    area: &Area<DB>,
    caption: &str,
    name: &str,
    [t0, t1]: [f64; 2],
    t: &[f64],
    values: &[f64],
    curve: &[(f64, f64)],
    least: f64,
) -> Drawn {
    let [lo, hi] = paint::span(
        values.iter().copied().chain(curve.iter().map(|p| p.1)),
        0.08,
        least,
    );
    let mut plot = paint::plot(area, caption, t0..t1, lo..hi)?;
    paint::axes(&mut plot, ("time, s", 1), (name, 1))?;
    plot.draw_series(LineSeries::new(
        curve.iter().copied(),
        paint::FOUND.stroke_width(2),
    ))
    .map_err(told)?;
    let dots = t.iter().zip(values).filter(|(_, v)| v.is_finite());
    plot.draw_series(dots.map(|(t, v)| Circle::new((*t, *v), 2, paint::SEEN.filled())))
        .map_err(told)?;
    Ok(())
}
