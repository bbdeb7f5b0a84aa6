//! Running depth, dive angle and time to depth from depth over time.

use super::super::robust::{Line, median, spread};
use super::super::smooth::smooth;
use super::Depth;
use super::side::Depths;
use crate::Measured;

/// Stretches over which depth is averaged before it is judged, s.
const STRETCH_S: f64 = 0.4;
/// It runs level where depth keeps within this part of itself over the clip's last part …
const LEVEL: f64 = 0.08;
/// … and the level stretch reaches back to where it came this near to it.
const NEAR: f64 = 0.03;
/// Depth is smoothed over this long before its way down is timed, s: a wobble or two of bobbing.
const BOB_S: f64 = 0.2;
/// Smoothing rounds the corner where a dive begins, which shifts a crossing by up to this part of it.
const ROUNDING: f64 = 0.125;
/// … which is this part of the time it was seen, and at least this long, s.
const LAST_PART: f64 = 0.3;
const LEAST_LEVEL_S: f64 = 1.0;
/// A dive shows where the clip begins above this part of the running depth.
const BEGINS_ABOVE: f64 = 0.65;
/// The way down is timed from the first to the second of these parts of it.
const FROM: f64 = 0.1;
const TO: f64 = 0.9;
/// How far from square to the camera the pull may be, as a part of its length that is not seen (half-width of
/// a 95 % interval; 11 degrees).
const SQUARE_DOUBT: f64 = 0.02;

/// The depth's figures.
pub fn depth(depths: &Depths) -> Depth {
    let calm = smooth(&depths.t_s, &depths.mm, STRETCH_S / 2.0);
    let base = |depth: Depth| Depth {
        deepest_mm: deepest(depths, &calm),
        ..depth
    };
    let level = match Level::of(depths, &calm) {
        Ok(level) => level,
        Err(why) => return base(Depth::unmeasurable(true, &why)),
    };
    let mm = running(depths, &level);
    let quick = smooth(&depths.t_s, &depths.mm, BOB_S / 2.0);
    let (dive_deg, time_to_depth_s) = match Dive::of(depths, &quick, &level) {
        Ok(dive) => (dive.angle(depths), dive.time()),
        Err(why) => (Measured::unmeasurable(why), Measured::unmeasurable(why)),
    };
    base(Depth {
        mm,
        dive_deg,
        time_to_depth_s,
        ..Depth::unmeasurable(true, "")
    })
}

/// Where it runs level.
struct Level {
    mm: f64,
    /// Standard error of `mm` from the path's own wandering.
    se_mm: f64,
    /// Standard deviation of the stretches about it.
    scatter_mm: f64,
    /// How far it may still be from where it would settle, mm.
    change_mm: f64,
    /// Middle of the level stretch, s.
    middle_s: f64,
}

impl Level {
    fn of(depths: &Depths, calm: &[f64]) -> Result<Level, String> {
        let t = &depths.t_s;
        let (first, last) = match (t.first(), t.last()) {
            (Some(a), Some(b)) if b - a >= 2.0 * LEAST_LEVEL_S => (*a, *b),
            _ => return Err("the lure was seen too briefly to say where it runs level".into()),
        };
        let span = (LAST_PART * (last - first)).max(LEAST_LEVEL_S);
        let end = stretches(t, calm, last - span);
        let (times, values) = &end;
        let line = Line::huber(times, values).ok_or("the lure was seen too briefly")?;
        let rest: Vec<f64> = times
            .iter()
            .zip(values)
            .map(|(t, v)| v - line.at(*t))
            .collect();
        let noise = spread(&rest);
        let change = line.slope * span;
        let allowed = (LEVEL * line.at_mean.abs()).max(3.0 * noise);
        if change.abs() > allowed {
            let way = if change > 0.0 {
                "going down"
            } else {
                "coming up"
            };
            return Err(format!(
                "the lure was still {way} when it was last seen; film on until it runs level"
            ));
        }
        let mm = median(values.iter().copied()).unwrap_or(line.at_mean);
        // Back to where it reached that depth, so that all of the level stretch counts.
        let near = (NEAR * mm.abs()).max(3.0 * noise);
        let all = stretches(t, calm, first);
        let begin = all
            .0
            .iter()
            .zip(&all.1)
            .rev()
            .take_while(|(_, v)| (*v - mm).abs() <= near)
            .map(|(t, _)| *t)
            .last()
            .unwrap_or(last - span);
        let (times, level) = stretches(t, calm, begin.min(last - span));
        let trend = Line::huber(&times, &level).map_or(0.0, |line| line.slope * (last - begin));
        let n = level.len() as f64;
        let mean = level.iter().sum::<f64>() / n;
        let var = level.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0).max(1.0);
        Ok(Level {
            mm: mean,
            // Neighbouring stretches wander together, and few of them know their own scatter badly.
            se_mm: (3.0 * var / n).sqrt() * (1.0 + 2.0 / n),
            scatter_mm: var.sqrt(),
            // What is left of the dive is still in there.
            change_mm: 0.5 * trend.abs(),
            middle_s: 0.5 * (begin.min(last - span) + last),
        })
    }
}

/// Mean time and depth over stretches from `from_s` on.
fn stretches(t_s: &[f64], mm: &[f64], from_s: f64) -> (Vec<f64>, Vec<f64>) {
    let mut out = (Vec::new(), Vec::new());
    let mut i = t_s.partition_point(|t| *t < from_s);
    while i < t_s.len() {
        let end = i + t_s[i..].partition_point(|t| *t < t_s[i] + STRETCH_S);
        let n = (end - i) as f64;
        out.0.push(t_s[i..end].iter().sum::<f64>() / n);
        out.1.push(mm[i..end].iter().sum::<f64>() / n);
        i = end;
    }
    out
}

