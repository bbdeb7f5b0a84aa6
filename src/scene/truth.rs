//! What is really in a clip: per frame and for the whole, written beside it as JSON.
//!
//! Signs: yaw + nose to own right, roll + own right side down, pitch + nose down, sideways + own right.
//! Angles in the picture are clockwise from image-up. Places are px, the centre of the top-left pixel at
//! (0.5, 0.5).

use serde::Serialize;

/// The truth of one frame.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FrameTruth {
    /// Time stamp: the middle of the exposure, s of real time.
    pub t: f64,
    /// Whether the middle of the lure's body is in the picture.
    pub visible: bool,
    /// The lure, where there is one.
    #[serde(flatten)]
    pub lure: Option<LureTruth>,
}

/// The lure in one frame.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LureTruth {
    /// Middle of the body as seen, x.
    pub cx: f64,
    /// Middle of the body as seen, y.
    pub cy: f64,
    /// The same through flat water, x.
    pub cx_flat: f64,
    /// The same through flat water, y.
    pub cy_flat: f64,
    /// Front end of the body.
    pub nose: [f64; 2],
    /// Rear end of the body.
    pub tail: [f64; 2],
    /// The pivot.
    pub pivot: [f64; 2],
    /// Direction from tail to nose, degrees.
    pub axis_img_deg: f64,
    /// Direction of the pull, degrees.
    pub retr_img_deg: f64,
    /// Direction of the path against the pull, degrees.
    pub heading_deg: f64,
    /// Yaw against the heading, degrees.
    pub yaw_deg: f64,
    /// Roll, degrees.
    pub roll_deg: f64,
    /// Pitch, degrees.
    pub pitch_deg: f64,
    /// Place of the pivot across the pull, mm.
    pub lat_mm: f64,
    /// Place of the pivot along the pull, mm.
    pub along_mm: f64,
    /// Box around the body's corners: left, top, right, bottom.
    pub bbox: [f64; 4],
    /// Box around body, lip and hooks.
    pub bbox_all: [f64; 4],
    /// Box around the pixels that the lure covers by a quarter or more: left, top, and one past the
    /// last column and row. `None` where the frame was not drawn or the lure is out of the picture.
    pub mask_bbox: Option<[usize; 4]>,
    /// Centroid of the cover of body, lip and hooks.
    pub mask_centroid: Option<[f64; 2]>,
    /// Whether a leaf hides more than half of the lure.
    pub occluded: bool,
    /// Scale at the middle of the body, across the line of sight; `None` where it is not visible.
    pub mm_per_px: Option<f64>,
    /// Sum of the cover, px.
    pub alpha_px: f64,
}

/// A dart as it is in the truth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HuntTruth {
    /// When it begins, s.
    pub t_start: f64,
    /// When it is farthest out, s.
    pub t_peak: f64,
    /// When it is back, s.
    pub t_end: f64,
    /// `right` or `left` in the lure's own frame.
    pub side: &'static str,
    /// How far, mm.
    pub displacement_mm: f64,
}

/// A blow-out as it is in the truth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BlowOutTruth {
    /// When it begins, s.
    pub t: f64,
    /// `right` or `left` in the lure's own frame; `None` when it only rolls over.
    pub side: Option<&'static str>,
}

/// The camera as it is in the truth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CameraTruth {
    /// Field of view along the picture's long side, degrees.
    pub hfov_deg_long_side: f64,
    /// Focal length, px.
    pub f_px: f64,
    /// `still`, `tow` or `turn`.
    pub follow: &'static str,
    /// How far the camera's axis points below the horizontal, degrees (median over the clip).
    pub tilt_deg: f64,
    /// How far the line of sight to the lure points down where it meets it, degrees (median); differs
    /// from the tilt where it is bent at the surface.
    pub sight_down_deg: Option<f64>,
    /// The tilt for which tan(turn in the picture) = tan(yaw) / sin(tilt) holds at the lure, degrees
    /// (median); `None` from the side. Through the surface it lies near the camera's own tilt, not near
    /// that of the bent line of sight.
    pub apparent_tilt_deg: Option<f64>,
}

/// The truth of a clip.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClipTruth {
    /// Name.
    pub clip: String,
    /// `above`, `behind`, `ahead` or `side`.
    pub view: &'static str,
    /// Nominal frames per second of real time.
    pub fps_nominal: f64,
    /// Width of the displayed picture, px.
    pub width: usize,
    /// Height of the displayed picture, px.
    pub height: usize,
    /// Number of frames.
    pub n_frames: usize,
    /// By how much a player turns the stored picture clockwise, degrees.
    pub stored_rotation_deg: u16,
    /// Frames per second at which the clip plays, where that is not real time.
    pub play_fps: Option<f64>,
    /// Time stamp of the last frame, s of real time.
    pub duration_s: f64,
    /// Exposure time, s.
    pub exposure_s: f64,
    /// Whether there is a lure.
    pub has_lure: bool,
    /// The camera.
    pub camera: CameraTruth,
    /// One plain sentence.
    pub notes: String,
    /// What the lure does, where there is one.
    #[serde(flatten)]
    pub swim: Option<SwimTruth>,
    /// Each frame.
    pub frames: Vec<FrameTruth>,
}

/// What the lure does over the clip.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SwimTruth {
    /// Body length without lip, mm.
    pub lure_length_mm: f64,
    /// Median scale over the visible frames.
    pub scale_mm_per_px_median: Option<f64>,
    /// Mean wobble rate, by phase, from the first to the last frame (to the blow-out, if any).
    pub wobble_hz: f64,
    /// The same for each second.
    pub wobble_hz_1s: Vec<Option<f64>>,
    /// The same while the lure is in the picture.
    pub wobble_hz_visible: Option<f64>,
    /// Whether the frame rate folds the wobble back, in words.
    pub wobble_alias_note: Option<String>,
    /// Yaw, zero-to-peak, mean over the clip, degrees.
    pub yaw_amp_deg: f64,
    /// The same while the lure is in the picture.
    pub yaw_amp_deg_visible: Option<f64>,
    /// Roll, zero-to-peak, degrees.
    pub roll_amp_deg: f64,
    /// Lag of the roll behind the yaw, degrees of phase.
    pub roll_lag_deg: f64,
    /// Sideways sweep of the tail about the pivot, peak to peak, mm.
    pub tail_sweep_mm: f64,
    /// Drift, degrees.
    pub drift_deg: f64,
    /// Drift, mm sideways per m of pull.
    pub drift_mm_per_m: f64,
    /// Darts.
    pub hunts: Vec<HuntTruth>,
    /// Blow-out, if any.
    pub blow_out: Option<BlowOutTruth>,
    /// Place of the pivot along the body.
    pub pivot_fraction_from_nose: f64,
    /// Speed of the pull, m/s.
    pub tow_speed_m_s: f64,
    /// First and last time at which the lure is in the picture, s.
    pub visible_interval_s: Option<[f64; 2]>,
    /// When a leaf hid it: first and last hidden frame, s.
    pub occlusions_s: Vec<[f64; 2]>,
    /// When the yaw passes through zero, s.
    pub yaw_zero_cross_t: Vec<f64>,
}
