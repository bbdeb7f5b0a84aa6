//! The truth beside a clip.

use std::path::Path;

use serde_json::Value;
use truerun::camera::{Setup, View};
use truerun::tracking::StartBox;

use super::Outcome;

/// What is known of a clip.
pub struct Truth {
    all: Value,
}

/// Index of refraction of water for visible light, from memory.
const WATER_INDEX: f64 = 1.333;

/// Name of a start from the user's box.
pub const BOX: &str = "box";
/// Name of a start without help.
pub const UNAIDED: &str = "unaided";

impl Truth {
    /// Reads the truth file.
    pub fn read(path: &Path) -> Outcome<Truth> {
        let all = serde_json::from_str(&std::fs::read_to_string(path)?)?;
        Ok(Truth { all })
    }

    /// A number of the clip; NaN where absent.
    pub fn number(&self, key: &str) -> f64 {
        self.all[key].as_f64().unwrap_or(f64::NAN)
    }

    /// The starts to be tried: from a box where there is a lure, and unaided.
    pub fn starts(&self) -> &'static [&'static str] {
        match self.start_box() {
            Some(_) => &[BOX, UNAIDED],
            None => &[UNAIDED],
        }
    }

    /// Frames per second at which a slow-motion clip was filmed.
    pub fn real_fps(&self) -> Option<f64> {
        self.all["play_fps"]
            .as_f64()
            .map(|_| self.number("fps_nominal"))
    }

    /// Whether it blows out.
    pub fn blows_out(&self) -> bool {
        self.all["blow_out"].is_object()
    }

    /// Yaw, zero-to-peak, while in sight, degrees.
    pub fn width(&self) -> f64 {
        self.while_seen("yaw_amp_deg")
    }

    /// Mean rate from `first_s` to `last_s`, the time over which it was followed, Hz: what the yaw runs through between
    /// the two, half a cycle from one passing through zero to the next. Real rates wander, so that a mean over another
    /// time, even one that ends at the last passing, is another number.
    pub fn rate_between(&self, first_s: f64, last_s: f64) -> f64 {
        let passings = self.all["yaw_zero_cross_t"].as_array();
        let passings: Vec<f64> = passings
            .into_iter()
            .flatten()
            .filter_map(Value::as_f64)
            .collect();
        let within = |t: &&f64| (first_s..=last_s).contains(*t);
        if passings.iter().filter(within).count() <= 4 {
            return self.while_seen("wobble_hz");
        }
        let cycles = cycles_at(&passings, last_s) - cycles_at(&passings, first_s);
        cycles / (last_s - first_s)
    }

    fn while_seen(&self, key: &str) -> f64 {
        let seen = self.number(&format!("{key}_visible"));
        if seen.is_finite() {
            seen
        } else {
            self.number(key)
        }
    }

    /// Our view.
    pub fn view(&self) -> View {
        match self.all["view"].as_str().unwrap_or("") {
            "chase" | "behind" => View::Behind,
            "headon_dock" | "ahead" => View::Ahead,
            "side" => View::Side,
            _ => View::Above,
        }
    }

    /// The frames.
    pub fn frames(&self) -> &[Value] {
        self.all["frames"].as_array().map_or(&[], Vec::as_slice)
    }

    /// The darts: peak time, s, and side in the own frame.
    pub fn darts(&self) -> Vec<(f64, String)> {
        let darts = self.all["hunts"].as_array().cloned().unwrap_or_default();
        darts
            .iter()
            .filter_map(|d| Some((d["t_peak"].as_f64()?, d["side"].as_str()?.to_owned())))
            .collect()
    }

    /// What a user would tell of it: view, length, and the tilt in the tilted views.
    pub fn setup(&self) -> Setup {
        let length = self.number("lure_length_mm");
        let view = self.view();
        Setup {
            length_mm: length.is_finite().then_some(length),
            tilt_deg: matches!(view, View::Behind | View::Ahead)
                .then(|| self.tilt_deg())
                .flatten(),
            fov_deg: self.all["camera"]["hfov_deg_long_side"].as_f64(),
            ..Setup::new(view)
        }
    }

    /// How far the middle of the picture looks down: as far as the camera looks down on the lure, less what the lure lies
    /// below that middle.
    fn tilt_deg(&self) -> Option<f64> {
        let on_lure = self.all["camera"]["apparent_tilt_deg"].as_f64();
        let on_lure = on_lure.or_else(|| self.tilt_by_length_deg())?;
        let focal_px = self.all["camera"]["f_px"].as_f64()?;
        let below_px = self.middle(|f| f["cy"].as_f64())? - 0.5 * self.number("height");
        let tilt_deg = on_lure - (below_px / focal_px).atan().to_degrees();
        tilt_deg.is_finite().then(|| tilt_deg.round())
    }

    /// How far it looks down on the lure, read off how much shorter than its length the lure looks along the pull. The
    /// lure's dive turns it away from a camera behind it, and toward one ahead, to which it shows less through the surface.
    fn tilt_by_length_deg(&self) -> Option<f64> {
        let shortened = self.middle(|f| {
            let (nose, tail) = (point(&f["nose"])?, point(&f["tail"])?);
            let (sin, cos) = f["retr_img_deg"].as_f64()?.to_radians().sin_cos();
            let px = (nose[0] - tail[0]) * sin - (nose[1] - tail[1]) * cos;
            let mm = px * f["mm_per_px"].as_f64()?;
            let length_mm = self.number("lure_length_mm");
            Some(mm / (length_mm * f["yaw_deg"].as_f64()?.to_radians().cos()))
        })?;
        let dives_deg = self.middle(|f| f["pitch_deg"].as_f64())?;
        let body = shortened.clamp(0.05, 1.0).asin();
        // what lies deeper is shifted by the tangent of the ray in the water, in place of that in air (Snell)
        let in_water = (body.cos() / WATER_INDEX).asin();
        Some(match self.view() {
            View::Ahead => body.to_degrees() - dives_deg * in_water.tan() * body.tan(),
            _ => body.to_degrees() + dives_deg,
        })
    }

    /// Median of what the frames tell.
    fn middle(&self, of: impl Fn(&Value) -> Option<f64>) -> Option<f64> {
        let mut told: Vec<f64> = self.frames().iter().filter_map(of).collect();
        told.sort_by(f64::total_cmp);
        told.get(told.len() / 2).copied()
    }

    /// A box round the lure in its first whole frame.
    pub fn start_box(&self) -> Option<StartBox> {
        let (width, height) = (self.number("width"), self.number("height"));
        self.frames().iter().find_map(|f| {
            let b: Vec<f64> = f["mask_bbox"]
                .as_array()?
                .iter()
                .filter_map(Value::as_f64)
                .collect();
            let whole = b.len() == 4
                && b[0] > 2.0
                && b[1] > 2.0
                && b[2] < width - 2.0
                && b[3] < height - 2.0;
            (f["visible"] == true && whole).then(|| StartBox {
                x: b[0],
                y: b[1],
                w: b[2] - b[0],
                h: b[3] - b[1],
                t_s: f["t"].as_f64().unwrap_or(0.0),
            })
        })
    }
}

/// A pair of numbers.
pub fn point(value: &Value) -> Option<[f64; 2]> {
    Some([value[0].as_f64()?, value[1].as_f64()?])
}

/// Cycles run through by a time, s: half of one from each passing to the next (five or more, each later than the last),
/// evenly in between. Before the first and after the last the pace goes on as next to it.
fn cycles_at(passings: &[f64], t_s: f64) -> f64 {
    let right = passings
        .partition_point(|p| *p <= t_s)
        .clamp(1, passings.len() - 1);
    let [before, after] = [passings[right - 1], passings[right]];
    0.5 * ((right - 1) as f64 + (t_s - before) / (after - before))
}
