//! Darts: quick sideways excursions off the wobble-free path that come back by themselves.

use super::robust::{Line, median, solve, spread};

/// A dart goes at least this far off the path, mm.
pub const LEAST_MM: f64 = 25.0;
/// Without a known length: at least this far, body lengths.
pub const LEAST_BODY_LENGTHS: f64 = 0.45;
/// A dart stands out of the path's own scatter by at least this many standard deviations.
pub const LEAST_SPREADS: f64 = 5.0;
/// A dart stays beyond half its size for this long, s: shorter is a slip of the tracking, longer is
/// slow wandering.
pub const HALF_SIZE_S: [f64; 2] = [0.15, 0.95];
/// From start to end a dart takes at most this long, s.
pub const LONGEST_S: f64 = 2.2;
/// A swing to the other side right before or after a dart belongs to it below this share of its size.
pub const OVERSHOOT: f64 = 0.4;
/// A dart starts and ends where the path is this share of the size off the line.
const EDGE: f64 = 0.08;
/// A dart is quick: on its way out and back it moves sideways off its course by more than this, mm/s.
/// Slow wandering (30 mm to either side every 3 s) stays at 63.
pub const LEAST_MM_S: f64 = 75.0;
/// Without a known length: body lengths per second.
pub const LEAST_BODY_LENGTHS_S: f64 = 1.3;
/// Both its way out and its way back reach this share of that speed.
const QUICK_SHARE: f64 = 0.85;
/// A dart turns back within this time of going out, s.
pub const TURNS_BACK_S: f64 = 0.8;
/// Half the window, s, of the slow course that a dart leaves.
const COURSE_HALF_WINDOW_S: f64 = 1.5;
/// Half the span, s, over which the sideways speed is taken.
const SPEED_HALF_SPAN_S: f64 = 0.1;
/// How long before and after it is quick a dart has begun or not ended, s.
const MARGIN_S: f64 = 0.25;
/// Turned from its usual direction by this, degrees, a lure lies across it.
const BROADSIDE_DEG: f64 = 60.0;
/// A jump of this share of the size from one frame to the next (and 8 times the size per second of
/// the gap between them) is a slip of the tracking, not a swim.
const JUMP: f64 = 0.3;
const JUMP_PER_S: f64 = 8.0;

/// Out of sight for this long within a dart, s, and what happened there is a guess …
const UNSEEN_S: f64 = 0.35;
/// … unless it was seen going out over so many steps on end, and coming back.
const FLANK: usize = 3;

/// A sideways excursion, in the unit of the path it was found in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Excursion {
    /// First sample off the path.
    pub start: usize,
    /// Sample farthest off.
    pub peak: usize,
    /// First sample back on the path, or the last sample.
    pub end: usize,
    /// Size, + to own right.
    pub size: f64,
    /// Standard deviation of the size.
    pub sd: f64,
    /// Whether it came back.
    pub recovered: bool,
}

impl Excursion {
    /// Whether both go on at some time.
    pub fn overlaps(&self, other: &Excursion) -> bool {
        self.start < other.end && other.start < self.end
    }
}

/// The darts of a path: `sideways` and `forward` in body lengths at the times `t_s`, `raw`
/// the sideways way before the wobble and the jitter were taken out. `length_mm` is
/// the body length where known.
pub fn find(
    t_s: &[f64],
    forward: &[f64],
    sideways: &[f64],
    raw: &[f64],
    length_mm: Option<f64>,
) -> Vec<Excursion> {
    let least_speed = length_mm.map_or(LEAST_BODY_LENGTHS_S, |l| LEAST_MM_S / l);
    let Some(rest) = off_the_line(forward, sideways) else {
        return Vec::new();
    };
    let speed = sideways_speed(t_s, &rest);
    let off = off_the_course(t_s, &rest, &speed, least_speed);
    let least_size = length_mm.map_or(LEAST_BODY_LENGTHS, |l| LEAST_MM / l);
    let noise = spread(&off).max(0.02);
    let least = least_size.max(LEAST_SPREADS * noise);
    let mut used = vec![false; off.len()];
    let mut found: Vec<Excursion> = Vec::new();
    loop {
        let peak = (0..off.len())
            .filter(|&i| !used[i])
            .max_by(|&a, &b| off[a].abs().total_cmp(&off[b].abs()));
        let Some(peak) = peak.filter(|&p| off[p].abs() >= least) else {
            break;
        };
        let e = around(&off, peak, noise, &used);
        used[e.start..=e.end].fill(true);
        if is_dart(t_s, &off, &e)
            && !jumps(t_s, raw, &e)
            && is_quick(&speed, &e, QUICK_SHARE * least_speed)
            && !is_counter_swing(t_s, &found, &e)
        {
            found.push(e);
        }
    }
    found.sort_by_key(|e| e.start);
    found
}

