//! The slow way of a quantity: a local line through short means, joined smoothly.

/// Bins per window: each is short enough that a wobble within the window averages out of it or
/// folds onto zero where the mean has its null.
const BINS_PER_WINDOW: f64 = 8.0;

/// A slow curve through a series: local straight lines (tricube weights, Cleveland 1979) through
/// means over an eighth of the window, joined by straight pieces.
#[derive(Debug, Clone)]
pub(super) struct Trend {
    t: Vec<f64>,
    level: Vec<f64>,
}

impl Trend {
    /// The slow curve of `values` at `t`, slower than about 1/`window_s`. One pass over the samples.
    pub fn of(t: &[f64], values: &[f64], window_s: f64) -> Trend {
        let bins = means(t, values, window_s / BINS_PER_WINDOW);
        let level = bins
            .iter()
            .map(|b| local_line(&bins, b.t, window_s))
            .collect();
        Trend {
            t: bins.iter().map(|b| b.t).collect(),
            level,
        }
    }

    /// The level at time `t`; straight on beyond the ends.
    pub fn at(&self, t: f64) -> f64 {
        match self.t.len() {
            0 => 0.0,
            1 => self.level[0],
            n => {
                let right = self.t.partition_point(|&x| x < t).clamp(1, n - 1);
                let (t0, t1) = (self.t[right - 1], self.t[right]);
                let (y0, y1) = (self.level[right - 1], self.level[right]);
                y0 + (y1 - y0) * (t - t0) / (t1 - t0)
            }
        }
    }

    /// What is left of `values` at `t`.
    pub fn taken_from(&self, t: &[f64], values: &[f64]) -> Vec<f64> {
        t.iter().zip(values).map(|(&t, v)| v - self.at(t)).collect()
    }
}

struct Bin {
    t: f64,
    mean: f64,
    count: f64,
}

fn means(t: &[f64], values: &[f64], width_s: f64) -> Vec<Bin> {
    let mut bins: Vec<Bin> = Vec::new();
    let mut open = i64::MIN;
    for (&t, &v) in t.iter().zip(values) {
        let number = (t / width_s).floor() as i64;
        if number != open {
            bins.push(Bin {
                t: 0.0,
                mean: 0.0,
                count: 0.0,
            });
            open = number;
        }
        if let Some(bin) = bins.last_mut() {
            bin.count += 1.0;
            bin.t += (t - bin.t) / bin.count;
            bin.mean += (v - bin.mean) / bin.count;
        }
    }
    bins
}

fn local_line(bins: &[Bin], at: f64, window_s: f64) -> f64 {
    let first = bins.partition_point(|b| b.t <= at - window_s);
    let (mut s, mut st, mut stt, mut sy, mut sty) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for b in bins[first..].iter().take_while(|b| b.t < at + window_s) {
        let x = (b.t - at) / window_s;
        let w = b.count * (1.0 - x.abs().powi(3)).powi(3);
        s += w;
        st += w * x;
        stt += w * x * x;
        sy += w * b.mean;
        sty += w * x * b.mean;
    }
    let determinant = s * stt - st * st;
    if determinant > 1e-9 * s * s {
        (stt * sy - st * sty) / determinant
    } else {
        sy / s
    }
}
