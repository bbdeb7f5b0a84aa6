//! What a place before a camera that stands shows now against all that it has shown of late: a stone is always there, and
//! light that dances over the bottom comes by everywhere in turn, but a lure comes by once.

use opencv::core::{
    self, BORDER_CONSTANT, BORDER_REPLICATE, CMP_EQ, CV_8UC1, CV_32F, Mat, MatTraitConst, Scalar,
    Size,
};
use opencv::imgproc;

use super::small::{Small, laid};
use super::track::Affine;
use crate::Result;

/// What was shown of late fades by a factor e in so long, s; a small lure passes a place in a fifth of that.
const FADES_S: f64 = 0.7;
/// After so long, s, it is known what a place shows.
const KNOWN_S: f64 = 0.5;
/// A camera that has moved by more than this part of the picture does not stand.
const STANDS: f64 = 0.1;
/// Variance that noise and coding leave, in brightness against the surround and in either colour, squared steps of 255.
const NOISE: [f64; 3] = [16.0, 4.0, 4.0];
/// A plane surprises by no more than so many times its variance: a glint is no more than a lure.
const MOST: f64 = 12.0;
/// Brightness is told against its surround over so much of the long side, for a cloud or glare changes that of all.
const FINE: f64 = 0.07;
/// Surprises are gathered over so much of the long side, and told against those farther about, so many times over, in units
/// of so many spreads squared: three planes that surprise no more than usual come to one.
const ABOUT: f64 = 0.016;
const SURROUND: f64 = 0.15;
const RESTLESS: f64 = 1.5;
const UNIT: f64 = 3.0;
/// Marks a place that lies wholly in the picture.
const SEEN: f64 = 255.0;

/// Keeps what each place has shown.
#[derive(Default)]
pub struct Standing(Option<Shown>);

/// What each place of the picture in which it began has shown since.
struct Shown {
    origin: Affine,
    began_s: f64,
    last_s: f64,
    /// running mean and variance of brightness against its surround and of the two colours
    usual: Vec<[Mat; 2]>,
    /// how much the newest picture surprises, in spreads squared, and how that lies
    surprise: Mat,
    to_scene: Affine,
    scale: f64,
    /// whether the background was ever found again: where it was not, nothing tells that the camera stands
    background_known: bool,
}

impl Standing {
    /// Takes in a frame.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when the picture cannot be worked on.
    pub fn take(&mut self, now: &Small) -> Result<()> {
        match &mut self.0 {
            Some(shown) if shown.is_near(now) => shown.take(now)?,
            other => *other = Some(Shown::begin(now)?),
        }
        Ok(())
    }

    /// How much each spot of the reduced picture surprises, more or less than its surround; `None` while it is not known what
    /// a place shows, as before a camera that moves.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when the picture cannot be worked on.
    pub fn map(&self) -> Result<Option<Mat>> {
        let known =
            |shown: &&Shown| shown.background_known && shown.last_s - shown.began_s >= KNOWN_S;
        let Some(shown) = self.0.as_ref().filter(known) else {
            return Ok(None);
        };
        let Some(back) = shown.origin.inverse() else {
            return Ok(None);
        };
        let place = shown.to_scene.then(&back);
        let here = laid(&shown.surprise, &place, shown.scale, BORDER_REPLICATE, 0.0)?;
        let gathered = blurred(&here, ABOUT)?;
        let mut out = Mat::default();
        let (own, about) = (1.0 / UNIT, -RESTLESS / UNIT);
        core::add_weighted_def(
            &gathered,
            own,
            &blurred(&gathered, SURROUND)?,
            about,
            0.0,
            &mut out,
        )?;
        Ok(Some(out))
    }
}

impl Shown {
    fn begin(now: &Small) -> Result<Shown> {
        let mut usual = Vec::new();
        for (plane, noise) in fine_planes(now)?.into_iter().zip(NOISE) {
            let still = Mat::new_size_with_default(plane.size()?, CV_32F, Scalar::all(noise))?;
            usual.push([plane, still]);
        }
        Ok(Shown {
            origin: now.to_scene,
            began_s: now.t_s,
            last_s: now.t_s,
            usual,
            surprise: Mat::default(),
            to_scene: now.to_scene,
            scale: now.scale,
            background_known: false,
        })
    }

    /// Whether the picture still lies about where it began, up to its corners.
    fn is_near(&self, now: &Small) -> bool {
        let [w, h] = [now.planes[0].cols(), now.planes[0].rows()].map(|n| f64::from(n) / now.scale);
        let moved = |corner: [f64; 2]| {
            let (then, now) = (self.origin.apply(corner), now.to_scene.apply(corner));
            (now[0] - then[0]).hypot(now[1] - then[1])
        };
        let corners = [[0.0, 0.0], [w, 0.0], [0.0, h], [w, h]];
        corners.into_iter().all(|c| moved(c) < STANDS * w.max(h))
    }