/// How far the path is off its drift line.
fn off_the_line(forward: &[f64], sideways: &[f64]) -> Option<Vec<f64>> {
    let line = Line::huber(forward, sideways)?;
    Some(
        forward
            .iter()
            .zip(sideways)
            .map(|(x, y)| y - line.at(*x))
            .collect(),
    )
}

/// How far the path is off its slow course: a local parabola drawn through the samples at which the
/// path is not quick (sideways, by `least_speed` per second).
fn off_the_course(t_s: &[f64], rest: &[f64], speed: &[f64], least_speed: f64) -> Vec<f64> {
    let course = course(t_s, rest, &calm(t_s, speed, least_speed));
    rest.iter().zip(&course).map(|(r, c)| r - c).collect()
}

/// Sideways speed over ± [`SPEED_HALF_SPAN_S`] at each sample.
fn sideways_speed(t_s: &[f64], y: &[f64]) -> Vec<f64> {
    let last = t_s.len() - 1;
    (0..t_s.len())
        .map(|i| {
            let from = t_s
                .partition_point(|&t| t < t_s[i] - SPEED_HALF_SPAN_S)
                .min(i.max(1) - 1);
            let to = t_s.partition_point(|&t| t <= t_s[i] + SPEED_HALF_SPAN_S);
            let to = to.saturating_sub(1).max(i + 1).min(last);
            (y[to] - y[from]) / (t_s[to] - t_s[from]).max(1e-9)
        })
        .collect()
}

/// Which samples lie on the slow course: neither quick nor between a way out and the way back.
fn calm(t_s: &[f64], speed: &[f64], least: f64) -> Vec<bool> {
    let quick: Vec<usize> = (0..t_s.len()).filter(|&i| speed[i].abs() > least).collect();
    let mut calm = vec![true; t_s.len()];
    let mut leave_out = |from_s: f64, to_s: f64| {
        let from = t_s.partition_point(|&t| t < from_s);
        let to = t_s.partition_point(|&t| t <= to_s);
        calm[from..to].fill(false);
    };
    for &i in &quick {
        leave_out(t_s[i] - MARGIN_S, t_s[i] + MARGIN_S);
    }
    for pair in quick.windows(2) {
        let turns = speed[pair[0]] * speed[pair[1]] < 0.0;
        if turns && t_s[pair[1]] - t_s[pair[0]] < TURNS_BACK_S {
            leave_out(t_s[pair[0]], t_s[pair[1]]);
        }
    }
    calm
}

/// Local parabolas through the calm samples of `y` (tricube weights over ±
/// [`COURSE_HALF_WINDOW_S`], wider where few are calm); lines where the calm lies to one side only.
fn course(t_s: &[f64], y: &[f64], calm: &[bool]) -> Vec<f64> {
    let all: Vec<usize> = (0..t_s.len()).filter(|&i| calm[i]).collect();
    (0..t_s.len())
        .map(|i| course_at(t_s, y, &all, t_s[i]))
        .collect()
}

