//! A frame made small, as what moves and what is new is looked for in it.

use opencv::core::{self, Mat, MatTraitConst, Scalar};
use opencv::imgproc;

use super::blobs::{reduced, reduced_as, reduction};
use super::track::Affine;
use crate::Result;
use crate::media::Frame;

/// A colour is told as it would be at this brightness above black, for light that dances over the bottom changes both.
const AT_BRIGHTNESS: f64 = 128.0;
/// Video's black.
pub const BLACK: f64 = 16.0;
/// What is less bright than this above it is taken to be so bright, for its colour is all noise.
const LEAST_BRIGHT: f64 = 32.0;
/// A colour difference of nought.
const GREY: f64 = 128.0;

/// A frame, reduced.
pub struct Small {
    /// Its time, s.
    pub t_s: f64,
    /// Brightness, in steps of 255, and the two colours as they would be at one brightness.
    pub planes: [Mat; 3],
    /// Reduced over full px.
    pub scale: f64,
    /// How the full picture lies on the background.
    pub to_scene: Affine,
}

impl Small {
    /// A frame that lies so on the background.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when the picture cannot be worked on.
    pub fn of(frame: &Frame, to_scene: &Affine) -> Result<Small> {
        let luma = reduced(&frame.luma)?;
        let (mut above_black, mut bright) = (Mat::default(), Mat::default());
        let scale = 1.0 / AT_BRIGHTNESS;
        luma.convert_to(&mut above_black, core::CV_32F, scale, -scale * BLACK)?;
        core::max(
            &above_black,
            &Scalar::all(scale * LEAST_BRIGHT),
            &mut bright,
        )?;
        let colour = |plane: &Mat| -> Result<Mat> {
            let (mut off_grey, mut colour) = (Mat::default(), Mat::default());
            reduced_as(plane, &frame.luma)?.convert_to(&mut off_grey, core::CV_32F, 1.0, -GREY)?;
            core::divide2_def(&off_grey, &bright, &mut colour)?;
            Ok(colour)
        };
        let (blue, red) = (colour(&frame.cb)?, colour(&frame.cr)?);
        Ok(Small {
            t_s: frame.t_s,
            planes: [luma, blue, red],
            scale: reduction(&frame.luma),
            to_scene: *to_scene,
        })
    }
}

/// A reduced picture laid over another of its size: `place` tells where each point of that lies in it, full px; `outside`
/// is what lies beyond its border where that is constant.
///
/// # Errors
/// [`crate::Error::Video`] when the picture cannot be worked on.
pub fn laid(picture: &Mat, place: &Affine, scale: f64, border: i32, outside: f64) -> Result<Mat> {
    let mut m = place.0;
    m[2] *= scale;
    m[5] *= scale;
    let m = Mat::from_slice(&m)?.reshape(1, 2)?.try_clone()?;
    let mut out = Mat::default();
    let how = imgproc::INTER_LINEAR | imgproc::WARP_INVERSE_MAP;
    let outside = Scalar::all(outside);
    imgproc::warp_affine(picture, &mut out, &m, picture.size()?, how, border, outside)?;
    Ok(out)
}
