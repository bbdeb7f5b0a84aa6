//! The thump's chart sheet: the figures, acceleration over time, spectrum, rate over time, third-octaves.

use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::chart::paint::{self, told};
use super::numbers::{decimals, shown};
use super::sheet::{self, Area, Drawn, Heading, Sheet};
use super::thump_json::level_db;
use super::thump_text::{recording_line, thump_lines};
use super::{OutFile, ThumpDocument};
use crate::Result;
use crate::media::Unit;
use crate::motion::thump::{ThumpTrace, octaves};

/// Height of a panel, px.
const PANEL_PX: u32 = 360;
/// The curve over time is drawn as least and greatest of so many stretches.
const STRETCHES: usize = 1400;
/// Pulls.
const PULL: RGBColor = RGBColor(225, 238, 246);

/// What the sheet shows.
#[derive(Debug, Clone, Copy)]
pub struct ThumpChart<'a> {
    /// The figures.
    pub document: &'a ThumpDocument<'a>,
    /// The curves.
    pub trace: &'a ThumpTrace,
}

/// Writes the chart sheet as SVG, or as PNG where the name ends in `.png`.
///
/// # Errors
/// [`Error::File`](crate::Error::File); nothing unfinished is left behind.
pub fn write_thump_chart(chart: &ThumpChart, out: &OutFile) -> Result<()> {
    sheet::write(chart, out)
}

/// The chart sheet as SVG text.
///
/// # Errors
/// [`Error::File`](crate::Error::File) where it cannot be drawn.
pub fn thump_chart_svg(chart: &ThumpChart) -> Result<String> {
    sheet::svg(chart)
}

impl Sheet for ThumpChart<'_> {
    fn heading(&self) -> Heading {
        let recording = self.document.recording;
        Heading {
            title: recording.file.clone(),
            under: recording_line(recording),
            lines: thump_lines(self.document),
        }
    }

    fn panels_px(&self) -> u32 {
        4 * PANEL_PX
    }

    fn draw_panels<DB: DrawingBackend>(&self, area: &Area<DB>) -> Drawn {
        let panels = area.split_evenly((4, 1));
        if let [time, spectrum, rate, bands] = &panels[..] {
            over_time(self, time)?;
            spectrum_panel(self, spectrum)?;
            rate_panel(self, rate)?;
            bands_panel(self, bands)?;
        }
        Ok(())
    }
}

fn unit(chart: &ThumpChart) -> &'static str {
    match chart.document.thump.unit {
        Unit::MetresPerSecond2 => "m/s²",
        Unit::FullScale => "part of full scale",
        Unit::Unknown => "unit not known",
    }
}

/// Decimals for an axis that reaches to `most`.
fn digits(most: f64) -> usize {
    (1.0 - most.max(1e-9).log10().floor()).clamp(0.0, 8.0) as usize
}

fn over_time<DB: DrawingBackend>(chart: &ThumpChart, area: &Area<DB>) -> Drawn {
    let (trace, thump) = (chart.trace, chart.document.thump);
    let [t0, t1] = paint::span(trace.t_s.iter().copied(), 0.0, 1.0);
    let [lo, hi] = paint::span(trace.values.iter().map(|v| f64::from(*v)), 0.08, 1e-6);
    let mut plot = paint::plot(
        area,
        "What the rod tip feels: pulls on blue, gusts on yellow",
        t0..t1,
        lo..hi,
    )?;
    let block = |from: f64, to: f64, colour: RGBColor| {
        Rectangle::new([(from, lo), (to, hi)], colour.filled())
    };
    let pulls = thump
        .parts
        .iter()
        .filter(|p| p.pull)
        .map(|p| block(p.from_s, p.to_s, PULL));
    plot.draw_series(pulls).map_err(told)?;
    let width = (t1 - t0) / 400.0;
    let gusts = thump
        .gusts
        .iter()
        .map(|g| block(g.from_s, g.to_s.max(g.from_s + width), paint::DART));
    plot.draw_series(gusts).map_err(told)?;
    let places = digits(hi - lo);
    paint::axes(&mut plot, ("time, s", 1), (unit(chart), places))?;
    let points: Vec<(f64, f64)> = trace
        .t_s
        .iter()
        .copied()
        .zip(trace.values.iter().map(|v| f64::from(*v)))
        .collect();
    for part in paint::unbroken(&trace.t_s, &points) {
        plot.draw_series(LineSeries::new(thinned(part), paint::SEEN.stroke_width(1)))
            .map_err(told)?;
    }
    Ok(())
}

