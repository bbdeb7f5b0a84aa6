//! Decoded pictures printed as frames: turned upright, with square pixels.

use super::transpose::{Rows, transpose};
use super::{Frame, Orientation, Plane};
use crate::{Error, Result};
use ffmpeg::format::Pixel;
use ffmpeg::frame::Video as Picture;
use ffmpeg::software::scaling;
use ffmpeg::{color, ffi};
use ffmpeg_next as ffmpeg;
use opencv::core::{self, CV_8UC1, Mat, MatTrait, MatTraitConst, MatTraitManual, Size};
use opencv::imgproc;
use std::sync::Arc;

/// Widest departure from square pixels that is believed.
const MOST_ASPECT: f64 = 8.0;

/// Turns decoded pictures into frames. Buffers are kept from picture to picture.
pub struct Printer {
    stored: [i32; 2],
    square: [i32; 2],
    orientation: Orientation,
    format: Pixel,
    converter: Option<Converter>,
    /// The three planes with square pixels, before they are turned.
    stretched: [Mat; 3],
}

/// Brings any pixel format to 8-bit planes with colour at half size.
struct Converter {
    context: scaling::Context,
    converted: Arc<Picture>,
}

impl Printer {
    /// A printer for pictures like `first`, whose stored pixels are `aspect` times as wide as high.
    ///
    /// # Errors
    /// [`Error::Video`] if the picture has no size or a format that cannot be converted.
    pub fn new(first: &Picture, aspect: f64, orientation: Orientation) -> Result<Self> {
        let stored = size_of(first);
        if stored[0] <= 0 || stored[1] <= 0 {
            return Err(Error::Video("the picture has no width or no height".into()));
        }
        let format = first.format();
        let direct = matches!(format, Pixel::YUV420P | Pixel::YUVJ420P);
        Ok(Printer {
            stored,
            square: square_size(stored, aspect),
            orientation,
            format,
            converter: if direct {
                None
            } else {
                Some(Converter::new(format, stored)?)
            },
            stretched: Default::default(),
        })
    }

    /// Displayed width and height, px.
    pub fn displayed_size(&self) -> [i32; 2] {
        self.orientation.displayed_size(self.square)
    }

    /// Prints `picture` into `frame`'s planes; where nothing has to be done to it, lends its own.
    ///
    /// # Errors
    /// [`Error::Video`] if the picture's size or format is not the clip's, or OpenCV fails.
    pub fn print(&mut self, picture: Picture, frame: &mut Frame) -> Result<()> {
        if size_of(&picture) != self.stored || picture.format() != self.format {
            return Err(Error::Video(
                "the picture changes its size or format midway".into(),
            ));
        }
        let source = match &mut self.converter {
            Some(converter) => converter.convert(&picture)?,
            None => Arc::new(picture),
        };
        let as_it_lies = self.square == self.stored && self.orientation == Orientation::default();
        let planes = [&mut frame.luma, &mut frame.cb, &mut frame.cr];
        for (index, (plane, stretched)) in planes.into_iter().zip(&mut self.stretched).enumerate() {
            let scale = |size: [i32; 2]| if index == 0 { size } else { size.map(halved) };
            let lent = Plane::lent_by(&source, index, scale(self.stored))?;
            if as_it_lies {
                *plane = lent;
            } else {
                lay(
                    &lent,
                    scale(self.square),
                    self.orientation,
                    stretched,
                    plane.own(),
                )?;
            }
        }
        Ok(())
    }
}

impl Converter {
    fn new(format: Pixel, [width, height]: [i32; 2]) -> Result<Self> {
        // The values keep their range: full where the source has it, video range elsewhere.
        let to = if has_full_range(format) {
            Pixel::YUVJ420P
        } else {
            Pixel::YUV420P
        };
        let (w, h) = (width as u32, height as u32);
        let context = scaling::Context::get(format, w, h, to, w, h, scaling::Flags::BILINEAR)
            .map_err(failed)?;
        Ok(Converter {
            context,
            converted: Arc::new(Picture::empty()),
        })
    }

