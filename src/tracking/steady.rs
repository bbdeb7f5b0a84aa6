//! How the background moves through the picture: what hand shake and a moving camera do.
//!
//! Caustic light and ripples move over the bottom, and over a few frames they carry the fine texture with
//! them (several px a second to one side). Over half a second they have changed and no longer match, while
//! the bottom still does. So each picture is matched against a key picture up to that long ago, only spots
//! that are found again on the way back count, and a robust similarity is fitted to them.

use opencv::core::{
    self, Mat, MatTraitConst, MatTraitConstManual, Point2f, Scalar, Size, TermCriteria, Vector,
};
use opencv::{calib3d, imgproc, video};

use super::agree::{NEAR_PX, motion, shifted_alike};
use super::reduce::reduced;
use super::track::Affine;
use crate::Result;
use crate::camera::View;
use crate::media::Frame;

/// Long side of the reduced picture, px.
const LONG_SIDE: f64 = 400.0;
/// Followed spots at most, and fewest for a fit.
const MOST_SPOTS: i32 = 110;
const FEWEST_SPOTS: usize = 8;
/// A spot must come back to within this of where it started, reduced px.
const BACK_PX: f32 = 0.5;
/// A key picture serves at least for so long, s, and on while this part of its spots is found again, for
/// every change of key adds its own error; but no longer than this, s, and only so far, in parts of the
/// picture.
const KEY_S: f64 = 0.65;
const STILL_FOUND: f64 = 0.4;
const LONGEST_KEY_S: f64 = 6.0;
const KEY_REACH: f64 = 0.4;
/// For so long from the first picture on, s, it is not known how the background slides. Where less than this part of
/// the spots is found without a shift, the picture as a whole is laid over the key picture, which must find so many
/// times as many.
const START_S: f64 = 0.4;
const CLEAR: f64 = 0.35;
const CLEARLY: f64 = 1.3;
/// Shake is slower than this spacing of the matched pictures, s.
const SPACING_S: f64 = 1.0 / 32.0;

/// Follows the background from frame to frame.
pub struct Steady {
    scale: f64,
    /// whether the camera looks down: along the water the bottom slides faster near than far, and moves alike nowhere
    looks_down: bool,
    key: Option<Key>,
    /// newest matched picture → first picture, reduced px, and its time
    to_scene: Affine,
    matched_s: f64,
    began_s: f64,
    /// reduced px per second by which the background slides through the picture
    slide: [f64; 2],
}

struct Key {
    t_s: f64,
    looks_down: bool,
    texture: Mat,
    picture: Pyramid,
    spots: Vector<Point2f>,
    /// key picture → first picture
    to_scene: Affine,
    /// newest picture ← key picture
    last: Affine,
}

impl Steady {
    /// For pictures `width` × `height` px.
    pub fn new(width: i32, height: i32, view: View) -> Steady {
        Steady {
            looks_down: view == View::Above,
            scale: (LONG_SIDE / f64::from(width.max(height))).min(1.0),
            key: None,
            to_scene: Affine::IDENTITY,
            matched_s: 0.0,
            began_s: f64::INFINITY,
            slide: [0.0; 2],
        }
    }

    /// Takes the next frame; gives the map from it to the first one, full px. Spots within `avoid` (centre
    /// and radius, px) — the lure — are not followed.
    pub fn next(&mut self, frame: &Frame, avoid: Option<([f64; 2], f64)>) -> Result<Affine> {
        let since = frame.t_s - self.matched_s;
        if self.key.is_some() && since < 0.9 * SPACING_S {
            return Ok(at_full_size(&self.slid(since), self.scale));
        }
        let texture = texture(&frame.luma, self.scale)?;
        let picture = pyramid(&texture)?;
        let mut worn = true;
        if let Some(key) = &mut self.key {
            let guess = shifted(&key.last, [self.slide[0] * since, self.slide[1] * since]);
            let mut found = key.matched(&picture, &guess)?.unwrap_or((guess, 0.0));
            if frame.t_s - self.began_s < START_S && found.1 < CLEAR {
                found = key.matched_anew(&texture, &picture, found)?;
            }
            let (motion, part_found) = found;
            let middle = [
                f64::from(texture.cols()) / 2.0,
                f64::from(texture.rows()) / 2.0,
            ];
            let (now, before) = (motion.apply(middle), key.last.apply(middle));
            for n in 0..2 {
                let pace = (now[n] - before[n]) / since;
                self.slide[n] += 0.5 * (pace - self.slide[n]);
            }
            key.last = motion;
            if let Some(back) = motion.inverse() {
                self.to_scene = back.then(&key.to_scene);
            }
            let away = (now[0] - middle[0]).hypot(now[1] - middle[1]);
            let age = frame.t_s - key.t_s;
            worn = part_found == 0.0
                || (age >= KEY_S && part_found < STILL_FOUND)
                || age >= LONGEST_KEY_S
                || away > KEY_REACH * 2.0 * middle[0].min(middle[1]);
        }
        self.matched_s = frame.t_s;
        self.began_s = self.began_s.min(frame.t_s);
        if worn {
            let mask = mask(&texture, self.scale, avoid)?;
            self.key = Some(Key::new(&texture, picture, &mask, self, frame.t_s)?);
        }
        Ok(at_full_size(&self.to_scene, self.scale))
    }

