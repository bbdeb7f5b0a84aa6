//! The line in which water and air meet: the strongest straight, nearly level line that runs through the
//! picture, then its height strip by strip, matched with the line's own look.

use super::look::Look;
use super::robust::robust_line;
use super::samples::{Colour, minus};
use super::sighting::WaterLine;
use crate::robust::upper_median;
use crate::tracking::window::Window;

/// Upright strips into which the picture is cut.
const STRIPS: usize = 64;
/// Greatest turn of the line looked for, degrees, and about a horizon beyond that.
const MOST_TURN_DEG: f64 = 20.0;
const NEAR_HORIZON_DEG: f64 = 3.0;
const TURN_STEP_DEG: f64 = 0.25;
/// Rows to each side over which a step is judged.
const REACH: usize = 4;
/// A strip's say, in noises of its own, is heard up to this.
const LOUDEST: f32 = 8.0;
/// A line must get this share of what a perfect one would.
const LEAST_SCORE: f64 = 0.70;
/// And this beside the lure, where few strips are left.
const LEAST_BESIDE: f64 = 0.50;
/// The matched line lies no farther from its candidate than this: the candidate may sit on one edge of the
/// water's edge at the glass, and its turn was looked for in steps.
const MOST_OFF_ROWS: f64 = 10.0;
const MOST_TURNED_DEG: f64 = 0.6;
/// A line that gets less than this share of the best one's score is no rival.
const RIVAL: f64 = 0.75;

/// What a candidate is worth.
#[derive(Debug, Clone, Copy)]
pub struct Candidate {
    /// Row at the middle of the picture, samples.
    row: f64,
    /// Rows per column.
    slope: f64,
    /// Share of what a perfect line would get, 0–1.
    pub score: f64,
}

/// Mean colours of upright strips, row by row.
struct Strips {
    columns: Vec<f64>,
    rows: usize,
    colours: Vec<Vec<Colour>>,
}

impl Strips {
    fn of(window: &Window) -> Strips {
        let count = STRIPS.min(window.columns / 4).max(1);
        let bound = |i: usize| i * window.columns / count;
        let mut columns = Vec::new();
        let mut colours = Vec::new();
        for i in 0..count {
            let (from, to) = (bound(i), bound(i + 1));
            columns.push((from + to - 1) as f64 / 2.0);
            let mean = |row: usize| {
                let mut sum = [0.0f32; 3];
                for column in from..to {
                    let c = window.colour(row * window.columns + column, 1.0);
                    sum = std::array::from_fn(|n| sum[n] + c[n]);
                }
                sum.map(|s| s / (to - from) as f32)
            };
            colours.push((0..window.rows).map(mean).collect());
        }
        Strips {
            columns,
            rows: window.rows,
            colours,
        }
    }

    /// Step and ridge at every row of a strip, in noises of that strip.
    fn features(&self, strip: usize) -> Vec<[f32; 6]> {
        let c = &self.colours[strip];
        let mean = |from: usize, to: usize| -> Colour {
            let mut sum = [0.0f32; 3];
            for colour in &c[from..to] {
                sum = std::array::from_fn(|n| sum[n] + colour[n]);
            }
            sum.map(|s| s / (to - from) as f32)
        };
        let mut raw = vec![[0.0f32; 6]; self.rows];
        let inner = REACH + 1..self.rows.saturating_sub(REACH + 1);
        for (row, feature) in raw
            .iter_mut()
            .enumerate()
            .filter(|(row, _)| inner.contains(row))
        {
            let over = mean(row - REACH - 1, row - 1);
            let under = mean(row + 2, row + REACH + 2);
            let on = mean(row - 1, row + 2);
            let step = minus(under, over);
            let ridge: Colour = std::array::from_fn(|n| on[n] - 0.5 * (over[n] + under[n]));
            *feature = [step[0], step[1], step[2], ridge[0], ridge[1], ridge[2]];
        }
        for n in 0..6 {
            let usual = upper_median(raw.iter().map(|f| f64::from(f[n].abs()))).unwrap_or(0.0);
            let floor = if n % 3 == 0 { 1.5 } else { 0.8 };
            let noise = (1.48 * usual).max(floor) as f32;
            raw.iter_mut().for_each(|f| f[n] /= noise);
        }
        raw.iter().map(heard).collect()
    }
}

/// No louder than [`LOUDEST`].
fn heard(f: &[f32; 6]) -> [f32; 6] {
    let size = f.iter().map(|v| v * v).sum::<f32>().sqrt();
    let scale = if size > LOUDEST {
        1.0 / size
    } else {
        1.0 / LOUDEST
    };
    f.map(|v| v * scale)
}

