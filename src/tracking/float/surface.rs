//! The line in which water and air meet: the strongest straight, nearly level line that runs through the
//! picture, then its height strip by strip, matched with the line's own look.

use super::samples::{Colour, dot, median, minus};
use super::sighting::WaterLine;
use crate::tracking::window::Window;

/// Upright strips into which the picture is cut.
const STRIPS: usize = 64;
/// Greatest turn of the line looked for without a word on the horizon, degrees, and with one.
const MOST_TURN_DEG: f64 = 20.0;
const NEAR_HORIZON_DEG: f64 = 3.0;
const TURN_STEP_DEG: f64 = 0.25;
/// Rows to each side over which a step is judged.
const REACH: usize = 4;
/// A strip's say, in noises of its own, is heard up to this.
const LOUDEST: f32 = 8.0;
/// A line must get this share of what a perfect one would.
const LEAST_SCORE: f64 = 0.50;
/// The matched line lies no farther from its candidate than this: the candidate may sit on one edge of the
/// water's edge at the glass, and its turn was looked for in steps.
const MOST_OFF_ROWS: f64 = 10.0;
const MOST_TURNED_DEG: f64 = 0.6;
/// An edge of the line counts from this share of its strongest, and from so many levels a row.
const WEAK_EDGE: f64 = 0.12;
const LEAST_EDGE: f64 = 1.2;
/// A line that gets less than this share of the best one's score is no rival.
const RIVAL: f64 = 0.75;
/// Rows to each side of the line's look.
const LOOK: usize = 12;
/// Both edges of the water's edge at the glass lie within so many rows.
const WIDEST: f64 = 11.0;
/// Tukey's constant, 95 % efficiency for normal residuals (from memory).
const TUKEY: f64 = 4.685;

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
            let mut sizes: Vec<f64> = raw.iter().map(|f| f64::from(f[n].abs())).collect();
            let floor = if n % 3 == 0 { 1.5 } else { 0.8 };
            let noise = (1.48 * median(&mut sizes)).max(floor) as f32;
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
    let (about, reach) = match horizon_deg {
        Some(deg) => (deg, NEAR_HORIZON_DEG),
        None => (0.0, MOST_TURN_DEG),
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
        > LEAST_SCORE
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
            row += Look::of(&strips, &used, at).centre()[0];
        }
        let at = |i: usize| row + slope * (strips.columns[i] - middle);
        look = Look::of(&strips, &used, at);
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
        .filter(|best| best.score > 0.6 * LEAST_SCORE)?;
    let whole = settle(window, &best)?;
    Some(beside(window, &best, &whole, hidden))
}

/// The line's own look: mean colours over its strips, row by row from −[`LOOK`] to +[`LOOK`].
#[derive(Default)]
struct Look(Vec<Colour>);

impl Look {
    fn of(strips: &Strips, used: &[usize], at: impl Fn(usize) -> f64) -> Look {
        let mut sums = vec![[0.0f32; 3]; 2 * LOOK + 1];
        for i in used {
            for (k, sum) in sums.iter_mut().enumerate() {
                let c = between(&strips.colours[*i], at(*i) + k as f64 - LOOK as f64);
                *sum = std::array::from_fn(|n| sum[n] + c[n]);
            }
        }
        Look(
            sums.iter()
                .map(|s| s.map(|v| v / used.len() as f32))
                .collect(),
        )
    }

    fn slope(&self, k: usize) -> Colour {
        minus(self.0[k + 1], self.0[k - 1]).map(|v| 0.5 * v)
    }

    /// How far below `at` the strip shows this look, rows (one Gauss–Newton step, brightness made even).
    fn shift(&self, strip: &[Colour], at: f64) -> Option<f64> {
        let (mut num, mut den) = (0.0f64, 0.0f64);
        let off: Vec<Colour> = (0..self.0.len())
            .map(|k| minus(between(strip, at + k as f64 - LOOK as f64), self.0[k]))
            .collect();
        let mean: Colour =
            std::array::from_fn(|n| off.iter().map(|o| o[n]).sum::<f32>() / off.len() as f32);
        for (k, off) in off.iter().enumerate().take(self.0.len() - 1).skip(1) {
            let slope = self.slope(k);
            num -= f64::from(dot(slope, minus(*off, mean)));
            den += f64::from(dot(slope, slope));
        }
        (den > 4.0).then(|| (num / den).clamp(-2.0, 2.0))
    }

