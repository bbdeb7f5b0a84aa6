//! Casts charted against their keeper, measure by measure: text, JSON and pictures.

use std::collections::BTreeMap;

use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};
use serde_json::{Value, json};

use super::chart::paint::{self, told};
use super::layout::{beside, entry};
use super::numbers::{shown, stored};
use super::record_text::plain;
use crate::tuning::{CastChart, FEW, Measure, Signal, chart_casts};
use crate::{Error, Measured, Result};

/// Measures that are charted.
const CHARTED: [Measure; 4] = [
    Measure::Rate,
    Measure::Width,
    Measure::Drift,
    Measure::Pivot,
];
/// Size of one chart, px.
const SIZE_PX: (u32, u32) = (1000, 340);

/// A keeper or a cast with the figures of its tests.
#[derive(Debug, Clone, PartialEq)]
pub struct Tested {
    /// Name of the build.
    pub name: String,
    /// Figures of each test.
    pub figures: Vec<BTreeMap<String, Measured>>,
}

/// The chart of one measure.
#[derive(Debug, Clone, PartialEq)]
pub struct CastSheet {
    /// The measure.
    pub measure: Measure,
    /// The casts that have a figure of it, in order.
    pub names: Vec<String>,
    /// The chart: each value is the mean of a cast's tests.
    pub chart: CastChart,
    /// Whether the centre is the keeper's figure, not the casts' own mean.
    pub against_keeper: bool,
}

/// Charts `casts` in their order against `keeper`. A measure that fewer than two casts have is left out.
pub fn cast_sheets(keeper: &Tested, casts: &[Tested]) -> Vec<CastSheet> {
    CHARTED
        .into_iter()
        .filter_map(|measure| {
            let centre = mean(keeper, measure);
            let (names, values): (Vec<String>, Vec<f64>) = casts
                .iter()
                .filter_map(|cast| Some((cast.name.clone(), mean(cast, measure)?)))
                .unzip();
            Some(CastSheet {
                measure,
                names,
                chart: chart_casts(&values, centre)?,
                against_keeper: centre.is_some(),
            })
        })
        .collect()
}