fn course_at(t_s: &[f64], y: &[f64], calm: &[usize], at_s: f64) -> f64 {
    let mut reach = COURSE_HALF_WINDOW_S;
    for _ in 0..3 {
        let from = calm.partition_point(|&i| t_s[i] <= at_s - reach);
        let to = calm.partition_point(|&i| t_s[i] < at_s + reach);
        let near = &calm[from..to];
        let before = near.partition_point(|&i| t_s[i] <= at_s);
        let after = near.len() - before;
        if before + after < 8 {
            reach *= 1.7;
            continue;
        }
        let terms = if before.min(after) >= 3 { 3 } else { 2 };
        let (mut a, mut b) = (vec![0.0; terms * terms], vec![0.0; terms]);
        for i in near {
            let u = (t_s[*i] - at_s) / reach;
            let w = (1.0 - u.abs().powi(3)).powi(3);
            let f = [1.0, u, u * u];
            for p in 0..terms {
                for q in 0..terms {
                    a[p * terms + q] += w * f[p] * f[q];
                }
                b[p] += w * f[p] * y[*i];
            }
        }
        if let Some(fit) = solve(a, b) {
            return fit[0];
        }
        reach *= 1.7;
    }
    median(calm.iter().map(|&i| y[i])).unwrap_or(0.0)
}

/// The excursion about the sample `peak`.
fn around(off: &[f64], peak: usize, noise: f64, used: &[bool]) -> Excursion {
    let (size, sign) = (off[peak], off[peak].signum());
    let edge = (EDGE * size.abs()).max(1.5 * noise);
    let out = |i: usize| !used[i] && off[i] * sign > edge;
    let mut start = peak;
    while start > 0 && out(start - 1) {
        start -= 1;
    }
    let mut end = peak;
    while end + 1 < off.len() && out(end + 1) {
        end += 1;
    }
    let recovered = end + 1 < off.len();
    Excursion {
        start: start.saturating_sub(1),
        peak,
        end: (end + 1).min(off.len() - 1),
        size,
        sd: noise,
        recovered,
    }
}

/// Whether the excursion has a dart's course in time.
fn is_dart(t_s: &[f64], off: &[f64], e: &Excursion) -> bool {
    let beyond = |i: usize| off[i] * e.size.signum() > 0.5 * e.size.abs();
    let mut first = e.peak;
    while first > e.start && beyond(first - 1) {
        first -= 1;
    }
    let mut last = e.peak;
    while last < e.end && beyond(last + 1) {
        last += 1;
    }
    let at_edge = first == 0 || last + 1 >= off.len();
    let half = t_s[last] - t_s[first];
    !at_edge
        && last - first >= 2
        && (HALF_SIZE_S[0]..=HALF_SIZE_S[1]).contains(&half)
        && t_s[e.end] - t_s[e.start] <= LONGEST_S
        && (first + 1..=last)
            .all(|i| t_s[i] - t_s[i - 1] < UNSEEN_S || seen_to_turn(t_s, off, e, i))
}

/// Whether the lure was seen going out before the gap that ends with sample `i`, and coming back after it: it
/// swam out of the picture or behind something and turned there.
fn seen_to_turn(t_s: &[f64], off: &[f64], e: &Excursion, i: usize) -> bool {
    let sign = e.size.signum();
    let far = |k: usize| off[k] * sign > 0.5 * e.size.abs();
    let flank = |mut from: usize, step: isize| {
        let mut count = 0;
        while from > e.start && from < e.end {
            let next = from.wrapping_add_signed(step);
            if off[next] * sign >= off[from] * sign {
                break;
            }
            count += 1;
            from = next;
        }
        count
    };
    let quick = t_s[i] - t_s[i - 1] < TURNS_BACK_S;
    quick && far(i - 1) && far(i) && flank(i - 1, -1) >= FLANK && flank(i, 1) >= FLANK
}

/// Whether the raw path jumps there as no lure swims.
fn jumps(t_s: &[f64], raw: &[f64], e: &Excursion) -> bool {
    (e.start + 1..=e.end).any(|i| {
        let most = (JUMP + JUMP_PER_S * (t_s[i] - t_s[i - 1])) * e.size.abs();
        (raw[i] - raw[i - 1]).abs() > most
    })
}

