//! The noise that matters for a wave: what is left of it around its own frequency, correlated or not.

use super::periodogram::{Grid, fast};
use super::phase::Phase;
use super::tone::Tone;

/// Band around the line, as a fraction of its frequency to each side.
const REACH: f64 = 0.35;
/// At least so many resolvable widths to each side.
const WIDTHS: f64 = 5.0;

/// The band never reaches below this fraction of the line's frequency, where the slow way was taken out.
const LOWEST: f64 = 0.35;

/// Where to look for the noise of a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Band {
    /// Where the line shows, Hz (folded, where it folds).
    pub hz: f64,
    /// Half the sampling rate, Hz.
    pub nyquist_hz: f64,
    /// How fast a change of rate the phase path follows, Hz: noise so far off still moves it.
    pub follows_hz: f64,
    /// Degrees of freedom fitted away.
    pub used: f64,
}

/// Noise around a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Noise {
    /// Variance of a white noise as strong as the residual is in the band.
    pub variance: f64,
    /// How many degrees of freedom that figure rests on.
    pub freedom: f64,
}

impl Noise {
    /// Of `tone` in `band`, once its wave at `phase` is taken out, with each sample as far as it is trusted.
    pub fn around(tone: &Tone, phase: &Phase, band: Band) -> Noise {
        let Band {
            hz,
            nyquist_hz,
            follows_hz,
            used,
        } = band;
        let rest = tone.rest(phase);
        let rest: Vec<f64> = rest.iter().zip(&tone.trust).map(|(r, t)| r * t).collect();
        let t = &tone.channel.t_s;
        let (Some(first), Some(last)) = (t.first(), t.last()) else {
            return Noise {
                variance: f64::NAN,
                freedom: 0.0,
            };
        };
        let step = 1.0 / (last - first);
        let reach = (REACH * hz).max(WIDTHS * step).max(follows_hz);
        let high = (hz + reach).min(nyquist_hz);
        let grid = Grid::new((hz - reach).max(LOWEST * hz), high, step);
        let energy = rest.iter().map(|v| v * v).sum::<f64>() / 2.0;
        let power: f64 = fast(t, &rest, grid).iter().map(|z| z * energy).sum();
        let freedom = (2.0 * grid.count as f64 - used).max(1.0);
        Noise {
            variance: 2.0 * power / freedom,
            freedom,
        }
    }
}
