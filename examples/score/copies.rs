//! Copies of clips, each changed in one way a user's clip may differ, with the truth turned along.
//!
//! The clips themselves are known too well; a copy that is mirrored, darker or begun later puts the same lure
//! before other pixels, so that what hung on chance shows.

use std::process::Command;

use serde_json::{Value, json};
use truerun::camera::View;

use super::Outcome;
use super::clips::KnownClip;
use super::truth::{Truth, point};

/// One way to change a clip.
pub struct Variant {
    /// Ending of the copy's name.
    pub name: &'static str,
    /// Chain of filters, in the words of the `ffmpeg` program.
    filters: &'static str,
    /// How strongly it is compressed.
    encoding: &'static [&'static str],
    /// What becomes of the truth.
    change: Change,
}

/// What a change of the picture does to the truth.
#[derive(Clone, Copy, PartialEq)]
enum Change {
    Light,
    Mirror,
    QuarterTurn,
    Scale(f64),
    Later(f64),
}

const CLEAR: &[&str] = &["-crf", "20"];
const POOR: &[&str] = &["-b:v", "350k"];
/// How much later the copy `late` begins, s.
const LATER_S: f64 = 0.8;

/// Every way.
pub const VARIANTS: [Variant; 11] = [
    variant("flip", "hflip", CLEAR, Change::Mirror),
    variant("turn", "transpose=clock", CLEAR, Change::QuarterTurn),
    variant("small", "scale=iw*3/4:-2", CLEAR, Change::Scale(0.75)),
    variant("big", "scale=iw*2:-2", CLEAR, Change::Scale(2.0)),
    variant("murk", "gblur=1.2,eq=contrast=0.55", CLEAR, Change::Light),
    variant("dark", "lutyuv=y=val*0.45", CLEAR, Change::Light),
    variant("grain", "noise=alls=20:allf=t", CLEAR, Change::Light),
    variant("poor", "null", POOR, Change::Light),
    variant("hue", "hue=h=120", CLEAR, Change::Light),
    variant(
        "steps",
        "lutyuv=y=val*0.75:enable='gt(mod(t,2),1.3)'",
        CLEAR,
        Change::Light,
    ),
    variant("late", "null", CLEAR, Change::Later(LATER_S)),
];

const fn variant(
    name: &'static str,
    filters: &'static str,
    encoding: &'static [&'static str],
    change: Change,
) -> Variant {
    Variant {
        name,
        filters,
        encoding,
        change,
    }
}

impl Variant {
    /// Whether a clip can be changed so: one along the water stays upright, or it would be filmed in another way.
    pub fn suits(&self, truth: &Truth) -> bool {
        let along = matches!(truth.view(), View::Behind | View::Ahead);
        !(along && self.change == Change::QuarterTurn)
    }

    /// Writes the copy of a clip and of its truth.
    pub fn write(&self, from: &KnownClip, copy: &KnownClip) -> Outcome<()> {
        let mut all: Value = serde_json::from_str(&std::fs::read_to_string(&from.truth)?)?;
        let skipped = self.change_truth(&mut all);
        let filters = format!(
            "trim=start_frame={skipped},setpts=PTS-STARTPTS,{}",
            self.filters
        );
        // The stamps of a clip of variable rate have to stay as they are.
        let stamps = "-fps_mode passthrough -enc_time_base 1:90000 -video_track_timescale 90000";
        let done = Command::new("ffmpeg")
            .args(["-v", "error", "-nostdin", "-y", "-i"])
            .arg(&from.clip)
            .args(["-vf", &filters, "-an", "-c:v", "libx264"])
            .args(["-preset", "veryfast", "-pix_fmt", "yuv420p"])
            .args(self.encoding)
            .args(stamps.split(' '))
            .arg(&copy.clip)
            .status()?;
        if !done.success() {
            return Err(format!("ffmpeg could not write {}", copy.clip.display()).into());
        }
        Ok(std::fs::write(&copy.truth, all.to_string())?)
    }

