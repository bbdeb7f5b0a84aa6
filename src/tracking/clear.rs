//! A dull or grainy picture made clear. Murk and little light leave few steps between the darkest and the brightest spot,
//! and all that is told by steps of brightness would be lost in them; so would it in the grain of a sensor in the dark.

use opencv::core::{CV_8U, Mat, MatTraitConst, MatTraitConstManual, Size};
use opencv::imgproc;

use crate::Result;
use crate::media::{Frame, Plane};
use crate::robust::upper_median;

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
/// With more grain than this, a standard deviation in steps once drawn out, a picture is smoothed, by a Gaussian of so
/// many px.
const GRAINY: f64 = 5.0;
const SMOOTHED_PX: f64 = 1.0;

/// How the pictures of a clip are made clear: as its first one needs it.
#[derive(Debug, Clone, Copy, Default)]
pub struct Clear {
    needed: Option<Needed>,
}

#[derive(Debug, Clone, Copy)]
struct Needed {
    smoothing: bool,
    times: f64,
    darkest: f64,
}

impl Clear {
    /// Makes the clip's next picture clear, where its first one was not.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when a picture cannot be worked on.
    pub fn make(&mut self, frame: &mut Frame) -> Result<()> {
        let needed = match self.needed {
            Some(needed) => needed,
            None => *self.needed.insert(Needed::by(&frame.luma)?),
        };
        if needed.smoothing {
            for plane in [&mut frame.luma, &mut frame.cb, &mut frame.cr] {
                smooth(plane)?;
            }
        }
        if needed.times > 1.0 {
            draw_out(
                &mut frame.luma,
                needed.times,
                DARKEST - needed.times * needed.darkest,
            )?;
            for plane in [&mut frame.cb, &mut frame.cr] {
                draw_out(plane, needed.times, GREY - needed.times * GREY)?;
            }
        }
        Ok(())
    }
}

impl Needed {
    fn by(luma: &Mat) -> Result<Needed> {
        let mut rows = Vec::new();
        for row in 0..luma.rows() {
            rows.push(luma.row(row)?.data_typed::<u8>()?.to_vec());
        }
        let mut values = rows.concat();
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
        Ok(Needed {
            smoothing: times * grain(rows.iter().map(Vec::as_slice)) > GRAINY,
            times,
            darkest,
        })
    }
}

/// Standard deviation of what changes from sample to sample along the rows of a picture, in its steps: by the median
/// second difference, for edges are few.
pub(super) fn grain<'a>(rows: impl Iterator<Item = &'a [u8]>) -> f64 {
    let bend = |w: &[u8]| f64::from(i32::from(w[0]) - 2 * i32::from(w[1]) + i32::from(w[2])).abs();
    let median = upper_median(rows.flat_map(|row| row.windows(3)).map(bend)).unwrap_or(0.0);
    // of normal noise the median is 0.6745 spreads, and a second difference spreads √6 times as widely
    median / 0.6745 / f64::sqrt(6.0)
}

fn smooth(plane: &mut Plane) -> Result<()> {
    let mut out = Mat::default();
    imgproc::gaussian_blur_def(&**plane, &mut out, Size::new(0, 0), SMOOTHED_PX)?;
    *plane.writable()? = out;
    Ok(())
}

fn draw_out(plane: &mut Plane, times: f64, lift: f64) -> Result<()> {
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
        Clear::default().make(&mut dull).expect("made clear");
        assert_eq!(steps(&dull), 60);
        assert_eq!(*dull.cb.at_2d::<u8>(0, 0).expect("inside"), 158);
        let mut clear = picture(90);
        Clear::default().make(&mut clear).expect("left");
        assert_eq!(steps(&clear), 90);
    }

    #[test]
    fn a_grainy_picture_is_smoothed() {
        let mut frame = picture(0);
        let grainy: Vec<u8> = (0..6400u32)
            .map(|k| 60 + (k.wrapping_mul(2_654_435_761) >> 24) as u8 / 4)
            .collect();
        let grain = |luma: &Mat| {
            let rows: Vec<Vec<u8>> = (0..80)
                .map(|r| {
                    luma.row(r)
                        .expect("inside")
                        .data_typed::<u8>()
                        .expect("bytes")
                        .to_vec()
                })
                .collect();
            super::grain(rows.iter().map(Vec::as_slice))
        };
        let luma = Mat::from_slice(&grainy).expect("luma");
        let luma = luma
            .reshape(1, 80)
            .expect("80 rows")
            .try_clone()
            .expect("luma");
        let before = grain(&luma);
        *frame.luma.writable().expect("luma") = luma;
        Clear::default().make(&mut frame).expect("made clear");
        assert!(before > GRAINY && grain(&frame.luma) < 0.4 * before);
    }

    #[test]
    fn later_pictures_are_drawn_out_as_the_first() {
        let mut clear = Clear::default();
        clear.make(&mut picture(20)).expect("made clear");
        let mut later = picture(50);
        clear.make(&mut later).expect("made clear");
        assert_eq!(steps(&later), 150);
    }
}