    /// The map some time after the last match, the background sliding on as it did.
    fn slid(&self, since: f64) -> Affine {
        let back = [-self.slide[0] * since, -self.slide[1] * since];
        shifted(&Affine::IDENTITY, back).then(&self.to_scene)
    }
}

impl Key {
    fn new(texture: &Mat, picture: Pyramid, mask: &Mat, of: &Steady, t_s: f64) -> Result<Key> {
        let mut spots = Vector::<Point2f>::new();
        imgproc::good_features_to_track(
            texture, &mut spots, MOST_SPOTS, 0.02, 7.0, mask, 5, false, 0.04,
        )?;
        Ok(Key {
            t_s,
            looks_down: of.looks_down,
            texture: as_float(texture)?,
            picture,
            spots,
            to_scene: of.to_scene,
            last: Affine::IDENTITY,
        })
    }

    /// `found`, or what is clearly better where the picture as a whole lies best over the key picture.
    fn matched_anew(
        &self,
        texture: &Mat,
        picture: &Pyramid,
        found: (Affine, f64),
    ) -> Result<(Affine, f64)> {
        let shift = imgproc::phase_correlate_def(&self.texture, &as_float(texture)?)?;
        let there = shifted(&Affine::IDENTITY, [shift.x, shift.y]);
        let anew = self.matched(picture, &there)?;
        Ok(anew
            .filter(|anew| anew.1 > CLEARLY * found.1)
            .unwrap_or(found))
    }

    /// Motion from the key picture to this one, looked for about `guess`, and what part of the spots agrees.
    fn matched(&self, picture: &Pyramid, guess: &Affine) -> Result<Option<(Affine, f64)>> {
        if self.spots.len() < FEWEST_SPOTS {
            return Ok(None);
        }
        let mut moved: Vector<Point2f> = self
            .spots
            .iter()
            .map(|p| {
                let [x, y] = guess.apply([f64::from(p.x), f64::from(p.y)]);
                Point2f::new(x as f32, y as f32)
            })
            .collect();
        let there = flow(&self.picture, picture, &self.spots, &mut moved, HALVINGS)?;
        let mut back = self.spots.clone();
        // what does not lead back at once was no match
        let again = flow(picture, &self.picture, &moved, &mut back, 0)?;
        let (mut from, mut to) = (Vec::new(), Vec::new());
        for k in 0..self.spots.len() {
            let (a, b, c) = (self.spots.get(k)?, moved.get(k)?, back.get(k)?);
            let returned = (c.x - a.x).hypot(c.y - a.y) < BACK_PX;
            if there.get(k)? == 1 && again.get(k)? == 1 && returned {
                from.push([f64::from(a.x), f64::from(a.y)]);
                to.push([f64::from(b.x), f64::from(b.y)]);
            }
        }
        if from.len() < FEWEST_SPOTS {
            return Ok(None);
        }
        let (found, agreeing, fewest) = if self.looks_down {
            let alike = shifted_alike(&from, &to, guess);
            (motion(&from, &to, &alike), alike.len(), FEWEST_SPOTS)
        } else {
            let (found, agreeing) = similarity(&from, &to)?;
            (found, agreeing, FEWEST_SPOTS / 2)
        };
        let part = agreeing as f64 / self.spots.len() as f64;
        Ok(found
            .filter(|m| agreeing >= fewest && is_small(m))
            .map(|m| (m, part)))
    }
}

/// The similarity that most spots agree on, and how many do.
fn similarity(from: &[[f64; 2]], to: &[[f64; 2]]) -> Result<(Option<Affine>, usize)> {
    let points = |spots: &[[f64; 2]]| -> Vector<Point2f> {
        spots
            .iter()
            .map(|p| Point2f::new(p[0] as f32, p[1] as f32))
            .collect()
    };
    let mut good = Vector::<u8>::new();
    let fitted = calib3d::estimate_affine_partial_2d(
        &points(from),
        &points(to),
        &mut good,
        calib3d::RANSAC,
        NEAR_PX,
        300,
        0.99,
        10,
    )?;
    let agreeing = good.iter().filter(|&g| g == 1).count();
    if fitted.empty() {
        return Ok((None, agreeing));
    }
    let m = fitted.data_typed::<f64>()?;
    Ok((Some(Affine([m[0], m[1], m[2], m[3], m[4], m[5]])), agreeing))
}

