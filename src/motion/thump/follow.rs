//! The rate through pulls of any length: piece by piece, so that an hour costs no more memory than a minute.

use super::{Gust, Part};
use crate::motion::SecondRate;
use crate::motion::rate::{self, Amplitude, Channel, Parity, RateFit, RateOptions};
use crate::motion::wobble::{FASTEST_PLAUSIBLE_HZ, SLOWEST_HZ};

/// Longest piece that is followed at once, s.
const PIECE_S: f64 = 60.0;
/// A shorter piece holds too few cycles, s.
const SHORTEST_S: f64 = 1.5;
/// In other pieces the rate lies within this share of the first one's.
const REACH: f64 = 0.35;

/// A piece in which the rate was followed.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Followed {
    /// Samples, first and one past the last.
    pub samples: [usize; 2],
    /// The rate.
    pub fit: RateFit,
}

impl Followed {
    /// How long, s.
    pub fn span_s(&self) -> f64 {
        self.fit.span_s[1] - self.fit.span_s[0]
    }
}

/// Pulls cut into pieces of at most a minute, as ranges of samples.
pub(super) fn pieces(t_s: &[f64], parts: &[Part]) -> Vec<[usize; 2]> {
    let long = parts
        .iter()
        .filter(|p| p.pull && p.to_s - p.from_s >= SHORTEST_S);
    long.flat_map(|part| {
        let count = ((part.to_s - part.from_s) / PIECE_S).ceil().max(1.0);
        let step = (part.to_s - part.from_s) / count;
        (0..count as usize).map(move |i| {
            let from = part.from_s + step * i as f64;
            let to = if i + 1 == count as usize {
                part.to_s + 1e-9
            } else {
                from + step
            };
            [
                t_s.partition_point(|t| *t < from),
                t_s.partition_point(|t| *t < to),
            ]
        })
    })
    .filter(|[a, b]| b - a >= 32)
    .collect()
}

/// A channel of the samples in `piece`, gusts left out.
pub(super) fn channel(t_s: &[f64], values: &[f32], [a, b]: [usize; 2], gusts: &[Gust]) -> Channel {
    let calm = |t: f64| !gusts.iter().any(|g| t >= g.from_s && t <= g.to_s);
    let kept: Vec<usize> = (a..b).filter(|&i| calm(t_s[i])).collect();
    let t: Vec<f64> = kept.iter().map(|&i| t_s[i]).collect();
    let v: Vec<f64> = kept.iter().map(|&i| f64::from(values[i])).collect();
    Channel::new("thump", &t, &v, Parity::Any)
}

/// The most convincing rate in `channels` up to `to_hz`.
pub(super) fn first_rate(channels: &[Channel], to_hz: f64) -> Option<RateFit> {
    let nyquist = channels
        .first()
        .map_or(f64::NAN, |c| rate::nyquist_hz(&c.t_s));
    let options = RateOptions {
        wary: false,
        min_hz: SLOWEST_HZ,
        max_hz: (to_hz < 0.98 * nyquist).then_some(to_hz),
        ..RateOptions::default()
    };
    let fit = rate::find(channels, &options, |_| true)?;
    let hz = fit.hz.value?;
    let power =
        |of: fn(&Amplitude) -> f64| fit.amplitudes.iter().map(|a| of(a).powi(2)).sum::<f64>();
    // No lure wobbles so fast that its half would still be a lure's rate: there the strongest line is
    // the rate. Slower, a thump that beats twice a cycle is as likely; a warning tells of it.
    let doubled = hz > FASTEST_PLAUSIBLE_HZ && power(|a| a.at_double) > power(|a| a.at_rate);
    let double = RateOptions {
        min_hz: 1.6 * hz,
        ..options
    };
    match doubled {
        true => rate::find(channels, &double, |f| {
            f.hz.value
                .is_some_and(|v| (v / hz / 2.0 - 1.0).abs() < 0.05)
        })
        .or(Some(fit)),
        false => Some(fit),
    }
}

/// The rate near `hz` in a channel.
pub(super) fn rate_near(channel: &Channel, hz: f64, to_hz: f64) -> Option<RateFit> {
    let nyquist = rate::nyquist_hz(&channel.t_s);
    let options = RateOptions {
        wary: false,
        min_hz: (hz * (1.0 - REACH)).max(0.8 * SLOWEST_HZ),
        max_hz: Some((hz * (1.0 + REACH)).min(to_hz).min(0.985 * nyquist)),
        ..RateOptions::default()
    };
    let near = |f: &RateFit| f.hz.value.is_some_and(|v| (v / hz - 1.0).abs() < REACH);
    rate::find(std::slice::from_ref(channel), &options, near)
}

/// Mean rate and 95 % half-width over all pieces: cycles over time.
pub(super) fn mean_rate(followed: &[Followed]) -> Option<(f64, f64)> {
    let time: f64 = followed.iter().map(Followed::span_s).sum();
    let (mut cycles, mut doubt) = (0.0, 0.0);
    for piece in followed {
        let [lo, hi] = piece.fit.hz.ci95?;
        cycles += piece.fit.hz.value? * piece.span_s();
        doubt += (0.5 * (hi - lo) * piece.span_s()).powi(2);
    }
    (time > 0.0).then(|| (cycles / time, doubt.sqrt() / time))
}

/// The rate second by second over all pieces.
pub(super) fn by_second(followed: &[Followed]) -> Vec<SecondRate> {
    followed
        .iter()
        .flat_map(|piece| piece.fit.by_second())
        .map(|(t_s, hz)| SecondRate { t_s, hz })
        .collect()
}

/// Standard deviation of the rate by second over its mean; `None` under three seconds.
pub(super) fn unsteadiness(seconds: &[SecondRate]) -> Option<f64> {
    let n = seconds.len() as f64;
    let mean = seconds.iter().map(|s| s.hz).sum::<f64>() / n;
    let variance = seconds.iter().map(|s| (s.hz - mean).powi(2)).sum::<f64>() / (n - 1.0);
    (seconds.len() > 2 && mean > 0.0).then(|| variance.sqrt() / mean)
}
