//! [`find`]: from channels to a rate with its interval.

use super::channel::Channel;
use super::harmonics;
use super::noise::{Band, Noise};
use super::phase::Phase;
use super::ridge;
use super::spectrum::Spectrum;
use super::tone::Tone;
use super::trust;
use super::wander::{self, Path, Paths};
use super::{gaps, persistence, sine};
use crate::Measured;
use statrs::distribution::{ContinuousCDF, FisherSnedecor, StudentsT};

/// What [`find`] should look for.
#[derive(Debug, Clone, PartialEq)]
pub struct RateOptions {
    /// Slowest rate looked for, Hz.
    pub min_hz: f64,
    /// Fastest rate looked for, Hz; up to half the sampling rate where not given. Beyond that only
    /// uneven stamps can tell a rate.
    pub max_hz: Option<f64>,
    /// Chance of taking noise for a wobble that is still accepted.
    pub false_alarm: f64,
    /// Whether a stretch far louder than usual counts for less: a dart or a slip of the tracking is no wobble. Not where
    /// the wave itself rings out, as in a tuning fork or after a jerk of the rod, and is loudest where it says most.
    pub wary: bool,
}

impl Default for RateOptions {
    fn default() -> Self {
        RateOptions {
            min_hz: 1.5,
            max_hz: None,
            false_alarm: 1e-4,
            wary: true,
        }
    }
}

/// How strongly one channel carries the wobble.
#[derive(Debug, Clone, PartialEq)]
pub struct Amplitude {
    /// The channel's name.
    pub name: &'static str,
    /// Zero-to-peak amplitude at the rate itself, in the channel's unit.
    pub at_rate: f64,
    /// The same at twice the rate.
    pub at_double: f64,
    /// Standard deviation of either.
    pub sd: f64,
}

/// A rate and all that is known about it.
#[derive(Debug, Clone, PartialEq)]
pub struct RateFit {
    /// Mean rate, Hz: cycles counted by phase over the time seen; [`crate::Status::None`] where
    /// there is no line above the noise.
    pub hz: Measured,
    /// The phase over time (empty where there is no rate).
    pub phase: Phase,
    /// First and last time stamp, s.
    pub span_s: [f64; 2],
    /// How strongly each channel carries it.
    pub amplitudes: Vec<Amplitude>,
    /// How much the rate wanders: standard deviation of its change in one second, as a fraction.
    pub wander: f64,
    /// Part of the time, 0–1, over which the wave is spread: 1 for an even one, 0.2 for a burst in a
    /// fifth of the clip.
    pub persistence: f64,
    /// Chance that noise alone shows such a line.
    pub false_alarm: f64,
    /// Half the sampling rate, Hz.
    pub nyquist_hz: f64,
}

impl RateFit {
    /// Middle and mean rate of each whole second (or what is left at the end, if more than half), s and Hz.
    pub fn by_second(&self) -> Vec<(f64, f64)> {
        let [from, to] = self.span_s;
        let count = (to - from).round().max(1.0) as usize;
        let edge = |i: usize| (from + i as f64).min(to);
        (0..count)
            .map(|i| {
                (
                    0.5 * (edge(i) + edge(i + 1)),
                    self.phase.mean_rate(edge(i), edge(i + 1)),
                )
            })
            .collect()
    }
}

/// At half the sampling rate itself one of the two waves vanishes at every stamp: stop short of it.
const EDGE: f64 = 0.985;

