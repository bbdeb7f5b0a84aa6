//! The bars: what each clip has reached, from `bars.toml`. Falling below one fails the run.

use std::collections::BTreeMap;

use serde::Deserialize;

use super::Outcome;
use super::compare::Score;

/// All bars.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bars {
    /// At most this part of all intervals may miss the truth.
    missed_intervals: f64,
    /// What that part ought to be.
    missed_intervals_aim: f64,
    /// By clip, then by start.
    clips: BTreeMap<String, BTreeMap<String, Bar>>,
}

/// The bar of one clip and start. Largest errors allowed; what is left out is not judged.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Bar {
    found: bool,
    rate: Option<String>,
    rate_hz: Option<f64>,
    width_deg: Option<f64>,
    drift_deg: Option<f64>,
    darts_missed: Option<usize>,
    darts_invented: Option<usize>,
    seen: Option<f64>,
    wrongly_seen: Option<usize>,
    axis_rms_deg: Option<f64>,
    centre_rms: Option<f64>,
}

impl Bars {
    /// Reads them.
    pub fn read() -> Outcome<Bars> {
        Ok(toml::from_str(include_str!("bars.toml"))?)
    }

    /// What of this score lies below its bar; nothing for a clip without one.
    pub fn below(&self, name: &str, start: &str, score: &Score) -> Vec<String> {
        let Some(bar) = self.clips.get(name).and_then(|starts| starts.get(start)) else {
            return Vec::new();
        };
        let told = |what: String| format!("{name}, {start}: {what}");
        bar.faults(score).into_iter().map(told).collect()
    }

    /// Says so when more intervals miss the truth than before.
    pub fn intervals_below(&self, scores: &[Score]) -> Option<String> {
        let (missed, all) = missed(scores);
        (missed as f64 > self.missed_intervals * all as f64).then(|| {
            let part = self.missed_intervals;
            format!("{missed} of {all} intervals miss the truth, at most a part of {part} may")
        })
    }

    /// Says so when more intervals miss the truth than ought to.
    pub fn intervals_short(&self, scores: &[Score]) -> Option<String> {
        let (missed, all) = missed(scores);
        let aim = self.missed_intervals_aim * all as f64;
        (missed as f64 > aim).then(|| {
            format!("short of the aim: {missed} intervals miss the truth, {aim:.1} ought to")
        })
    }
}

/// How many intervals miss the truth, and how many there are.
fn missed(scores: &[Score]) -> (usize, usize) {
    let held = scores
        .iter()
        .flat_map(Score::intervals)
        .filter_map(|(_, against)| against.holds);
    held.fold((0, 0), |(missed, all), holds| {
        (missed + usize::from(!holds), all + 1)
    })
}

impl Bar {
    fn faults(&self, score: &Score) -> Vec<String> {
        if score.found != self.found {
            return vec![format!("found {}, not {}", score.found, self.found)];
        }
        let (frames, darts) = (&score.frames, &score.darts);
        let mut faults: Vec<String> = [
            above("rate error", score.rate.error(), self.rate_hz, "Hz"),
            above("width error", score.width.error(), self.width_deg, "°"),
            above("drift error", score.drift.error(), self.drift_deg, "°"),
            above(
                "axis",
                Some(frames.axis_rms_deg),
                self.axis_rms_deg,
                "° RMS",
            ),
            above(
                "middle",
                Some(frames.centre_rms),
                self.centre_rms,
                "body lengths RMS",
            ),
            above(
                "not seen",
                Some(1.0 - frames.seen),
                self.seen.map(|s| 1.0 - s),
                "of the frames",
            ),
            more("darts missed", darts.all - darts.right, self.darts_missed),
            more("darts invented", darts.invented, self.darts_invented),
            more("frames followed wrongly", frames.wrongly, self.wrongly_seen),
        ]
        .into_iter()
        .flatten()
        .collect();
        if let Some(rate) = self.rate.as_ref().filter(|r| *r != score.rate_said) {
            faults.push(format!("rate {}, not {rate}", score.rate_said));
        }
        faults
    }
}

/// A figure above its bar, or missing though there is a bar.
fn above(what: &str, figure: Option<f64>, bar: Option<f64>, unit: &str) -> Option<String> {
    match (figure, bar) {
        (_, None) => None,
        (None, Some(_)) => Some(format!("{what}: not measured")),
        (Some(x), Some(bar)) => (x > bar).then(|| format!("{what} {x:.3} {unit}, at most {bar}")),
    }
}

fn more(what: &str, count: usize, bar: Option<usize>) -> Option<String> {
    let bar = bar.filter(|bar| count > *bar)?;
    Some(format!("{count} {what}, at most {bar}"))
}

/// What was reached as a bar in `bars.toml`: the goal where it is reached, else the error with a quarter of
/// room.
pub fn reached(name: &str, start: &str, score: &Score) -> String {
    let mut lines = vec![
        format!("[clips.{name}.{start}]"),
        format!("found = {}", score.found),
    ];
    if score.found {
        let (frames, darts) = (&score.frames, &score.darts);
        lines.push(format!("rate = \"{}\"", score.rate_said));
        let goals: [(&str, Option<f64>, f64); 5] = [
            ("rate_hz", score.rate.error(), 0.02),
            ("width_deg", score.width.error(), 1.0),
            ("drift_deg", score.drift.error(), 0.5),
            ("axis_rms_deg", Some(frames.axis_rms_deg), 2.0),
            ("centre_rms", Some(frames.centre_rms), 0.03),
        ];
        for (key, error, goal) in goals {
            lines.extend(error.map(|e| format!("{key} = {:.3}", goal.max(1.25 * e))));
        }
        lines.push(format!("seen = {:.2}", (frames.seen - 0.03).max(0.0)));
        lines.push(format!("darts_missed = {}", darts.all - darts.right));
        lines.push(format!("darts_invented = {}", darts.invented));
        lines.push(format!("wrongly_seen = {}", frames.wrongly));
    }
    lines.join("\n") + "\n\n"
}