    /// The picture converted, into the memory of the last one if no frame holds it any more.
    fn convert(&mut self, picture: &Picture) -> Result<Arc<Picture>> {
        if Arc::get_mut(&mut self.converted).is_none() {
            self.converted = Arc::new(Picture::empty());
        }
        if let Some(converted) = Arc::get_mut(&mut self.converted) {
            self.context.run(picture, converted).map_err(failed)?;
        }
        Ok(self.converted.clone())
    }
}

/// Whether a picture's brightness runs over 0–255 rather than video's 16–235.
pub fn is_full_range(picture: &Picture) -> bool {
    picture.color_range() == color::Range::JPEG || has_full_range(picture.format())
}

/// Whether a pixel format by its nature runs over 0–255: RGB, grey, and the old "J" formats.
fn has_full_range(format: Pixel) -> bool {
    let Some(descriptor) = format.descriptor() else {
        return false;
    };
    // SAFETY: FFmpeg's table of formats is static; a plain field is read.
    let is_rgb = unsafe { (*descriptor.as_ptr()).flags & ffi::AV_PIX_FMT_FLAG_RGB as u64 != 0 };
    is_rgb
        || ["yuvj", "gray", "pal8", "mono"]
            .iter()
            .any(|kind| descriptor.name().starts_with(kind))
}

/// Lays a stored plane into `to`: stretched to `square` px if it is not so already, then turned.
fn lay(
    plane: &Mat,
    [width, height]: [i32; 2],
    orientation: Orientation,
    stretched: &mut Mat,
    to: &mut Mat,
) -> Result<()> {
    let mut from = plane;
    if from.cols() != width || from.rows() != height {
        let size = Size::new(width, height);
        imgproc::resize(from, stretched, size, 0.0, 0.0, imgproc::INTER_LINEAR)?;
        from = stretched;
    }
    turn(from, orientation, to)
}

/// Turns and mirrors `from` into `to`.
fn turn(from: &Mat, orientation: Orientation, to: &mut Mat) -> Result<()> {
    const ABOUT_X: i32 = 0;
    const ABOUT_Y: i32 = 1;
    const ABOUT_BOTH: i32 = -1;
    match (orientation.mirror_x, orientation.mirror_y) {
        (x, y) if orientation.transpose => {
            // SAFETY: the matrix is written to in full before anybody reads it.
            unsafe { to.create_rows_cols(from.cols(), from.rows(), CV_8UC1)? };
            transpose(rows_of(from)?, x, y, to.data_bytes_mut()?);
        }
        (false, false) => from.copy_to(to)?,
        (true, true) => core::flip(from, to, ABOUT_BOTH)?,
        (true, false) => core::flip(from, to, ABOUT_Y)?,
        (false, true) => core::flip(from, to, ABOUT_X)?,
    }
    Ok(())
}

/// The bytes of an 8-bit matrix of one channel, rows apart or not.
fn rows_of(mat: &Mat) -> Result<Rows<'_>> {
    if mat.empty() || mat.typ() != CV_8UC1 {
        return Err(Error::Video(
            "a plane of the picture is not of bytes".into(),
        ));
    }
    let (step, width, height) = (mat.step1_def()?, mat.cols() as usize, mat.rows() as usize);
    // SAFETY: a matrix of single bytes holds `height` rows of `width` bytes, `step` bytes apart,
    // and lives as long as the slice.
    let bytes = unsafe { std::slice::from_raw_parts(mat.data(), step * (height - 1) + width) };
    Ok(Rows {
        bytes,
        step,
        width,
        height,
    })
}

/// Size with square pixels: the short side of the pixel is stretched, so no detail is lost.
fn square_size([width, height]: [i32; 2], aspect: f64) -> [i32; 2] {
    if !(1.0 / MOST_ASPECT..=MOST_ASPECT).contains(&aspect) {
        return [width, height];
    }
    let stretch = |side: i32, by: f64| (f64::from(side) * by).round() as i32;
    if aspect >= 1.0 {
        [stretch(width, aspect), height]
    } else {
        [width, stretch(height, 1.0 / aspect)]
    }
}

fn size_of(picture: &Picture) -> [i32; 2] {
    [picture.width() as i32, picture.height() as i32]
}

fn halved(side: i32) -> i32 {
    (side + 1) / 2
}

fn failed(e: ffmpeg::Error) -> Error {
    Error::Video(e.to_string())
}