/// The deepest of the `calm` depths. That it is the greatest of many lets it come out too deep by their own
/// scatter at the most, which is in the interval.
fn deepest(depths: &Depths, calm: &[f64]) -> Measured {
    let Some(mm) = calm.iter().copied().reduce(f64::max).map(|mm| mm.max(0.0)) else {
        return Measured::unmeasurable("the lure was seen too briefly");
    };
    let off: Vec<f64> = depths
        .mm
        .iter()
        .zip(calm)
        .map(|(mm, calm)| mm - calm)
        .collect();
    let half = (1.96 * spread(&off))
        .hypot(depths.scale_doubt * mm)
        .hypot(depths.zero_doubt_mm);
    Measured::new(mm, [(mm - half).max(0.0), mm + half])
}

fn running(depths: &Depths, level: &Level) -> Measured {
    let scale = depths.scale_doubt * level.mm;
    let half = (1.96 * level.se_mm)
        .hypot(scale)
        .hypot(level.change_mm)
        .hypot(depths.zero_doubt_mm);
    if level.mm <= half {
        return Measured::unmeasurable(format!(
            "it ran within {half:.0} mm of the surface, nearer than the marks can tell"
        ));
    }
    Measured::within(level.mm, half)
}

/// The way down.
struct Dive {
    from: Crossing,
    to: Crossing,
    /// Way down between the two, mm.
    down_mm: f64,
}

/// When a depth is passed.
struct Crossing {
    t_s: f64,
    /// Half-width of the 95 % interval of `t_s`.
    doubt_s: f64,
    /// The sample after it, and how far it lies from the one before towards that.
    index: usize,
    part: f64,
}

impl Crossing {
    /// Value of `y` there.
    fn of(&self, y: &[f64]) -> f64 {
        y[self.index - 1] + self.part * (y[self.index] - y[self.index - 1])
    }
}

impl Dive {
    fn of(depths: &Depths, calm: &[f64], level: &Level) -> Result<Dive, &'static str> {
        let t = &depths.t_s;
        let first = t.first().copied().unwrap_or(0.0);
        let start = median(
            t.iter()
                .zip(calm)
                .take_while(|(t, _)| **t <= first + STRETCH_S / 2.0)
                .map(|(_, d)| *d),
        )
        .unwrap_or(level.mm);
        let way = level.mm - start;
        if start > BEGINS_ABOVE * level.mm || way < 4.0 * level.scatter_mm {
            return Err("the clip begins when the lure is already down; begin it before the dive");
        }
        let jitter: Vec<f64> = depths.mm.iter().zip(calm).map(|(d, c)| d - c).collect();
        let noise_mm = spread(&jitter).max(level.scatter_mm);
        let pass = |part: f64, own_mm: f64| crossing(t, calm, start + part * way, own_mm);
        let few = ((BOB_S * t.len() as f64 / (t[t.len() - 1] - first)).max(1.0)).sqrt();
        let own = noise_mm / few;
        let settled = own.hypot(level.se_mm).hypot(level.change_mm / 1.96);
        let rough = pass(TO, settled).map_or(0.0, |to| to.of(&depths.along_mm));
        let lean = depths.lean_mm(t.partition_point(|t| *t < level.middle_s), rough);
        match (pass(FROM, own), pass(TO, settled.hypot(lean / 1.96))) {
            (Some(from), Some(to)) if to.t_s > from.t_s => Ok(Dive {
                from,
                to,
                down_mm: (TO - FROM) * way,
            }),
            _ => Err("the way down was not seen as one"),
        }
    }

    /// Slope of the chord between the two crossings.
    fn angle(&self, depths: &Depths) -> Measured {
        let along = smooth(&depths.t_s, &depths.along_mm, BOB_S / 2.0);
        let [from, to] = [&self.from, &self.to].map(|c| c.of(&along));
        let way = to - from;
        if way <= 0.0 {
            return Measured::unmeasurable(
                "the lure made no way along the pull while it dived; give --pull",
            );
        }
        let slope = self.down_mm / way;
        // A crossing that is timed wrongly lies elsewhere along the way.
        let pace = way / (self.to.t_s - self.from.t_s);
        let open = pace * self.from.doubt_s.hypot(self.to.doubt_s) / way;
        let share = slope / (1.0 + slope * slope);
        let half = (open.hypot(SQUARE_DOUBT) * share).to_degrees();
        Measured::within(
            slope.atan().to_degrees(),
            half.hypot(depths.slant_doubt_deg),
        )
    }

    fn time(&self) -> Measured {
        let half = self.from.doubt_s.hypot(self.to.doubt_s);
        Measured::within(self.to.t_s - self.from.t_s, half)
            .because("from a tenth to nine tenths of the way down")
    }
}

/// First time from which depth stays below `level` mm, where the slope there and `own_mm`, one standard
/// deviation, tell how sure that is.
fn crossing(t_s: &[f64], mm: &[f64], level: f64, own_mm: f64) -> Option<Crossing> {
    let index = (1..mm.len()).find(|&i| mm[i - 1] < level && mm[i] >= level)?;
    let (a, b) = (index.saturating_sub(4), (index + 4).min(mm.len() - 1));
    let slope = (mm[b] - mm[a]) / (t_s[b] - t_s[a]);
    let step = (level - mm[index - 1]) / (mm[index] - mm[index - 1]);
    let frame_s = t_s[index] - t_s[index - 1];
    Some(Crossing {
        t_s: t_s[index - 1] + step * frame_s,
        doubt_s: (1.96 * own_mm / slope.max(1e-6))
            .hypot(frame_s)
            .hypot(ROUNDING * BOB_S),
        index,
        part: step,
    })
}
