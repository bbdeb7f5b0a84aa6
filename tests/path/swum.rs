//! Made-up lures with known drift, darts, pivot and speed, seen by a pinhole camera that is written here
//! alone, so that an error of sign or projection in the code under test cannot cancel out.
//!
//! World: x to the lure's own right, y forward along the pull, z up, mm; the lure swims in z = 0.

use rand::Rng;
use rand_chacha::ChaCha8Rng;
use rand_distr::StandardNormal;
use truerun::camera::View;
use truerun::tracking::{Affine, State, Track, TrackFrame};

type V3 = [f64; 3];

/// One dart: start, peak, end in s, mm to own right.
pub type Dart = [f64; 4];

pub struct Lure {
    pub length_mm: f64,
    pub hz: f64,
    pub yaw_deg: f64,
    pub drift_deg: f64,
    pub pivot: f64,
    pub speed_mm_s: f64,
    pub darts: Vec<Dart>,
    /// Sideways wander: mm and s.
    pub wander: (f64, f64),
    /// A slow swing over seconds: mm and s.
    pub swing: (f64, f64),
    pub pitch_deg: f64,
}

pub struct Shoot {
    pub view: View,
    pub travels: bool,
    pub seconds: f64,
    pub fps: f64,
    pub tilt_deg: f64,
    pub fov_deg: f64,
    pub range_mm: f64,
    /// Bottom below the lure, as camera-to-bottom over camera-to-lure.
    pub depth_ratio: f64,
    /// Azimuth of the picture's up direction against the pull, degrees (`above` only).
    pub azimuth_deg: f64,
    pub shake_px: f64,
    pub noise_px: f64,
    pub noise_deg: f64,
}

pub const PICTURE: [f64; 2] = [960.0, 540.0];

impl Default for Lure {
    fn default() -> Self {
        Lure {
            length_mm: 58.0,
            hz: 4.7,
            yaw_deg: 16.0,
            drift_deg: 2.0,
            pivot: 0.4,
            speed_mm_s: 500.0,
            darts: vec![],
            wander: (1.5, 0.6),
            swing: (0.0, 4.0),
            pitch_deg: 8.0,
        }
    }
}

impl Shoot {
    pub fn of(view: View, travels: bool) -> Shoot {
        let (tilt_deg, fov_deg, range_mm) = match view {
            View::Above => (90.0, 40.0, if travels { 1300.0 } else { 3800.0 }),
            View::Behind => (33.0, 50.0, 700.0),
            View::Ahead => (22.0, 24.0, 5000.0),
            View::Side => (0.0, 40.0, 1000.0),
        };
        Shoot {
            view,
            travels,
            seconds: 6.0,
            fps: 30.0,
            tilt_deg,
            fov_deg,
            range_mm,
            depth_ratio: 1.5,
            azimuth_deg: 0.0,
            shake_px: 4.0,
            noise_px: 0.6,
            noise_deg: 1.2,
        }
    }
}

impl Shoot {
    /// How far the camera looks down in the middle of the clip.
    pub fn middle_tilt_deg(&self, lure: &Lure) -> f64 {
        let (s, c) = self.tilt_deg.to_radians().sin_cos();
        let come = if self.view == View::Ahead {
            0.5 * lure.speed_mm_s * self.seconds
        } else {
            0.0
        };
        (self.range_mm * s)
            .atan2(self.range_mm * c - come)
            .to_degrees()
    }
}

/// Where a camera is and how it looks: forward, right, down (unit vectors).
struct Camera {
    at: V3,
    axes: [V3; 3],
    focal: f64,
}

impl Camera {
    /// `azimuth` from the pull, clockwise from above; `tilt` below the horizontal; radians.
    fn new(at: V3, azimuth: f64, tilt: f64, focal: f64) -> Camera {
        let (sa, ca) = azimuth.sin_cos();
        let (st, ct) = tilt.sin_cos();
        let forward = [sa * ct, ca * ct, -st];
        let right = [ca, -sa, 0.0];
        let down = [-sa * st, -ca * st, -ct];
        Camera {
            at,
            axes: [forward, right, down],
            focal,
        }
    }

    fn see(&self, p: V3) -> [f64; 2] {
        let d = [p[0] - self.at[0], p[1] - self.at[1], p[2] - self.at[2]];
        let dot = |a: &V3| a[0] * d[0] + a[1] * d[1] + a[2] * d[2];
        let [deep, right, down] = [0, 1, 2].map(|k| dot(&self.axes[k]));
        [
            PICTURE[0] / 2.0 + self.focal * right / deep,
            PICTURE[1] / 2.0 + self.focal * down / deep,
        ]
    }

