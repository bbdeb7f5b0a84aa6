//! A frame as the rest of the program sees it.

use ffmpeg_next::frame::Video as Picture;
use opencv::boxed_ref::BoxedRef;
use opencv::core::{_InputArray, CV_8UC1, Mat, MatTraitConst, ToInputArray};
use std::ops::Deref;
use std::sync::Arc;

use crate::{Error, Result};

/// One frame of a clip in the displayed orientation, with square pixels.
#[derive(Debug, Default)]
pub struct Frame {
    /// Number of the frame in the clip, from 0.
    pub index: usize,
    /// When it happened, s of real time; the first frame at 0.
    pub t_s: f64,
    /// Brightness, displayed height × width.
    pub luma: Plane,
    /// Blueness (128 is neutral), half height × half width, rounded up.
    pub cb: Plane,
    /// Redness (128 is neutral), half height × half width, rounded up.
    pub cr: Plane,
}

/// An 8-bit plane, to be read like an OpenCV matrix. Where nothing has to be turned or converted it
/// is the decoder's own memory, which costs no copy: so it is only for reading (but see
/// [`Plane::writable`]), and its rows may lie apart (it is not "continuous": go by row).
#[derive(Default)]
pub struct Plane {
    mat: Mat,
    /// The picture whose memory `mat` looks at; `None` where `mat` has its own.
    lender: Option<Arc<Picture>>,
}

impl Frame {
    /// A copy in memory of its own, to be kept while the clip is read on.
    ///
    /// # Errors
    /// [`Error::Video`] if there is no memory for it.
    pub fn copy(&self) -> Result<Frame> {
        let mut copy = Frame {
            index: self.index,
            t_s: self.t_s,
            ..Frame::default()
        };
        let planes = [
            (&self.luma, &mut copy.luma),
            (&self.cb, &mut copy.cb),
            (&self.cr, &mut copy.cr),
        ];
        for (from, to) in planes {
            *to.writable()? = from.try_clone()?;
        }
        Ok(copy)
    }

    /// Lets go of what the decoder lent, so that it can use that memory again.
    pub(super) fn give_back(&mut self) {
        for plane in [&mut self.luma, &mut self.cb, &mut self.cr] {
            if plane.lender.is_some() {
                *plane = Plane::default();
            }
        }
    }
}

impl Plane {
    /// Plane `index` of an 8-bit 4:2:0 picture, `size` (width, height) px, without a copy.
    ///
    /// # Errors
    /// [`Error::Video`] if the picture's lines are not laid as its format says.
    pub(super) fn lent_by(picture: &Arc<Picture>, index: usize, size: [i32; 2]) -> Result<Plane> {
        let [width, height] = size;
        // SAFETY: plane `index` of an 8-bit 4:2:0 picture has `height` lines of at least `width`
        // bytes, `linesize` apart (checked). The matrix is only lent out as `&Mat` by this plane,
        // which keeps the picture alive; nobody writes to a picture that the decoder has handed out.
        let mat = unsafe {
            let (start, step) = (
                (*picture.as_ptr()).data[index],
                (*picture.as_ptr()).linesize[index],
            );
            if start.is_null() || step < width {
                return Err(Error::Video(
                    "the picture's lines are not laid as expected".into(),
                ));
            }
            Mat::new_rows_cols_with_data_unsafe(
                height,
                width,
                CV_8UC1,
                start.cast(),
                step as usize,
            )?
        };
        Ok(Plane {
            mat,
            lender: Some(picture.clone()),
        })
    }

    /// The plane to draw on: copied first if it is the decoder's memory, then continuous too.
    ///
    /// # Errors
    /// [`Error::Video`] if there is no memory for the copy.
    pub fn writable(&mut self) -> Result<&mut Mat> {
        if self.lender.is_some() {
            self.mat = self.mat.try_clone()?;
            self.lender = None;
        }
        Ok(&mut self.mat)
    }

    /// The matrix to print into, its memory kept from the last time where it was the plane's own.
    pub(super) fn own(&mut self) -> &mut Mat {
        if self.lender.take().is_some() {
            self.mat = Mat::default();
        }
        &mut self.mat
    }
}

impl Deref for Plane {
    type Target = Mat;

    fn deref(&self) -> &Mat {
        &self.mat
    }
}

impl ToInputArray for Plane {
    fn input_array(&self) -> opencv::Result<BoxedRef<'_, _InputArray>> {
        self.mat.input_array()
    }
}

impl std::fmt::Debug for Plane {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.mat.fmt(f)
    }
}
