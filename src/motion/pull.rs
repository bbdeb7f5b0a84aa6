//! Where the rod tip draws the lure, as the picture shows it.

use super::robust::{Line, median_direction_deg, spread};
use crate::camera::{PullFrame, Setup, View};
use crate::tracking::Track;
use crate::units::wrap_deg;

/// The line must be made out in at least this many frames to give the pull.
const LEAST_LINE_FRAMES: usize = 8;

/// Standard deviation of a pull direction given by the user, degrees: what can be read off a picture.
const GIVEN_SD_DEG: f64 = 0.3;

/// Standard deviation of the line's direction beyond the scatter of the frames, degrees: the line
/// sags and rises toward the rod tip.
const LINE_SD_DEG: f64 = 0.2;

/// Standard deviation of the camera's course about the pull, degrees: somebody walks or rows along.
const CAMERA_SD_DEG: f64 = 1.5;

/// What the pull direction was taken from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PullSource {
    /// The user gave it.
    Given,
    /// The line in the picture.
    Line,
    /// The course of a camera that moves along with the lure.
    Camera,
    /// The lure's own path: a steady drift cannot show.
    Path,
    /// Only the view: nothing in the clip told it.
    View,
}

/// The pull direction in the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pull {
    /// The lure's directions in the picture.
    pub frame: PullFrame,
    /// Standard deviation, degrees.
    pub sd_deg: f64,
    /// What it was taken from.
    pub source: PullSource,
}

impl Pull {
    /// The pull direction of `track`: given, else from the line, else from the camera's course, else
    /// from the path.
    pub fn of(track: &Track, setup: &Setup) -> Pull {
        let (deg, sd_deg, source) = given(setup)
            .or_else(|| from_line(track))
            .or_else(|| from_motion(track, setup.view))
            .unwrap_or((usual(setup.view), 20.0, PullSource::View));
        Pull {
            frame: PullFrame::new(setup.view, wrap_deg(deg), setup.tilt_deg),
            sd_deg,
            source,
        }
    }

    /// Why the pull direction contradicts the view, where it does: a lure that is followed swims up
    /// the picture, one that comes toward the camera down it, one seen from the side across it.
    pub fn contradicts(&self, view: View) -> Option<String> {
        let up = self.frame.pull_deg.to_radians().cos();
        let clear = matches!(self.source, PullSource::Given | PullSource::Line);
        let way = if up > 0.0 { "up" } else { "down" };
        match view {
            View::Behind if clear && up < -0.5 => Some(format!(
                "the lure is pulled {way} the picture, as when it comes toward the camera: try --view ahead"
            )),
            View::Ahead if clear && up > 0.5 => Some(format!(
                "the lure is pulled {way} the picture, as when it is followed: try --view behind"
            )),
            View::Side if clear && up.abs() > 0.8 => Some(format!(
                "the lure is pulled {way} the picture, which a side view cannot show: try --view above"
            )),
            _ => None,
        }
    }
}

type Found = (f64, f64, PullSource);

fn given(setup: &Setup) -> Option<Found> {
    setup
        .pull_deg
        .map(|deg| (deg, GIVEN_SD_DEG, PullSource::Given))
}

/// The line's direction: median over the frames in which it was made out.
fn from_line(track: &Track) -> Option<Found> {
    let lines: Vec<f64> = track
        .frames
        .iter()
        .filter(|f| f.is_seen() && f.line_deg.is_finite())
        .map(|f| {
            f.line_deg
                + if track.camera_moves {
                    0.0
                } else {
                    f.to_scene.turn_deg()
                }
        })
        .collect();
    if lines.len() < LEAST_LINE_FRAMES {
        return None;
    }
    let deg = median_direction_deg(&lines)?;
    // From frame to frame: as the lure moves off the camera's axis the line itself turns.
    let steps: Vec<f64> = lines.windows(2).map(|l| wrap_deg(l[1] - l[0])).collect();
    let scatter = spread(&steps) / std::f64::consts::SQRT_2;
    let effective = (lines.len() as f64 / 5.0).max(1.0);
    Some((
        deg,
        (scatter.powi(2) / effective + LINE_SD_DEG.powi(2)).sqrt(),
        PullSource::Line,
    ))
}

/// The direction of steady motion: of the camera over the bottom where it moves along, else of the lure.
fn from_motion(track: &Track, view: View) -> Option<Found> {
    let series = super::Series::new(track, &PullFrame::new(view, 0.0, None));
    let slope = |pick: &dyn Fn(usize) -> f64| {
        let y: Vec<f64> = (0..series.len()).map(pick).collect();
        Line::huber(&series.t_s, &y).map(|l| l.slope)
    };
    let camera = [
        slope(&|i| series.camera_px[i][0])?,
        slope(&|i| series.camera_px[i][1])?,
    ];
    let lure = [
        slope(&|i| series.place_px[i][0])?,
        slope(&|i| series.place_px[i][1])?,
    ];
    let follows = track.camera_moves && camera[0].hypot(camera[1]) > lure[0].hypot(lure[1]);
    let [dx, dy] = if follows {
        camera
    } else {
        [lure[0] + camera[0], lure[1] + camera[1]]
    };
    let way = dx.hypot(dy) * series.duration_s();
    let length = super::robust::median(series.length_px.iter().copied())?;
    if way < length {
        return None;
    }
    let deg = dx.atan2(-dy).to_degrees();
    Some(if follows {
        (deg, CAMERA_SD_DEG, PullSource::Camera)
    } else {
        (deg, 5.0, PullSource::Path)
    })
}

fn usual(view: View) -> f64 {
    match view {
        View::Above | View::Behind => 0.0,
        View::Ahead => 180.0,
        View::Side => 90.0,
    }
}
