//! A measure over the tests of a build, with the bends between them. No text of the user's is in it.

use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::{day, mark};
use crate::record::{Entry, Run};
use crate::report::chart::paint::{self, told};
use crate::report::numbers::shown;
use crate::tuning::Measure;
use crate::{Error, Result};

const SIZE_PX: (u32, u32) = (600, 300);
/// More marks than this are drawn without their words.
const MOST_WORDS: usize = 8;

/// A measure that is charted: key of the figure and title.
const CHARTED: [(&str, &str); 3] = [
    ("rate_hz", "Wobble rate, Hz"),
    ("width_deg", "Wobble width, degrees"),
    (
        "drift_deg",
        "Drift, degrees: + to own right (your left as it comes to you)",
    ),
];

/// The charts of a build's life as SVG: rate, width, drift, and what a thump test measured. A measure
/// without a figure has no chart.
pub fn charts(life: &[Entry]) -> Result<Vec<String>> {
    let fixed = CHARTED.map(|(key, title)| (key.to_string(), title.to_string()));
    let thump: std::collections::BTreeSet<&String> = runs(life)
        .flat_map(|(_, run)| run.figures.keys())
        .filter(|key| Measure::of_key(key).is_none() && key.starts_with("thump."))
        .collect();
    let thump = thump.into_iter().map(|key| {
        (
            key.clone(),
            key.replace("thump.", "Thump: ").replace('_', " "),
        )
    });
    fixed
        .into_iter()
        .chain(thump)
        .filter_map(|(key, title)| {
            let points = points(life, &key);
            (!points.is_empty()).then(|| svg(life, &points, &title))
        })
        .collect()
}

/// Place in the build's life, and what was measured there with its interval.
struct Point {
    x: f64,
    value: f64,
    ci95: [f64; 2],
}

fn runs(life: &[Entry]) -> impl Iterator<Item = (usize, &Run)> {
    life.iter()
        .enumerate()
        .filter_map(|(i, entry)| match entry {
            Entry::Run(run) => Some((i, &**run)),
            Entry::Change(_) => None,
        })
}

fn points(life: &[Entry], key: &str) -> Vec<Point> {
    runs(life)
        .filter_map(|(i, run)| {
            let found = run.figures.get(key)?;
            let value = found.value?;
            Some(Point {
                x: i as f64,
                value,
                ci95: found.ci95.unwrap_or([value, value]),
            })
        })
        .collect()
}

fn svg(life: &[Entry], points: &[Point], title: &str) -> Result<String> {
    let mut text = String::new();
    draw(life, points, title, &mut text)
        .map_err(|e| Error::file("history chart", std::io::Error::other(e)))?;
    Ok(text)
}

fn draw(
    life: &[Entry],
    points: &[Point],
    title: &str,
    text: &mut String,
) -> std::result::Result<(), String> {
    paint::register_font()?;
    let area = SVGBackend::with_string(text, SIZE_PX).into_drawing_area();
    area.fill(&WHITE).map_err(told)?;
    let ends = points.iter().flat_map(|p| [p.value, p.ci95[0], p.ci95[1]]);
    let [lo, hi] = paint::span(ends, 0.12, 0.5);
    let last = life.len().saturating_sub(1) as f64;
    let mut plot = ChartBuilder::on(&area)
        .margin(paint::MARGIN_PX)
        .caption(title, paint::title())
        .x_label_area_size(paint::BELOW_PX / 2)
        .y_label_area_size(paint::LEFT_PX * 2 / 3)
        .build_cartesian_2d(-0.5..last + 0.5, lo..hi)
        .map_err(told)?;
    let moment = |x: &f64| {
        let whole = (x - x.round()).abs() < 1e-6 && *x >= 0.0;
        life.get(x.round().max(0.0) as usize)
            .filter(|_| whole)
            .map_or(String::new(), |entry| day(entry.moment().0).to_string())
    };
    plot.configure_mesh()
        .light_line_style(TRANSPARENT)
        .bold_line_style(paint::GRID)
        .axis_style(paint::INK)
        .label_style(paint::letters())
        .x_labels(4)
        .x_label_formatter(&moment)
        .y_labels(5)
        .y_label_formatter(&|y| shown(*y, if hi - lo < 5.0 { 1 } else { 0 }))
        .draw()
        .map_err(told)?;
    let marks: Vec<(f64, &str)> = life
        .iter()
        .enumerate()
        .filter_map(|(i, entry)| match entry {
            Entry::Change(change) => Some((i as f64, mark(change.kind, change.signed_mm()))),
            Entry::Run(_) => None,
        })
        .collect();
    for (x, _) in &marks {
        let line = PathElement::new([(*x, lo), (*x, hi)], paint::DART.stroke_width(3));
        plot.draw_series([line]).map_err(told)?;
    }
    for (n, (x, word)) in marks
        .iter()
        .enumerate()
        .filter(|_| marks.len() <= MOST_WORDS)
    {
        let across = if *x > last / 2.0 {
            HPos::Right
        } else {
            HPos::Left
        };
        let y = hi - (hi - lo) * 0.09 * (n % 3) as f64;
        let style = paint::placed(&paint::INK, across, VPos::Top);
        plot.draw_series([Text::new(format!(" {word} "), (*x, y), style)])
            .map_err(told)?;
    }
    for point in points {
        let whisker = [(point.x, point.ci95[0]), (point.x, point.ci95[1])];
        plot.draw_series([PathElement::new(whisker, paint::SEEN.stroke_width(2))])
            .map_err(told)?;
        plot.draw_series([Circle::new((point.x, point.value), 4, paint::SEEN.filled())])
            .map_err(told)?;
    }
    area.present().map_err(told)
}
