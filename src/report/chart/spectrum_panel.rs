//! How much it swings at each rate, with the found rate marked.

use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::paint::{self, told};
use super::{Area, Chart, Drawn};
use crate::Status;
use crate::camera::View;
use crate::report::numbers::{decimals, shown};

/// Draws the panel.
pub fn draw<DB: DrawingBackend>(chart: &Chart, area: &Area<DB>) -> Drawn {
    let spectrum = &chart.trace.spectrum;
    let last = spectrum.last().map_or(1.0, |(hz, _)| *hz);
    let highest = spectrum
        .iter()
        .map(|(_, amplitude)| *amplitude)
        .fold(0.0, f64::max)
        .max(1e-3);
    let top = highest * 1.22;
    let mut plot = paint::plot(
        area,
        "Spectrum: how much it swings at each rate",
        0.0..last,
        0.0..top,
    )?;
    let unit = if chart.document.setup.view == View::Side {
        "%"
    } else {
        "°"
    };
    let digits = if highest < 4.0 { 1 } else { 0 };
    paint::axes(
        &mut plot,
        ("rate, Hz", 1),
        (&format!("size to each side, {unit}"), digits),
    )?;
    plot.draw_series(LineSeries::new(
        spectrum.iter().copied(),
        paint::SEEN.stroke_width(2),
    ))
    .map_err(told)?;
    for (hz, label) in marks(chart)
        .into_iter()
        .filter(|(hz, _)| (0.0..last).contains(hz))
    {
        let line = [(hz, 0.0), (hz, highest * 1.05)];
        plot.draw_series(DashedLineSeries::new(
            line,
            8,
            5,
            paint::FOUND.stroke_width(2),
        ))
        .map_err(told)?;
        let across = if hz > last * 0.75 {
            HPos::Right
        } else {
            HPos::Left
        };
        let style = paint::placed(&paint::FOUND, across, VPos::Bottom);
        plot.draw_series([Text::new(label, (hz, highest * 1.07), style)])
            .map_err(told)?;
    }
    Ok(())
}

/// Where to mark what: the found rate; its double where the view beats twice a cycle; or each rate
/// that an aliased one could be.
fn marks(chart: &Chart) -> Vec<(f64, String)> {
    let wobble = &chart.document.swim.wobble;
    match (wobble.hz.status, wobble.hz.value) {
        (Status::Measured, Some(hz)) => {
            let label = format!("wobble {} Hz", shown(hz, decimals(wobble.hz.ci95)));
            let beat = (chart.document.setup.view == View::Side)
                .then(|| (2.0 * hz, "twice: seen from the side".to_string()));
            [(hz, label)].into_iter().chain(beat).collect()
        }
        (Status::Aliased, _) => wobble
            .alias_candidates_hz
            .iter()
            .map(|hz| (*hz, format!("{} Hz?", shown(*hz, 2))))
            .collect(),
        _ => Vec::new(),
    }
}