    /// Turns the truth along; how many frames at its beginning are left out.
    fn change_truth(&self, all: &mut Value) -> usize {
        match self.change {
            Change::Light => {}
            Change::Mirror => mirror(all),
            Change::QuarterTurn => quarter_turn(all),
            Change::Scale(by) => {
                place(all, |[x, y]| [x * by, y * by], |axis| axis);
                divide(all, by);
            }
            Change::Later(by_s) => return begin_later(all, by_s),
        }
        0
    }
}

/// Left and right change places, in the picture and of the lure.
fn mirror(all: &mut Value) {
    let width = number(&all["width"]);
    place(all, |[x, y]| [width - x, y], |axis| -axis);
    all["drift_deg"] = json!(-number(&all["drift_deg"]));
    for dart in list(&mut all["hunts"]) {
        let right = dart["side"] == "right";
        dart["side"] = json!(if right { "left" } else { "right" });
    }
}

/// The picture is turned clockwise: its width becomes its height.
fn quarter_turn(all: &mut Value) {
    let height = number(&all["height"]);
    place(all, |[x, y]| [height - y, x], |axis| axis + 90.0);
    let width = all["width"].take();
    all["width"] = json!(height);
    all["height"] = width;
}

/// A picture drawn larger shows less of the water in each pixel.
fn divide(all: &mut Value, by: f64) {
    for key in ["width", "height"] {
        all[key] = json!((number(&all[key]) * by).round());
    }
    let focal_px = &mut all["camera"]["f_px"];
    *focal_px = json!(number(focal_px) * by);
    for frame in list(&mut all["frames"]) {
        frame["mm_per_px"] = json!(number(&frame["mm_per_px"]) / by);
    }
}

/// Moves every point of every frame, and turns its axis.
fn place(all: &mut Value, to: impl Fn([f64; 2]) -> [f64; 2], turned: impl Fn(f64) -> f64) {
    for frame in list(&mut all["frames"]) {
        for key in ["nose", "tail"] {
            if let Some(at) = point(&frame[key]) {
                frame[key] = json!(to(at));
            }
        }
        if let Some(at) = point(&json!([frame["cx"], frame["cy"]])) {
            [frame["cx"], frame["cy"]] = to(at).map(|x| json!(x));
        }
        for key in ["axis_img_deg", "retr_img_deg"] {
            if let Some(deg) = frame[key].as_f64() {
                frame[key] = json!(turned(deg));
            }
        }
        let mask = &frame["mask_bbox"];
        let corners = point(mask).zip(point(&json!([mask[2], mask[3]])));
        if let Some((one, other)) = corners.map(|(a, b)| (to(a), to(b))) {
            let least = [one[0].min(other[0]), one[1].min(other[1])];
            let most = [one[0].max(other[0]), one[1].max(other[1])];
            frame["mask_bbox"] = json!([least, most].concat());
        }
    }
}

/// Leaves out the first moments; how many frames these are.
fn begin_later(all: &mut Value, by_s: f64) -> usize {
    let frames = list(&mut all["frames"]);
    let skipped = frames.iter().filter(|f| number(&f["t"]) < by_s).count();
    let from_s = frames.get(skipped).map_or(0.0, |f| number(&f["t"]));
    frames.drain(..skipped);
    for frame in frames {
        frame["t"] = json!(number(&frame["t"]) - from_s);
    }
    let passings = list(&mut all["yaw_zero_cross_t"]);
    passings.retain(|t| number(t) >= from_s);
    for passing in passings {
        *passing = json!(number(passing) - from_s);
    }
    let darts = list(&mut all["hunts"]);
    darts.retain(|dart| number(&dart["t_start"]) >= from_s);
    for dart in darts {
        dart["t_peak"] = json!(number(&dart["t_peak"]) - from_s);
    }
    skipped
}

/// A list of the truth; empty where it is absent.
fn list(value: &mut Value) -> &mut Vec<Value> {
    if !value.is_array() {
        *value = json!([]);
    }
    value.as_array_mut().expect("just made a list")
}

/// A number of the truth; NaN where absent.
fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or(f64::NAN)
}
