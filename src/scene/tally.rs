//! From the truth of the frames to the truth of the clip.

use std::f64::consts::{PI, TAU};

use super::description::{Follow, SceneDescription, Viewpoint};
use super::moves::Moves;
use super::stage::Stage;
use super::truth::{
    BlowOutTruth, CameraTruth, ClipTruth, FrameTruth, HuntTruth, LureTruth, SwimTruth,
};
use super::vector::Vec3;

impl Stage {
    /// The truth of the clip from the truth of its frames.
    pub fn clip_truth(&self, frames: Vec<FrameTruth>) -> ClipTruth {
        let d = self.description();
        ClipTruth {
            clip: d.name.clone(),
            view: match d.camera.view {
                Viewpoint::Above => "above",
                Viewpoint::Behind => "behind",
                Viewpoint::Ahead => "ahead",
                Viewpoint::Side => "side",
            },
            fps_nominal: d.clip.fps,
            width: d.clip.width,
            height: d.clip.height,
            n_frames: frames.len(),
            stored_rotation_deg: d.file.rotation_deg,
            play_fps: d.file.play_fps,
            duration_s: rounded(frames.last().map_or(0.0, |f| f.t), 6),
            exposure_s: d.clip.exposure_s,
            has_lure: d.lure.present,
            camera: self.camera_truth(&frames),
            notes: d.notes.clone(),
            swim: d.lure.present.then(|| swim_truth(d, self.moves(), &frames)),
            frames,
        }
    }

    fn camera_truth(&self, frames: &[FrameTruth]) -> CameraTruth {
        let d = self.description();
        let down = |v: Vec3| v.z.atan2(v.x.hypot(v.y)).to_degrees();
        let eye = self.eye(0.0);
        let tilt = median(frames.iter().map(|f| down(self.eye(f.t).forward)));
        let sight = median(
            frames
                .iter()
                .filter(|f| f.visible && f.lure.is_some())
                .map(|f| down(self.sight(f.t))),
        );
        let apparent = median(
            frames
                .iter()
                .filter(|f| f.visible && d.camera.view != Viewpoint::Side)
                .filter_map(|f| self.apparent_tilt(f.t)),
        );
        let long = d.clip.width.max(d.clip.height) as f64;
        CameraTruth {
            hfov_deg_long_side: rounded((long / 2.0 / eye.focal_px).atan().to_degrees() * 2.0, 3),
            f_px: rounded(eye.focal_px, 2),
            follow: match d.camera.follow {
                Follow::Still => "still",
                Follow::Tow => "tow",
                Follow::Turn => "turn",
            },
            tilt_deg: rounded(tilt.unwrap_or(0.0), 2),
            sight_down_deg: sight.map(|v| rounded(v, 2)),
            apparent_tilt_deg: apparent.map(|v| rounded(v, 2)),
        }
    }
}

fn swim_truth(d: &SceneDescription, moves: &Moves, frames: &[FrameTruth]) -> SwimTruth {
    let hand = if d.mirrored { -1.0 } else { 1.0 };
    let first = frames.first().map_or(0.0, |f| f.t);
    let last = frames.last().map_or(0.0, |f| f.t);
    let end = d.swim.blow_out.map_or(last, |b| b.at_s.min(last));
    let mut seen = frames.iter().filter(|f| f.visible).map(|f| f.t);
    let visible = seen
        .clone()
        .next()
        .zip(seen.next_back())
        .map(|(a, b)| [a, b]);
    let rate = rate(moves, first, end).unwrap_or(0.0);
    let yaw = width(moves, first, end) * d.swim.yaw_deg;
    let drift = hand * d.swim.drift_deg;
    SwimTruth {
        lure_length_mm: d.lure.length_mm,
        scale_mm_per_px_median: median(lures(frames).filter_map(|l| l.mm_per_px))
            .map(|v| rounded(v, 4)),
        wobble_hz: rounded(rate, 4),
        wobble_hz_1s: by_second(moves, first, last, d.swim.wobble_hz > 0.0),
        wobble_hz_visible: visible
            .map(|[a, b]| rounded(self::rate(moves, a, b.min(end)).unwrap_or(0.0), 4)),
        wobble_alias_note: alias_note(rate, d.clip.fps),
        yaw_amp_deg: rounded(yaw, 3),
        yaw_amp_deg_visible: visible
            .map(|[a, b]| rounded(width(moves, a, b.min(end)) * d.swim.yaw_deg, 3)),
        roll_amp_deg: rounded(width(moves, first, end) * d.swim.roll_deg, 3),
        roll_lag_deg: d.swim.roll_lag_deg,
        tail_sweep_mm: rounded(
            2.0 * (1.0 - d.lure.pivot) * d.lure.length_mm * yaw.to_radians().sin(),
            3,
        ),
        drift_deg: drift,
        drift_mm_per_m: rounded(1e3 * drift.to_radians().tan(), 3),
        hunts: d
            .swim
            .darts
            .iter()
            .map(|dart| HuntTruth {
                t_start: dart.start_s,
                t_peak: dart.peak_s,
                t_end: dart.end_s,
                side: side(hand * dart.mm).unwrap_or("right"),
                displacement_mm: dart.mm.abs(),
            })
            .collect(),
        blow_out: d.swim.blow_out.map(|b| BlowOutTruth {
            t: b.at_s,
            side: side(hand * b.away_m_s),
        }),
        pivot_fraction_from_nose: d.lure.pivot,
        tow_speed_m_s: d.swim.speed_m_s,
        visible_interval_s: visible,
        occlusions_s: hidden(frames),
        yaw_zero_cross_t: zero_crossings(moves, first, end, d.swim.wobble_hz),
    }
}

