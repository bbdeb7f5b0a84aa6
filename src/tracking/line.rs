//! Looks for the fishing line: a thin straight streak that leaves one end of the lure.

use opencv::core::{Mat, MatTraitConst, MatTraitConstManual, Point, Rect, Size};

use super::pose::Pose;
use crate::Result;

/// Half-fan of directions searched about the axis, degrees, and their spacing.
const FAN_DEG: f64 = 72.0;
const SPACING_DEG: f64 = 1.0;
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
    /// Whether it is clear enough to be the line.
    pub fn is_line(&self) -> bool {
        self.strength > LINE_STRENGTH
    }
}

/// The strongest streak off the nose end (`sense` +1) or the tail end (−1); `None` where the fan leaves
/// the picture.
pub fn strongest(luma: &Mat, pose: &Pose, sense: f64) -> Result<Option<Streak>> {
    let Some(picture) = Picture::round(luma, pose, sense)? else {
        return Ok(None);
    };
    let axis_deg = pose.axis_rad.to_degrees() + if sense < 0.0 { 180.0 } else { 0.0 };
    let root = pose.picture_point([0.5 * sense, 0.0]);
    let side_px = (0.05 * pose.along_px).max(2.5);
    let steps = (2.0 * FAN_DEG / SPACING_DEG) as i32;
    let mut best: Option<Streak> = None;
    for k in 0..=steps {
        let direction_deg = axis_deg - FAN_DEG + f64::from(k) * SPACING_DEG;
        for offset in [-0.06, -0.03, 0.0, 0.03, 0.06] {
            let Some(strength) = picture.streak(
                root,
                direction_deg.to_radians(),
                offset * pose.along_px,
                side_px,
                pose.along_px,
            ) else {
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

/// The part of the picture that the fan reaches.
struct Picture {
    bytes: Vec<u8>,
    corner: [f64; 2],
    columns: usize,
    rows: usize,
}

impl Picture {
    fn round(luma: &Mat, pose: &Pose, sense: f64) -> Result<Option<Picture>> {
        let [x, y] = pose.picture_point([0.5 * sense, 0.0]);
        let reach = TO * pose.along_px;
        let corner = Point::new((x - reach) as i32, (y - reach) as i32);
        let size = Size::new((2.0 * reach) as i32, (2.0 * reach) as i32);
        let part = Rect::from_point_size(corner, size) & Rect::new(0, 0, luma.cols(), luma.rows());
        if part.width < 4 || part.height < 4 {
            return Ok(None);
        }
        let copy = Mat::roi(luma, part)?.try_clone()?;
        Ok(Some(Picture {
            bytes: copy.data_bytes()?.to_vec(),
            corner: [f64::from(part.x), f64::from(part.y)],
            columns: part.width as usize,
            rows: part.height as usize,
        }))
    }

    /// How clearly a thin streak runs from `root` in direction `angle`, shifted sideways by `offset`.
    fn streak(
        &self,
        root: [f64; 2],
        angle: f64,
        offset: f64,
        side: f64,
        length: f64,
    ) -> Option<f64> {
        let (ahead, across) = ([angle.sin(), -angle.cos()], [angle.cos(), angle.sin()]);
        let (start, end) = ((FROM - 0.5) * length, (TO - 0.5) * length);
        let step = (length / 28.0).max(1.0);
        let (mut count, mut sum, mut square) = (0.0, 0.0, 0.0);
        let mut r = start;
        while r < end {
            let x = root[0] + r * ahead[0] + offset * across[0];
            let y = root[1] + r * ahead[1] + offset * across[1];
            let here = self.at(x, y);
            let right = self.at(x + side * across[0], y + side * across[1]);
            let left = self.at(x - side * across[0], y - side * across[1]);
            let (Some(here), Some(right), Some(left)) = (here, right, left) else {
                break;
            };
            // the line stands out against both sides; an edge of light only against one
            let (a, b) = (here - right, here - left);
            let contrast = if a * b <= 0.0 {
                0.0
            } else if a.abs() < b.abs() {
                a
            } else {
                b
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

    /// Brightness between the pixels, bilinear; `None` outside.
    #[inline]
    fn at(&self, x: f64, y: f64) -> Option<f64> {
        let (x, y) = (x - self.corner[0] - 0.5, y - self.corner[1] - 0.5);
        if x < 0.0 || y < 0.0 {
            return None;
        }
        let (i, j) = (x as usize, y as usize);
        if i + 1 >= self.columns || j + 1 >= self.rows {
            return None;
        }
        let (fx, fy) = (x - i as f64, y - j as f64);
        let k = j * self.columns + i;
        let get = |k: usize| f64::from(self.bytes[k]);
        let top = get(k) + fx * (get(k + 1) - get(k));
        let low = get(k + self.columns) + fx * (get(k + self.columns + 1) - get(k + self.columns));
        Some(top + fy * (low - top))
    }
}