/// The likeliest lines, best first; none close to a better one.
pub fn candidates(window: &Window, horizon_deg: Option<f64>) -> Vec<Candidate> {
    let strips = Strips::of(window);
    let features: Vec<Vec<[f32; 6]>> = (0..strips.columns.len())
        .map(|i| strips.features(i))
        .collect();
    let middle = (window.columns as f64 - 1.0) / 2.0;
    // the water that shows counts more than the word on the horizon, which only says where to look in a picture
    // that is turned far over
    let (about, reach) = match horizon_deg {
        Some(deg) if deg.abs() > MOST_TURN_DEG - NEAR_HORIZON_DEG => (deg, NEAR_HORIZON_DEG),
        _ => (0.0, MOST_TURN_DEG),
    };
    let turns = (reach / TURN_STEP_DEG) as i32;
    let mut found: Vec<Candidate> = Vec::new();
    for turn in -turns..=turns {
        let slope = (about + f64::from(turn) * TURN_STEP_DEG).to_radians().tan();
        for row in REACH + 1..window.rows.saturating_sub(REACH + 1) {
            let score = score(&strips, &features, middle, row as f64, slope);
            if score > LEAST_SCORE {
                found.push(Candidate {
                    row: row as f64,
                    slope,
                    score,
                });
            }
        }
    }
    found.sort_by(|a, b| b.score.total_cmp(&a.score));
    let least = found.first().map_or(0.0, |best| RIVAL * best.score);
    found.retain(|c| c.score >= least);
    let mut kept: Vec<Candidate> = Vec::new();
    for candidate in found {
        let apart = |k: &Candidate| (k.row - candidate.row).abs() > 2.5 * REACH as f64;
        if kept.iter().all(apart) {
            kept.push(candidate);
        }
        if kept.len() == 4 {
            break;
        }
    }
    kept
}

fn score(strips: &Strips, features: &[Vec<[f32; 6]>], middle: f64, row: f64, slope: f64) -> f64 {
    let mut sum = [0.0f32; 6];
    for (column, feature) in strips.columns.iter().zip(features) {
        let at = row + slope * (column - middle);
        if at < 0.0 || at >= strips.rows as f64 - 0.5 {
            continue;
        }
        let f = &feature[at.round() as usize];
        for n in 0..6 {
            sum[n] += f[n];
        }
    }
    let size = sum.iter().map(|v| v * v).sum::<f32>().sqrt();
    f64::from(size) / features.len() as f64
}

/// The candidate as a line, its height matched strip by strip.
pub fn settle(window: &Window, rough: &Candidate) -> Option<WaterLine> {
    let whole = rough.line(window);
    Some(matched(window, rough, None).map_or(whole, |found| near(window, &whole, found)))
}

/// The candidate as a line without the strips in the picture columns `hidden` (from, to, px) that the lure
/// covers, which otherwise may lead it away; `whole` where too little of it shows beside the lure.
pub fn beside(
    window: &Window,
    rough: &Candidate,
    whole: &WaterLine,
    hidden: [f64; 2],
) -> WaterLine {
    match matched(window, rough, Some(hidden)) {
        Some(found) => near(window, &rough.line(window), found),
        None => *whole,
    }
}

/// Whether the candidate shows beside the lure too: an edge of the lure itself is no water.
pub fn shows_beside(window: &Window, rough: &Candidate, hidden: [f64; 2]) -> bool {
    let strips = Strips::of(window);
    let middle = (window.columns as f64 - 1.0) / 2.0;
    let free: Vec<usize> = (0..strips.columns.len())
        .filter(|i| {
            let x = window.corner_px[0] + (strips.columns[*i] + 0.5) * window.step_px[0];
            x < hidden[0] || x > hidden[1]
        })
        .collect();
    if free.len() < 4 {
        return true;
    }
    let columns = free.iter().map(|i| strips.columns[*i]).collect();
    let features: Vec<_> = free.iter().map(|i| strips.features(*i)).collect();
    let beside = Strips {
        columns,
        rows: strips.rows,
        colours: Vec::new(),
    };
    let near = (-4..=4).map(|r| f64::from(r) + rough.row);
    near.map(|row| score(&beside, &features, middle, row, rough.slope))
        .fold(0.0, f64::max)
        > LEAST_BESIDE
}