/// The least and the greatest value of each of some 1400 stretches, so that no peak is lost.
fn thinned(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    if points.len() <= 2 * STRETCHES {
        return points.to_vec();
    }
    let by_value = |a: &&(f64, f64), b: &&(f64, f64)| a.1.total_cmp(&b.1);
    let ends = |part: &[(f64, f64)]| {
        let ends = [part.iter().min_by(by_value), part.iter().max_by(by_value)];
        let mut ends: Vec<(f64, f64)> = ends.into_iter().flatten().copied().collect();
        ends.sort_by(|a, b| a.0.total_cmp(&b.0));
        ends
    };
    points
        .chunks(points.len().div_ceil(STRETCHES))
        .flat_map(ends)
        .collect()
}

fn spectrum_panel<DB: DrawingBackend>(chart: &ThumpChart, area: &Area<DB>) -> Drawn {
    let thump = chart.document.thump;
    let last = shown_to_hz(chart);
    let curve: Vec<(f64, f64)> = chart
        .trace
        .spectrum
        .iter()
        .copied()
        .filter(|(hz, _)| *hz <= last && *hz > 0.5)
        .collect();
    let highest = curve.iter().map(|c| c.1).fold(0.0, f64::max).max(1e-9);
    let places = digits(highest);
    let mut plot = paint::plot(
        area,
        "Spectrum of the pulls",
        0.0..last,
        0.0..highest * 1.25,
    )?;
    paint::axes(
        &mut plot,
        ("rate, Hz", 0),
        (&format!("{} per root Hz", unit(chart)), places),
    )?;
    plot.draw_series(LineSeries::new(curve, paint::SEEN.stroke_width(2)))
        .map_err(told)?;
    for h in thump.harmonics.iter().filter(|h| h.hz < last) {
        let line = [(h.hz, 0.0), (h.hz, highest * 1.06)];
        plot.draw_series(DashedLineSeries::new(
            line,
            8,
            5,
            paint::FOUND.stroke_width(2),
        ))
        .map_err(told)?;
        let label = match h.number {
            1 => format!("wobble {} Hz", shown(h.hz, decimals(thump.hz.ci95))),
            n => format!("{n} ×"),
        };
        let across = if h.hz > last * 0.75 {
            HPos::Right
        } else {
            HPos::Left
        };
        let style = paint::placed(&paint::FOUND, across, VPos::Bottom);
        plot.draw_series([Text::new(label, (h.hz, highest * 1.08), style)])
            .map_err(told)?;
    }
    Ok(())
}

/// Rates up to the sixth multiple, as far as they are whole.
fn shown_to_hz(chart: &ThumpChart) -> f64 {
    let whole = chart.document.recording.passband_hz.max(1.0);
    match chart.document.thump.hz.value {
        Some(hz) => (6.5 * hz).max(8.0).min(whole),
        None => whole.min(40.0),
    }
}

