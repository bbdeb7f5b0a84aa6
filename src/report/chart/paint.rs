//! Colours, letters and small helpers shared by the panels.
//!
//! The colours are from the set of Okabe and Ito (2008, "Color universal design"), which people of
//! any colour vision can tell apart; no meaning rests on colour alone.

use std::ops::Range;
use std::sync::OnceLock;

use plotters::coord::Shift;
use plotters::coord::types::RangedCoordf64;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

use crate::report::numbers::shown;

/// What was seen.
pub const SEEN: RGBColor = RGBColor(0, 114, 178);
/// What was fitted or found.
pub const FOUND: RGBColor = RGBColor(213, 94, 0);
/// Darts.
pub const DART: RGBColor = RGBColor(230, 159, 0);
/// Letters.
pub const INK: RGBColor = RGBColor(40, 40, 40);
/// Grid.
pub const GRID: RGBColor = RGBColor(222, 222, 222);

/// Size of letters, px.
pub const LETTER_PX: f64 = 16.0;
/// Mean width of a letter at [`LETTER_PX`], px (DejaVu Sans), to keep labels apart.
pub const LETTER_WIDTH_PX: f64 = 8.6;
/// Area kept for the labels of the upright axis, px.
pub const LEFT_PX: u32 = 96;
/// Area kept for the labels of the level axis, px.
pub const BELOW_PX: u32 = 54;
/// Margin of a panel, px.
pub const MARGIN_PX: u32 = 14;

const FAMILY: &str = "sans-serif";
static FONT: &[u8] = include_bytes!("../font/DejaVuSans-subset.ttf");

/// Makes the bundled letters known to the plotting library, once.
pub fn register_font() -> Result<(), String> {
    static DONE: OnceLock<bool> = OnceLock::new();
    let done = DONE
        .get_or_init(|| plotters::style::register_font(FAMILY, FontStyle::Normal, FONT).is_ok());
    done.then_some(())
        .ok_or_else(|| "the bundled letters cannot be read".into())
}

/// Any drawing error as its message.
pub fn told(e: impl std::fmt::Display) -> String {
    e.to_string()
}

/// A plot of two numbers.
pub type Plot<'a, DB> = ChartContext<'a, DB, Cartesian2d<RangedCoordf64, RangedCoordf64>>;

/// A plot that fills `area` under its `caption`.
pub fn plot<'a, DB: DrawingBackend>(
    area: &'a DrawingArea<DB, Shift>,
    caption: &str,
    x: Range<f64>,
    y: Range<f64>,
) -> Result<Plot<'a, DB>, String> {
    ChartBuilder::on(area)
        .margin(MARGIN_PX)
        .caption(caption, title())
        .x_label_area_size(BELOW_PX)
        .y_label_area_size(LEFT_PX)
        .build_cartesian_2d(x, y)
        .map_err(told)
}

/// Draws grid and axes; `x` and `y` hold what is written beside an axis and its decimals.
pub fn axes<DB: DrawingBackend>(
    plot: &mut Plot<DB>,
    x: (&str, usize),
    y: (&str, usize),
) -> Result<(), String> {
    plot.configure_mesh()
        .light_line_style(TRANSPARENT)
        .bold_line_style(GRID)
        .axis_style(INK)
        .label_style(letters())
        .x_desc(x.0)
        .y_desc(y.0)
        .x_label_formatter(&|v| shown(*v, x.1))
        .y_label_formatter(&|v| shown(*v, y.1))
        .draw()
        .map_err(told)
}

/// Letters of the usual size.
pub fn letters<'a>() -> TextStyle<'a> {
    (FAMILY, LETTER_PX).into_font().color(&INK)
}

/// Letters of a panel's title.
pub fn title<'a>() -> TextStyle<'a> {
    (FAMILY, 20.0).into_font().color(&INK)
}

/// Letters in `colour`, placed about their point.
pub fn placed<'a>(colour: &RGBColor, across: HPos, upright: VPos) -> TextStyle<'a> {
    (FAMILY, LETTER_PX)
        .into_font()
        .color(colour)
        .pos(Pos::new(across, upright))
}

/// Rows for labels centred at `centres` and `widths` wide, so that labels in one row stay apart.
pub fn rows(centres: &[f64], widths: &[f64]) -> Vec<usize> {
    let mut ends: Vec<f64> = Vec::new();
    centres
        .iter()
        .zip(widths)
        .map(|(centre, width)| {
            let (start, end) = (centre - width / 2.0, centre + width / 2.0);
            let row = ends
                .iter()
                .position(|last| *last < start)
                .unwrap_or(ends.len());
            match ends.get_mut(row) {
                Some(last) => *last = end,
                None => ends.push(end),
            }
            row
        })
        .collect()
}

/// Stretches of consecutive points without a gap of more than three usual steps.
pub fn unbroken<'a>(t: &[f64], points: &'a [(f64, f64)]) -> Vec<&'a [(f64, f64)]> {
    let mut steps: Vec<f64> = t.windows(2).map(|w| w[1] - w[0]).collect();
    steps.sort_by(f64::total_cmp);
    let usual = steps.get(steps.len() / 2).copied().unwrap_or(f64::INFINITY);
    let mut parts = Vec::new();
    let mut start = 0;
    for i in 1..=points.len() {
        if i == points.len() || t[i] - t[i - 1] > 3.0 * usual {
            parts.push(&points[start..i]);
            start = i;
        }
    }
    parts
}

/// Least and greatest of finite values, with a share of room on both sides; at least `least` wide.
pub fn span(values: impl Iterator<Item = f64>, room: f64, least: f64) -> [f64; 2] {
    let [lo, hi] = values
        .filter(|v| v.is_finite())
        .fold([f64::INFINITY, f64::NEG_INFINITY], |[lo, hi], v| {
            [lo.min(v), hi.max(v)]
        });
    if lo > hi {
        return [-least / 2.0, least / 2.0];
    }
    let (middle, half) = ((lo + hi) / 2.0, ((hi - lo) * (0.5 + room)).max(least / 2.0));
    [middle - half, middle + half]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_that_would_overlap_go_to_the_next_row() {
        assert_eq!(rows(&[0.0, 5.0, 12.0], &[10.0; 3]), [0, 1, 0]);
    }

    #[test]
    fn a_gap_breaks_the_line() {
        let t = [0.0, 1.0, 2.0, 9.0, 10.0];
        let points = t.map(|t| (t, 0.0));
        assert_eq!(
            unbroken(&t, &points)
                .iter()
                .map(|p| p.len())
                .collect::<Vec<_>>(),
            [3, 2]
        );
    }

    #[test]
    fn the_span_of_nothing_is_still_a_span() {
        assert_eq!(span([].into_iter(), 0.1, 2.0), [-1.0, 1.0]);
        assert_eq!(span([3.0, 3.0].into_iter(), 0.1, 2.0), [2.0, 4.0]);
    }

    #[test]
    fn the_bundled_letters_can_be_read() {
        assert_eq!(register_font(), Ok(()));
    }
}
