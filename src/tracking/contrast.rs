//! A dull picture made clear: murk and little light leave few steps between the darkest and the brightest spot, and all
//! that is told by steps of brightness would be lost in them.

use opencv::core::{CV_8U, Mat, MatTraitConst, MatTraitConstManual};

use crate::Result;
use crate::media::{Frame, Plane};

/// A picture with fewer steps than this is dull; it is drawn out to so many, at most so many times, and its darkest
/// spots then lie here.
const DULL_STEPS: f64 = 36.0;
const CLEAR_STEPS: f64 = 100.0;
const MOST_TIMES: f64 = 3.0;
const DARKEST: f64 = 60.0;
/// Part of the spots left out at either end.
const LEFT_OUT: f64 = 0.005;
/// Colour differences of grey.
const GREY: f64 = 128.0;

/// How the pictures of a clip are drawn out: as its first one needs it.
#[derive(Debug, Clone, Copy, Default)]
pub struct Contrast {
    stretch: Option<Stretch>,
}

#[derive(Debug, Clone, Copy)]
struct Stretch {
    times: f64,
    darkest: f64,
}

impl Contrast {
    /// Draws out the clip's next picture, where its first one was dull.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when a picture cannot be worked on.
    pub fn draw_out(&mut self, frame: &mut Frame) -> Result<()> {
        let stretch = match self.stretch {
            Some(stretch) => stretch,
            None => *self.stretch.insert(Stretch::needed(&frame.luma)?),
        };
        if stretch.times == 1.0 {
            return Ok(());
        }
        let lift = DARKEST - stretch.times * stretch.darkest;
        drawn_out(&mut frame.luma, stretch.times, lift)?;
        let neutral = GREY - stretch.times * GREY;
        drawn_out(&mut frame.cb, stretch.times, neutral)?;
        drawn_out(&mut frame.cr, stretch.times, neutral)
    }
}

impl Stretch {
    fn needed(luma: &Mat) -> Result<Stretch> {
        let mut values = Vec::new();
        for row in 0..luma.rows() {
            values.extend_from_slice(luma.row(row)?.data_typed::<u8>()?);
        }
        values.sort_unstable();
        let out = (LEFT_OUT * values.len() as f64) as usize;
        let end = |k: usize| values.get(k).copied().map_or(0.0, f64::from);
        let (darkest, brightest) = (end(out), end(values.len().saturating_sub(1 + out)));
        let steps = (brightest - darkest).max(1.0);
        let times = if steps < DULL_STEPS {
            (CLEAR_STEPS / steps).min(MOST_TIMES)
        } else {
            1.0
        };
        Ok(Stretch { times, darkest })
    }
}

fn drawn_out(plane: &mut Plane, times: f64, lift: f64) -> Result<()> {
    let mut out = Mat::default();
    plane.convert_to(&mut out, CV_8U, times, lift)?;
    *plane.writable()? = out;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use opencv::core::Scalar;

    fn picture(steps: u8) -> Frame {
        let mut frame = Frame::default();
        let luma = Mat::from_slice_2d(&[[100, 100 + steps / 2], [100 + steps, 100]]).expect("luma");
        let chroma =
            Mat::new_rows_cols_with_default(1, 1, CV_8U, Scalar::all(138.0)).expect("chroma");
        *frame.luma.writable().expect("luma") = luma;
        *frame.cb.writable().expect("cb") = chroma.clone();
        *frame.cr.writable().expect("cr") = chroma;
        frame
    }

    fn steps(frame: &Frame) -> i32 {
        let at = |row, column| i32::from(*frame.luma.at_2d::<u8>(row, column).expect("inside"));
        at(1, 0) - at(0, 0)
    }

    #[test]
    fn a_dull_picture_is_drawn_out_with_its_colours_and_a_clear_one_is_left() {
        let mut dull = picture(20);
        Contrast::default().draw_out(&mut dull).expect("drawn");
        assert_eq!(steps(&dull), 60);
        assert_eq!(*dull.cb.at_2d::<u8>(0, 0).expect("inside"), 158);
        let mut clear = picture(90);
        Contrast::default().draw_out(&mut clear).expect("left");
        assert_eq!(steps(&clear), 90);
    }

    #[test]
    fn later_pictures_are_drawn_out_as_the_first() {
        let mut contrast = Contrast::default();
        contrast.draw_out(&mut picture(20)).expect("drawn");
        let mut later = picture(50);
        contrast.draw_out(&mut later).expect("drawn");
        assert_eq!(steps(&later), 150);
    }
}