/// The most convincing rate in `channels` that is also `credible` to the caller; `None` where nothing
/// stands out of the noise.
pub fn find(
    channels: &[Channel],
    options: &RateOptions,
    credible: impl Fn(&RateFit) -> bool,
) -> Option<RateFit> {
    let nyquist_hz = nyquist(channels);
    let high = options.max_hz.unwrap_or(EDGE * nyquist_hz);
    let window_s = START_WINDOW_CYCLES / options.min_hz;
    let step_s = options
        .max_hz
        .map_or(0.0, |hz| 1.0 / (SAMPLES_PER_FASTEST * hz));
    let tame = channels.iter().map(|c| c.thinned(step_s).tame(window_s));
    let enough = |c: &Channel| c.t_s.len() >= FEWEST;
    let sources: Vec<Channel> = tame.filter(enough).collect();
    let ready: Vec<Channel> = sources.iter().map(|c| c.flat(window_s)).collect();
    if ready.is_empty() || !nyquist_hz.is_finite() || high <= options.min_hz {
        return None;
    }
    let spectrum = Spectrum::of(&ready, options.min_hz, high);
    let sampling_hz = 2.0 * nyquist_hz;
    let stands_out = |hz: &f64| false_alarm(&spectrum, *hz, sampling_hz) <= WORTH_FOLLOWING;
    let inside = |f: &RateFit| {
        f.hz.value
            .is_some_and(|hz| hz < 1.01 * high && hz > 0.95 * options.min_hz)
    };
    harmonics::candidates(&ready, &spectrum, sampling_hz)
        .into_iter()
        .filter(stands_out)
        .filter_map(|hz| {
            let thin = |c: &Channel| c.thinned(1.0 / (SAMPLES_PER_CYCLE * hz));
            let sources: Vec<Channel> = sources.iter().map(thin).collect();
            let ready: Vec<Channel> = ready.iter().map(thin).collect();
            Followed::new(&sources, &ready, &spectrum, hz, nyquist_hz, options.wary)
        })
        .map(|followed| followed.fit(&spectrum))
        .find(|fit| fit.false_alarm <= options.false_alarm && inside(fit) && credible(fit))
}

/// With a fastest rate given, denser sampling than this is averaged down before anything else.
const SAMPLES_PER_FASTEST: f64 = 8.0;
/// Chance of a false line up to which a line is followed; the verdict falls after that, when the noise
/// is known from what the line leaves.
const WORTH_FOLLOWING: f64 = 0.05;
/// Denser sampling than this is averaged down before the phase is followed: it only costs time.
const SAMPLES_PER_CYCLE: f64 = 20.0;
/// Fewer samples than this in a channel tell nothing.
const FEWEST: usize = 16;
/// Half width of the window that takes out the slow way before the rate is known, in cycles of the
/// slowest rate looked for.
const START_WINDOW_CYCLES: f64 = 1.8;

/// Chance that noise alone shows a line at `hz` or twice that in any channel.
fn false_alarm(spectrum: &Spectrum, hz: f64, sampling_hz: f64) -> f64 {
    let places = [hz, harmonics::folded(2.0 * hz, sampling_hz)];
    let channels = 0..spectrum.ratio.len();
    let chance = channels.flat_map(|c| places.map(|f| spectrum.false_alarm(c, f)));
    (chance.fold(1.0, f64::min) * spectrum.ratio.len() as f64).min(1.0)
}

/// Half the sampling rate of the densest channel, Hz.
fn nyquist(channels: &[Channel]) -> f64 {
    channels
        .iter()
        .map(|c| nyquist_hz(&c.t_s))
        .fold(f64::NAN, f64::max)
}

/// Half the sampling rate of the stamps `t_s`, Hz, from their median step; NaN for fewer than two.
pub fn nyquist_hz(t_s: &[f64]) -> f64 {
    let mut steps: Vec<f64> = t_s
        .windows(2)
        .map(|w| w[1] - w[0])
        .filter(|s| *s > 0.0)
        .collect();
    if steps.is_empty() {
        return f64::NAN;
    }
    // In place: of an hour's log a second copy would be the largest thing in memory.
    let middle = steps.len() / 2;
    0.5 / *steps.select_nth_unstable_by(middle, f64::total_cmp).1
}

/// A candidate rate being followed through the clip.
struct Followed {
    tones: Vec<Tone>,
    paths: Paths,
    /// Chance that a cycle was lost or won in a gap.
    slip: f64,
    noise: Vec<Noise>,
    first_hz: f64,
    nyquist_hz: f64,
    /// Whether loud stretches count for less.
    wary: bool,
}