/// `found`, unless it leads away from the candidate, which saw all strips at once.
fn near(window: &Window, candidate: &WaterLine, found: WaterLine) -> WaterLine {
    let off = candidate.under_px(found.at_px).abs() / window.step_px[1];
    let turned = (found.turn_deg - candidate.turn_deg).abs();
    match off < MOST_OFF_ROWS && turned < MOST_TURNED_DEG {
        true => found,
        false => *candidate,
    }
}

impl Candidate {
    fn of(window: &Window, line: &WaterLine) -> Candidate {
        let middle_px = window.corner_px[0] + 0.5 * window.columns as f64 * window.step_px[0];
        let slope = line.turn_deg.to_radians().tan();
        let y = line.at_px[1] + slope * (middle_px - line.at_px[0]);
        Candidate {
            row: (y - window.corner_px[1]) / window.step_px[1] - 0.5,
            slope: slope * window.step_px[0] / window.step_px[1],
            score: 1.0,
        }
    }

    /// As a line, with the doubt of the steps in which it was looked for.
    fn line(&self, window: &Window) -> WaterLine {
        let [dx, dy] = window.step_px;
        WaterLine {
            at_px: [
                window.corner_px[0] + 0.5 * window.columns as f64 * dx,
                window.corner_px[1] + (self.row + 0.5) * dy,
            ],
            turn_deg: (self.slope * dy / dx).atan().to_degrees(),
            sd_px: REACH as f64 / 2.0 * dy,
            sd_turn_deg: TURN_STEP_DEG,
            band_px: REACH as f64 * dy,
            waves_px: 0.5 * dy,
        }
    }
}

fn matched(window: &Window, rough: &Candidate, hidden: Option<[f64; 2]>) -> Option<WaterLine> {
    let strips = Strips::of(window);
    let middle = (window.columns as f64 - 1.0) / 2.0;
    let is_free = |column: f64| {
        let x = window.corner_px[0] + (column + 0.5) * window.step_px[0];
        hidden.is_none_or(|[from, to]| x < from || x > to)
    };
    let used: Vec<usize> = (0..strips.columns.len())
        .filter(|i| is_free(strips.columns[*i]))
        .collect();
    if used.len() < 8 {
        return None;
    }
    let (mut row, mut slope) = (rough.row, rough.slope);
    let mut look = Look::default();
    let mut fit = None;
    for round in 0..6 {
        if round < 3 && hidden.is_none() {
            let at = |i: usize| row + slope * (strips.columns[i] - middle);
            row += Look::of(&strips.colours, &used, at).centre()[0];
        }
        let at = |i: usize| row + slope * (strips.columns[i] - middle);
        look = Look::of(&strips.colours, &used, at);
        let heights: Vec<[f64; 2]> = used
            .iter()
            .filter_map(|i| {
                let shift = look.shift(&strips.colours[*i], at(*i))?;
                Some([strips.columns[*i] - middle, at(*i) + shift])
            })
            .collect();
        let line = robust_line(&heights)?;
        (row, slope) = (line.at, line.slope);
        fit = Some(line);
    }
    let line = fit?;
    let [centre, spread] = look.centre();
    let (dx, dy) = (window.step_px[0], window.step_px[1]);
    let at_px = [
        window.corner_px[0] + (middle + 0.5) * dx,
        window.corner_px[1] + (line.at + centre + 0.5) * dy,
    ];
    Some(WaterLine {
        at_px,
        turn_deg: (line.slope * dy / dx).atan().to_degrees(),
        sd_px: line.sd[0] * dy,
        sd_turn_deg: (line.sd[1] * dy / dx).to_degrees(),
        band_px: 2.0 * spread * dy,
        waves_px: line.scatter * dy,
    })
}

/// The line near where it was, in the next picture.
pub fn again(window: &Window, last: &WaterLine, hidden: [f64; 2]) -> Option<WaterLine> {
    let from = Candidate::of(window, last);
    let strips = Strips::of(window);
    let features: Vec<_> = (0..strips.columns.len())
        .map(|i| strips.features(i))
        .collect();
    let middle = (window.columns as f64 - 1.0) / 2.0;
    let near = (-8..=8).flat_map(|r| (-4..=4).map(move |t| (f64::from(r), f64::from(t))));
    let best = near
        .map(|(r, t)| {
            let (row, slope) = (from.row + r, from.slope + 0.006 * t);
            let score = score(&strips, &features, middle, row, slope);
            Candidate { row, slope, score }
        })
        .max_by(|a, b| a.score.total_cmp(&b.score))
        .filter(|best| best.score > 0.5 * LEAST_SCORE)?;
    let whole = settle(window, &best)?;
    Some(beside(window, &best, &whole, hidden))
}
