//! The picture with outline, axis and waterline drawn in: a wrong outline shows at once.

use std::path::Path;

use opencv::core::{Mat, MatTraitConst, Point, Scalar, Size, Vector};
use opencv::{core, imgcodecs, imgproc};

use super::OutFile;
use crate::media::{Clip, ClipOptions, Frame, is_photo, read_photo};
use crate::motion::float::Marks;
use crate::{Error, Result};

/// Bits of a pixel's fraction that OpenCV draws by.
const SHIFT: i32 = 4;

/// Reads the marked frame of `file` again, draws the marks, writes it as PNG. The dot is the nose (from an
/// end: the back).
///
/// # Errors
/// [`Error::File`] where it cannot be written; those of reading the file again.
pub fn write_float_overlay(file: &Path, marks: &Marks, out: &OutFile) -> Result<()> {
    let frame = match is_photo(file) {
        true => read_photo(file)?,
        false => frame_of(file, marks.frame)?,
    };
    let mut picture = colours(&frame)?;
    draw(&mut picture, marks)?;
    let mut bytes = Vector::<u8>::new();
    imgcodecs::imencode_def(".png", &picture, &mut bytes)?;
    out.write(bytes.as_slice())
}

fn frame_of(file: &Path, number: usize) -> Result<Frame> {
    let mut clip = Clip::open(file, &ClipOptions::default())?;
    let mut frame = Frame::default();
    while clip.read(&mut frame)? {
        if frame.index == number {
            return Ok(frame);
        }
    }
    Err(Error::unreadable(
        file,
        "it has changed since it was measured",
        "run the test again",
    ))
}

/// Blue, green, red.
fn colours(frame: &Frame) -> Result<Mat> {
    let size = Size::new(frame.luma.cols(), frame.luma.rows());
    let wide = |plane: &Mat| -> Result<Mat> {
        let mut out = Mat::default();
        imgproc::resize(plane, &mut out, size, 0.0, 0.0, imgproc::INTER_LINEAR)?;
        Ok(out)
    };
    let planes: Vector<Mat> = [frame.luma.try_clone()?, wide(&frame.cr)?, wide(&frame.cb)?]
        .into_iter()
        .collect();
    let (mut joined, mut out) = (Mat::default(), Mat::default());
    core::merge(&planes, &mut joined)?;
    imgproc::cvt_color_def(&joined, &mut out, imgproc::COLOR_YCrCb2BGR)?;
    Ok(out)
}

fn draw(picture: &mut Mat, marks: &Marks) -> Result<()> {
    let at = |[x, y]: [f64; 2]| {
        let fixed = |v: f64| ((v - 0.5) * f64::from(1 << SHIFT)).round() as i32;
        Point::new(fixed(x), fixed(y))
    };
    let thick = (picture.cols().max(picture.rows()) / 640).max(1);
    let mut line = |a, b, colour: Scalar| {
        imgproc::line(
            picture,
            at(a),
            at(b),
            colour,
            thick,
            imgproc::LINE_AA,
            SHIFT,
        )
    };
    // the colours of the chart sheet: seen blue, found orange, outline yellow
    let (blue, orange, yellow) = (
        Scalar::new(178.0, 114.0, 0.0, 0.0),
        Scalar::new(0.0, 94.0, 213.0, 0.0),
        Scalar::new(66.0, 228.0, 240.0, 0.0),
    );
    if let Some(([x, y], turn)) = marks.water {
        let far = 2e4_f64.min(4.0 * x.max(1000.0));
        let (sin, cos) = turn.to_radians().sin_cos();
        line(
            [x - far * cos, y - far * sin],
            [x + far * cos, y + far * sin],
            blue,
        )?;
    }
    for i in 0..marks.outline.len() {
        let next = (i + 1) % marks.outline.len();
        line(marks.outline[i], marks.outline[next], yellow)?;
    }
    line(marks.axis[0], marks.axis[1], orange)?;
    let dot = at(marks.axis[1]);
    imgproc::circle(
        picture,
        dot,
        (4 * thick) << SHIFT,
        orange,
        -1,
        imgproc::LINE_AA,
        SHIFT,
    )?;
    Ok(())
}
