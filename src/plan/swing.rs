//! How small a wobble shows, and how noisy a frame's reading of it is.

use super::rate_time::STANDS_OUT;
use super::shutter::left_by;
use super::{Picture, Shoot, Stand};
use crate::camera::View;
use crate::motion::wobble::{LEAST_SHORTENING, least_swing_deg};

/// Noise of the axis per frame times the body's pixels, px·rad, from above. White noise as strong as
/// roll, ripples and outlines are around the wobble: with it the plan foretells the intervals that `swim`
/// gives on rendered clips (tests/plan/clips.rs). From frame to frame it is only a third of it.
const AXIS_NOISE_PX: f64 = 1.9;
/// The same from behind and ahead, of the foreshortened body.
const AXIS_NOISE_PX_FORESHORTENED: f64 = 5.0;
/// The same of the length from the side, px.
const LENGTH_NOISE_PX: f64 = 1.2;
/// A usual clip's length, s, over which a weak wobble would have to stand out.
const USUAL_S: f64 = 10.0;

/// How small a wobble shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Swing {
    /// Smallest width that counts as a wobble, degrees to each side.
    pub least_deg: f64,
    /// Whether it is as it looks, for want of a tilt, rather than the lure's own.
    pub apparent: bool,
    /// Noise of one frame's reading over the amplitude of the expected wobble in it.
    pub noise: f64,
}

impl Swing {
    /// For the shoot at `fps` frames a second.
    pub fn of(shoot: &Shoot, stand: &Stand, picture: &Picture, fps: f64) -> Swing {
        let frames = (USUAL_S * fps).max(2.0);
        let needed = 2.0 * (STANDS_OUT / frames).sqrt();
        let look = Look {
            view: shoot.view,
            sin: stand.tilt_deg.value.to_radians().sin(),
            body_px: picture.body_px,
        };
        let amplitude = look.amplitude(shoot.width_deg.value);
        let blurred = left_by(shoot.rate_hz.value / fps);
        let in_noise_deg = look.width(needed * look.noise() / blurred.max(0.1));
        let in_ripples_deg = match shoot.view {
            View::Side => look.width(LEAST_SHORTENING * picture.body_px),
            _ => look.width(least_swing_deg(shoot.rate_hz.value)),
        };
        Swing {
            least_deg: in_noise_deg.max(in_ripples_deg),
            apparent: matches!(shoot.view, View::Behind | View::Ahead) && !stand.tilt_deg.told,
            noise: look.noise() / amplitude,
        }
    }
}

/// How a width shows in the picture: as a swing of the axis in degrees, or from the side as a
/// shortening in px that beats twice a wobble.
struct Look {
    view: View,
    sin: f64,
    body_px: f64,
}

impl Look {
    /// Amplitude that shows of a width in degrees.
    fn amplitude(&self, width_deg: f64) -> f64 {
        let width = width_deg.to_radians();
        match self.view {
            View::Above => width_deg,
            View::Behind | View::Ahead => (width.tan() / self.sin).atan().to_degrees(),
            View::Side => self.body_px * (1.0 - width.cos()) / 2.0,
        }
    }

    /// The width of which `amplitude` shows, degrees: the inverse.
    fn width(&self, amplitude: f64) -> f64 {
        match self.view {
            View::Above => amplitude,
            View::Behind | View::Ahead => (amplitude.min(89.0).to_radians().tan() * self.sin)
                .atan()
                .to_degrees(),
            View::Side => (1.0 - 2.0 * amplitude / self.body_px)
                .clamp(0.0, 1.0)
                .acos()
                .to_degrees(),
        }
    }

    /// Noise of one frame, in the unit of the amplitude.
    fn noise(&self) -> f64 {
        match self.view {
            View::Above => (AXIS_NOISE_PX / self.body_px).to_degrees(),
            View::Behind | View::Ahead => (AXIS_NOISE_PX_FORESHORTENED / self.body_px).to_degrees(),
            View::Side => LENGTH_NOISE_PX,
        }
    }
}