/// Between two pictures the camera does not zoom or turn much; a fit that does has caught on light.
fn is_small(motion: &Affine) -> bool {
    let [a, _, _, d, _, _] = motion.0;
    (0.8..1.25).contains(&a.hypot(d)) && d.atan2(a).abs() <= 0.35
}

/// A picture with its halved copies, ready to be compared.
type Pyramid = Vector<Mat>;

/// Side of the patch that is compared, reduced px, and how often the picture is halved.
const PATCH: Size = Size::new(15, 15);
const HALVINGS: i32 = 2;

fn pyramid(texture: &Mat) -> Result<Pyramid> {
    let mut levels = Pyramid::new();
    video::build_optical_flow_pyramid_def(texture, &mut levels, PATCH, HALVINGS)?;
    Ok(levels)
}

/// Where `spots` of one picture lie in another (pyramidal Lucas–Kanade), started from `moved`.
fn flow(
    from: &Pyramid,
    to: &Pyramid,
    spots: &Vector<Point2f>,
    moved: &mut Vector<Point2f>,
    halvings: i32,
) -> Result<Vector<u8>> {
    let mut status = Vector::<u8>::new();
    let mut error = Vector::<f32>::new();
    video::calc_optical_flow_pyr_lk(
        from,
        to,
        spots,
        moved,
        &mut status,
        &mut error,
        PATCH,
        halvings,
        TermCriteria::new(3, 12, 0.03)?,
        video::OPTFLOW_USE_INITIAL_FLOW,
        1e-3,
    )?;
    Ok(status)
}

fn as_float(texture: &Mat) -> Result<Mat> {
    let mut float = Mat::default();
    texture.convert_to(&mut float, core::CV_32F, 1.0, -128.0)?;
    Ok(float)
}

fn shifted(map: &Affine, by: [f64; 2]) -> Affine {
    let mut m = map.0;
    m[2] += by[0];
    m[5] += by[1];
    Affine(m)
}

/// The reduced picture less its own blur, evened in contrast, 8 bit about 128.
fn texture(luma: &Mat, scale: f64) -> Result<Mat> {
    let size = [luma.cols(), luma.rows()].map(|n| ((f64::from(n) * scale).round() as i32).max(1));
    let small = reduced(luma, Size::new(size[0], size[1]))?;
    let mut float = Mat::default();
    small.convert_to(&mut float, core::CV_32F, 1.0, 0.0)?;
    let mut blur = Mat::default();
    imgproc::blur_def(&float, &mut blur, Size::new(9, 9))?;
    let mut fine = Mat::default();
    core::subtract_def(&float, &blur, &mut fine)?;
    let spread = spread(&fine)?;
    let mut even = Mat::default();
    core::divide2_def(&fine, &spread, &mut even)?;
    let mut out = Mat::default();
    even.convert_to(&mut out, core::CV_8U, 40.0, 128.0)?;
    Ok(out)
}

/// How strong the texture is round about (root mean square over some 25 px), a little more than nothing.
/// It is told from every fourth pixel each way, for it changes slowly.
fn spread(fine: &Mat) -> Result<Mat> {
    let quarter = Size::new((fine.cols() / 4).max(1), (fine.rows() / 4).max(1));
    let mut square = Mat::default();
    core::multiply_def(fine, fine, &mut square)?;
    let mut power = Mat::default();
    imgproc::blur_def(&reduced(&square, quarter)?, &mut power, Size::new(7, 7))?;
    let mut spread = Mat::default();
    core::sqrt(&power, &mut spread)?;
    let mut floor = Mat::default();
    core::add_def(&spread, &Scalar::all(1.5), &mut floor)?;
    reduced(&floor, fine.size()?)
}

/// Where spots may be picked: anywhere but on the lure.
fn mask(texture: &Mat, scale: f64, avoid: Option<([f64; 2], f64)>) -> Result<Mat> {
    let mut mask = Mat::new_rows_cols_with_default(
        texture.rows(),
        texture.cols(),
        core::CV_8U,
        Scalar::all(255.0),
    )?;
    if let Some(([x, y], radius)) = avoid {
        let centre = core::Point::new((x * scale) as i32, (y * scale) as i32);
        let radius = (radius * scale).ceil() as i32;
        let nothing = Scalar::all(0.0);
        imgproc::circle(
            &mut mask,
            centre,
            radius,
            nothing,
            imgproc::FILLED,
            imgproc::LINE_8,
            0,
        )?;
    }
    Ok(mask)
}

fn at_full_size(map: &Affine, scale: f64) -> Affine {
    let mut m = map.0;
    m[2] /= scale;
    m[5] /= scale;
    Affine(m)
}
