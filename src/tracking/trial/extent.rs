//! How large the thing is that a spot was found to be.

use super::super::start_box::StartBox;
use super::super::whole::Part;
use super::Trial;
use crate::Result;
use crate::camera::View;
use crate::media::Frame;

/// So far off the middle of its spot, in lengths, it was found beside it.
const ASIDE: f64 = 0.3;
/// What is found to be the whole of it is at most so many times as large as what is found so later.
const STILL_AS_LARGE: f64 = 1.4;

impl Trial {
    /// Where it was at the start, with all of it that lies along its line and still does in the picture of `now`.
    pub fn whole(&self, now: &Frame) -> Result<StartBox> {
        // foreshortened, it is short and its lip hangs out
        if matches!(self.view, View::Behind | View::Ahead) {
            return Ok(self.place);
        }
        let spot = self.first_place();
        let here = self.pose.box_about(self.width, now.t_s);
        let line_deg = Some(self.line().direction_deg);
        let grown = |frame: &Frame, spot| Part::cut(frame, spot)?.whole(frame, line_deg);
        let (whole, still) = (grown(&self.first, spot)?, grown(now, here)?);
        // what merely lay beside it at the start has gone by
        let stays = whole.diagonal() < STILL_AS_LARGE * still.diagonal();
        Ok(if stays { whole } else { spot })
    }

    /// A box round it in the frame `now`, into which it was followed.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when the picture cannot be worked on.
    pub fn whole_now(&self, now: &Frame) -> Result<StartBox> {
        let here = self.pose.box_about(self.width, now.t_s);
        if matches!(self.view, View::Behind | View::Ahead) {
            return Ok(here);
        }
        Part::cut(now, here)?.whole(now, Some(self.line().direction_deg))
    }

    /// Its spot in the first picture, or where it went off a spot that lay beside it.
    fn first_place(&self) -> StartBox {
        let [x, y] = self.place.centre();
        let pose = &self.first_pose;
        let aside = (x - pose.x_px).hypot(y - pose.y_px);
        if aside > ASIDE * pose.along_px {
            pose.box_about(self.width, self.began_s)
        } else {
            self.place
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::backdrop::Backdrop;
    use super::super::super::track::Affine;
    use super::super::Ground;
    use super::*;
    use opencv::core::{CV_8UC1, Mat, MatTrait, Scalar};
    use std::sync::Arc;

    /// Water with a dark body, 60 × 14 px, that points up and down, and a stone of its colour that lies `stone_px` from
    /// one end.
    fn picture(t_s: f64, stone_px: i32) -> Frame {
        let plane = |rows, columns, value: f64| {
            Mat::new_rows_cols_with_default(rows, columns, CV_8UC1, Scalar::all(value)).unwrap()
        };
        let mut luma = plane(400, 160, 120.0);
        for y in 0..400 {
            for x in 0..160 {
                let speck = (x * 7919 + y * 104_729) % 9;
                let body = (f64::from(y - 250) / 30.0).hypot(f64::from(x - 80) / 7.0) < 1.0;
                let off = [y - (205 - stone_px), x - 84].map(f64::from);
                let stone = (off[0] / 26.0).hypot(off[1] / 9.0) < 1.0;
                let value = if body || stone { 40 } else { 116 + speck };
                *luma.at_2d_mut::<u8>(y, x).unwrap() = value as u8;
            }
        }
        let mut frame = Frame {
            t_s,
            ..Frame::default()
        };
        *frame.luma.writable().unwrap() = luma;
        *frame.cb.writable().unwrap() = plane(200, 80, 118.0);
        *frame.cr.writable().unwrap() = plane(200, 80, 120.0);
        frame
    }

    #[test]
    fn a_stone_that_lay_beside_it_at_the_start_is_no_part_of_it() {
        let ground = Ground {
            to_scene: Affine::IDENTITY,
            backdrop: Backdrop::new(View::Above),
        };
        let spot = StartBox {
            x: 70.0,
            y: 216.0,
            w: 20.0,
            h: 68.0,
            t_s: 0.0,
        };
        let found = |later_px: i32| {
            let first = Arc::new(picture(0.0, 0));
            let trial = Trial::begin(&first, View::Above, spot, &ground)
                .unwrap()
                .unwrap();
            trial.whole(&picture(0.5, later_px)).unwrap()
        };
        let (with_it, gone) = (found(0), found(150));
        assert!(with_it.y < 190.0, "{with_it:?}");
        assert!(gone.y > 205.0, "{gone:?}");
    }
}
