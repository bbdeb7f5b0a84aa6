//! The whole lure about its clearest part: its lip, its pale flank or its fat front may stand out alone.

use super::pose::Pose;
use super::start;
use super::start_box::StartBox;
use crate::Result;
use crate::media::Frame;
use crate::units::wrap_deg;

/// The box grows by so much, at most so often, as long as what is cut out of it becomes so much longer.
const GROWTH: f64 = 1.7;
const GROWTHS: usize = 3;
const LONGER: f64 = 1.25;
/// Or it reaches so far behind the part, in lengths of it.
const BEHIND: f64 = 3.2;
/// The whole reaches along its axis to within this of the middle of the part, in lengths of the whole.
const HOLDS: f64 = 0.6;
/// A part wider than this for its length is roundish; a whole lure is no wider than this.
const ROUNDISH: f64 = 0.55;
/// A lure points along its line to within this, degrees: it swings about it.
const ALONG_LINE_DEG: f64 = 35.0;
/// What is longer than this part of its box has run out of it, into streaks of light or the line.
const FITS: f64 = 0.95;

/// A spot with the outline that is cut out of it.
pub struct Part {
    /// Box round the spot.
    pub place: StartBox,
    /// How what is cut out of it lies, and its width over its length; `None` where nothing is.
    pub outline: Option<(Pose, f64)>,
}

impl Part {
    /// Cuts the spot out.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when the picture cannot be worked on.
    pub fn cut(frame: &Frame, place: StartBox) -> Result<Part> {
        let outline = start::recut(frame, &place)?;
        Ok(Part { place, outline })
    }

    /// The box grown to the whole thing of which this is the clearest part, about itself or, round a lip, away from its
    /// line: a roundish part, or, where the direction of its line is known (image degrees), any part of something that
    /// points along it. Else the spot's own box.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when the picture cannot be worked on.
    pub fn whole(&self, frame: &Frame, line_deg: Option<f64>) -> Result<StartBox> {
        let mut best = self.place;
        let Some((mut pose, mut width)) = self.outline else {
            return Ok(best);
        };
        for _ in 0..GROWTHS {
            if width < ROUNDISH && line_deg.is_none() {
                break;
            }
            let lip = line_deg.filter(|_| width >= ROUNDISH);
            let with_body = lip.map(|deg| with_body(&pose, deg, best.t_s));
            let wider = [best.grown(GROWTH)].into_iter().chain(with_body);
            let mut larger = None;
            for about in wider {
                let cut = start::recut(frame, &about)?;
                larger = cut.filter(|cut| grew(cut, &about, (&pose, width), line_deg));
                if larger.is_some() {
                    break;
                }
            }
            let Some(cut) = larger else {
                break;
            };
            (pose, width) = cut;
            best = pose.box_about(width, best.t_s);
        }
        Ok(best)
    }
}

/// Whether what was cut out of a box holds the part so far, is longer, fits into the box and may be a lure.
fn grew(
    (cut, cut_width): &(Pose, f64),
    about: &StartBox,
    (part, width): (&Pose, f64),
    line_deg: Option<f64>,
) -> bool {
    let off_line = |deg: f64| wrap_deg(2.0 * (cut.axis_rad.to_degrees() - deg)).abs() / 2.0;
    let [u, _] = cut.body_point([part.x_px, part.y_px]);
    u.abs() < HOLDS
        && cut.along_px > LONGER * part.along_px
        && cut.along_px < FITS * about.w.hypot(about.h)
        && *cut_width < ROUNDISH.min(width.max(0.3))
        && line_deg.is_none_or(|deg| off_line(deg) < ALONG_LINE_DEG)
}

/// A box round a lip and the body that may lie behind it, away from its line: of a box about itself, a lip that is paler
/// than the body is cut out alone.
fn with_body(part: &Pose, line_deg: f64, t_s: f64) -> StartBox {
    let back = (line_deg + 180.0).to_radians();
    let reach = BEHIND * part.along_px;
    let (x, y) = (reach * back.sin(), -reach * back.cos());
    let (left, top) = (part.x_px + x.min(0.0), part.y_px + y.min(0.0));
    let room = 0.6 * part.along_px;
    StartBox {
        x: left - room,
        y: top - room,
        w: x.abs() + 2.0 * room,
        h: y.abs() + 2.0 * room,
        t_s,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use opencv::core::{CV_8UC1, Mat, MatTrait, Scalar};

    /// Dull water in which a dark body, 60 × 14 px with its nose at (120, 60), carries a pale lip, 20 × 18 px.
    fn lure() -> Frame {
        let plane = |rows, columns, value: f64| {
            Mat::new_rows_cols_with_default(rows, columns, CV_8UC1, Scalar::all(value)).unwrap()
        };
        let (mut luma, mut cb) = (plane(120, 240, 90.0), plane(60, 120, 118.0));
        for y in 0..120 {
            for x in 0..240 {
                let speck = (x * 7919 + y * 104_729) % 11;
                let r = (f64::from(x - 90) / 30.0).hypot(f64::from(y - 60) / 7.0);
                let lip = (120..140).contains(&x) && (51..69).contains(&y);
                let (value, blue) = match (lip, r < 1.0) {
                    (true, _) => (220, 122),
                    (false, true) => (50, 165),
                    _ => (86 + speck, 118),
                };
                *luma.at_2d_mut::<u8>(y, x).unwrap() = value as u8;
                *cb.at_2d_mut::<u8>(y / 2, x / 2).unwrap() = blue;
            }
        }
        let mut frame = Frame::default();
        *frame.luma.writable().unwrap() = luma;
        *frame.cb.writable().unwrap() = cb;
        *frame.cr.writable().unwrap() = plane(60, 120, 120.0);
        frame
    }

    #[test]
    fn the_body_behind_a_lip_is_part_of_the_lure() {
        let frame = lure();
        let about_lip = StartBox {
            x: 116.0,
            y: 47.0,
            w: 28.0,
            h: 26.0,
            t_s: 0.0,
        };
        let part = Part::cut(&frame, about_lip).unwrap();
        // the line leads to the right of the picture
        let whole = part.whole(&frame, Some(90.0)).unwrap();
        assert!(whole.x < 75.0 && whole.x + whole.w > 115.0, "{whole:?}");
        // away from the line, not along it
        let ahead = part.whole(&frame, Some(-90.0)).unwrap();
        assert!(ahead.x > 100.0, "{ahead:?}");
    }
}
