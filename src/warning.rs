//! Warnings: one enum, each with its data, a stable code and the next step to take.

use serde::Serialize;

/// Something the user should know about a result that does not make it worthless.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Warning {
    /// The clip's frames are not evenly spaced in time.
    VariableFrameRate {
        /// Shortest and longest gap between frames, s.
        gap_s: [f64; 2],
    },
    /// Time stamps at the clip's end were missing or fell back, and were mended.
    MendedTimeStamps {
        /// How many frames.
        frames: usize,
    },
    /// The lure was out of sight for a part of the clip.
    PartlySeen {
        /// Fraction of the frames in which the lure was followed, 0–1.
        tracked_fraction: f64,
    },
    /// The frame rate is too low to tell the wobble rate.
    Aliased {
        /// Rates that would look the same, Hz, ascending.
        candidates_hz: Vec<f64>,
    },
    /// Angles are as they look from this view, not the lure's own.
    ApparentAngles,
    /// The camera moved along: distance over the bottom is known only as far as the bottom's depth is.
    MovingCamera,
    /// The pull direction was not given and no line was seen; it was taken from the path.
    PullFromPath,
    /// The Strouhal number lies outside the band of swimming animals.
    UnusualStrouhal {
        /// The value.
        strouhal: f64,
    },
    /// The lure is small in the picture.
    SmallInPicture {
        /// Its length, px.
        length_px: f64,
    },
    /// A view was given that the clip contradicts.
    ViewDoubtful {
        /// Why.
        why: String,
    },
    /// Something else, told in full.
    Other {
        /// Stable code.
        code: &'static str,
        /// The sentence.
        text: String,
    },
}

impl Warning {
    /// Stable code for programs.
    pub fn code(&self) -> &'static str {
        match self {
            Warning::VariableFrameRate { .. } => "vfr",
            Warning::MendedTimeStamps { .. } => "mended_time_stamps",
            Warning::PartlySeen { .. } => "partly_seen",
            Warning::Aliased { .. } => "aliased",
            Warning::ApparentAngles => "apparent_angles",
            Warning::MovingCamera => "moving_camera",
            Warning::PullFromPath => "pull_from_path",
            Warning::UnusualStrouhal { .. } => "strouhal",
            Warning::SmallInPicture { .. } => "small_in_picture",
            Warning::ViewDoubtful { .. } => "view_doubtful",
            Warning::Other { code, .. } => code,
        }
    }

    /// Whether it says that the clip contradicts the view, and with it every side.
    pub fn doubts_the_view(&self) -> bool {
        matches!(self, Warning::ViewDoubtful { .. })
    }

    /// What it means and what to do, in one or two plain sentences.
    pub fn text(&self) -> String {
        match self {
            Warning::VariableFrameRate { gap_s: [lo, hi] } => format!(
                "variable frame rate ({:.1} to {:.1} ms between frames): each frame's own time stamp was used",
                lo * 1e3,
                hi * 1e3
            ),
            Warning::MendedTimeStamps { frames } => format!(
                "{frames} time stamps were missing or fell back and were filled in at the usual spacing"
            ),
            Warning::PartlySeen { tracked_fraction } => format!(
                "the lure was followed in {:.0} % of the frames; figures hold for that part",
                tracked_fraction * 100.0
            ),
            Warning::Aliased { candidates_hz } => format!(
                "the frame rate cannot tell the wobble rate: it could be {} Hz; film at a higher frame rate",
                candidates_hz
                    .iter()
                    .map(|f| format!("{f:.2}"))
                    .collect::<Vec<_>>()
                    .join(" or ")
            ),
            Warning::ApparentAngles => {
                "angles are as they look from here, larger than the lure's own; give --tilt to correct them, or look down more steeply".into()
            }
            Warning::MovingCamera => "the camera moved along, so the way made through the water is only known as well as the bottom's depth; give --speed to settle it".into(),
            Warning::PullFromPath => "no line was seen and no --pull given: the pull was taken along the path, so a steady drift cannot show".into(),
            Warning::UnusualStrouhal { strouhal } => format!(
                "Strouhal number {strouhal:.2} is outside 0.2–0.4, where swimming animals cruise; check the length and the speed"
            ),
            Warning::SmallInPicture { length_px } => format!(
                "the lure is only {length_px:.0} px long; film closer for a better width and drift"
            ),
            Warning::ViewDoubtful { why } => why.clone(),
            Warning::Other { text, .. } => text.clone(),
        }
    }
}

impl Serialize for Warning {
    fn serialize<S: serde::Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        use serde::ser::SerializeStruct;
        let mut w = s.serialize_struct("Warning", 2)?;
        w.serialize_field("code", self.code())?;
        w.serialize_field("text", &self.text())?;
        w.end()
    }
}