/// Half width, in cycles, of the window that takes the slow way out once the rate is known: ripples at
/// a third of the rate and slower go with it.
const WINDOW_CYCLES: f64 = 2.0;
/// Rounds of: follow the phase, take the slow way and the noise anew from what is left.
const ROUNDS: usize = 2;
/// A chance of a lost cycle above this widens the interval by a whole cycle to each side.
const SLIP: f64 = 0.01;

/// `hz` by a plain sine fit to the channel that says most, if that stays within a resolvable width.
fn refined(tones: &[Tone], hz: f64, piece_s: f64) -> f64 {
    let strength = |tone: &Tone| {
        let [from_s, to_s] = wander::span(tones);
        tone.phase_weight(&Phase::steady(hz, from_s, to_s))
    };
    let strongest = tones
        .iter()
        .max_by(|a, b| strength(a).total_cmp(&strength(b)));
    let fitted = strongest.and_then(|tone| {
        let k = f64::from(*tone.harmonics.first()?);
        let fit = sine::fit(&tone.channel.t_s, &tone.channel.values, &[], &[k * hz])?;
        Some(fit.sines.first()?.hz / k)
    });
    fitted
        .filter(|f| (f - hz).abs() < 1.0 / piece_s)
        .unwrap_or(hz)
}

impl Followed {
    fn new(
        sources: &[Channel],
        ready: &[Channel],
        spectrum: &Spectrum,
        hz: f64,
        nyquist_hz: f64,
        wary: bool,
    ) -> Option<Followed> {
        let mut tones = Vec::new();
        for (c, channel) in ready.iter().enumerate() {
            let harmonics = harmonics::shown(channel, spectrum, c, hz, 2.0 * nyquist_hz);
            if let Some(&k) = harmonics.first() {
                let floor = spectrum.floor[c][spectrum.grid.place(f64::from(k) * hz)];
                tones.push(Tone {
                    trust: vec![1.0; channel.values.len()],
                    source: sources[c].clone(),
                    channel: channel.clone(),
                    harmonics,
                    weight: 1.0 / floor,
                });
            }
        }
        if tones.is_empty() {
            return None;
        }
        let [from_s, to_s] = wander::span(&tones);
        let hz = refined(&tones, hz, spectrum.piece_s);
        let mut starts = vec![
            Phase::steady(hz, from_s, to_s),
            ridge::first_phase(&tones, hz, from_s, to_s),
        ];
        let mut followed = Followed {
            tones,
            paths: Paths::default(),
            slip: 0.0,
            noise: vec![],
            first_hz: hz,
            nyquist_hz,
            wary,
        };
        for _ in 0..ROUNDS {
            let paths = wander::paths(&followed.tones, &starts, hz, &wander::FEW_STRENGTHS);
            let phase = paths.best()?.phase.clone();
            let (phase, _) = gaps::settled(&followed.tones, phase, hz);
            followed.renew(&phase, paths.best()?.freedom, WINDOW_CYCLES / hz);
            starts = vec![phase];
        }
        followed.paths = wander::paths(&followed.tones, &starts, hz, &wander::STRENGTHS);
        followed.slip = gaps::settled(&followed.tones, followed.paths.best()?.phase.clone(), hz).1;
        if gaps::blind(&followed.tones, hz, 2.0 * nyquist_hz) {
            followed.slip = 1.0;
        }
        Some(followed)
    }

    /// Slow way and noise from what is left once the wave is taken out.
    fn renew(&mut self, phase: &Phase, freedom: f64, window_s: f64) {
        // A path that follows changes up to B Hz has 2·B·T degrees of freedom; look twice as wide.
        let [from_s, to_s] = wander::span(&self.tones);
        let follows_hz = freedom / (to_s - from_s);
        let says: Vec<f64> = self.tones.iter().map(|t| t.phase_weight(phase)).collect();
        let all: f64 = says.iter().sum();
        self.noise.clear();
        for (tone, says) in self.tones.iter_mut().zip(says) {
            tone.retrend(phase, window_s);
            if self.wary {
                tone.trust = trust::of(&tone.channel.t_s, &tone.rest(phase), 1.0 / self.first_hz);
            }
            let wave = tone.wave(phase);
            let strongest = tone.harmonics.iter().copied().max_by(|&a, &b| {
                (f64::from(a) * wave.amplitude(a)).total_cmp(&(f64::from(b) * wave.amplitude(b)))
            });
            let hz = f64::from(strongest.unwrap_or(1)) * self.first_hz;
            let near = harmonics::folded(hz, 2.0 * self.nyquist_hz);
            let noise = Noise::around(
                tone,
                phase,
                Band {
                    hz: near,
                    nyquist_hz: self.nyquist_hz,
                    follows_hz,
                    used: 2.0 + freedom * says / all,
                },
            );
            tone.weight = 1.0 / noise.variance;
            self.noise.push(noise);
        }
    }