fn lures(frames: &[FrameTruth]) -> impl Iterator<Item = &LureTruth> {
    frames.iter().filter_map(|f| f.lure.as_ref())
}

fn side(signed: f64) -> Option<&'static str> {
    match signed {
        s if s > 0.0 => Some("right"),
        s if s < 0.0 => Some("left"),
        _ => None,
    }
}

/// Cycles by phase over the time between.
fn rate(moves: &Moves, from: f64, to: f64) -> Option<f64> {
    (to > from).then(|| (moves.phase(to) - moves.phase(from)) / TAU / (to - from))
}

fn width(moves: &Moves, from: f64, to: f64) -> f64 {
    const STEPS: usize = 400;
    let at = |i: usize| from + (to - from) * (i as f64 + 0.5) / STEPS as f64;
    (0..STEPS).map(|i| moves.width_factor(at(i))).sum::<f64>() / STEPS as f64
}

fn by_second(moves: &Moves, first: f64, last: f64, wobbles: bool) -> Vec<Option<f64>> {
    let seconds = ((last - first) - 0.25).ceil().max(1.0) as usize;
    (0..seconds)
        .map(|k| {
            let from = first + k as f64;
            rate(moves, from, (from + 1.0).min(last))
                .filter(|_| wobbles)
                .map(|r| rounded(r, 3))
        })
        .collect()
}

fn alias_note(rate: f64, fps: f64) -> Option<String> {
    let folded = (rate - fps * (rate / fps).round()).abs();
    (rate > fps / 2.0).then(|| {
        format!(
            "{rate:.2} Hz is above half of {fps:.0} frames per second and looks like {folded:.2} Hz"
        )
    })
}

/// First and last frame of each run of hidden frames, s.
fn hidden(frames: &[FrameTruth]) -> Vec<[f64; 2]> {
    let mut runs: Vec<[f64; 2]> = Vec::new();
    let mut was = false;
    for f in frames {
        let is = f.lure.as_ref().is_some_and(|l| l.occluded);
        match (runs.last_mut(), is, was) {
            (Some(run), true, true) => run[1] = f.t,
            (_, true, _) => runs.push([f.t, f.t]),
            _ => {}
        }
        was = is;
    }
    runs
}

/// When the phase passes whole half turns, s, by halving the interval.
fn zero_crossings(moves: &Moves, first: f64, last: f64, hz: f64) -> Vec<f64> {
    if hz == 0.0 {
        return Vec::new();
    }
    let (from, to) = (moves.phase(first) / PI, moves.phase(last) / PI);
    (from.ceil() as i64..=to.floor() as i64)
        .map(|k| {
            let (mut lo, mut hi) = (first, last);
            for _ in 0..50 {
                let mid = (lo + hi) / 2.0;
                if moves.phase(mid) / PI < k as f64 {
                    lo = mid
                } else {
                    hi = mid
                }
            }
            rounded((lo + hi) / 2.0, 5)
        })
        .collect()
}

fn median(values: impl Iterator<Item = f64>) -> Option<f64> {
    let mut v: Vec<f64> = values.collect();
    v.sort_by(f64::total_cmp);
    v.get(v.len() / 2).copied()
}

/// A figure with so many digits behind the point, to keep the files small.
pub fn rounded(v: f64, digits: i32) -> f64 {
    let k = 10f64.powi(digits);
    (v * k).round() / k
}
