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

use super::reduce::reduced;
use super::track::Affine;
use crate::Result;
use crate::media::Frame;

/// Long side of the reduced picture, px.
const LONG_SIDE: f64 = 400.0;
/// Followed spots at most, and fewest for a fit.
const MOST_SPOTS: i32 = 110;
const FEWEST_SPOTS: usize = 8;
/// A spot fits when it lies within this of the fitted motion, reduced px: ripples bend the picture by
/// about as much.
const NEAR_PX: f64 = 3.0;
/// A spot must come back to within this of where it started, reduced px.
const BACK_PX: f32 = 0.5;
/// A key picture serves at least for so long, s, and on while this part of its spots is found again, for
/// every change of key adds its own error; but no longer than this, s, and only so far, in parts of the
/// picture.
const KEY_S: f64 = 0.65;
const STILL_FOUND: f64 = 0.4;
const LONGEST_KEY_S: f64 = 6.0;
const KEY_REACH: f64 = 0.4;
/// Shake is slower than this spacing of the matched pictures, s.
const SPACING_S: f64 = 1.0 / 32.0;

/// Follows the background from frame to frame.
pub struct Steady {
    scale: f64,
    key: Option<Key>,
    /// newest matched picture → first picture, reduced px, and its time
    to_scene: Affine,
    matched_s: f64,
    /// reduced px per second by which the background slides through the picture
    slide: [f64; 2],
}

struct Key {
    t_s: f64,
    picture: Pyramid,
    spots: Vector<Point2f>,
    /// key picture → first picture
    to_scene: Affine,
    /// newest picture ← key picture
    last: Affine,
}

impl Steady {
    /// For pictures `width` × `height` px.
    pub fn new(width: i32, height: i32) -> Steady {
        Steady {
            scale: (LONG_SIDE / f64::from(width.max(height))).min(1.0),
            key: None,
            to_scene: Affine::IDENTITY,
            matched_s: 0.0,
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
            let found = key.matched(&picture, &guess)?;
            let (motion, part_found) = found.unwrap_or((guess, 0.0));
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
        if worn {
            let mask = mask(&texture, self.scale, avoid)?;
            self.key = Some(Key::new(
                frame.t_s,
                &texture,
                picture,
                &mask,
                self.to_scene,
            )?);
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
    fn new(t_s: f64, texture: &Mat, picture: Pyramid, mask: &Mat, to_scene: Affine) -> Result<Key> {
        let mut spots = Vector::<Point2f>::new();
        imgproc::good_features_to_track(
            texture, &mut spots, MOST_SPOTS, 0.02, 7.0, mask, 5, false, 0.04,
        )?;
        Ok(Key {
            t_s,
            picture,
            spots,
            to_scene,
            last: Affine::IDENTITY,
        })
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
        let mut from = Vector::<Point2f>::new();
        let mut to = Vector::<Point2f>::new();
        for k in 0..self.spots.len() {
            let (a, b, c) = (self.spots.get(k)?, moved.get(k)?, back.get(k)?);
            let returned = (c.x - a.x).hypot(c.y - a.y) < BACK_PX;
            if there.get(k)? == 1 && again.get(k)? == 1 && returned {
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
            NEAR_PX,
            300,
            0.99,
            10,
        )?;
        let agreeing = good.iter().filter(|&g| g == 1).count();
        if fitted.empty() || agreeing < FEWEST_SPOTS / 2 {
            return Ok(None);
        }
        let m = fitted.data_typed::<f64>()?;
        let zoom = m[0].hypot(m[3]);
        // between two pictures the camera does not zoom or turn much; such a fit has caught on light
        if !(0.8..1.25).contains(&zoom) || m[3].atan2(m[0]).abs() > 0.35 {
            return Ok(None);
        }
        let part = agreeing as f64 / self.spots.len() as f64;
        Ok(Some((Affine([m[0], m[1], m[2], m[3], m[4], m[5]]), part)))
    }
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
