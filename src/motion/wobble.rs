//! The wobble of a lure: rate, width, tail sweep.

use super::rate::{self, Amplitude, Channel, Parity, RateFit, RateOptions, alias};
use super::smooth::smooth;
use super::width;
use super::{Roll, SecondRate, Series, Wobble};
use crate::camera::{Setup, View};
use crate::robust::upper_median;
use crate::{Measured, Status};

/// Slowest wobble looked for, Hz. Ripples and hand shake rule below it.
pub const SLOWEST_HZ: f64 = 1.5;
/// Fastest wobble that a lure is taken to have when the frame rate leaves a choice, Hz. No published
/// figures were found; small lures on a hard pull reach 10–12 Hz (common practice, no published
/// source). A rate whose fold lies below this is reported as aliased: at 15 frames a second every
/// rate from 2 Hz on, at 20 from 7 Hz, at 24 from 11 Hz, at 30 none below the last 15 % of the range.
pub const FASTEST_PLAUSIBLE_HZ: f64 = 13.0;
/// Above this fraction of half the frame rate the fold is as near as the rate: aliased whatever the rate.
pub const NEAR_NYQUIST: f64 = 0.85;
/// Alias candidates are listed up to this rate, Hz (or the first fold, if that is higher).
const CANDIDATES_UP_TO_HZ: f64 = 20.0;
/// What ripples and hand shake do to the axis of a still lure at [`SLOWEST_HZ`], degrees zero-to-peak,
/// with a margin of two over what the development clips show. It falls with the 1.5th power of rate.
const RIPPLE_DEG: f64 = 3.0;
/// Below this no swing counts as a wobble at any plausible rate, degrees zero-to-peak.
const LEAST_DEG: f64 = 0.8;
/// From this rate on a sway alone, without a swing of the axis, can be a wobble: below, ripples carry
/// a still lure to and fro.
const SWAY_FROM_HZ: f64 = 2.5;
/// Least shortening at twice the rate that counts from the side: a yaw of about 11°.
pub const LEAST_SHORTENING: f64 = 0.01;
/// Part of the clip that a wobble must fill.
const LEAST_PERSISTENCE: f64 = 0.3;
/// A line that noise alone shows with up to this chance may be a wobble: it forbids to say that there is none.
const UNSURE: f64 = 0.05;
/// A sine hides in as much noise as this times its amplitude over the root of the number of frames: it takes a
/// log-likelihood of 20 = A²·n/(4·σ²) to stand out of all rates looked at and of a phase that wanders.
const NEEDED: f64 = 9.0;
/// Where a swing this large could hide, degrees zero-to-peak, nothing is said to be none.
const HIDES_DEG: f64 = 5.0;
/// The same from the side, where of a wide wobble no more than a nod is seen.
const HIDES_FROM_THE_SIDE_DEG: f64 = 1.0;
/// How far the phase that shows may come apart from the yaw's over a clip, cycles (95 %): 11 degrees. On rendered clips
/// with truth it was up to 5 from one second to another.
const PHASE_DOUBT: f64 = 0.03;
/// Half the window of what counts as noise about the axis, s.
const QUICK_S: f64 = 0.5;
/// Least sway that counts beyond the plausible rates (slow-motion clips of other things), px.
const LEAST_PX: f64 = 0.1;

/// What the picture tells besides the series.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Picture {
    /// Scale at the lure, mm per px, if known.
    pub mm_per_px: Option<f64>,
    /// Which samples of the series count for the width (false in darts); empty: all.
    pub calm: Vec<bool>,
    /// Whether the camera keeps its place, so that a tilted one looks down ever more on a lure that comes nearer.
    pub camera_stands: bool,
    /// What a camera that looks along the water sees of the body besides its axis, where that is to be told from it.
    pub body: Option<Body>,
}

/// A body seen along the water: how much more the camera looks down on it than the middle of its picture does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Body {
    /// By where it lies in the picture, degrees, and the doubt in that (95 %).
    pub below_middle_deg: [f64; 2],
    /// By its dive, which turns it toward the camera or away, degrees, and the doubt in that (95 %).
    pub turned_deg: [f64; 2],
    /// Whether its axis is that of its outline, which shows its thickness as well.
    pub of_outline: bool,
}

