//! Looks for the fishing line: a thin straight streak that leaves one end of the lure.

mod end;

pub use end::LineEnd;

use opencv::core::{Mat, MatTraitConst, MatTraitConstManual, Point, Rect, Size};

use super::pose::Pose;
use super::reduce::{halvable, reduced};
use crate::Result;
use crate::units::wrap_deg;

/// Half-fan of directions searched about the axis, degrees, and their spacing.
const FAN_DEG: f64 = 72.0;
const SPACING_DEG: f64 = 1.0;
/// A longer lure is looked at from so far that it is this long, px: else a thin line slips through between the
/// directions searched.
const LOOKED_AT_PX: f64 = 80.0;
/// How far beside the end a line may leave, in apparent lengths.
const OFFSETS: [f64; 5] = [-0.06, -0.03, 0.0, 0.03, 0.06];
/// The streak is looked for between these distances from the lure's middle, in apparent lengths.
const FROM: f64 = 0.75;
const TO: f64 = 2.4;

/// A streak that may be the line.
#[derive(Debug, Clone, Copy)]
pub struct Streak {
    /// Direction away from the lure, degrees clockwise from image-up.
    pub direction_deg: f64,
    /// Mean contrast against both sides over its spread along the streak (a t value).
    pub strength: f64,
}

/// A streak this strong is the line; stray streaks reach about three.
const LINE_STRENGTH: f64 = 5.5;

impl Streak {
    /// Nothing at all.
    pub const NONE: Streak = Streak {
        direction_deg: 0.0,
        strength: 0.0,
    };

    /// Whether it is clear enough to be the line.
    pub fn is_line(&self) -> bool {
        self.strength > LINE_STRENGTH
    }
}

/// Which directions off an end are searched.
#[derive(Debug, Clone, Copy)]
pub struct Fan {
    /// middle, degrees clockwise from image-up; `None`: the axis
    middle_deg: Option<f64>,
    half_deg: f64,
}

impl Fan {
    /// All directions in which a line may leave.
    pub const WHOLE: Fan = Fan {
        middle_deg: None,
        half_deg: FAN_DEG,
    };

    /// Directions within `half_deg` of one, degrees clockwise from image-up.
    pub fn about(middle_deg: f64, half_deg: f64) -> Fan {
        Fan {
            middle_deg: Some(middle_deg),
            half_deg,
        }
    }
}

/// The strongest streak off the nose end (`sense` +1) or the tail end (−1); `None` where the fan leaves
/// the picture.
pub fn strongest(luma: &Mat, pose: &Pose, sense: f64, fan: Fan) -> Result<Option<Streak>> {
    let axis_deg = pose.axis_rad.to_degrees() + if sense < 0.0 { 180.0 } else { 0.0 };
    // what lies beyond the whole fan's edge is no line of this end
    let off_axis = fan.middle_deg.map_or(0.0, |m| wrap_deg(m - axis_deg));
    let first = (off_axis - fan.half_deg).max(-FAN_DEG);
    let last = (off_axis + fan.half_deg).min(FAN_DEG);
    let root = pose.picture_point([0.5 * sense, 0.0]);
    let steps = ((last - first) / SPACING_DEG).floor().max(0.0) as i32;
    let Some(part) = part_reached(luma, root, [axis_deg + first, axis_deg + last], pose) else {
        return Ok(None);
    };
    let picture = Picture::cut(luma, part, pose.along_px)?;
    let mut best: Option<Streak> = None;
    for k in 0..=steps {
        let direction_deg = axis_deg + first + f64::from(k) * SPACING_DEG;
        let (sin, cos) = direction_deg.to_radians().sin_cos();
        for offset in OFFSETS {
            let aside = offset * pose.along_px;
            let Some(strength) = picture.streak(root, [sin, -cos], aside, pose.along_px) else {
                continue;
            };
            if best.is_none_or(|b| strength > b.strength) {
                best = Some(Streak {
                    direction_deg,
                    strength,
                });
            }
        }
    }
    Ok(best)
}

/// Spacing of the points of a streak off a lure so long, and how far beside them it is told against, px.
fn step(along_px: f64) -> f64 {
    (along_px / 28.0).max(1.0)
}

fn side(along_px: f64) -> f64 {
    (0.05 * along_px).max(2.5)
}

/// The part of the picture that a fan between two directions, degrees, reaches; `None` outside it.
fn part_reached(luma: &Mat, root: [f64; 2], edges_deg: [f64; 2], pose: &Pose) -> Option<Rect> {
    let reach = (TO - 0.5) * pose.along_px;
    let span = edges_deg[1] - edges_deg[0];
    let ends = (0..=8).map(|k| {
        let angle = (edges_deg[0] + f64::from(k) / 8.0 * span).to_radians();
        [root[0] + reach * angle.sin(), root[1] - reach * angle.cos()]
    });
    // the streaks start a little aside, and are told against what lies beside them
    part_about(luma, ends.chain([root]), 0.12 * pose.along_px + 4.0)
}

