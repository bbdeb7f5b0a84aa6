//! How the background moves through the picture: what hand shake and a moving camera do.
//!
//! Caustic light and ripples move over the bottom, so only fine texture is followed (the picture less
//! its own blur, evened in contrast) and a robust similarity is fitted to it. Each picture is matched
//! against a key picture some time back, not only against the last one, so that errors do not pile up.

use opencv::core::{
    self, Mat, MatTraitConst, MatTraitConstManual, Point2f, Scalar, Size, TermCriteria, Vector,
};
use opencv::{calib3d, imgproc, video};

use super::track::Affine;
use crate::Result;
use crate::media::Frame;

/// Long side of the reduced picture, px.
const LONG_SIDE: f64 = 400.0;
/// Followed spots at most, and fewest for a fit.
const MOST_SPOTS: i32 = 160;
const FEWEST_SPOTS: usize = 12;
/// A spot fits when it lies within this of the fitted motion, reduced px; ripples bend the picture by
/// about as much.
const NEAR_PX: f64 = 1.2;

/// Follows the background from frame to frame.
pub struct Steady {
    scale: f64,
    key: Option<Key>,
    /// newest picture → first picture, reduced px
    to_scene: Affine,
}

struct Key {
    texture: Mat,
    spots: Vector<Point2f>,
    /// key picture → first picture
    to_scene: Affine,
    /// newest picture ← key picture, the start for the next match
    last: Affine,
}

/// What steadying says of one frame.
#[derive(Debug, Clone, Copy)]
pub struct Background {
    /// This picture → the first one, full px.
    pub to_scene: Affine,
    /// Fraction of the spots that agree, 0–1; 0 where nothing could be matched and the last motion was kept.
    pub agreement: f64,
}

impl Steady {
    /// For pictures `width` × `height` px.
    pub fn new(width: i32, height: i32) -> Steady {
        Steady {
            scale: (LONG_SIDE / f64::from(width.max(height))).min(1.0),
            key: None,
            to_scene: Affine::IDENTITY,
        }
    }

    /// Takes the next frame. Spots within `avoid` (centre and radius, px) — the lure — are not followed;
    /// where `near` is given only spots within that circle count, for depth makes far and near
    /// background move differently.
    pub fn next(
        &mut self,
        frame: &Frame,
        avoid: Option<([f64; 2], f64)>,
        near: Option<([f64; 2], f64)>,
    ) -> Result<Background> {
        let texture = texture(&frame.luma, self.scale)?;
        let mut agreement = 1.0;
        if let Some(key) = &mut self.key {
            match key.matched(&texture, NEAR_PX)? {
                Some((motion, fraction)) => {
                    agreement = fraction;
                    key.last = motion;
                    if let Some(back) = inverse(&motion) {
                        self.to_scene = back.then(&key.to_scene);
                    }
                }
                None => agreement = 0.0,
            }
        }
        if self.key.as_ref().is_none_or(|key| key.worn(&texture, agreement)) {
            let mask = mask(&texture, self.scale, avoid, near)?;
            self.key = Some(Key::new(texture, mask, self.to_scene)?);
        }
        Ok(Background {
            to_scene: at_full_size(&self.to_scene, self.scale),
            agreement,
        })
    }
}

impl Key {
    fn new(texture: Mat, mask: Mat, to_scene: Affine) -> Result<Key> {
        let mut spots = Vector::<Point2f>::new();
        imgproc::good_features_to_track(
            &texture, &mut spots, MOST_SPOTS, 0.02, 7.0, &mask, 5, false, 0.04,
        )?;
        Ok(Key {
            texture,
            spots,
            to_scene,
            last: Affine::IDENTITY,
        })
    }

