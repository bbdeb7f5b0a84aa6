//! How deep the lure runs, how steeply it dives, and how long it takes.
//!
//! | file | from |
//! |---|---|
//! | `side` | a clip from the side with the surface or an upright pole marked: depth over time |
//! | `dive` | that series: running depth, dive angle, time to depth |
//! | `dock` | a camera above the water at a known height, through the surface |

mod dive;
mod dock;
mod side;

use super::analyse::{Path, Swum};
use crate::Measured;
use crate::camera::View;

/// Half-width of the 95 % interval of a length of line let out, as a part: counted by the reel's turns.
const LINE_DOUBT: f64 = 0.03;

/// The lure's depth, as far as the clip shows it.
#[derive(Debug, Clone, PartialEq)]
pub struct Depth {
    /// Whether the user gave anything that could show it.
    pub asked: bool,
    /// Running depth below the surface, mm: where it stays level.
    pub mm: Measured,
    /// The deepest it was seen, mm.
    pub deepest_mm: Measured,
    /// How steeply it dives, degrees below the horizontal, between a tenth and nine tenths of the way down.
    pub dive_deg: Measured,
    /// How long that takes, s.
    pub time_to_depth_s: Measured,
    /// Depth per length of line let out, mm per m.
    pub per_line_mm_m: Measured,
    /// Mean slant of the line below the horizontal, degrees, were it straight and the rod tip at the water.
    pub line_deg: Measured,
}

impl Depth {
    /// None of it, for the reason given.
    pub fn unmeasurable(asked: bool, why: &str) -> Depth {
        let nothing = || Measured::unmeasurable(why);
        Depth {
            asked,
            mm: nothing(),
            deepest_mm: nothing(),
            dive_deg: nothing(),
            time_to_depth_s: nothing(),
            per_line_mm_m: nothing(),
            line_deg: nothing(),
        }
    }

    /// Takes back what of it was measured, for the reason given.
    pub(super) fn withhold(&mut self, why: &str) {
        let figures = [
            &mut self.mm,
            &mut self.deepest_mm,
            &mut self.dive_deg,
            &mut self.time_to_depth_s,
            &mut self.per_line_mm_m,
            &mut self.line_deg,
        ];
        for figure in figures.into_iter().filter(|figure| figure.is_measured()) {
            *figure = Measured::unmeasurable(why);
        }
    }
}

impl Swum<'_> {
    /// The depth. `mm_per_px` is the scale at the lure; `None` for `path` where it was seen too briefly.
    pub(super) fn depth(&self, path: Option<&Path>, mm_per_px: Option<f64>) -> Depth {
        let marks = &self.setup.marks;
        let asked = marks.surface.is_some()
            || marks.camera_height_mm.is_some()
            || marks.line_out_mm.is_some();
        let Some(path) = path else {
            return Depth::unmeasurable(asked, "the lure was seen too briefly");
        };
        let depth = match (self.setup.view, marks.surface) {
            (View::Side, Some(mark)) => match side::depths(self, mark, mm_per_px) {
                Ok(depths) => dive::depth(&depths),
                Err(why) => Depth::unmeasurable(asked, &why),
            },
            (View::Side, None) => Depth::unmeasurable(
                asked,
                "the surface was not marked: give --surface or --pole",
            ),
            (_, Some(_)) => Depth::unmeasurable(
                asked,
                "the surface and a pole show depth only from the side; film from the side, or give --camera-height",
            ),
            (_, None) => Depth {
                mm: dock::depth(self, path, mm_per_px),
                ..Depth::unmeasurable(asked, "only a clip from the side shows the dive")
            },
        };
        match marks.line_out_mm {
            Some(line_mm) => against_line(depth, line_mm),
            None => against_no_line(depth),
        }
    }
}

/// Depth held against the line let out.
fn against_line(depth: Depth, line_mm: f64) -> Depth {
    let (Some(mm), Some([low, high])) = (depth.mm.value, depth.mm.ci95) else {
        return depth;
    };
    let share = mm / line_mm;
    if low > line_mm {
        let why = "the lure ran deeper than the line let out is long: look at both";
        return Depth {
            per_line_mm_m: Measured::unmeasurable(why),
            line_deg: Measured::unmeasurable(why),
            ..depth
        };
    }
    let below = (1.0 - low / mm).hypot(LINE_DOUBT);
    let above = (high / mm - 1.0).hypot(LINE_DOUBT);
    let ends = [share * (1.0 - below), share * (1.0 + above)];
    let slant = |part: f64| part.clamp(0.0, 1.0).asin().to_degrees();
    Depth {
        per_line_mm_m: Measured::new(share, ends).scaled(1000.0),
        line_deg: Measured::new(slant(share), ends.map(slant))
            .because("as if the line were straight and the rod tip at the water"),
        ..depth
    }
}

fn against_no_line(depth: Depth) -> Depth {
    let why = "the line let out was not given: --line-out";
    Depth {
        per_line_mm_m: Measured::unmeasurable(why),
        line_deg: Measured::unmeasurable(why),
        ..depth
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn at(mm: f64, half: f64) -> Depth {
        Depth {
            mm: Measured::within(mm, half),
            ..Depth::unmeasurable(true, "")
        }
    }

    /// A straight line of 10 m to 2.5 m deep slants by asin 0.25 = 14.478° (closed form).
    #[test]
    fn depth_per_line() {
        let depth = against_line(at(2500.0, 0.0), 10_000.0);
        assert_abs_diff_eq!(depth.per_line_mm_m.value.unwrap(), 250.0, epsilon = 1e-9);
        assert_abs_diff_eq!(depth.line_deg.value.unwrap(), 14.478, epsilon = 1e-3);
        let [low, high] = depth.per_line_mm_m.ci95.unwrap();
        assert_abs_diff_eq!(high - low, 2.0 * 7.5, epsilon = 1e-9);
    }

    #[test]
    fn deeper_than_the_line_is_long() {
        let depth = against_line(at(12_000.0, 500.0), 10_000.0);
        assert!(!depth.line_deg.is_measured() && depth.mm.is_measured());
    }
}
