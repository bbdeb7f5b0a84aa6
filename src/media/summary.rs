//! What is reported of a clip once it has been read to its end.

use crate::{Error, Result, Warning};
use serde::{Deserialize, Serialize, Serializer};

/// Fewer frames than this cannot hold the few cycles that a rate needs.
const FEWEST_FRAMES: usize = 8;

/// The `clip` object of the result. Times are seconds of real time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ClipSummary {
    /// Name of the file, without its folder.
    pub file: String,
    /// SHA-256 of the file, 64 hexadecimal digits; `None` if it could not be read again.
    pub sha256: Option<String>,
    /// Frames decoded.
    pub frames: usize,
    /// From the first frame to the last, s; stored to the microsecond.
    #[serde(serialize_with = "to_the_microsecond")]
    pub duration_s: f64,
    /// Frames per second at the usual gap; `None` for fewer than two frames.
    pub fps_median: Option<f64>,
    /// Whether the frames are unevenly spaced in time.
    pub vfr: bool,
    /// How far the stored picture was turned clockwise to be displayed: 0, 90, 180 or 270.
    pub rotation_deg: u16,
    /// Displayed width, px.
    pub width: u32,
    /// Displayed height, px.
    pub height: u32,
    /// Shortest and longest gap between frames, s.
    #[serde(skip)]
    pub gap_range_s: Option<[f64; 2]>,
    /// Gaps of more than 1.5 × the median: frames that the camera or the file lost.
    #[serde(skip)]
    pub long_gaps: usize,
    /// Time stamps that were missing or fell back, and were mended.
    #[serde(skip)]
    pub mended_stamps: usize,
    /// Pieces of the file that could not be decoded cleanly.
    #[serde(skip)]
    pub damaged: usize,
    /// The file ends before the length that it claims.
    #[serde(skip)]
    pub cut_short: bool,
    /// The picture is interlaced: its odd and even lines are of two moments.
    #[serde(skip)]
    pub interlaced: bool,
    /// The file asks for a mirrored display, as some front cameras do.
    #[serde(skip)]
    pub mirrored: bool,
    /// The file spends so few bits on its pictures that fine motion is lost in them.
    #[serde(skip)]
    pub starved: bool,
}

impl ClipSummary {
    /// What the user should know about the clip.
    pub fn warnings(&self) -> Vec<Warning> {
        let mut warnings = Vec::new();
        if let (true, Some(gap_s)) = (self.vfr, self.gap_range_s) {
            warnings.push(Warning::VariableFrameRate { gap_s });
        }
        if self.mended_stamps > 0 {
            warnings.push(Warning::MendedTimeStamps {
                frames: self.mended_stamps,
            });
        }
        let mut say = |code, text| warnings.push(Warning::Other { code, text });
        if self.long_gaps > 0 && !self.vfr {
            let count = counted(self.long_gaps, "gap");
            say(
                "frame_gaps",
                format!("{count} between frames where the camera or the file lost some"),
            );
        }
        if self.damaged > 0 {
            let count = counted(self.damaged, "piece");
            say(
                "damaged",
                format!(
                    "{count} of the file could not be read cleanly; figures there may suffer; copy the clip again"
                ),
            );
        }
        if self.cut_short {
            say(
                "cut_short",
                format!(
                    "the file ends early, after {:.1} s; figures hold for that part; copy the clip again",
                    self.duration_s
                ),
            );
        }
        if self.interlaced {
            say(
                "interlaced",
                "the picture is interlaced, so edges comb; film progressive (\"p\")".into(),
            );
        }
        if self.starved {
            say(
                "compressed",
                "the clip is so strongly compressed that fine motion is lost; copy the camera's own file rather than one sent by a messenger".into(),
            );
        }
        if self.mirrored {
            say(
                "mirrored",
                "the file asks for a mirrored picture, so left and right may be swapped; film with the back camera or switch mirroring off".into(),
            );
        }
        warnings
    }

    /// Refuses a clip of too few frames to hold the cycles that a rate needs.
    ///
    /// # Errors
    /// [`Error::Unreadable`] naming the number of frames.
    pub fn check_long_enough(&self) -> Result<()> {
        if self.frames >= FEWEST_FRAMES {
            return Ok(());
        }
        Err(Error::unreadable(
            &self.file,
            format!(
                "too short to measure, {} in it",
                counted(self.frames, "frame")
            ),
            "film at least two seconds of swimming",
        ))
    }
}

fn to_the_microsecond<S: Serializer>(seconds: &f64, to: S) -> std::result::Result<S::Ok, S::Error> {
    to.serialize_f64((seconds * 1e6).round() / 1e6)
}

/// "1 frame", "2 frames".
fn counted(n: usize, thing: &str) -> String {
    format!("{n} {thing}{}", if n == 1 { "" } else { "s" })
}