fn rate_panel<DB: DrawingBackend>(chart: &ThumpChart, area: &Area<DB>) -> Drawn {
    let (thump, spectra) = (chart.document.thump, &chart.trace.over_time);
    let last = shown_to_hz(chart);
    let [t0, t1] = paint::span(chart.trace.t_s.iter().copied(), 0.0, 1.0);
    let mut plot = paint::plot(
        area,
        "Rate over time: dark where it moves, dots where the rate was followed",
        t0..t1,
        0.0..last,
    )?;
    let loudest = spectra
        .density
        .iter()
        .flatten()
        .copied()
        .fold(0.0, f64::max)
        .max(1e-30);
    let step_s = spectra
        .t_s
        .windows(2)
        .map(|w| w[1] - w[0])
        .fold(f64::INFINITY, f64::min)
        .min(t1 - t0);
    let cell = |t: f64, i: usize, density: f64| {
        // 40 dB from white to dark.
        let dark = (1.0 + (density / loudest).max(1e-9).log10() / 4.0).clamp(0.0, 1.0);
        let shade = |full: u8| (255.0 - dark * (255.0 - f64::from(full))) as u8;
        let hz = i as f64 * spectra.step_hz;
        let low = (hz - 0.5 * spectra.step_hz).max(0.0);
        let colour = RGBColor(shade(30), shade(60), shade(90));
        let ends = [
            ((t - 0.5 * step_s).max(t0), low),
            (
                (t + 0.5 * step_s).min(t1),
                (hz + 0.5 * spectra.step_hz).min(last),
            ),
        ];
        (dark > 0.05).then(|| Rectangle::new(ends, colour.filled()))
    };
    let shown_places = (last / spectra.step_hz.max(1e-9)) as usize;
    let cells = spectra
        .t_s
        .iter()
        .zip(&spectra.density)
        .flat_map(|(t, column)| {
            column
                .iter()
                .enumerate()
                .take(shown_places)
                .filter_map(move |(i, d)| cell(*t, i, *d))
        });
    plot.draw_series(cells).map_err(told)?;
    plot.configure_mesh()
        .disable_mesh()
        .axis_style(paint::INK)
        .label_style(paint::letters())
        .x_desc("time, s")
        .y_desc("rate, Hz")
        .x_label_formatter(&|x| shown(*x, 1))
        .y_label_formatter(&|y| shown(*y, 0))
        .draw()
        .map_err(told)?;
    let dots = thump
        .by_second
        .iter()
        .filter(|s| s.hz < last)
        .map(|s| Circle::new((s.t_s, s.hz), 3, paint::FOUND.filled()));
    plot.draw_series(dots).map_err(told)?;
    Ok(())
}

fn bands_panel<DB: DrawingBackend>(chart: &ThumpChart, area: &Area<DB>) -> Drawn {
    let thump = chart.document.thump;
    let level =
        |rms: f64| level_db(rms, thump.unit).unwrap_or_else(|| 20.0 * rms.max(1e-12).log10());
    let bars: Vec<(f64, f64)> = thump
        .bands
        .iter()
        .map(|b| (b.mid_hz, level(b.rms)))
        .collect();
    let [lo, hi] = paint::span(bars.iter().map(|b| b.1), 0.1, 10.0);
    let count = bars.len().max(1) as f64;
    let mut plot = paint::plot(area, "Thirds of an octave", 0.0..count, lo..hi)?;
    let reference = match thump.unit {
        Unit::MetresPerSecond2 => "dB re 1 µm/s²",
        Unit::FullScale => "dB re full scale",
        Unit::Unknown => "dB",
    };
    plot.configure_mesh()
        .disable_x_mesh()
        .disable_x_axis()
        .light_line_style(TRANSPARENT)
        .bold_line_style(paint::GRID)
        .axis_style(paint::INK)
        .label_style(paint::letters())
        .x_desc("midband rate, Hz")
        .y_desc(reference)
        .y_label_formatter(&|y| shown(*y, 0))
        .draw()
        .map_err(told)?;
    for (i, (hz, db)) in bars.iter().enumerate() {
        let x = i as f64;
        plot.draw_series([Rectangle::new(
            [(x + 0.1, lo), (x + 0.9, *db)],
            paint::SEEN.filled(),
        )])
        .map_err(told)?;
        let style = paint::placed(&paint::INK, HPos::Center, VPos::Bottom);
        plot.draw_series([Text::new(shown(*db, 0), (x + 0.5, *db), style)])
            .map_err(told)?;
        let label = octaves::nominal_hz(*hz).to_string();
        let style = paint::placed(&WHITE, HPos::Center, VPos::Bottom);
        plot.draw_series([Text::new(label, (x + 0.5, lo), style)])
            .map_err(told)?;
    }
    Ok(())
}
