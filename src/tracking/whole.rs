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

    /// The box grown to the whole thing of which this is the clearest part: a roundish part, or, where the direction
    /// of its line is known (image degrees), any part of something that points along it. Else the spot's own box.
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
            let wider = best.grown(GROWTH);
            let Some((cut, cut_width)) = start::recut(frame, &wider)? else {
                break;
            };
            let off_line = |deg: f64| wrap_deg(2.0 * (cut.axis_rad.to_degrees() - deg)).abs() / 2.0;
            let grew = cut.along_px > LONGER * pose.along_px
                && cut.along_px < FITS * wider.w.hypot(wider.h)
                && cut_width < ROUNDISH.min(width.max(0.3))
                && line_deg.is_none_or(|deg| off_line(deg) < ALONG_LINE_DEG);
            if !grew {
                break;
            }
            (pose, width) = (cut, cut_width);
            best = pose.box_about(width, best.t_s);
        }
        Ok(best)
    }
}