/// The part of the picture round some points, with a margin, px; `None` outside it.
fn part_about(luma: &Mat, points: impl IntoIterator<Item = [f64; 2]>, margin: f64) -> Option<Rect> {
    let mut sides = [[f64::INFINITY, f64::NEG_INFINITY]; 2];
    for point in points {
        for (side, at) in sides.iter_mut().zip(point) {
            *side = [side[0].min(at), side[1].max(at)];
        }
    }
    let corner = Point::new((sides[0][0] - margin) as i32, (sides[1][0] - margin) as i32);
    let size = Size::new(
        (sides[0][1] - sides[0][0] + 2.0 * margin) as i32,
        (sides[1][1] - sides[1][0] + 2.0 * margin) as i32,
    );
    let part = Rect::from_point_size(corner, size) & Rect::new(0, 0, luma.cols(), luma.rows());
    (part.width >= 4 && part.height >= 4).then_some(part)
}

/// The part of the picture that the fan reaches.
struct Picture {
    brightness: Vec<f32>,
    corner: [f64; 2],
    /// its pixels per picture px, across and down
    scale: [f64; 2],
    columns: usize,
    rows: usize,
}

impl Picture {
    /// That part of a picture, as a lure so long, px, is looked at.
    fn cut(luma: &Mat, part: Rect, along_px: f64) -> Result<Picture> {
        let shrink = (along_px / LOOKED_AT_PX).max(1.0);
        // halved, as it then can be, a large part costs little; a small one is hardly made smaller
        let [width, height] = match shrink < 2.0 {
            true => [part.width, part.height],
            false => [part.width, part.height].map(halvable),
        };
        let part = Rect::new(part.x, part.y, width, height);
        let size =
            [part.width, part.height].map(|n| (f64::from(n) / shrink).round().max(4.0) as i32);
        let copy = reduced(&Mat::roi(luma, part)?, Size::new(size[0], size[1]))?;
        Ok(Picture {
            brightness: copy.data_bytes()?.iter().map(|b| f32::from(*b)).collect(),
            corner: [f64::from(part.x), f64::from(part.y)],
            scale: [
                f64::from(size[0]) / f64::from(part.width),
                f64::from(size[1]) / f64::from(part.height),
            ],
            columns: size[0] as usize,
            rows: size[1] as usize,
        })
    }

    /// How clearly a thin streak runs off a lure so long, px, from `root` in direction `ahead`, shifted sideways by
    /// `offset`, px.
    fn streak(&self, root: [f64; 2], ahead: [f64; 2], offset: f64, length: f64) -> Option<f64> {
        let across = [-ahead[1], ahead[0]];
        let (start, end) = ((FROM - 0.5) * length, (TO - 0.5) * length);
        let (step, side) = (step(length), side(length));
        let (mut count, mut sum, mut square) = (0.0, 0.0, 0.0);
        let mut r = start;
        while r < end {
            let x = root[0] + r * ahead[0] + offset * across[0];
            let y = root[1] + r * ahead[1] + offset * across[1];
            let Some(contrast) = self.contrast([x, y], across, side) else {
                break;
            };
            sum += contrast;
            square += contrast * contrast;
            count += 1.0;
            r += step;
        }
        if count < 14.0 {
            return None;
        }
        let mean = sum / count;
        let spread = ((square / count - mean * mean).max(0.0) + 1.0).sqrt();
        Some(mean.abs() / spread * f64::sqrt(count))
    }

    /// How much brighter a point is than what lies so far, px, to both sides of it: a line stands out against both, an
    /// edge of light only against one. `None` outside.
    fn contrast(&self, [x, y]: [f64; 2], across: [f64; 2], side: f64) -> Option<f64> {
        let here = self.at(x, y)?;
        let a = here - self.at(x + side * across[0], y + side * across[1])?;
        let b = here - self.at(x - side * across[0], y - side * across[1])?;
        let weaker = if a.abs() < b.abs() { a } else { b };
        Some(if a * b <= 0.0 { 0.0 } else { weaker })
    }

    /// Brightness between the pixels, bilinear; `None` outside.
    #[inline]
    fn at(&self, x: f64, y: f64) -> Option<f64> {
        let x = (x - self.corner[0]) * self.scale[0] - 0.5;
        let y = (y - self.corner[1]) * self.scale[1] - 0.5;
        if x < 0.0 || y < 0.0 {
            return None;
        }
        // by way of 32 bits, for which processors have an instruction
        let (i, j) = (x as i32 as usize, y as i32 as usize);
        if i + 1 >= self.columns || j + 1 >= self.rows {
            return None;
        }
        let (fx, fy) = (x - i as f64, y - j as f64);
        let k = j * self.columns + i;
        let get = |k: usize| f64::from(self.brightness[k]);
        let top = get(k) + fx * (get(k + 1) - get(k));
        let low = get(k + self.columns) + fx * (get(k + self.columns + 1) - get(k + self.columns));
        Some(top + fy * (low - top))
    }
}
