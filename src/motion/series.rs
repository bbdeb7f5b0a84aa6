//! The track in the lure's own signs: what every measure of motion starts from.

use crate::camera::PullFrame;
use crate::tracking::{Affine, Track, TrackFrame};

/// The seen frames of a track in the lure's own signs. All vectors have one length and rise in time.
///
/// Lengths are picture px at the lure; `+` sideways is to its own right, `+` forward along the pull.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Series {
    /// Time stamp, s.
    pub t_s: Vec<f64>,
    /// Axis against the pull, + nose to own right, in (−90, 90]; as it looks in the picture
    /// (apparent), degrees. In `side`: + nose down.
    pub axis_deg: Vec<f64>,
    /// Middle of the body against the steadied background, across the pull, px. With a camera that
    /// moves along this is the way over the bottom, in px of the bottom.
    pub sideways_px: Vec<f64>,
    /// The same along the pull, px.
    pub forward_px: Vec<f64>,
    /// Middle of the body in the picture as filmed (shake is in it, background error is not), across
    /// the pull, px.
    pub picture_sideways_px: Vec<f64>,
    /// Middle of the body in the picture, `[x, y]`, px.
    pub place_px: Vec<[f64; 2]>,
    /// Way of the camera over the background near the lure since the first frame, `[x, y]`, px.
    pub camera_px: Vec<[f64; 2]>,
    /// Direction from tail to nose in the picture, nose and tail told apart by the pull, degrees
    /// clockwise from image-up.
    pub image_axis_deg: Vec<f64>,
    /// Image angle in which the line leaves the nose, degrees; NaN where none was made out.
    pub line_deg: Vec<f64>,
    /// Apparent length of the body from nose to tail, px.
    pub length_px: Vec<f64>,
    /// Apparent greatest width of the body, px.
    pub width_px: Vec<f64>,
    /// Mean brightness of the body, 0–1.
    pub brightness: Vec<f64>,
}

impl Series {
    /// The seen frames of `track` in the directions of `frame`. Frames whose stamp does not rise are
    /// left out.
    pub fn new(track: &Track, frame: &PullFrame) -> Series {
        Series::steadied(track, frame, &camera_way(track))
    }

    /// The same with the background left out of account: places are those in the picture as filmed.
    pub fn in_the_picture(track: &Track, frame: &PullFrame) -> Series {
        Series::steadied(
            track,
            frame,
            &vec![CameraWay::default(); track.frames.len()],
        )
    }

    fn steadied(track: &Track, frame: &PullFrame, camera: &[CameraWay]) -> Series {
        let mut series = Series::default();
        for (f, way) in track.frames.iter().zip(camera) {
            let whole = [f.t_s, f.x_px, f.y_px, f.axis_deg]
                .iter()
                .all(|v| v.is_finite());
            let rises = series.t_s.last().is_none_or(|&last| f.t_s > last);
            if !f.is_seen() || !whole || !rises {
                continue;
            }
            let place = [f.x_px, f.y_px];
            let steadied = [place[0] + way.shift_px[0], place[1] + way.shift_px[1]];
            series.t_s.push(f.t_s);
            let axis_deg = frame.axis(f.axis_deg + way.turn_deg);
            series.axis_deg.push(axis_deg);
            series
                .image_axis_deg
                .push(frame.pull_deg + frame.turn * axis_deg);
            series.line_deg.push(f.line_deg + way.turn_deg);
            series.camera_px.push(way.shift_px);
            series.sideways_px.push(frame.sideways(steadied));
            series.forward_px.push(frame.forward(steadied));
            series.picture_sideways_px.push(frame.sideways(place));
            series.place_px.push(place);
            series.length_px.push(f.length_px);
            series.width_px.push(f.width_px);
            series.brightness.push(f.brightness);
        }
        series
    }

    /// How many samples there are.
    pub fn len(&self) -> usize {
        self.t_s.len()
    }

    /// Whether the lure was seen in no frame.
    pub fn is_empty(&self) -> bool {
        self.t_s.is_empty()
    }