    /// Chance that noise alone gives any channel such a wave, with the phase as free as it was: an F
    /// test against the noise around, over all places looked at and all channels.
    fn false_alarm(&self, phase: &Phase, spectrum: &Spectrum) -> f64 {
        let path_freedom = self.paths.best().map_or(0.0, |p| p.freedom);
        let chance = |(tone, noise): (&Tone, &Noise)| {
            let wave = tone.wave(phase);
            let strongest = tone
                .harmonics
                .iter()
                .map(|&k| wave.amplitude(k))
                .fold(0.0, f64::max);
            let trusted: f64 = tone.trust.iter().map(|t| t * t).sum();
            let explained = 0.5 * strongest.powi(2) * trusted / noise.variance;
            let freedom = 2.0 + path_freedom;
            FisherSnedecor::new(freedom, noise.freedom.max(2.0))
                .map_or(1.0, |f| f.sf(explained / freedom))
        };
        let least = self
            .tones
            .iter()
            .zip(&self.noise)
            .map(chance)
            .fold(1.0, f64::min);
        (least * spectrum.looks() * spectrum.ratio.len() as f64).min(1.0)
    }

    fn fit(self, spectrum: &Spectrum) -> RateFit {
        let span_s = wander::span(&self.tones);
        let count = |p: &Path| p.phase.mean_rate(span_s[0], span_s[1]);
        let shares = self.paths.shares(wander::STEADY_FOR_VALUE);
        let hz: f64 = shares.iter().map(|(w, p)| w * count(p)).sum();
        let duration = span_s[1] - span_s[0];
        let doubt = |p: &Path| p.count_variance / duration.powi(2) + (count(p) - hz).powi(2);
        let wide = self.paths.shares(wander::STEADY_FOR_INTERVAL);
        let variance: f64 = wide.iter().map(|(w, p)| w * doubt(p)).sum();
        let freedom = self
            .noise
            .iter()
            .map(|n| n.freedom)
            .fold(f64::INFINITY, f64::min);
        let mut half = student(freedom) * variance.sqrt();
        if self.slip > SLIP {
            half += 1.0 / duration;
        }
        let phase = self
            .paths
            .best()
            .map(|p| p.phase.clone())
            .unwrap_or_default();
        let amplitudes = self.tones.iter().zip(&self.noise).map(|(tone, noise)| {
            let wave = tone.wave(&phase);
            Amplitude {
                name: tone.channel.name,
                at_rate: wave.amplitude(1),
                at_double: wave.amplitude(2),
                sd: (2.0 * noise.variance / tone.channel.values.len() as f64).sqrt(),
            }
        });
        let persistence = persistence::of(&self.tones, &phase, hz, span_s);
        let false_alarm = self.false_alarm(&phase, spectrum);
        RateFit {
            hz: Measured::within(hz, half),
            amplitudes: amplitudes.collect(),
            phase,
            span_s,
            wander: shares.iter().map(|(w, p)| w * p.strength).sum(),
            persistence,
            false_alarm,
            nyquist_hz: self.nyquist_hz,
        }
    }
}

/// Two-sided 95 % point of Student's t.
fn student(freedom: f64) -> f64 {
    StudentsT::new(0.0, 1.0, freedom.max(2.0)).map_or(1.96, |t| t.inverse_cdf(0.975))
}