/// Whether it goes out and comes back quickly.
fn is_quick(speed: &[f64], e: &Excursion, least: f64) -> bool {
    let most = |part: &[f64], sign: f64| part.iter().map(|v| v * sign).fold(0.0, f64::max);
    let sign = e.size.signum();
    most(&speed[e.start..=e.peak], sign) > least && most(&speed[e.peak..=e.end], -sign) > least
}

/// Whether the excursion is the swing to the other side just before or after a bigger one.
fn is_counter_swing(t_s: &[f64], found: &[Excursion], e: &Excursion) -> bool {
    found.iter().any(|d| {
        let pause = if e.start > d.peak {
            t_s[e.start] - t_s[d.end]
        } else {
            t_s[d.start] - t_s[e.end]
        };
        d.size * e.size < 0.0
            && (-0.1..0.25).contains(&pause)
            && e.size.abs() < OVERSHOOT * d.size.abs()
    })
}

/// Whether the body lies across its usual direction for half of the excursion or more (`axis_deg` as seen straight from
/// above): a lure swims out and back, and does not slide there broadside. What does is a slip of the tracking, or tumbles.
pub fn is_broadside(axis_deg: &[f64], e: &Excursion) -> bool {
    let usual = median(axis_deg.iter().copied()).unwrap_or(0.0);
    let within = &axis_deg[e.start..=e.end];
    let off = within
        .iter()
        .map(|a| crate::units::wrap_deg(2.0 * (a - usual)).abs() / 2.0);
    median(off).is_some_and(|off| off > BROADSIDE_DEG)
}

/// Which samples lie outside all darts (with a margin of 0.1 s).
pub fn outside(t_s: &[f64], darts: &[Excursion]) -> Vec<bool> {
    t_s.iter()
        .map(|t| {
            !darts
                .iter()
                .any(|d| *t > t_s[d.start] - 0.1 && *t < t_s[d.end] + 0.1)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A path at 0.5 m/s with a dart of 80 mm at 3 s (its body 58 mm long), seen where `seen` says so.
    fn darts(seen: impl Fn(f64) -> bool) -> Vec<Excursion> {
        let t: Vec<f64> = (0..200)
            .map(|i| f64::from(i) / 30.0)
            .filter(|t| seen(*t))
            .collect();
        let forward: Vec<f64> = t.iter().map(|t| 8.6 * t).collect();
        let sideways: Vec<f64> = t
            .iter()
            .map(|t| -1.4 * (-((t - 3.0) / 0.25).powi(2)).exp() + 0.02 * (3.0 * t).sin())
            .collect();
        find(&t, &forward, &sideways, &sideways, Some(58.0))
    }

    #[test]
    fn a_dart_out_of_the_picture_and_back_is_found_on_its_side() {
        let found = darts(|t| !(2.8..3.2).contains(&t));
        assert_eq!(found.len(), 1);
        assert!(found[0].size < -0.7);
    }

    #[test]
    fn a_body_that_lies_across_its_way_does_not_dart() {
        let e = Excursion {
            start: 2,
            peak: 5,
            end: 8,
            size: 1.0,
            sd: 0.05,
            recovered: true,
        };
        let turned_by = |deg: f64| {
            let mut axis_deg = [5.0; 20];
            axis_deg[3..8].fill(deg);
            axis_deg
        };
        assert!(is_broadside(&turned_by(-80.0), &e) && is_broadside(&turned_by(85.0), &e));
        assert!(!is_broadside(&turned_by(-45.0), &e));
    }

    #[test]
    fn what_was_seen_neither_going_nor_coming_is_no_dart() {
        assert!(darts(|t| !(2.3..3.2).contains(&t)).is_empty());
        assert!(darts(|t| !(2.8..3.7).contains(&t)).is_empty());
    }
}