/// The wobble with its phase, for the measures that need the wobble taken out.
#[derive(Debug, Clone, PartialEq)]
pub struct WobbleFit {
    /// Rate, width and tail sweep.
    pub wobble: Wobble,
    /// Roll.
    pub roll: Roll,
    /// Phase at each sample of the series, cycles; empty where there is no wobble.
    pub cycles: Vec<f64>,
}

/// Measures the wobble of `series` as filmed in `setup`.
pub fn wobble(series: &Series, setup: &Setup, picture: &Picture) -> WobbleFit {
    let channels = channels(series, setup.view);
    let options = RateOptions {
        min_hz: SLOWEST_HZ,
        ..RateOptions::default()
    };
    let length_px = upper_median(series.length_px.iter().copied()).unwrap_or(f64::NAN);
    match rate::find(&channels, &options, |fit| {
        is_wobble(fit, setup.view, length_px)
    }) {
        Some(fit) if setup.view == View::Side && !tells_from_its_double(&fit) => {
            nothing(series, Some(RATE_OR_DOUBLE))
        }
        Some(fit) => {
            let (fit, candidates) = settled(&channels, fit);
            measured(series, setup, picture, fit, candidates)
        }
        None => {
            let unsure = RateOptions {
                false_alarm: UNSURE,
                ..options
            };
            let shows = |fit: &RateFit| is_wobble(fit, setup.view, length_px);
            nothing(
                series,
                hidden(
                    series,
                    setup.view,
                    rate::find(&channels, &unsure, shows).is_some(),
                ),
            )
        }
    }
}

/// Why a wobble may be there all the same; `shows` says whether a line looks like one without being sure.
fn hidden(series: &Series, view: View, shows: bool) -> Option<&'static str> {
    let slow = smooth(&series.t_s, &series.axis_deg, QUICK_S);
    let squares = series
        .axis_deg
        .iter()
        .zip(&slow)
        .map(|(a, s)| (a - s).powi(2));
    let count = series.len().max(1) as f64;
    let noise_deg = (squares.sum::<f64>() / count).sqrt();
    let hides_deg = match view {
        View::Side => HIDES_FROM_THE_SIDE_DEG,
        View::Above | View::Behind | View::Ahead => HIDES_DEG,
    };
    if shows {
        Some(
            "something swings, but too unclearly to tell a rate from ripples and noise; film longer or closer",
        )
    } else if noise_deg * NEEDED / count.sqrt() > hides_deg {
        Some(
            "the lure was followed too unsteadily to say that it does not wobble; film closer, or give --box",
        )
    } else {
        None
    }
}

/// The quantities that carry the wobble in each view.
fn channels(series: &Series, view: View) -> Vec<Channel> {
    let (swing, length) = match view {
        View::Side => (Parity::Any, Parity::Even),
        View::Above | View::Behind | View::Ahead => (Parity::Odd, Parity::Any),
    };
    let t = &series.t_s;
    vec![
        Channel::new("axis", t, &series.axis_deg, swing),
        Channel::new("sway", t, &series.sideways_px, swing),
        Channel::new("length", t, &series.length_px, length),
        Channel::new("width", t, &series.width_px, Parity::Any),
        Channel::new("brightness", t, &series.brightness, Parity::Any),
    ]
}

/// Whether a line in the series is more than ripples, shake and coding noise.
fn is_wobble(fit: &RateFit, view: View, length_px: f64) -> bool {
    let hz = fit.hz.value.unwrap_or(0.0);
    let of = |name: &str| fit.amplitudes.iter().find(|a| a.name == name);
    let at_rate = |a: Option<&Amplitude>| a.map_or(0.0, |a| a.at_rate);
    let (axis_deg, sway_px) = (at_rate(of("axis")), at_rate(of("sway")));
    if fit.persistence < LEAST_PERSISTENCE {
        return false;
    }
    if hz > FASTEST_PLAUSIBLE_HZ {
        return axis_deg > LEAST_DEG || sway_px > LEAST_PX;
    }
    let least_deg = least_swing_deg(hz);
    let sways = hz > SWAY_FROM_HZ && (2.0 * sway_px / length_px).to_degrees() > 2.0 * least_deg;
    let shortening = of("length").map_or(0.0, |a| a.at_double) / length_px;
    axis_deg > least_deg || sways || (view == View::Side && shortening > LEAST_SHORTENING)
}

