//! What stays in the picture while the bottom slides through it: averaged over a while, the bottom and the light on it
//! are drawn out along the slide, and what the camera takes along, such as a lure that it follows, stays sharp.

use opencv::core::{self, CV_32F, Mat, MatTraitConst, Scalar, Size};
use opencv::imgproc;

use super::blobs::reduced;
use super::moving::{FLOOR, against_surround};
use crate::Result;
use crate::media::Frame;

/// The newest pictures count most, the older ones the less, by a factor e in so long, s.
const FADING_S: f64 = 0.35;
/// No more than this part of the power of all edges is left in the average where the bottom slides.
const FADED: f64 = 0.2;
/// Edges are gathered over so much of the picture's long side.
const ABOUT: f64 = 0.025;

/// The newest picture and the average one, reduced.
#[derive(Default)]
pub struct Staying {
    last_s: f64,
    now: Mat,
    mean: Mat,
}

impl Staying {
    /// Takes in a frame.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when the picture cannot be worked on.
    pub fn take(&mut self, frame: &Frame) -> Result<()> {
        reduced(&frame.luma)?.convert_to(&mut self.now, CV_32F, 1.0, 0.0)?;
        let part = if self.mean.empty() {
            self.mean = self.now.clone();
            1.0
        } else {
            1.0 - (-(frame.t_s - self.last_s) / FADING_S).exp()
        };
        let mut mean = Mat::default();
        core::add_weighted_def(&self.mean, 1.0 - part, &self.now, part, 0.0, &mut mean)?;
        self.mean = mean;
        self.last_s = frame.t_s;
        Ok(())
    }

    /// How much each spot of the reduced picture shows edges that stay against its surround; `None` where little has faded.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when the average cannot be worked on.
    pub fn map(&self) -> Result<Option<Mat>> {
        if self.mean.empty() {
            return Ok(None);
        }
        let [mean, now] = [Slopes::of(&self.mean)?, Slopes::of(&self.now)?];
        let direction = mean.faintest();
        let part = mean.power(direction) / now.power(direction).max(1e-6);
        if part > FADED {
            return Ok(None);
        }
        let mut steep = Mat::default();
        core::absdiff(&mean.along(direction)?, &Scalar::all(0.0), &mut steep)?;
        let mut edges = Mat::default();
        let side = (ABOUT * f64::from(steep.cols().max(steep.rows()))) as i32 | 1;
        imgproc::blur_def(&steep, &mut edges, Size::new(side, side))?;
        Ok(Some(against_surround(&edges, FLOOR)?))
    }
}

/// How steep a picture is across and down, and over all of it the sums of their squares and of their product.
struct Slopes {
    across: Mat,
    down: Mat,
    sums: [f64; 3],
}

impl Slopes {
    fn of(picture: &Mat) -> Result<Slopes> {
        let (mut across, mut down) = (Mat::default(), Mat::default());
        imgproc::sobel_def(picture, &mut across, CV_32F, 1, 0)?;
        imgproc::sobel_def(picture, &mut down, CV_32F, 0, 1)?;
        let sums = [across.dot(&across)?, down.dot(&down)?, across.dot(&down)?];
        Ok(Slopes { across, down, sums })
    }

    /// The direction in which the picture is the least steep: that in which it was drawn out.
    fn faintest(&self) -> [f64; 2] {
        let [xx, yy, xy] = self.sums;
        let steepest = 0.5 * (2.0 * xy).atan2(xx - yy);
        [-steepest.sin(), steepest.cos()]
    }

    /// Sum of the squared slopes in a direction.
    fn power(&self, [x, y]: [f64; 2]) -> f64 {
        let [xx, yy, xy] = self.sums;
        x * x * xx + y * y * yy + 2.0 * x * y * xy
    }

    fn along(&self, [x, y]: [f64; 2]) -> Result<Mat> {
        let mut along = Mat::default();
        core::add_weighted_def(&self.across, x, &self.down, y, 0.0, &mut along)?;
        Ok(along)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use opencv::core::{CV_8UC1, MatTrait, MatTraitConstManual, Point, Rect};

    /// A speckled bottom that has slid by `slid` px, with a striped body of 24 × 8 px about the middle.
    fn picture(slid: i32) -> Frame {
        let mut luma = Mat::new_rows_cols_with_default(90, 160, CV_8UC1, Scalar::all(0.0)).unwrap();
        for y in 0..90 {
            for x in 0..160 {
                let speck = ((x + slid) / 3 * 7919 + y / 3 * 104_729) % 97;
                let body = Rect::from_point_size(Point::new(68, 41), Size::new(24, 8));
                let value = if body.contains(Point::new(x, y)) {
                    (x / 4 % 2) * 120 + 60
                } else {
                    60 + speck
                };
                *luma.at_2d_mut::<u8>(y, x).unwrap() = value as u8;
            }
        }
        let grey = Mat::new_rows_cols_with_default(45, 80, CV_8UC1, Scalar::all(128.0)).unwrap();
        let mut frame = Frame {
            t_s: f64::from(slid) / 120.0,
            ..Frame::default()
        };
        *frame.luma.writable().unwrap() = luma;
        *frame.cb.writable().unwrap() = grey.clone();
        *frame.cr.writable().unwrap() = grey;
        frame
    }

    #[test]
    fn what_the_camera_takes_along_stands_out_of_a_bottom_that_slides() {
        let mut staying = Staying::default();
        for slid in 0..120 {
            staying.take(&picture(slid)).unwrap();
        }
        let map = staying.map().unwrap().expect("the bottom has faded");
        let values = map.data_typed::<f32>().unwrap();
        let strongest = (0..values.len())
            .max_by(|a, b| values[*a].total_cmp(&values[*b]))
            .unwrap();
        let (x, y) = (strongest % 160, strongest / 160);
        assert!(
            (66..94).contains(&x) && (39..51).contains(&y),
            "at {x}, {y}"
        );
    }

    #[test]
    fn nothing_is_told_before_a_bottom_that_stands() {
        let mut staying = Staying::default();
        for k in 0..60 {
            let mut still = picture(0);
            still.t_s = f64::from(k) / 60.0;
            staying.take(&still).unwrap();
        }
        assert!(staying.map().unwrap().is_none());
    }
}
