//! The steady run to one side.

use super::Drift;
use super::analyse::{Path, Swum};
use super::pull::PullSource;
use super::trend::Trend;
use crate::Measured;
use crate::camera::View;

impl Swum<'_> {
    /// The steady run to one side. Its interval joins the path's wandering, the pull direction and
    /// whatever the geometry leaves open.
    pub(super) fn drift(&self, path: &Path) -> Drift {
        let without = |why: &str| Drift {
            deg: Measured::unmeasurable(why),
            mm_per_m: None,
        };
        match (self.setup.view, self.pull.source) {
            (View::Side, _) => return without("sideways motion does not show from the side"),
            (_, PullSource::Path | PullSource::View) => {
                return without(
                    "the pull direction is not known; give --pull or let the line show",
                );
            }
            _ => {}
        }
        let way = &path.way;
        let Some(trend) = Trend::new(&self.series.t_s, &way.forward, &way.sideways, &path.keep)
        else {
            return without("the path outside darts is too short");
        };
        let tangent = trend.line.slope;
        let open = path.ground.drift();
        let pull_sd = (self.pull.sd_deg * self.pull_stretch(path)).to_radians();
        let course = self.track.doubts.course_deg.to_radians();
        let random = (trend.t95 * trend.slope_se)
            .hypot(1.96 * pull_sd)
            .hypot(1.96 * self.course_sd(path))
            .hypot(course);
        let low = tangent - random.hypot(1.96 * open.below);
        let high = tangent + random.hypot(1.96 * open.above);
        let deg = |t: f64| t.atan().to_degrees();
        Drift {
            deg: Measured::new(deg(tangent), [deg(low), deg(high)]),
            mm_per_m: Some(1000.0 * tangent),
        }
    }

    /// How far the background's own errors may turn the way over ground, as a tangent (one standard deviation).
    fn course_sd(&self, path: &Path) -> f64 {
        let ways = &self.series.forward_px;
        let (Some(first), Some(last)) = (ways.first(), ways.last()) else {
            return 0.0;
        };
        self.course_off_px(path) / (last - first).abs().max(1.0)
    }

    /// How far aside those errors may carry the end of the way, px (one standard deviation).
    pub(super) fn course_off_px(&self, path: &Path) -> f64 {
        let [x, y] = path.course_sd_px;
        let frame = &self.pull.frame;
        frame.sideways([x, 0.0]).hypot(frame.sideways([0.0, y]))
    }

    /// By how much an error of the pull's image angle grows on the plane: foreshortening turns a small
    /// image angle about the up direction into a smaller one, one about the level into a larger.
    fn pull_stretch(&self, path: &Path) -> f64 {
        let sin = path
            .ground
            .tilt_deg()
            .middle
            .to_radians()
            .sin()
            .abs()
            .max(0.1);
        let up = self.pull.frame.pull_deg.to_radians().cos().powi(2);
        sin / (up + (1.0 - up) * sin * sin).max(sin * sin)
    }
}