    /// The point at height `z` seen at the picture point.
    fn onto(&self, [x, y]: [f64; 2], z: f64) -> V3 {
        let (u, v) = (
            (x - PICTURE[0] / 2.0) / self.focal,
            (y - PICTURE[1] / 2.0) / self.focal,
        );
        let [f, r, d] = &self.axes;
        let ray = [0, 1, 2].map(|k| f[k] + u * r[k] + v * d[k]);
        let t = (z - self.at[2]) / ray[2];
        [0, 1, 2].map(|k| self.at[k] + t * ray[k])
    }
}

/// Sideways excursion of a dart at `t`: up by half a cosine, back by another.
fn dart_at(t: f64, [start, peak, end, mm]: Dart) -> f64 {
    let rise = |u: f64| 0.5 - 0.5 * (std::f64::consts::PI * u).cos();
    if t <= start || t >= end {
        0.0
    } else if t < peak {
        mm * rise((t - start) / (peak - start))
    } else {
        mm * rise((end - t) / (end - peak))
    }
}

/// The track and the wobble's phase in every frame.
pub fn swim(lure: &Lure, shoot: &Shoot, rng: &mut ChaCha8Rng) -> (Track, Vec<f64>) {
    let n = (shoot.seconds * shoot.fps) as usize;
    let dt = 1.0 / shoot.fps;
    let focal = PICTURE[0] / (2.0 * (shoot.fov_deg.to_radians() / 2.0).tan());
    let mut gauss = |sd: f64| -> f64 { sd * rng.sample::<f64, _>(StandardNormal) };
    let (mut wander, mut phase) = (gauss(lure.wander.0), gauss(1.0).abs());
    let swing_phase = gauss(2.0);
    let shake_phase = [gauss(3.0), gauss(3.0)];
    let mut slip = [0.0; 3];
    let mut places: Vec<V3> = vec![];
    let mut yaws = vec![];
    let mut cycles = vec![];
    let lateral = |t: f64, wander: f64| {
        let swing = lure.swing.0 * (std::f64::consts::TAU * t / lure.swing.1 + swing_phase).sin();
        let darts: f64 = lure.darts.iter().map(|d| dart_at(t, *d)).sum();
        lure.drift_deg.to_radians().tan() * lure.speed_mm_s * t + wander + swing + darts
    };
    for k in 0..n {
        let t = k as f64 * dt;
        let keep = (-dt / lure.wander.1).exp();
        wander = keep * wander + gauss(lure.wander.0 * (1.0 - keep * keep).sqrt());
        phase += lure.hz * dt * (1.0 + 0.03 * (1.3 * t).sin());
        let wobble = lure.yaw_deg.to_radians() * (std::f64::consts::TAU * phase).sin();
        let course = (lateral(t + 0.02, wander) - lateral(t - 0.02, wander)) / 0.04;
        yaws.push(wobble + 0.6 * (course / lure.speed_mm_s).atan());
        let sway = -(0.5 - lure.pivot) * lure.length_mm * wobble.sin();
        places.push([lateral(t, wander) + sway, lure.speed_mm_s * t, 0.0]);
        cycles.push(phase);
    }
    let cameras: Vec<Camera> = (0..n)
        .map(|k| {
            let t = k as f64 * dt;
            let s = |f: f64, p: f64| (std::f64::consts::TAU * f * t + p).sin();
            let shake = [
                shoot.shake_px / focal * (s(1.1, shake_phase[0]) + 0.5 * s(2.3, shake_phase[1])),
                shoot.shake_px / focal * (s(0.9, shake_phase[1]) + 0.5 * s(2.7, shake_phase[0])),
            ];
            let path = lure.drift_deg.to_radians().tan() * lure.speed_mm_s;
            camera(lure, shoot, t, path, shake, focal)
        })
        .collect();
    let mut shift = [0.0; 2];
    let mut last: Option<[f64; 2]> = None;
    let frames = (0..n)
        .map(|k| {
            let here = &cameras[k];
            let (sy, cy) = yaws[k].sin_cos();
            let (sp, cp) = lure.pitch_deg.to_radians().sin_cos();
            let half = 0.5 * lure.length_mm;
            let end = |sign: f64| {
                let p = places[k];
                here.see([
                    p[0] + sign * half * sy * cp,
                    p[1] + sign * half * cy * cp,
                    p[2] - sign * half * sp,
                ])
            };
            let (nose, tail) = (end(1.0), end(-1.0));
            let place = [(nose[0] + tail[0]) / 2.0, (nose[1] + tail[1]) / 2.0];
            if let Some(before) = last {
                let height = cameras[k - 1].at[2];
                let bottom = height - height.max(1.0) * shoot.depth_ratio;
                let moved = here.see(cameras[k - 1].onto(before, bottom));
                shift = [
                    shift[0] + before[0] - moved[0],
                    shift[1] + before[1] - moved[1],
                ];
            }
            last = Some(place);
            let axis = [nose[0] - tail[0], nose[1] - tail[1]];
            let line_end = here.see([places[k][0], places[k][1] + 40.0, 0.0]);
            let line_start = here.see(places[k]);
            let line = [line_end[0] - line_start[0], line_end[1] - line_start[1]];
            let image = |d: [f64; 2]| d[0].atan2(-d[1]).to_degrees();
            slip = [
                0.5 * slip[0] + gauss(shoot.noise_px * 0.87),
                0.5 * slip[1] + gauss(shoot.noise_px * 0.87),
                0.5 * slip[2] + gauss(shoot.noise_deg * 0.87),
            ];
            let length = axis[0].hypot(axis[1]);
            TrackFrame {
                frame: k,
                t_s: k as f64 * dt,
                state: State::Seen,
                confidence: 0.9,
                x_px: place[0] + slip[0],
                y_px: place[1] + slip[1],
                axis_deg: image(axis) + slip[2],
                length_px: length * (1.0 + gauss(0.03)),
                width_px: 0.2 * length,
                brightness: 0.5,
                line_deg: image(line) + gauss(0.8),
                to_scene: Affine([1.0, 0.0, shift[0], 0.0, 1.0, shift[1]]),
            }
        })
        .collect();
    let track = Track {
        frames,
        picture_width_px: PICTURE[0],
        picture_height_px: PICTURE[1],
        camera_moves: shoot.travels,
        doubts: Default::default(),
    };
    (track, cycles)
}

