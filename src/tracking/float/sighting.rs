//! What the pictures gave: the water's line and the lure's outline, in px of the picture.

/// The line in which the water's surface is seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaterLine {
    /// A point of it, px.
    pub at_px: [f64; 2],
    /// How far it is turned clockwise from the picture's level, degrees.
    pub turn_deg: f64,
    /// Standard deviations of its height at that point, px, and of its turn, degrees.
    pub sd_px: f64,
    /// See `sd_px`.
    pub sd_turn_deg: f64,
    /// How thick it looks (meniscus, edge at the glass), px.
    pub band_px: f64,
    /// How far single places lie off it (ripples), standard deviation, px.
    pub waves_px: f64,
}

impl WaterLine {
    /// How far a picture point lies under the line, px (negative: over it).
    pub fn under_px(&self, [x, y]: [f64; 2]) -> f64 {
        let (sin, cos) = self.turn_deg.to_radians().sin_cos();
        (y - self.at_px[1]) * cos - (x - self.at_px[0]) * sin
    }
}

/// A cut through the outline at right angles to its axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slice {
    /// Along the axis from the outline's middle, px.
    pub u_px: f64,
    /// Edges across, px: to the right of the axis' direction is positive.
    pub edges_px: [f64; 2],
}

/// The lure's outline.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// A point of the axis, midway between the ends, px.
    pub middle_px: [f64; 2],
    /// Direction of the axis, degrees clockwise from image-up: from the side toward the end on the right of
    /// the picture (near 90), from an end toward the back (near 0).
    pub axis_deg: f64,
    /// Its standard deviation, degrees.
    pub axis_sd_deg: f64,
    /// Length along the axis and its standard deviation, px.
    pub length_px: [f64; 2],
    /// Cuts, from one end to the other.
    pub slices: Vec<Slice>,
    /// From the side: length over height. From an end: how plainly the outline shows its upright: 1 not at all,
    /// as a round one, more the plainer.
    pub longer: f64,
    /// How much fuller the half on the right of the picture is: −1 to 1 (from the side).
    pub fuller_right: f64,
}

impl Outline {
    /// Unit vector of the axis in the picture (x right, y down).
    pub fn forward(&self) -> [f64; 2] {
        let (sin, cos) = self.axis_deg.to_radians().sin_cos();
        [sin, -cos]
    }

    /// Picture point `u` px along the axis from the middle and `v` px to the right of its direction.
    pub fn point(&self, u: f64, v: f64) -> [f64; 2] {
        let [fx, fy] = self.forward();
        [
            self.middle_px[0] + u * fx - v * fy,
            self.middle_px[1] + u * fy + v * fx,
        ]
    }
}

/// One frame.
#[derive(Debug, Clone, PartialEq)]
pub struct FloatFrame {
    /// Number in the clip, from 0.
    pub frame: usize,
    /// When, s.
    pub t_s: f64,
    /// The water's line.
    pub water: Option<WaterLine>,
    /// The lure, where it was seen whole.
    pub outline: Option<Outline>,
}

/// Why there is nothing to measure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Missing {
    /// No water surface.
    Water,
    /// No lure.
    Lure,
    /// The lure reaches out of the picture.
    CutByFrame,
}

/// A photo or a clip, frame by frame.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FloatTrack {
    /// Picture, px.
    pub width: u32,
    /// Picture, px.
    pub height: u32,
    /// The frames; a photo has one.
    pub frames: Vec<FloatFrame>,
    /// Why there is nothing, where there is nothing.
    pub missing: Option<Missing>,
}
