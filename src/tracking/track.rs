//! The product of tracking: one row per frame. Plain numbers, no pixels.

use serde::{Deserialize, Serialize};

/// Whether the lure was seen in a frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum State {
    /// Seen and measured.
    Seen,
    /// Out of sight for a short while (behind a leaf, in glare); it is taken up again later.
    Hidden,
    /// Not found.
    Lost,
}

/// A map of image points, `x' = a·x + b·y + c`, `y' = d·x + e·y + f`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Affine(pub [f64; 6]);

impl Affine {
    /// The map that leaves every point where it is.
    pub const IDENTITY: Affine = Affine([1.0, 0.0, 0.0, 0.0, 1.0, 0.0]);

    /// The point `[x, y]` mapped, px.
    pub fn apply(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let m = &self.0;
        [m[0] * x + m[1] * y + m[2], m[3] * x + m[4] * y + m[5]]
    }

    /// The direction `[dx, dy]` mapped (no shift), px.
    pub fn turn(&self, [dx, dy]: [f64; 2]) -> [f64; 2] {
        let m = &self.0;
        [m[0] * dx + m[1] * dy, m[3] * dx + m[4] * dy]
    }

    /// The map that undoes this one; `None` where it flattens the picture.
    pub fn inverse(&self) -> Option<Affine> {
        let [a, b, c, d, e, f] = self.0;
        let det = a * e - b * d;
        if !det.is_finite() || det.abs() < 1e-12 {
            return None;
        }
        let (ia, ib, id, ie) = (e / det, -b / det, -d / det, a / det);
        Some(Affine([
            ia,
            ib,
            -(ia * c + ib * f),
            id,
            ie,
            -(id * c + ie * f),
        ]))
    }

    /// How far the map turns the picture, degrees clockwise.
    pub fn turn_deg(&self) -> f64 {
        let [a, b, _, d, e, _] = self.0;
        (d - b).atan2(a + e).to_degrees()
    }

    /// The map that does `self` first and then `next`.
    pub fn then(&self, next: &Affine) -> Affine {
        let (m, n) = (&self.0, &next.0);
        Affine([
            n[0] * m[0] + n[1] * m[3],
            n[0] * m[1] + n[1] * m[4],
            n[0] * m[2] + n[1] * m[5] + n[2],
            n[3] * m[0] + n[4] * m[3],
            n[3] * m[1] + n[4] * m[4],
            n[3] * m[2] + n[4] * m[5] + n[5],
        ])
    }
}

/// The lure in one frame. Angles and places are in the displayed picture; NaN where not seen.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TrackFrame {
    /// Number of the frame in the clip, from 0.
    pub frame: usize,
    /// Time stamp, s of real time.
    pub t_s: f64,
    /// Whether the lure was seen.
    pub state: State,
    /// How far the measurement can be trusted, 0–1.
    pub confidence: f64,
    /// Middle of the body (halfway from nose to tail, without lip and hooks), px.
    pub x_px: f64,
    /// See `x_px`.
    pub y_px: f64,
    /// Direction from tail to nose, degrees clockwise from image-up.
    pub axis_deg: f64,
    /// Apparent length of the body from nose to tail, without lip and hooks, px.
    pub length_px: f64,
    /// Apparent greatest width of the body, px.
    pub width_px: f64,
    /// Mean brightness of the body, 0–1: its flashes carry the wobble too.
    pub brightness: f64,
    /// Image angle in which the line leaves the nose, degrees; NaN where no line was made out.
    pub line_deg: f64,
    /// Maps this frame's picture near the lure onto the background as it lay in the first frame.
    /// Identity while the camera stands still.
    pub to_scene: Affine,
}

/// What the tracking itself leaves open beyond the scatter of its rows, as half-widths of 95 % intervals.
/// The default is an exact track.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Doubts {
    /// Swing of the outline over swing of the body: lip, belly and hooks lean out to the side as the lure
    /// rolls, and coded colour lags, so that an outline swings a little less.
    pub swing_ratio: f64,
    /// Of `swing_ratio`.
    pub swing: f64,
    /// How far the outline's ends may lie off the body's nose and tail, in parts of its length: a pale tip
    /// is lost in the water, a lip passes for a nose.
    pub ends: f64,
    /// Whether the background may slide, ripple or be seen in perspective, so that it gives no fixed ground once
    /// the camera is turned or carried.
    pub loose_ground: bool,
    /// How far the direction in which the background slides may be off, degrees: light and ripples move
    /// over it.
    pub course_deg: f64,
    /// Whether the axis is that of an outline, which shows a foreshortened body's thickness as well.
    pub of_outline: bool,
}

/// What a strongly compressed clip may take off the swing, and how far it may turn the way of the background, degrees
/// (half-widths of 95 % intervals).
const STARVED_SWING: f64 = 0.25;
const STARVED_COURSE_DEG: f64 = 2.0;

impl Doubts {
    /// The doubts where the clip was compressed so strongly that fine motion is lost.
    pub fn of_a_starved_clip(self) -> Doubts {
        Doubts {
            swing: self.swing.hypot(STARVED_SWING),
            course_deg: self.course_deg.hypot(STARVED_COURSE_DEG),
            ..self
        }
    }
}

impl Default for Doubts {
    fn default() -> Self {
        Doubts {
            swing_ratio: 1.0,
            swing: 0.0,
            ends: 0.0,
            loose_ground: false,
            course_deg: 0.0,
            of_outline: false,
        }
    }
}

/// The lure through the whole clip.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Track {
    /// Every frame of the clip in order of time.
    pub frames: Vec<TrackFrame>,
    /// Displayed picture width, px.
    pub picture_width_px: f64,
    /// Displayed picture height, px.
    pub picture_height_px: f64,
    /// Whether the background moved through the picture more than shake would.
    pub camera_moves: bool,
    /// What the tracking itself leaves open.
    pub doubts: Doubts,
}

impl TrackFrame {
    /// Whether the lure was seen and measured here.
    pub fn is_seen(&self) -> bool {
        self.state == State::Seen
    }
}

impl Track {
    /// Fraction of the frames in which the lure was seen, 0–1; 0 for an empty track.
    pub fn tracked_fraction(&self) -> f64 {
        if self.frames.is_empty() {
            return 0.0;
        }
        let seen = self.frames.iter().filter(|f| f.is_seen()).count();
        seen as f64 / self.frames.len() as f64
    }
}