/// Whether, seen from the side, what beats besides the length does so at the rate itself rather than at twice the rate.
/// The length shortens twice in each wobble, but where all else beats as fast, it may as well be the wobble that does.
fn tells_from_its_double(fit: &RateFit) -> bool {
    let others = fit.amplitudes.iter().filter(|a| !SIZES.contains(&a.name));
    let mut others = others
        .filter(|a| a.at_rate.max(a.at_double) > 0.0)
        .peekable();
    others.peek().is_none() || others.any(|a| a.at_rate > a.at_double)
}

/// Whether something beats, be it at a rate that cannot be told from its double.
pub fn beats(wobble: &Wobble) -> bool {
    match wobble.hz.status {
        Status::Measured | Status::Aliased => true,
        Status::None => false,
        Status::Unmeasurable => wobble.hz.why.as_deref() == Some(RATE_OR_DOUBLE),
    }
}

/// The channels of the outline's size.
const SIZES: [&str; 2] = ["length", "width"];
const RATE_OR_DOUBLE: &str = "it beats, but from the side it cannot be told whether the wobble is as fast or half as fast; film from above";

/// Least swing of the axis in the picture that counts as a wobble of `hz` Hz, degrees zero-to-peak: more
/// than ripples and a hand do to a still lure.
pub fn least_swing_deg(hz: f64) -> f64 {
    (RIPPLE_DEG * (SLOWEST_HZ / hz).powf(1.5)).max(LEAST_DEG)
}

fn measured(
    series: &Series,
    setup: &Setup,
    picture: &Picture,
    fit: RateFit,
    candidates: Vec<f64>,
) -> WobbleFit {
    let width = width::measure(series, setup, picture, &fit.phase);
    let wobble = Wobble {
        hz: with_candidates(of_the_yaw(&fit), &candidates),
        width_deg: width.deg,
        apparent: width.apparent,
        tail_sweep_mm: width.tail_sweep_mm,
        nyquist_hz: fit.nyquist_hz,
        alias_candidates_hz: candidates,
        by_second: fit
            .by_second()
            .into_iter()
            .map(|(t_s, hz)| SecondRate { t_s, hz })
            .collect(),
    };
    WobbleFit {
        wobble,
        roll: Roll {
            width_deg: Measured::unmeasurable(ROLL_HIDDEN),
        },
        cycles: series.t_s.iter().map(|&t| fit.phase.at(t)).collect(),
    }
}

/// The rate of the yaw behind what shows of it: the two may come apart a little from the first cycle to the last, as
/// the view of the lure changes and roll leaks into the axis.
fn of_the_yaw(fit: &RateFit) -> Measured {
    let (Some(hz), Some([low, high])) = (fit.hz.value, fit.hz.ci95) else {
        return fit.hz.clone();
    };
    let apart = PHASE_DOUBT / (fit.span_s[1] - fit.span_s[0]).max(1e-6);
    Measured::within(hz, (0.5 * (high - low)).hypot(apart))
}

const ROLL_HIDDEN: &str =
    "roll shows only as flashes of the flank here, which have no scale in degrees";

/// The rate with the candidates that its stamps cannot tell apart (none where they can). Where uneven
/// stamps say that the line is the fold of another rate, that one is followed instead.
fn settled(channels: &[Channel], fit: RateFit) -> (RateFit, Vec<f64>) {
    let rates = undecided(channels, &fit);
    match rates[..] {
        [only] if fit.hz.value == Some(only) => (fit, vec![]),
        [only] => {
            let around = RateOptions {
                min_hz: 0.7 * only,
                max_hz: Some(1.3 * only),
                ..Default::default()
            };
            let is_it = |f: &RateFit| f.hz.value.is_some_and(|hz| (hz - only).abs() < 0.05 * only);
            match rate::find(channels, &around, is_it) {
                Some(true_fit) => (true_fit, vec![]),
                None => (fit, rates),
            }
        }
        _ => (fit, rates),
    }
}

/// The rates that the frame rate and its stamps cannot tell apart; only one where they can.
fn undecided(channels: &[Channel], fit: &RateFit) -> Vec<f64> {
    let Some(hz) = fit.hz.value else {
        return vec![];
    };
    match images_in_doubt(hz, fit.nyquist_hz) {
        Some(images) => alias::undecided(channels, &images),
        None => vec![hz],
    }
}

