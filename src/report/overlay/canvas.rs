//! Drawing on brightness and colour planes, without a detour over red, green and blue.

use opencv::core::{Mat, MatTraitConst, Point, Scalar, Size};
use opencv::imgproc;

use crate::Result;

/// Fixed-point digits with which OpenCV draws between pixels.
const SHIFT: i32 = 4;

/// A colour as brightness and colour differences (ITU-R BT.601, video range).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Colour([f64; 3]);

/// White letters.
pub const WHITE: Colour = Colour([235.0, 128.0, 128.0]);
/// Their border.
pub const BLACK: Colour = Colour([16.0, 128.0, 128.0]);
/// What was seen: the blue-green of the chart sheet, lighter for water.
pub const SEEN: Colour = Colour([170.0, 166.0, 16.0]);
/// The axis.
pub const AXIS: Colour = Colour([210.0, 16.0, 146.0]);
/// Darts: orange.
pub const DART: Colour = Colour([162.0, 44.0, 200.0]);

/// The planes of one frame, to draw on. Places are in px of the displayed picture, the centre of the
/// top-left pixel at (0.5, 0.5).
pub struct Canvas<'a> {
    planes: [&'a mut Mat; 3],
    /// Width of a line, px.
    pen: f64,
}

impl<'a> Canvas<'a> {
    /// A canvas on a frame's planes: colour at half the size of brightness.
    pub fn new(luma: &'a mut Mat, cb: &'a mut Mat, cr: &'a mut Mat) -> Self {
        let pen = (f64::from(luma.rows().min(luma.cols())) / 300.0).max(1.2);
        Canvas {
            planes: [luma, cb, cr],
            pen,
        }
    }

    /// Width of a line, px.
    pub fn pen(&self) -> f64 {
        self.pen
    }

    /// Height of the picture, px.
    pub fn height(&self) -> f64 {
        f64::from(self.planes[0].rows())
    }

    /// Lines from point to point; points that are not finite break them.
    pub fn lines(&mut self, points: &[[f64; 2]], colour: Colour) -> Result<()> {
        let far = 4.0 * self.height().max(f64::from(self.planes[0].cols()));
        let drawable = |p: &[f64; 2]| p.iter().all(|x| x.is_finite() && x.abs() < far);
        for pair in points.windows(2).filter(|pair| pair.iter().all(drawable)) {
            for (i, plane) in self.planes.iter_mut().enumerate() {
                let (from, to) = (place(pair[0], i), place(pair[1], i));
                let (value, pen) = (Scalar::all(colour.0[i]), thickness(self.pen, i));
                imgproc::line(*plane, from, to, value, pen, imgproc::LINE_AA, SHIFT)?;
            }
        }
        Ok(())
    }

    /// An ellipse about `centre`, `length` long in the image direction `axis_deg` and `width` wide.
    pub fn ellipse(
        &mut self,
        centre: [f64; 2],
        [length, width]: [f64; 2],
        axis_deg: f64,
        colour: Colour,
    ) -> Result<()> {
        let (sin, cos) = axis_deg.to_radians().sin_cos();
        let (along, across) = ([sin, -cos], [cos, sin]);
        let points: Vec<[f64; 2]> = (0..=48)
            .map(|i| {
                let (s, c) = (f64::from(i) * std::f64::consts::TAU / 48.0).sin_cos();
                let (a, b) = (c * length / 2.0, s * width / 2.0);
                [0, 1].map(|k| centre[k] + a * along[k] + b * across[k])
            })
            .collect();
        self.lines(&points, colour)
    }

    /// A small disc.
    pub fn dot(&mut self, at: [f64; 2], colour: Colour) -> Result<()> {
        let pen = self.pen;
        self.ellipse(at, [pen * 2.0; 2], 0.0, colour)
    }

    /// White letters with a dark border, `size` px high, their lower left corner at `at`; kept inside
    /// the picture.
    pub fn text(&mut self, text: &str, at: [f64; 2], size: f64) -> Result<()> {
        let font = imgproc::FONT_HERSHEY_SIMPLEX;
        // Letters of this font are 21 px high at scale 1.
        let scale = size / 21.0;
        let pen = (scale * 1.6).round().max(1.0) as i32;
        let mut below = 0;
        let Size { width, .. } = imgproc::get_text_size(text, font, scale, pen, &mut below)?;
        let room = f64::from(self.planes[0].cols() - width) - 2.0;
        let at = [
            at[0].min(room).max(2.0),
            at[1].clamp(size + 2.0, self.height() - 3.0),
        ];
        for (colour, pen) in [(BLACK, pen + 2), (WHITE, pen)] {
            for (i, plane) in self.planes.iter_mut().enumerate() {
                let part = if i == 0 { 1.0 } else { 0.5 };
                let at = Point::new((at[0] * part) as i32, (at[1] * part) as i32);
                let (value, pen) = (Scalar::all(colour.0[i]), thickness(f64::from(pen), i));
                let line = imgproc::LINE_AA;
                imgproc::put_text(
                    *plane,
                    text,
                    at,
                    font,
                    scale * part,
                    value,
                    pen,
                    line,
                    false,
                )?;
            }
        }
        Ok(())
    }
}

/// A place in plane `i` in fixed point.
fn place(p: [f64; 2], i: usize) -> Point {
    let part = if i == 0 { 1.0 } else { 0.5 };
    let fixed = |x: f64| ((x * part - 0.5) * f64::from(1 << SHIFT)).round() as i32;
    Point::new(fixed(p[0]), fixed(p[1]))
}

/// Line width in plane `i`, px.
fn thickness(pen: f64, i: usize) -> i32 {
    let part = if i == 0 { 1.0 } else { 0.5 };
    (pen * part).round().max(1.0) as i32
}