fn mean(tested: &Tested, measure: Measure) -> Option<f64> {
    let values: Vec<f64> = tested
        .figures
        .iter()
        .filter_map(|figures| figures.get(measure.key())?.value)
        .collect();
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

/// Which copy is off, by what measure, since when.
pub fn cast_text(keeper: &str, sheets: &[CastSheet]) -> String {
    if sheets.is_empty() {
        return "Fewer than two casts have a figure: there is nothing to chart yet.\n".into();
    }
    let mut text = format!("Casts against {}\n", plain(keeper));
    for sheet in sheets {
        let chart = &sheet.chart;
        let centre = if sheet.against_keeper {
            "keeper"
        } else {
            "their mean (the keeper has no figure)"
        };
        let limits = format!(
            "{centre} {}, limits {} to {} {}, {} casts",
            shown(chart.centre, 2),
            shown(chart.limits[0], 2),
            shown(chart.limits[1], 2),
            sheet.measure.unit(),
            chart.values.len()
        );
        text += &entry(sheet.measure.name(), &limits);
        if chart.signals.is_empty() {
            text += &beside("                ", 16, "in order");
        }
        for signal in &chart.signals {
            text += &beside("              ! ", 16, &signal_words(sheet, *signal));
        }
    }
    if sheets.iter().any(|sheet| sheet.chart.values.len() < FEW) {
        let few = format!("Fewer than {FEW} casts give limits that are a rough guess only.");
        text += &beside("  ", 2, &few);
    }
    text
}

fn signal_words(sheet: &CastSheet, signal: Signal) -> String {
    let name = |i: usize| sheet.names.get(i).map_or(String::new(), |name| plain(name));
    let since = match signal.since == signal.at {
        true => String::new(),
        false => format!(", since {}", name(signal.since)),
    };
    let value = sheet
        .chart
        .values
        .get(signal.at)
        .map_or(String::new(), |v| shown(*v, 2));
    format!(
        "{} ({value}): {}{since}",
        name(signal.at),
        signal.rule.words()
    )
}

/// The charts as JSON, schema `truerun/casts/1`.
pub fn cast_json(keeper: &str, sheets: &[CastSheet]) -> String {
    let charts: Vec<Value> = sheets
        .iter()
        .map(|sheet| {
            let signals: Vec<Value> = sheet
                .chart
                .signals
                .iter()
                .map(|s| {
                    json!({"cast": sheet.names.get(s.at), "since": sheet.names.get(s.since), "rule": s.rule.words()})
                })
                .collect();
            json!({
                "measure": sheet.measure.key(),
                "centre": stored(Some(sheet.chart.centre)),
                "against_keeper": sheet.against_keeper,
                "limits": sheet.chart.limits.map(|limit| stored(Some(limit))),
                "range_limit": stored(Some(sheet.chart.range_limit)),
                "casts": sheet.names,
                "values": sheet.chart.values,
                "signals": signals,
            })
        })
        .collect();
    format!(
        "{:#}\n",
        json!({"schema": "truerun/casts/1", "keeper": keeper, "charts": charts})
    )
}

/// The charts one below the other as SVG. Names of the user's are escaped by the drawing library.
///
/// # Errors
/// [`Error::File`] where it cannot be drawn.
pub fn cast_svg(sheets: &[CastSheet]) -> Result<String> {
    let mut svg = String::new();
    let height = SIZE_PX.1 * sheets.len().max(1) as u32;
    draw(sheets, &mut svg, height)
        .map_err(|e| Error::file("chart of the casts", std::io::Error::other(e)))?;
    Ok(svg)
}

type Drawn = std::result::Result<(), String>;

fn draw(sheets: &[CastSheet], svg: &mut String, height: u32) -> Drawn {
    paint::register_font()?;
    let whole = SVGBackend::with_string(svg, (SIZE_PX.0, height)).into_drawing_area();
    whole.fill(&WHITE).map_err(told)?;
    let areas = whole.split_evenly((sheets.len().max(1), 1));
    for (sheet, area) in sheets.iter().zip(&areas) {
        draw_one(sheet, area)?;
    }
    whole.present().map_err(told)
}

fn draw_one<DB: DrawingBackend>(
    sheet: &CastSheet,
    area: &DrawingArea<DB, plotters::coord::Shift>,
) -> Drawn {
    let chart = &sheet.chart;
    let ends = chart.values.iter().copied().chain(chart.limits);
    let [lo, hi] = paint::span(ends, 0.15, 0.1);
    let last = chart.values.len() as f64;
    let centre = if sheet.against_keeper {
        "keeper"
    } else {
        "mean"
    };
    let title = format!(
        "{}, {} (middle line: {centre})",
        sheet.measure.name(),
        sheet.measure.unit()
    );
    let mut plot = ChartBuilder::on(area)
        .margin(paint::MARGIN_PX)
        .caption(title, paint::title())
        .x_label_area_size(paint::BELOW_PX / 2)
        .y_label_area_size(paint::LEFT_PX * 2 / 3)
        .build_cartesian_2d(0.5..last + 0.5, lo..hi)
        .map_err(told)?;
    let name = |x: &f64| {
        let whole = (x - x.round()).abs() < 1e-6 && *x >= 1.0;
        sheet
            .names
            .get((x.round().max(1.0) as usize) - 1)
            .filter(|_| whole)
            .cloned()
            .unwrap_or_default()
    };
    plot.configure_mesh()
        .light_line_style(TRANSPARENT)
        .bold_line_style(paint::GRID)
        .axis_style(paint::INK)
        .label_style(paint::letters())
        .x_labels(8)
        .x_label_formatter(&name)
        .y_labels(5)
        .y_label_formatter(&|y| shown(*y, if hi - lo < 5.0 { 2 } else { 0 }))
        .draw()
        .map_err(told)?;
    for (y, width) in [
        (chart.limits[0], 1),
        (chart.limits[1], 1),
        (chart.centre, 2),
    ] {
        let line = PathElement::new(
            [(0.5, y), (last + 0.5, y)],
            paint::FOUND.stroke_width(width),
        );
        plot.draw_series([line]).map_err(told)?;
    }
    let points: Vec<(f64, f64)> = chart
        .values
        .iter()
        .enumerate()
        .map(|(i, v)| ((i + 1) as f64, *v))
        .collect();
    plot.draw_series(LineSeries::new(
        points.iter().copied(),
        paint::SEEN.stroke_width(1),
    ))
    .map_err(told)?;
    for (i, point) in points.iter().enumerate() {
        plot.draw_series([Circle::new(*point, 4, paint::SEEN.filled())])
            .map_err(told)?;
        if chart.signals.iter().any(|signal| signal.at == i) {
            let ring = Circle::new(*point, 9, paint::FOUND.stroke_width(2));
            plot.draw_series([ring]).map_err(told)?;
            let style = paint::placed(&paint::INK, HPos::Center, VPos::Bottom);
            let above = (point.0, point.1 + (hi - lo) * 0.05);
            plot.draw_series([Text::new("!", above, style)])
                .map_err(told)?;
        }
    }
    Ok(())
}
