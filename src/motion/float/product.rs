//! The figures of a float test.

use crate::camera::{FloatView, Side};
use crate::tracking::float::Missing;
use crate::{Measured, Warning};

use super::decay::Decay;

/// What the user told about a float test.
#[derive(Debug, Clone, PartialEq)]
pub struct FloatSetup {
    /// From where it is looked at.
    pub view: FloatView,
    /// Body length without lip, mm.
    pub length_mm: Option<f64>,
    /// Where the phone's level lies in the picture, degrees clockwise.
    pub horizon_deg: Option<f64>,
}

/// What the lure's angles were taken against.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LevelFrom {
    /// The water's surface in the picture.
    Water,
    /// The phone's gravity, given by the user.
    Horizon,
}

/// The water's height at a place along the body.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// From the nose, 0 to 1 of the body length.
    pub from_nose: f64,
    /// Water over the axis, at right angles to it, mm; negative where the axis is out of the water.
    pub water_mm: Measured,
}

/// Rocking after a push.
#[derive(Debug, Clone, PartialEq)]
pub struct Rocking {
    /// Time of one full swing, s.
    pub period_s: Measured,
    /// Damping ratio: 0 swings for ever, 1 creeps back without a swing.
    pub damping: Measured,
    /// The fitted decay, for the chart.
    pub fit: Option<Decay>,
}

/// Everything that a float test shows. Angles: +nose down, +own right side down.
#[derive(Debug, Clone, PartialEq)]
pub struct Float {
    /// Whether surface (or horizon) and lure were found.
    pub found: bool,
    /// Why not.
    pub missing: Option<Missing>,
    /// Seen from an end, not from the side.
    pub end_view: bool,
    /// What the level was taken from.
    pub level_from: LevelFrom,
    /// Side of the picture on which the nose lies (from the side), and whether the user said so.
    pub nose: Option<Side>,
    /// See `nose`.
    pub nose_given: bool,
    /// Angle of the axis at rest, degrees, + nose down.
    pub nose_down_deg: Measured,
    /// List at rest, degrees, + own right side down.
    pub list_deg: Measured,
    /// Water over the axis at the nose, mm.
    pub water_over_nose_mm: Measured,
    /// Water over the axis at the tail, mm.
    pub water_over_tail_mm: Measured,
    /// Water over the axis along the body.
    pub waterline: Vec<Station>,
    /// Part of the outline's area that is above water, 0–1.
    pub part_above: Measured,
    /// Part of the volume that is above water, 0–1, if every section of the body has the same shape.
    pub volume_above: Measured,
    /// Part of that volume above water if the body were raised by so many mm (negative: lowered).
    pub raised: Vec<[f64; 2]>,
    /// Volume of a body with this outline whose sections are circles, cm³: one that is `w` times as wide as
    /// high has `w` times as much.
    pub round_volume_cm3: Option<f64>,
    /// Height of the back's highest spot over the water, mm.
    pub freeboard_mm: Measured,
    /// Rocking.
    pub rocking: Rocking,
    /// How fast it rises, mm/s; negative: it sinks.
    pub rise_mm_s: Measured,
    /// Mm per px at the lure.
    pub mm_per_px: Option<f64>,
    /// Part of the frames in which the lure was seen whole, 0–1.
    pub seen_fraction: f64,
    /// What the user should know.
    pub warnings: Vec<Warning>,
}

/// Series and outlines for the chart.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FloatTrace {
    /// Times, s.
    pub t_s: Vec<f64>,
    /// The angle that this view shows against level, degrees, with the sign of its figure.
    pub angle_deg: Vec<f64>,
    /// Height of the body's middle over the water, mm (NaN where unknown).
    pub above_mm: Vec<f64>,
    /// Outline at rest in level coordinates about the body's middle: right, up in px.
    pub outline_px: Vec<[f64; 2]>,
    /// Height of the water over the body's middle, px.
    pub water_px: Option<f64>,
    /// What to draw on the frame of that outline.
    pub marks: Option<Marks>,
}

/// What to draw on one frame, px of the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Marks {
    /// The frame.
    pub frame: usize,
    /// The outline, closed.
    pub outline: Vec<[f64; 2]>,
    /// Ends of the axis; the nose, or the back's end, last.
    pub axis: [[f64; 2]; 2],
    /// A point of the water's line, and its turn, degrees clockwise.
    pub water: Option<([f64; 2], f64)>,
}

impl Float {
    /// Nothing was found.
    pub fn not_found(missing: Missing) -> Float {
        let none = || Measured::unmeasurable("no lure was found");
        Float {
            found: false,
            missing: Some(missing),
            end_view: false,
            level_from: LevelFrom::Water,
            nose: None,
            nose_given: false,
            nose_down_deg: none(),
            list_deg: none(),
            water_over_nose_mm: none(),
            water_over_tail_mm: none(),
            waterline: Vec::new(),
            part_above: none(),
            volume_above: none(),
            raised: Vec::new(),
            round_volume_cm3: None,
            freeboard_mm: none(),
            rocking: Rocking {
                period_s: none(),
                damping: none(),
                fit: None,
            },
            rise_mm_s: none(),
            mm_per_px: None,
            seen_fraction: 0.0,
            warnings: Vec::new(),
        }
    }
}
