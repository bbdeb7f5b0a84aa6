//! Tracks made from the exact truth of rendered clips, with the noise a tracker adds.

use std::path::PathBuf;

use rand::Rng;
use rand_chacha::ChaCha8Rng;
use rand_distr::StandardNormal;
use serde_json::Value;
use truerun::camera::{Setup, View};
use truerun::tracking::{Affine, State, Track, TrackFrame};

/// The truth of one clip.
pub struct Truth {
    pub name: &'static str,
    json: Value,
}

/// Where the clips lie, or `None` (said aloud) where they are not at hand.
pub fn clips() -> Option<PathBuf> {
    let root = std::env::var_os("TRUERUN_SHARED")
        .map(PathBuf::from)
        .unwrap_or_else(|| PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../shared"));
    let clips = root.join("clips");
    if clips.is_dir() {
        return Some(clips);
    }
    println!("skipped: no clips at {}", clips.display());
    None
}

impl Truth {
    pub fn load(name: &'static str) -> Option<Truth> {
        let text = std::fs::read_to_string(clips()?.join(format!("{name}.json"))).unwrap();
        Some(Truth {
            name,
            json: serde_json::from_str(&text).unwrap(),
        })
    }

    pub fn number(&self, key: &str) -> f64 {
        self.json[key]
            .as_f64()
            .unwrap_or_else(|| panic!("{}: no {key}", self.name))
    }

    pub fn view(&self) -> View {
        match self.json["view"].as_str().unwrap() {
            "overhead" => View::Above,
            "chase" => View::Behind,
            "headon_dock" => View::Ahead,
            "side" => View::Side,
            other => panic!("view {other}"),
        }
    }

    /// Side word, start, peak, end, mm.
    pub fn hunts(&self) -> Vec<(String, [f64; 3], f64)> {
        self.json["hunts"]
            .as_array()
            .unwrap()
            .iter()
            .map(|h| {
                let n = |k: &str| h[k].as_f64().unwrap();
                let side = h["side"].as_str().unwrap().to_owned();
                (
                    side,
                    [n("t_start"), n("t_peak"), n("t_end")],
                    n("displacement_mm"),
                )
            })
            .collect()
    }

    pub fn setup(&self) -> Setup {
        Setup {
            length_mm: Some(self.number("lure_length_mm")),
            ..Setup::new(self.view())
        }
    }

    pub fn fov_deg(&self) -> f64 {
        self.json["camera"]["hfov_deg_long_side"].as_f64().unwrap()
    }

    fn frames(&self) -> Vec<&Value> {
        self.json["frames"].as_array().unwrap().iter().collect()
    }

    /// The track with a tracker's noise.
    pub fn track(&self, depth_ratio: f64, rng: &mut ChaCha8Rng) -> Track {
        let frames = self.frames();
        let scene = self.scene(&frames, depth_ratio);
        let moves = self.json["camera"]["follow"].as_str() == Some("const");
        let n = |f: &Value, k: &str| f[k].as_f64().unwrap_or(f64::NAN);
        let (mut slip, mut ripple) = ([0.0; 3], rng.random::<f64>() * 6.0);
        let frames = frames
            .iter()
            .enumerate()
            .map(|(i, f)| {
                let mut g = |sd: f64| -> f64 { sd * rng.sample::<f64, _>(StandardNormal) };
                slip = [
                    0.6 * slip[0] + g(0.4),
                    0.6 * slip[1] + g(0.4),
                    0.6 * slip[2] + g(1.0),
                ];
                ripple += 0.2;
                let seen = f["visible"] == true && f["occluded"] == false;
                let (nose, tail) = (&f["nose"], &f["tail"]);
                let d = [0, 1].map(|k| {
                    nose[k].as_f64().unwrap_or(f64::NAN) - tail[k].as_f64().unwrap_or(f64::NAN)
                });
                let flip = if g(1.0) > 2.6 { 180.0 } else { 0.0 };
                TrackFrame {
                    frame: i,
                    t_s: n(f, "t"),
                    state: if seen { State::Seen } else { State::Hidden },
                    confidence: 0.9,
                    x_px: n(f, "cx") + slip[0] + if g(1.0) > 2.6 { 6.0 } else { 0.0 },
                    y_px: n(f, "cy") + slip[1],
                    axis_deg: n(f, "axis_img_deg") + slip[2] + 0.7 * ripple.sin() + flip,
                    length_px: d[0].hypot(d[1]) * (1.0 + g(0.025)),
                    width_px: 12.0,
                    brightness: 0.5,
                    line_deg: if seen {
                        n(f, "retr_img_deg") + g(0.7)
                    } else {
                        f64::NAN
                    },
                    to_scene: scene[i],
                }
            })
            .collect();
        Track {
            frames,
            picture_width_px: self.number("width"),
            picture_height_px: self.number("height"),
            camera_moves: moves,
            doubts: Default::default(),
        }
    }

    /// What steadying the background would find: the shake, and a travelling camera's way over a
    /// bottom `depth_ratio` times as far away as the lure.
    fn scene(&self, frames: &[&Value], depth_ratio: f64) -> Vec<Affine> {
        if self.view() == View::Ahead {
            return self.turning(frames);
        }
        let ideal = self.unshaken(frames);
        let n = |f: &Value, k: &str| f[k].as_f64().unwrap_or(f64::NAN);
        let shake = [0, 1].map(|k| {
            let key = ["cx", "cy"][k];
            let raw: Vec<f64> = frames
                .iter()
                .zip(&ideal)
                .map(|(f, (place, _))| n(f, key) - place[k])
                .collect();
            self.without_sway(&raw)
        });
        let mut last = Affine::IDENTITY;
        ideal
            .iter()
            .enumerate()
            .map(|(i, (_, travel))| {
                let shift = [0, 1].map(|k| travel[k] / depth_ratio - shake[k][i]);
                if shift.iter().all(|s| s.is_finite()) {
                    last = Affine([1.0, 0.0, shift[0], 0.0, 1.0, shift[1]]);
                }
                last
            })
            .collect()
    }

    /// The truth's path leaves out how the body sways: shake is what is slower than that.
    fn without_sway(&self, raw: &[f64]) -> Vec<f64> {
        moving_mean(
            raw,
            self.number("fps_nominal") / self.number("wobble_hz").max(3.0),
        )
    }

    /// `ahead`: a camera on the dock is turned after the lure. Where it looks follows from where the
    /// lure is and where it is seen; the background moves as the lure's direction would.
    fn turning(&self, frames: &[&Value]) -> Vec<Affine> {
        let n = |f: &Value, k: &str| f[k].as_f64().unwrap();
        let focal = self.json["camera"]["f_px"].as_f64().unwrap();
        let (w, h) = (self.number("width") / 2.0, self.number("height") / 2.0);
        let along0 = n(frames[0], "along_mm");
        let (far, up) = self.dock(frames, focal, along0);
        println!("{}: camera {far:.0} mm ahead, {up:.0} mm up", self.name);
        // Azimuth (to the camera's right) and depression of the lure, radians.
        let lure: Vec<[f64; 2]> = frames
            .iter()
            .map(|f| {
                let (away, right) = (far - (n(f, "along_mm") - along0), -n(f, "lat_mm"));
                [right.atan2(away), up.atan2(away.hypot(right))]
            })
            .collect();
        let look: Vec<[f64; 2]> = frames
            .iter()
            .zip(&lure)
            .map(|(f, l)| {
                let (u, v) = (n(f, "cx") - w, n(f, "cy") - h);
                [
                    l[0] - (u / (focal * l[1].cos())).atan(),
                    l[1] - (v / focal).atan(),
                ]
            })
            .collect();
        let pan = self.without_sway(&look.iter().map(|l| l[0]).collect::<Vec<_>>());
        let tilt = self.without_sway(&look.iter().map(|l| l[1]).collect::<Vec<_>>());
        let seen = |d: [f64; 2], k: usize| {
            let (sa, ca) = (d[0] - pan[k]).sin_cos();
            let (sd, cd) = d[1].sin_cos();
            let (st, ct) = tilt[k].sin_cos();
            let deep = cd * ca * ct + sd * st;
            [
                focal * cd * sa / deep,
                focal * (sd * ct - cd * ca * st) / deep,
            ]
        };
        let mut shift = [0.0; 2];
        (0..frames.len())
            .map(|k| {
                if k > 0 {
                    let (before, now) = (seen(lure[k - 1], k - 1), seen(lure[k - 1], k));
                    shift = [0, 1].map(|i| shift[i] + before[i] - now[i]);
                }
                Affine([1.0, 0.0, shift[0], 0.0, 1.0, shift[1]])
            })
            .collect()
    }

    /// Per frame where a camera without shake would see the lure, and how far such a camera has moved
    /// over a bottom at the lure's own depth, px.
    fn unshaken(&self, frames: &[&Value]) -> Vec<([f64; 2], [f64; 2])> {
        let n = |f: &Value, k: &str| f[k].as_f64().unwrap_or(f64::NAN);
        let follow = self.json["camera"]["follow"].as_str() == Some("const");
        let focal = self.json["camera"]["f_px"].as_f64().unwrap();
        let speed = self.number("tow_speed_m_s") * 1000.0;
        let along0 = frames
            .iter()
            .map(|f| n(f, "along_mm"))
            .find(|a| a.is_finite())
            .unwrap();
        let t0 = frames
            .iter()
            .find(|f| f["along_mm"].is_number())
            .map(|f| n(f, "t"))
            .unwrap();
        let (w, h) = (self.number("width") / 2.0, self.number("height") / 2.0);
        let first = frames.iter().find(|f| f["cx"].is_number()).unwrap();
        let (mut travel, mut t_last) = ([0.0; 2], t0);
        frames
            .iter()
            .map(|f| {
                let (t, lat) = (n(f, "t"), n(f, "lat_mm"));
                let along = n(f, "along_mm") - along0;
                let ahead = along - if follow { speed * (t - t0) } else { 0.0 };
                let (place, per_mm) = match self.view() {
                    View::Behind => {
                        // Tilt fitted to the truth's pull directions: 31.8 degrees. The truth's scale
                        // is the depth along the camera's axis; the lure rises and sinks a little,
                        // which no bottom shows, so only the sideways place tells shake.
                        let (s, c) = 31.8_f64.to_radians().sin_cos();
                        let deep = n(f, "mm_per_px") * focal;
                        let side = lat - 50.4 * n(first, "mm_per_px");
                        let place = [w + focal * side / deep, n(f, "cy")];
                        // Forward travel moves the bottom away from where the camera heads.
                        let (u, v) = (place[0] - w, place[1] - h);
                        (place, [-u * c / deep, -(focal * s + v * c) / deep])
                    }
                    _ if !follow => ([n(f, "cx"), n(f, "cy")], [0.0; 2]),
                    _ => {
                        let m = n(f, "mm_per_px");
                        let (s, c) = n(f, "retr_img_deg").to_radians().sin_cos();
                        let x0 = [n(first, "cx"), n(first, "cy")];
                        let right = if self.view() == View::Side { 0.0 } else { lat };
                        let place = [
                            x0[0] + (ahead * s + right * c) / m,
                            x0[1] + (-ahead * c + right * s) / m,
                        ];
                        (place, [s / m, -c / m])
                    }
                };
                if follow && (along * per_mm[0] * per_mm[1]).is_finite() {
                    let step = speed * (t - t_last);
                    travel = [travel[0] + step * per_mm[0], travel[1] + step * per_mm[1]];
                    t_last = t;
                }
                (place, travel)
            })
            .collect()
    }

    /// The dock camera's distance ahead of the first place and its height, mm, from the ranges:
    /// R² = (A − along)² + lat² + h² is linear in A and A² + h².
    fn dock(&self, frames: &[&Value], focal: f64, along0: f64) -> (f64, f64) {
        let n = |f: &Value, k: &str| f[k].as_f64().unwrap();
        let (mut m, mut b) = (
            nalgebra::Matrix2::<f64>::zeros(),
            nalgebra::Vector2::<f64>::zeros(),
        );
        for f in frames {
            let (a, l) = (n(f, "along_mm") - along0, n(f, "lat_mm"));
            let r = n(f, "mm_per_px") * focal;
            let v = nalgebra::Vector2::new(a, 1.0);
            m += v * v.transpose();
            b += v * (r * r - a * a - l * l);
        }
        let x = m.try_inverse().unwrap() * b;
        let far = -x[0] / 2.0;
        (far, (x[1] - far * far).max(1.0).sqrt())
    }

    /// Wobble phase at the times `t_s`, from the yaw's zero crossings (two a cycle).
    pub fn cycles(&self, t_s: &[f64]) -> Vec<f64> {
        let zero: Vec<f64> = self.json["yaw_zero_cross_t"]
            .as_array()
            .unwrap()
            .iter()
            .map(|v| v.as_f64().unwrap())
            .collect();
        if zero.len() < 3 {
            return vec![];
        }
        t_s.iter()
            .map(|t| {
                let k = zero.partition_point(|z| z <= t).clamp(1, zero.len() - 1);
                let part = (t - zero[k - 1]) / (zero[k] - zero[k - 1]);
                0.5 * (k as f64 - 1.0 + part)
            })
            .collect()
    }
}

/// Mean over about `window` neighbours, within the values that are there.
fn moving_mean(values: &[f64], window: f64) -> Vec<f64> {
    let half = (window / 2.0).round() as usize;
    (0..values.len())
        .map(|i| {
            let part = &values[i.saturating_sub(half)..(i + half + 1).min(values.len())];
            let seen: Vec<f64> = part.iter().copied().filter(|v| v.is_finite()).collect();
            seen.iter().sum::<f64>() / seen.len() as f64
        })
        .collect()
}
