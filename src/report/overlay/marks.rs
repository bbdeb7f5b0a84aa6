//! What is drawn on each frame.

use super::Overlay;
use super::canvas::{AXIS, Canvas, Colour, DART, SEEN};
use crate::Result;
use crate::motion::{Hunt, Swim};
use crate::tracking::{State, TrackFrame};

/// How much of the path behind the lure is drawn, s: all of it would hide a long clip.
const PATH_S: f64 = 5.0;

/// What is drawn, frame by frame.
pub struct Marks<'a> {
    frames: &'a [TrackFrame],
    hunts: &'a [Hunt],
    heading: Vec<String>,
    /// The middle of the body in the steadied scene, NaN where not seen.
    scene: Vec<[f64; 2]>,
}

impl<'a> Marks<'a> {
    /// The marks of an overlay.
    pub fn new(overlay: &Overlay<'a>) -> Self {
        let frames = &overlay.track.frames;
        let scene = frames
            .iter()
            .map(|f| match f.is_seen() {
                true => f.to_scene.apply([f.x_px, f.y_px]),
                false => [f64::NAN; 2],
            })
            .collect();
        Marks {
            frames,
            hunts: &overlay.swim.hunts.events,
            heading: heading(overlay.swim),
            scene,
        }
    }

    /// Draws the marks of frame `index`.
    pub fn draw(&self, index: usize, canvas: &mut Canvas) -> Result<()> {
        let Some(frame) = self.frames.get(index) else {
            return Ok(());
        };
        let size = (canvas.height() / 32.0).max(11.0);
        self.draw_path(index, canvas)?;
        let dart = self
            .hunts
            .iter()
            .find(|h| (h.start_s..=h.end_s).contains(&frame.t_s));
        if frame.is_seen() {
            draw_lure(frame, dart.is_some(), canvas)?;
        }
        let state = match frame.state {
            State::Seen => "",
            State::Hidden => "  hidden",
            State::Lost => "  lost",
        };
        let mut y = size * 1.4;
        canvas.text(&format!("{:.2} s{state}", frame.t_s), [size * 0.5, y], size)?;
        for line in &self.heading {
            y += size * 1.5;
            canvas.text(line, [size * 0.5, y], size)?;
        }
        if let Some(dart) = dart.filter(|_| frame.is_seen()) {
            let text = format!(
                "dart: own {} (your {})",
                dart.side.word(),
                dart.side.to_angler().word()
            );
            let above = frame.y_px - 0.5 * frame.length_px - size;
            canvas.text(&text, [frame.x_px - 4.0 * size, above], size)?;
        }
        Ok(())
    }

    fn draw_path(&self, index: usize, canvas: &mut Canvas) -> Result<()> {
        let now = &self.frames[index];
        let Some(back) = now.to_scene.inverse() else {
            return Ok(());
        };
        let from = self.frames.partition_point(|f| f.t_s < now.t_s - PATH_S);
        let points: Vec<[f64; 2]> = self.scene[from..=index]
            .iter()
            .map(|p| back.apply(*p))
            .collect();
        canvas.lines(&points, SEEN)?;
        for hunt in self.hunts.iter().filter(|h| h.start_s <= now.t_s) {
            let start = self
                .frames
                .partition_point(|f| f.t_s < hunt.start_s)
                .max(from);
            let end = self
                .frames
                .partition_point(|f| f.t_s <= hunt.end_s)
                .min(index + 1);
            if start < end {
                canvas.lines(&points[start - from..end - from], DART)?;
            }
        }
        Ok(())
    }
}

fn draw_lure(frame: &TrackFrame, darting: bool, canvas: &mut Canvas) -> Result<()> {
    let outline: Colour = if darting { DART } else { SEEN };
    let centre = [frame.x_px, frame.y_px];
    let (sin, cos) = frame.axis_deg.to_radians().sin_cos();
    let half = frame.length_px / 2.0;
    let nose = [centre[0] + half * sin, centre[1] - half * cos];
    let tail = [centre[0] - half * sin, centre[1] + half * cos];
    // A little outside the body, so that the body stays to be seen.
    let room = 4.0 * canvas.pen();
    canvas.ellipse(
        centre,
        [frame.length_px + room, frame.width_px + room],
        frame.axis_deg,
        outline,
    )?;
    canvas.lines(&[tail, nose], AXIS)?;
    canvas.dot(nose, AXIS)
}

/// Figures that hold for the whole clip. Plain letters: the drawing font has no signs.
fn heading(swim: &Swim) -> Vec<String> {
    let rate = swim
        .wobble
        .hz
        .value
        .filter(|_| swim.wobble.hz.is_measured());
    let drift = swim
        .drift
        .deg
        .value
        .filter(|_| swim.drift.deg.is_measured());
    let rate = rate.map(|hz| format!("wobble {hz:.2} Hz"));
    let drift = drift.map(|deg| match swim.drift.sure_side() {
        Some(side) => format!(
            "drift {:.1} deg to own {} (your {})",
            deg.abs(),
            side.word(),
            side.to_angler().word()
        ),
        None => "drift: no sure side".to_string(),
    });
    rate.into_iter().chain(drift).collect()
}