/// The rates that would look like `hz` where half the sampling rate is `nyquist_hz`; `None` where no other is plausible.
pub(crate) fn images_in_doubt(hz: f64, nyquist_hz: f64) -> Option<Vec<f64>> {
    let first_fold = 2.0 * nyquist_hz - hz;
    let plausible = first_fold <= FASTEST_PLAUSIBLE_HZ || hz >= NEAR_NYQUIST * nyquist_hz;
    plausible.then(|| alias::images(hz, 2.0 * nyquist_hz, CANDIDATES_UP_TO_HZ.max(first_fold)))
}

/// The rate, marked as aliased where there are other candidates.
fn with_candidates(hz: Measured, candidates: &[f64]) -> Measured {
    if candidates.is_empty() {
        return hz;
    }
    let why = "the frame rate cannot tell this rate from its folds; film at a higher frame rate";
    Measured {
        status: Status::Aliased,
        ..hz
    }
    .because(why)
}

fn nothing(series: &Series, hidden: Option<&'static str>) -> WobbleFit {
    let none = || match hidden {
        Some(why) => Measured::unmeasurable(why),
        None => Measured::none("no wobble stands out of ripples, shake and noise"),
    };
    WobbleFit {
        wobble: Wobble {
            hz: none(),
            width_deg: none(),
            apparent: false,
            tail_sweep_mm: none(),
            nyquist_hz: rate::nyquist_hz(&series.t_s),
            alias_candidates_hz: vec![],
            by_second: vec![],
        },
        roll: Roll {
            width_deg: Measured::unmeasurable(ROLL_HIDDEN),
        },
        cycles: vec![],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Six seconds at 30 frames a second with this axis; places and lengths keep still.
    fn series(axis_deg: impl Fn(usize) -> f64) -> Series {
        let n = 180;
        Series {
            t_s: (0..n).map(|i| i as f64 / 30.0).collect(),
            axis_deg: (0..n).map(axis_deg).collect(),
            ..Series::default()
        }
    }

    /// Scatter without a rhythm, −1 to 1.
    fn scatter(i: usize) -> f64 {
        let mixed = (i as u64 + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ ((i as u64) << 17);
        (mixed.wrapping_mul(0xD129_0B26_5C5A_1D2B) >> 40) as f64 / f64::from(1 << 23) - 1.0
    }

    #[test]
    fn none_is_said_of_a_quiet_axis_and_not_of_one_too_rough_to_tell() {
        let why_not =
            |view, rough_deg: f64| hidden(&series(|i| rough_deg * scatter(i)), view, false);
        assert_eq!(why_not(View::Above, 2.0), None);
        assert!(why_not(View::Above, 40.0).is_some());
        // from the side less of a wobble shows
        assert_eq!(why_not(View::Above, 7.0), None);
        assert_eq!(why_not(View::Side, 2.0), None);
        assert!(why_not(View::Side, 7.0).is_some());
    }

    #[test]
    fn from_the_side_a_rate_is_told_by_what_beats_at_it_and_not_by_the_length() {
        let beats = |axis: f64| {
            let turn = std::f64::consts::TAU;
            let at = move |i: usize| turn * 3.0 * i as f64 / 30.0;
            let sized = Series {
                length_px: (0..180).map(|i| 60.0 + 2.0 * (2.0 * at(i)).cos()).collect(),
                ..series(|i| axis * at(i).sin() + 3.0 * (2.0 * at(i)).sin() + 0.2 * scatter(i))
            };
            let setup = Setup::new(View::Side);
            wobble(&sized, &setup, &Picture::default()).wobble.hz
        };
        let told = beats(6.0);
        assert_eq!(told.status, Status::Measured);
        assert!((told.value.unwrap() - 3.0).abs() < 0.02);
        // all that shows beats at 6 Hz: 6 may be told, 3 not
        let half = beats(0.0);
        let six = half.value.is_some_and(|hz| (hz - 6.0).abs() < 0.04);
        assert!(
            six || half.why.as_deref() == Some(RATE_OR_DOUBLE),
            "{half:?}"
        );
    }

    #[test]
    fn a_line_in_doubt_forbids_to_say_none() {
        assert!(hidden(&series(|_| 0.0), View::Above, true).is_some());
    }
}