    fn take(&mut self, now: &Small) -> Result<()> {
        let Some(back) = now.to_scene.inverse() else {
            return Ok(());
        };
        let place = self.origin.then(&back);
        let step_s = now.t_s - self.last_s;
        // of little, what is newest is as good as what was before
        let since_s = now.t_s - self.began_s;
        let part = (1.0 - (-step_s / FADES_S).exp()).max(step_s / (since_s + step_s));
        let planes = fine_planes(now)?;
        let all = Mat::new_size_with_default(planes[0].size()?, CV_8UC1, Scalar::all(SEEN))?;
        let mut seen = Mat::default();
        let whole = laid(&all, &place, now.scale, BORDER_CONSTANT, 0.0)?;
        core::compare(&whole, &Scalar::all(SEEN), &mut seen, CMP_EQ)?;
        let mut surprise = Mat::default();
        for ((plane, usual), noise) in planes.iter().zip(&mut self.usual).zip(NOISE) {
            let [mean, variance] = usual;
            let here = laid(plane, &place, now.scale, BORDER_CONSTANT, 0.0)?;
            let mut off = Mat::new_size_with_default(here.size()?, CV_32F, Scalar::all(0.0))?;
            core::subtract(&here, mean, &mut off, &seen, -1)?;
            let mut square = Mat::default();
            core::multiply_def(&off, &off, &mut square)?;
            let mut usually = Mat::default();
            variance.convert_to(&mut usually, CV_32F, 1.0, noise)?;
            let mut ratio = Mat::default();
            core::divide2_def(&square, &usually, &mut ratio)?;
            let mut held = Mat::default();
            core::min(&ratio, &Scalar::all(MOST), &mut held)?;
            surprise = match surprise.empty() {
                true => held,
                false => weighted(&surprise, 1.0, &held, 1.0, 0.0)?,
            };
            imgproc::accumulate_weighted(&here, mean, part, &seen)?;
            imgproc::accumulate_weighted(&square, variance, part, &seen)?;
        }
        self.surprise = surprise;
        self.background_known |= now.to_scene != self.origin;
        self.to_scene = now.to_scene;
        self.last_s = now.t_s;
        Ok(())
    }
}

/// Brightness against its surround and the two colours.
fn fine_planes(small: &Small) -> Result<[Mat; 3]> {
    let [bright, blue, red] = &small.planes;
    let mut luma = Mat::default();
    bright.convert_to(&mut luma, CV_32F, 1.0, 0.0)?;
    let fine = weighted(&luma, 1.0, &blurred(&luma, FINE)?, -1.0, 0.0)?;
    Ok([fine, blue.clone(), red.clone()])
}

/// The mean about each spot, over so much of the long side.
fn blurred(map: &Mat, part: f64) -> Result<Mat> {
    let side = (part * f64::from(map.cols().max(map.rows()))).round() as i32 | 1;
    let mut out = Mat::default();
    imgproc::blur_def(map, &mut out, Size::new(side, side))?;
    Ok(out)
}

fn weighted(a: &Mat, of_a: f64, b: &Mat, of_b: f64, more: f64) -> Result<Mat> {
    let mut out = Mat::default();
    core::add_weighted_def(a, of_a, b, of_b, more, &mut out)?;
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::media::Frame;
    use opencv::core::{MatTrait, Point};

    const SECONDS: f64 = 1.2;

    /// Where the body, 16 × 4 px, begins at a time, px from the left.
    fn way(t_s: f64) -> i32 {
        20 + (150.0 * t_s) as i32
    }

    /// A speckled bottom 320 × 180 px with a stone as dark as the body, under light that dances.
    fn picture(t_s: f64) -> Frame {
        let plane = |rows, columns, value: f64| {
            Mat::new_rows_cols_with_default(rows, columns, CV_8UC1, Scalar::all(value)).unwrap()
        };
        let mut luma = plane(180, 320, 0.0);
        for y in 0..180 {
            for x in 0..320 {
                let speck = f64::from((x / 3 * 7919 + y / 3 * 104_729) % 23);
                let dances = (f64::from(x) / 9.0 + 9.0 * t_s).sin() * (f64::from(y) / 7.0).cos();
                let dark = (200..216).contains(&x) && (30..34).contains(&y)
                    || (way(t_s)..way(t_s) + 16).contains(&x) && (90..94).contains(&y);
                let bright = if dark {
                    20.0
                } else {
                    (70.0 + speck) * (1.0 + 0.15 * dances)
                };
                *luma.at_2d_mut::<u8>(y, x).unwrap() = (16.0 + bright) as u8;
            }
        }
        let mut frame = Frame {
            t_s,
            ..Frame::default()
        };
        *frame.luma.writable().unwrap() = luma;
        *frame.cb.writable().unwrap() = plane(90, 160, 128.0);
        *frame.cr.writable().unwrap() = plane(90, 160, 128.0);
        frame
    }

    /// What is new after a while where the camera slid by so much, px a second.
    fn new_after(slid: f64) -> Option<Mat> {
        let mut standing = Standing::default();
        for frame in 0..(SECONDS * 30.0) as i32 {
            let t_s = f64::from(frame) / 30.0;
            let sways = 1e-3 * t_s.sin();
            let to_scene = Affine([1.0, 0.0, sways + slid * t_s, 0.0, 1.0, 0.0]);
            let now = Small::of(&picture(t_s), &to_scene).unwrap();
            standing.take(&now).unwrap();
        }
        standing.map().unwrap()
    }

    #[test]
    fn a_body_that_comes_by_is_new_and_a_stone_and_dancing_light_are_not() {
        let map = new_after(0.0).expect("the places are known");
        let mut at = Point::default();
        let mut most = 0.0;
        let none = core::no_array();
        core::min_max_loc(&map, None, Some(&mut most), None, Some(&mut at), &none).unwrap();
        let begins = way(SECONDS - 1.0 / 30.0);
        assert!((begins - 2..begins + 18).contains(&at.x), "at {at:?}");
        assert!((88..96).contains(&at.y), "at {at:?}");
        let stone = *map.at_2d::<f32>(32, 208).unwrap();
        assert!(most > 2.0 && stone < 0.5, "{most} and {stone}");
    }

    #[test]
    fn a_camera_that_moves_on_knows_no_place() {
        assert!(new_after(100.0).is_none());
    }
}