fn camera(lure: &Lure, shoot: &Shoot, t: f64, path: f64, shake: [f64; 2], focal: f64) -> Camera {
    let tilt = shoot.tilt_deg.to_radians();
    let (up, away) = (shoot.range_mm * tilt.sin(), shoot.range_mm * tilt.cos());
    let along = if shoot.travels {
        lure.speed_mm_s * t
    } else {
        0.0
    };
    match shoot.view {
        View::Ahead => {
            // On the dock, turned after the lure as it comes in.
            let (x, y) = (60.0, away);
            let (right, far) = (x - path * t, y - lure.speed_mm_s * t);
            let look = up.atan2(far.hypot(right));
            let turn = std::f64::consts::PI + right.atan2(far);
            Camera::new([x, y, up], turn + shake[0], look + shake[1], focal)
        }
        View::Behind => {
            // Starts off to one side, so that the lure crosses its view.
            let x = 0.5 * path * shoot.seconds;
            Camera::new([x, along - away, up], shake[0], tilt + shake[1], focal)
        }
        _ => {
            let middle = [
                if shoot.travels {
                    0.5 * path * shoot.seconds
                } else {
                    0.0
                },
                if shoot.travels {
                    along
                } else {
                    0.5 * lure.speed_mm_s * shoot.seconds
                },
                up,
            ];
            let azimuth = shoot.azimuth_deg.to_radians();
            let mut camera = Camera::new(middle, azimuth, tilt + shake[1], focal);
            // Shake about the picture's up direction, which has no azimuth when looking straight down.
            let (s, c) = shake[0].sin_cos();
            let [f, r, d] = camera.axes;
            camera.axes = [
                [0, 1, 2].map(|k| f[k] * c + r[k] * s),
                [0, 1, 2].map(|k| r[k] * c - f[k] * s),
                d,
            ];
            camera
        }
    }
}

/// The same track in a mirror: left and right swap.
pub fn mirrored(track: &Track) -> Track {
    let mut m = track.clone();
    for f in &mut m.frames {
        f.x_px = track.picture_width_px - f.x_px;
        f.axis_deg = -f.axis_deg;
        f.line_deg = -f.line_deg;
        let [a, b, c, d, e, g] = f.to_scene.0;
        let w = track.picture_width_px;
        // Mirror, map, mirror back.
        f.to_scene = Affine([a, -b, w - (a * w + c), -d, e, d * w + g]);
    }
    m
}
