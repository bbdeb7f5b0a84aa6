//! The surroundings of one end of the lure, averaged over a while: what goes with the lure, its line, stays
//! sharp, and stones, light and specks that slide by fade.

use opencv::core::{self, CV_32F, Mat, MatTraitConst, Point2f, Rect, Scalar, Size};
use opencv::imgproc;

use super::line::{self, Fan, Streak};
use super::pose::Pose;
use super::reduce::reduced;
use crate::Result;

/// How far about the end is averaged, in apparent lengths: as far as a line is looked for.
const REACH: f64 = 2.1;
/// A longer lure is looked at from so far that it is this long, px.
const LENGTH_PX: f64 = 60.0;
/// What varies slowly is taken out over this part of the length, and what is left is so much enlarged.
const SLOW: f64 = 0.25;
const ENLARGED: f64 = 6.0;
/// In so few frames nothing has faded.
const FEWEST: usize = 4;

/// An average about one end.
pub struct Averaged {
    /// +1 for the nose end of the body frame, −1 for its tail end
    sense: f64,
    /// side of the square, px, and its scale against the picture's
    side: i32,
    scale: f64,
    sum: Mat,
    /// the part of the square that was inside the picture in every frame
    inside: Rect,
    frames: usize,
    /// sums of the axis as a direction, and of the length, px
    axis: [f64; 2],
    along_px: f64,
}

impl Averaged {
    /// An empty average for a lure of about this pose.
    pub fn new(pose: &Pose, sense: f64) -> Result<Averaged> {
        let scale = (LENGTH_PX / pose.along_px).min(1.0);
        let side = (2.0 * REACH * pose.along_px * scale).round() as i32 | 1;
        Ok(Averaged {
            sense,
            side,
            scale,
            sum: Mat::new_rows_cols_with_default(side, side, CV_32F, Scalar::all(0.0))?,
            inside: Rect::new(0, 0, side, side),
            frames: 0,
            axis: [0.0; 2],
            along_px: 0.0,
        })
    }

    /// Takes in a picture in which the lure lies so.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when the picture cannot be worked on.
    pub fn take(&mut self, luma: &Mat, pose: &Pose) -> Result<()> {
        let end = pose.picture_point([0.5 * self.sense, 0.0]);
        let full = (f64::from(self.side) / self.scale).round() as i32 | 1;
        let half = f64::from(full) / 2.0;
        let mut about = Mat::default();
        // pixel centres lie at half px in our frame, at whole px in OpenCV's
        let centre = Point2f::new((end[0] - 0.5) as f32, (end[1] - 0.5) as f32);
        imgproc::get_rect_sub_pix(luma, Size::new(full, full), centre, &mut about, CV_32F)?;
        let small = reduced(&about, Size::new(self.side, self.side))?;
        let mut sum = Mat::default();
        core::add_def(&self.sum, &small, &mut sum)?;
        self.sum = sum;
        let edge = |at: f64| ((at + half) * self.scale).clamp(-1.0, f64::from(self.side) + 1.0);
        let [left, top] = [
            edge(1.0 - end[0]).ceil() as i32,
            edge(1.0 - end[1]).ceil() as i32,
        ];
        let right = edge(f64::from(luma.cols()) - 1.0 - end[0]).floor() as i32;
        let low = edge(f64::from(luma.rows()) - 1.0 - end[1]).floor() as i32;
        self.inside &= Rect::new(left, top, (right - left).max(0), (low - top).max(0));
        self.frames += 1;
        self.axis[0] += pose.axis_rad.sin();
        self.axis[1] += pose.axis_rad.cos();
        self.along_px += pose.along_px;
        Ok(())
    }

    /// The strongest streak off this end.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when the average cannot be worked on.
    pub fn streak(&self) -> Result<Option<Streak>> {
        if self.frames < FEWEST || self.inside.width < 4 || self.inside.height < 4 {
            return Ok(None);
        }
        let along_px = self.along_px / self.frames as f64 * self.scale;
        let mean_scale = 1.0 / self.frames as f64;
        let mut slow = Mat::default();
        let sigma = (SLOW * along_px).max(3.0);
        imgproc::gaussian_blur_def(&self.sum, &mut slow, Size::new(0, 0), sigma)?;
        let mut fast = Mat::default();
        core::subtract_def(&self.sum, &slow, &mut fast)?;
        let mut bytes = Mat::default();
        fast.convert_to(&mut bytes, core::CV_8U, ENLARGED * mean_scale, 128.0)?;
        let middle = f64::from(self.side) / 2.0;
        let axis_rad = self.axis[0].atan2(self.axis[1]);
        let pose = Pose {
            x_px: middle - 0.5 * self.sense * along_px * axis_rad.sin() - f64::from(self.inside.x),
            y_px: middle + 0.5 * self.sense * along_px * axis_rad.cos() - f64::from(self.inside.y),
            axis_rad,
            along_px,
            across_px: along_px,
        };
        let inside = Mat::roi(&bytes, self.inside)?.try_clone()?;
        line::strongest(&inside, &pose, self.sense, Fan::WHOLE)
    }
}