    /// From the first to the last sample, s; 0 where there are fewer than two.
    pub fn duration_s(&self) -> f64 {
        match (self.t_s.first(), self.t_s.last()) {
            (Some(first), Some(last)) => last - first,
            _ => 0.0,
        }
    }
}

/// Where the lure is in the picture, where it was seen.
fn place_of(frame: &TrackFrame) -> Option<[f64; 2]> {
    let place = [frame.x_px, frame.y_px];
    (frame.is_seen() && place.iter().all(|p| p.is_finite())).then_some(place)
}

/// Where the camera has got to since the first frame, as the background near the lure shows it.
#[derive(Debug, Clone, Copy, Default)]
struct CameraWay {
    /// Way over the background, px.
    shift_px: [f64; 2],
    /// Turn about the line of sight, degrees clockwise in the picture to be added to an image angle.
    turn_deg: f64,
}

/// The camera's way at every frame.
///
/// The steps from frame to frame are taken in each frame's own pixels at the lure's place and added
/// up, so that a slow growth of the background (the camera comes nearer) does not stretch the path.
/// A moving camera's turn is left out: over fresh bottom its errors add up to more than shake does.
/// A standing camera keeps the first frame's background in sight: there the map onto it counts as it is,
/// for summed over the lure's way small errors of its turn become a slant of the path.
fn camera_way(track: &Track) -> Vec<CameraWay> {
    let mut way = CameraWay::default();
    let mut all = Vec::with_capacity(track.frames.len());
    let mut last: Option<Affine> = None;
    let mut place = [track.picture_width_px / 2.0, track.picture_height_px / 2.0];
    for f in &track.frames {
        let back = f.to_scene.inverse();
        if !track.camera_moves {
            place = place_of(f).unwrap_or(place);
            let there = f.to_scene.apply(place);
            way.shift_px = [there[0] - place[0], there[1] - place[1]];
        } else if let (Some(before), Some(back)) = (last, back) {
            let moved = back.apply(before.apply(place));
            way.shift_px[0] += place[0] - moved[0];
            way.shift_px[1] += place[1] - moved[1];
        }
        if back.is_some() {
            last = Some(f.to_scene);
        }
        place = place_of(f).unwrap_or(place);
        if !track.camera_moves {
            way.turn_deg = f.to_scene.turn_deg();
        }
        all.push(way);
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::camera::View;
    use crate::tracking::State;

    fn track(seen: impl Fn(f64) -> bool, to_scene: impl Fn(f64) -> Affine) -> Track {
        let frames = (0..180).map(|i| {
            let t_s = f64::from(i) / 30.0;
            TrackFrame {
                frame: i as usize,
                t_s,
                state: if seen(t_s) {
                    State::Seen
                } else {
                    State::Hidden
                },
                confidence: 1.0,
                x_px: 100.0 + 80.0 * t_s,
                y_px: 180.0,
                axis_deg: 90.0,
                length_px: 60.0,
                width_px: 12.0,
                brightness: 0.5,
                line_deg: f64::NAN,
                to_scene: to_scene(t_s),
            }
        });
        Track {
            frames: frames.collect(),
            picture_width_px: 640.0,
            picture_height_px: 360.0,
            ..Track::default()
        }
    }

    fn frame() -> PullFrame {
        PullFrame::new(View::Above, 90.0, None)
    }

    /// The background of a standing camera, turned by a third of a degree about the picture's middle for half of
    /// the time, does not slant the lure's way across the picture.
    #[test]
    fn a_turn_that_comes_and_goes_does_not_slant_the_path_of_a_standing_camera() {
        let turned = |t: f64| {
            let turn = if (1.5..4.5).contains(&t) { 0.006 } else { 0.0 };
            let [x, y] = [320.0, 180.0];
            Affine([1.0, -turn, turn * y, turn, 1.0, -turn * x])
        };
        let series = Series::new(&track(|_| true, turned), &frame());
        let ways = &series.sideways_px;
        assert!(
            (ways[179] - ways[0]).abs() < 1e-9,
            "{} {}",
            ways[0],
            ways[179]
        );
    }
}