    /// Motion from the key picture to this one, with the fraction of spots that agree.
    fn matched(&self, texture: &Mat, near_px: f64) -> Result<Option<(Affine, f64)>> {
        if self.spots.len() < FEWEST_SPOTS {
            return Ok(None);
        }
        let mut moved: Vector<Point2f> = self
            .spots
            .iter()
            .map(|p| {
                let [x, y] = self.last.apply([f64::from(p.x), f64::from(p.y)]);
                Point2f::new(x as f32, y as f32)
            })
            .collect();
        let mut status = Vector::<u8>::new();
        let mut error = Vector::<f32>::new();
        video::calc_optical_flow_pyr_lk(
            &self.texture,
            texture,
            &self.spots,
            &mut moved,
            &mut status,
            &mut error,
            Size::new(15, 15),
            3,
            TermCriteria::new(3, 12, 0.03)?,
            video::OPTFLOW_USE_INITIAL_FLOW,
            1e-3,
        )?;
        let mut from = Vector::<Point2f>::new();
        let mut to = Vector::<Point2f>::new();
        for ((a, b), ok) in self.spots.iter().zip(&moved).zip(&status) {
            let inside = b.x >= 0.0
                && b.y >= 0.0
                && b.x < texture.cols() as f32
                && b.y < texture.rows() as f32;
            if ok == 1 && inside {
                from.push(a);
                to.push(b);
            }
        }
        if from.len() < FEWEST_SPOTS {
            return Ok(None);
        }
        let mut good = Vector::<u8>::new();
        let fitted = calib3d::estimate_affine_partial_2d(
            &from,
            &to,
            &mut good,
            calib3d::RANSAC,
            near_px,
            300,
            0.99,
            10,
        )?;
        if fitted.empty() {
            return Ok(None);
        }
        let m = fitted.data_typed::<f64>()?;
        let agreeing = good.iter().filter(|&g| g == 1).count();
        if agreeing < FEWEST_SPOTS / 2 {
            return Ok(None);
        }
        let motion = Affine([m[0], m[1], m[2], m[3], m[4], m[5]]);
        let zoom = m[0].hypot(m[3]);
        // between two pictures the camera does not zoom or turn much; such a fit has caught on light
        if !(0.8..1.25).contains(&zoom) || m[3].atan2(m[0]).abs() > 0.35 {
            return Ok(None);
        }
        Ok(Some((motion, agreeing as f64 / from.len() as f64)))
    }

    /// Whether it is time for a new key picture: a fifth of it has moved out, or few spots agree.
    fn worn(&self, texture: &Mat, agreement: f64) -> bool {
        let middle = [f64::from(texture.cols()) / 2.0, f64::from(texture.rows()) / 2.0];
        let [x, y] = self.last.apply(middle);
        let away = (x - middle[0]).hypot(y - middle[1]);
        away > 0.15 * f64::from(texture.rows()) || agreement < 0.35 || self.spots.len() < FEWEST_SPOTS
    }
}

/// The reduced picture less its own blur, evened in contrast, 8 bit about 128.
fn texture(luma: &Mat, scale: f64) -> Result<Mat> {
    let mut small = Mat::default();
    imgproc::resize(luma, &mut small, Size::default(), scale, scale, imgproc::INTER_AREA)?;
    let mut float = Mat::default();
    small.convert_to(&mut float, core::CV_32F, 1.0, 0.0)?;
    let mut blur = Mat::default();
    imgproc::blur_def(&float, &mut blur, Size::new(9, 9))?;
    let mut fine = Mat::default();
    core::subtract_def(&float, &blur, &mut fine)?;
    let mut square = Mat::default();
    core::multiply_def(&fine, &fine, &mut square)?;
    let mut power = Mat::default();
    imgproc::blur_def(&square, &mut power, Size::new(25, 25))?;
    let mut spread = Mat::default();
    core::sqrt(&power, &mut spread)?;
    let mut floor = Mat::default();
    core::add_def(&spread, &Scalar::all(1.5), &mut floor)?;
    let mut even = Mat::default();
    core::divide2_def(&fine, &floor, &mut even)?;
    let mut out = Mat::default();
    even.convert_to(&mut out, core::CV_8U, 40.0, 128.0)?;
    Ok(out)
}

/// Where spots may be picked: near `near`, away from `avoid`.
fn mask(
    texture: &Mat,
    scale: f64,
    avoid: Option<([f64; 2], f64)>,
    near: Option<([f64; 2], f64)>,
) -> Result<Mat> {
    let start = if near.is_some() { 0.0 } else { 255.0 };
    let mut mask = Mat::new_rows_cols_with_default(
        texture.rows(),
        texture.cols(),
        core::CV_8U,
        Scalar::all(start),
    )?;
    for (circle, value) in [(near, 255.0), (avoid, 0.0)] {
        if let Some(([x, y], radius)) = circle {
            let centre = core::Point::new((x * scale) as i32, (y * scale) as i32);
            imgproc::circle(
                &mut mask,
                centre,
                (radius * scale).ceil() as i32,
                Scalar::all(value),
                imgproc::FILLED,
                imgproc::LINE_8,
                0,
            )?;
        }
    }
    Ok(mask)
}

fn inverse(map: &Affine) -> Option<Affine> {
    let m = &map.0;
    let det = m[0] * m[4] - m[1] * m[3];
    if det.abs() < 1e-9 {
        return None;
    }
    let (a, b, d, e) = (m[4] / det, -m[1] / det, -m[3] / det, m[0] / det);
    Some(Affine([
        a,
        b,
        -(a * m[2] + b * m[5]),
        d,
        e,
        -(d * m[2] + e * m[5]),
    ]))
}

fn at_full_size(map: &Affine, scale: f64) -> Affine {
    let mut m = map.0;
    m[2] /= scale;
    m[5] /= scale;
    Affine(m)
}
