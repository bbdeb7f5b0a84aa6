//! The track in the lure's own signs: what every measure of motion starts from.

/// The seen frames of a track in the lure's own signs. All vectors have one length and rise in time.
///
/// Lengths are picture px at the lure; `+` sideways is to its own right, `+` forward along the pull.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Series {
    /// Time stamp, s.
    pub t_s: Vec<f64>,
    /// Axis against the pull, + nose to own right, in (−90, 90]; as it looks in the picture
    /// (apparent), degrees. In `side`: + nose down.
    pub axis_deg: Vec<f64>,
    /// Middle of the body against the steadied background, across the pull, px. With a camera that
    /// moves along this is the way over the bottom, in px of the bottom.
    pub sideways_px: Vec<f64>,
    /// The same along the pull, px.
    pub forward_px: Vec<f64>,
    /// Middle of the body in the picture as filmed (shake is in it, background error is not), across
    /// the pull, px.
    pub picture_sideways_px: Vec<f64>,
    /// The same along the pull, px.
    pub picture_forward_px: Vec<f64>,
    /// Middle of the body in the picture, `[x, y]`, px.
    pub place_px: Vec<[f64; 2]>,
    /// Apparent length of the body from nose to tail, px.
    pub length_px: Vec<f64>,
    /// Apparent greatest width of the body, px.
    pub width_px: Vec<f64>,
    /// Mean brightness of the body, 0–1.
    pub brightness: Vec<f64>,
    /// How far the measurement can be trusted, 0–1.
    pub confidence: Vec<f64>,
}