    /// Middle of the line in its look, and how thick it is to each side, rows: midway between its upper
    /// and its lower edge, which may differ much in strength.
    fn centre(&self) -> [f64; 2] {
        let sizes: Vec<f64> = (1..self.0.len() - 1)
            .map(|k| f64::from(dot(self.slope(k), self.slope(k))).sqrt())
            .collect();
        let most = sizes.iter().copied().fold(0.0, f64::max);
        let least = (WEAK_EDGE * most).max(LEAST_EDGE);
        let at = |i: usize| i as f64 + 1.0 - LOOK as f64;
        let peaks: Vec<(f64, f64)> = (1..sizes.len() - 1)
            .filter(|i| {
                let (a, b, c) = (sizes[i - 1], sizes[*i], sizes[i + 1]);
                b >= least && b > a && b >= c
            })
            .map(|i| {
                let (a, b, c) = (sizes[i - 1], sizes[i], sizes[i + 1]);
                (at(i) + 0.5 * (a - c) / (a - 2.0 * b + c).min(-1e-9), b)
            })
            .collect();
        let Some(strong) = peaks.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1)) else {
            return [0.0, 1.0];
        };
        let other = peaks
            .iter()
            .copied()
            .filter(|p| p.0 != strong.0 && (p.0 - strong.0).abs() <= WIDEST)
            .max_by(|a, b| a.1.total_cmp(&b.1));
        match other {
            Some(other) => [
                0.5 * (strong.0 + other.0),
                0.5 + 0.5 * (strong.0 - other.0).abs(),
            ],
            None => [strong.0, 0.5],
        }
    }
}

fn between(strip: &[Colour], at: f64) -> Colour {
    let at = at.clamp(0.0, (strip.len() - 1) as f64);
    let i = (at as usize).min(strip.len() - 2);
    let f = (at - i as f64) as f32;
    std::array::from_fn(|n| strip[i][n] + f * (strip[i + 1][n] - strip[i][n]))
}

struct Line {
    at: f64,
    slope: f64,
    sd: [f64; 2],
    scatter: f64,
}

/// Tukey's robust line through `[x, y]`; standard deviations allow for ripples that run over several
/// strips (first-order autocorrelation of the residuals).
fn robust_line(points: &[[f64; 2]]) -> Option<Line> {
    if points.len() < 8 {
        return None;
    }
    let mut weights = vec![1.0; points.len()];
    let mut line = [0.0; 2];
    let mut scatter = 0.0;
    for _ in 0..8 {
        let sum = |f: &dyn Fn([f64; 2]) -> f64| -> f64 {
            points.iter().zip(&weights).map(|(p, w)| w * f(*p)).sum()
        };
        let (w, x, y) = (sum(&|_| 1.0), sum(&|p| p[0]), sum(&|p| p[1]));
        let (xx, xy) = (sum(&|p| p[0] * p[0]), sum(&|p| p[0] * p[1]));
        let det = w * xx - x * x;
        if det.abs() < 1e-9 {
            return None;
        }
        line = [(xx * y - x * xy) / det, (w * xy - x * y) / det];
        let residual = |p: &[f64; 2]| p[1] - line[0] - line[1] * p[0];
        let mut sizes: Vec<f64> = points.iter().map(|p| residual(p).abs()).collect();
        scatter = (1.4826 * median(&mut sizes)).max(0.02);
        for (weight, p) in weights.iter_mut().zip(points) {
            let u = residual(p) / (TUKEY * scatter);
            *weight = if u.abs() < 1.0 {
                (1.0 - u * u).powi(2)
            } else {
                0.0
            };
        }
    }
    let kept = weights.iter().filter(|w| **w > 0.2).count();
    if kept < 6 || 2 * kept < points.len() {
        return None;
    }
    let n: f64 = weights.iter().sum();
    let residuals: Vec<f64> = points
        .iter()
        .map(|p| p[1] - line[0] - line[1] * p[0])
        .collect();
    let (mut same, mut next) = (0.0, 0.0);
    for i in 1..residuals.len() {
        let w = weights[i] * weights[i - 1];
        same += w * residuals[i] * residuals[i];
        next += w * residuals[i] * residuals[i - 1];
    }
    let rho = if same > 0.0 {
        (next / same).clamp(0.0, 0.9)
    } else {
        0.0
    };
    let widen = ((1.0 + rho) / (1.0 - rho)).sqrt();
    let mean_x: f64 = points
        .iter()
        .zip(&weights)
        .map(|(p, w)| w * p[0])
        .sum::<f64>()
        / n;
    let xx: f64 = points
        .iter()
        .zip(&weights)
        .map(|(p, w)| w * (p[0] - mean_x).powi(2))
        .sum();
    let slope_sd = widen * scatter / xx.sqrt();
    Some(Line {
        at: line[0],
        slope: line[1],
        sd: [
            (widen * scatter / n.sqrt()).hypot(slope_sd * mean_x),
            slope_sd,
        ],
        scatter,
    })
}
