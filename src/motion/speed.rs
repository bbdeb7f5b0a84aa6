//! Speed along the pull, and the Strouhal number.

use super::analyse::{Path, Swum};
use super::ground::Spread;
use super::trend::Trend;
use crate::Measured;
use crate::camera::View;

impl Swum<'_> {
    /// Mean speed along the pull over the time the lure was seen.
    pub(super) fn speed(&self, path: &Path) -> Measured {
        if let Some(given) = self.setup.speed_m_s {
            return Measured::within(given, 0.05 * given).because("as given");
        }
        let Some(length) = self.setup.body_mm() else {
            return Measured::unmeasurable(
                "no scale: give the body length with --length, or a --ruler",
            );
        };
        if path.travels && self.setup.view == View::Side {
            return Measured::unmeasurable(
                "the camera moved along, and from the side what slides by may lie at any distance; give --speed",
            );
        }
        let way = &path.way;
        let Some(trend) = Trend::new(&self.series.t_s, &self.series.t_s, &way.forward, &path.keep)
        else {
            return Measured::unmeasurable("the path outside darts is too short");
        };
        let pace = trend.line.slope;
        let open = path.ground.pace();
        // A mean over the time it was seen: only the ends' places and the body's length enter.
        let ends = 1.96 * 2.0 * trend.scatter / self.series.duration_s();
        let scale = self.setup.scale_doubt(self.track.doubts.ends) * pace;
        let random = ends.hypot(1.96 * 0.015 * pace).hypot(scale);
        let to_m_s = length / 1000.0;
        let low = (pace - random.hypot(1.96 * open.below)).max(0.0);
        let speed =
            Measured::new(pace, [low, pace + random.hypot(1.96 * open.above)]).scaled(to_m_s);
        if pace <= 0.0 {
            return Measured::unmeasurable("no way forward along the pull was seen");
        }
        if path.travels {
            return speed.because("rests on how deep the bottom lies below the lure");
        }
        speed
    }
}

/// Strouhal number f·A/U with A the tail sweep.
pub(super) fn strouhal(hz: &Measured, sweep_mm: &Measured, speed: &Measured) -> Measured {
    let (Some(f), Some(a), Some(u)) = (part(hz), part(sweep_mm), part(speed)) else {
        return Measured::unmeasurable("needs rate, tail sweep and speed");
    };
    let value = f.middle * a.middle / 1000.0 / u.middle;
    let low = f.below.hypot(a.below).hypot(u.above);
    let high = f.above.hypot(a.above).hypot(u.below);
    Measured::new(value, [value * (-low).exp(), value * high.exp()])
}

/// A positive measured figure with its relative reach down and up (ln); `None` without a value.
fn part(m: &Measured) -> Option<Spread> {
    let (value, [low, high]) = (m.value?, m.ci95?);
    (m.is_measured() && value > 0.0 && low > 0.0).then(|| Spread {
        middle: value,
        below: (value / low).ln(),
        above: (high / value).ln(),
    })
}
