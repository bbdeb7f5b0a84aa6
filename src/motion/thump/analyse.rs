//! [`analyse`]: from a recording to all figures of the thump test.

use super::follow::{self, Followed};
use super::levels::{Levels, SLOW_HZ, without_slow};
use super::product::{Lead, Thump, ThumpTrace};
use super::spectra::spectra;
use super::stage::{Stage, longest};
use super::strength::Blocks;
use super::{Gust, lead, levels, octaves, weighting};
use crate::media::{Carrier, Recording, Strip, Unit};
use crate::motion::rate::{self, Channel, RateFit, alias};
use crate::motion::wobble::images_in_doubt;
use std::borrow::Cow;

use crate::{Error, Measured, Result, Status, Warning};

/// What the user says about a recording.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ThumpOptions {
    /// Look from here on, s.
    pub from_s: Option<f64>,
    /// Look up to here, s.
    pub to_s: Option<f64>,
    /// Retrieve speed, m/s.
    pub speed_m_s: Option<f64>,
}

/// Slower than this says nothing about pull or rest: the rod is lifted and lowered, Hz.
const SWAY_HZ: f64 = 1.0;

/// Measures the thump of `recording`, and gives the curves behind it.
///
/// # Errors
/// [`Error::Setting`] where `--from` and `--to` leave nothing of the recording.
pub fn analyse(recording: &Recording, options: &ThumpOptions) -> Result<(Thump, ThumpTrace)> {
    let part = within(recording, options)?;
    let recording = part.as_ref();
    let t = &recording.t_s;
    let rows_hz = 2.0 * rate::nyquist_hz(t);
    let is_log = recording
        .strips
        .first()
        .is_some_and(|s| s.carrier == Carrier::Axis);
    let told = options.from_s.is_some() || options.to_s.is_some();
    let (mut stage, lead, values, first) = match is_log {
        true => of_axes(recording, rows_hz, told),
        false => of_sound(recording, rows_hz, told),
    };
    if let (Some(hz), false) = (first.as_ref().and_then(|f| f.hz.value), told) {
        stage = stage.told_by(t, &levels::around(&values, rows_hz, hz));
    }
    let followed = first
        .as_ref()
        .map_or(vec![], |fit| follow_all(recording, &values, &stage, fit));
    let (spectrum, over_time) = spectra(recording, &values, rows_hz, &stage);
    let trace = ThumpTrace {
        t_s: t.clone(),
        values,
        spectrum,
        over_time,
    };
    Ok((
        figures(recording, options, stage, lead, &followed, &trace),
        trace,
    ))
}

/// What is looked at: its pulls, where it comes from, its values, and the rate in its longest piece.
type Looked = (Stage, Lead, Vec<f32>, Option<RateFit>);

/// The axes of a log together, along the direction in which it thumps most.
fn of_axes(recording: &Recording, rows_hz: f64, told: bool) -> Looked {
    let t = &recording.t_s;
    let stage = Stage::of(t, Levels::of(t, strips(recording, rows_hz, SWAY_HZ)), told);
    let mut lead = nothing_chosen(recording);
    let mut flat: Vec<Vec<f32>> = strips(recording, rows_hz, SLOW_HZ).collect();
    let mut first = None;
    if let Some(piece) = longest(&stage.pieces) {
        let channels: Vec<Channel> = flat
            .iter()
            .map(|v| follow::channel(t, v, piece, &stage.gusts))
            .collect();
        first = follow::first_rate(&channels, recording.passband_hz);
        if let (Some(fit), true) = (&first, flat.len() > 1) {
            lead.direction = lead::direction(t, &flat, piece, fit);
            lead.why = "the axes together, along the direction in which it thumps most".into();
            flat = vec![lead::along(&flat, &lead.direction)];
        }
    }
    (
        stage,
        lead,
        flat.into_iter().next().unwrap_or_default(),
        first,
    )
}

/// The channel and band of a sound that shows a rate most clearly.
fn of_sound(recording: &Recording, rows_hz: f64, told: bool) -> Looked {
    let t = &recording.t_s;
    let mut stages: Vec<Stage> = strips(recording, rows_hz, SWAY_HZ)
        .map(|quick| Stage::of(t, Levels::of(t, [quick]), told))
        .collect();
    let mut flat: Vec<Vec<f32>> = strips(recording, rows_hz, SLOW_HZ).collect();
    let gusts: Vec<Vec<Gust>> = stages.iter().map(|s| s.gusts.clone()).collect();
    // Parts are told by the strip that is looked at; the piece must hold in all of them.
    let piece = stages
        .iter()
        .filter_map(|s| longest(&s.pieces))
        .max_by_key(|p| p[1] - p[0]);
    match piece.and_then(|piece| lead::clearest(recording, &flat, piece, &gusts)) {
        Some((i, fit, lead)) => (stages.swap_remove(i), lead, flat.swap_remove(i), Some(fit)),
        None => {
            let (stage, values) = (stages.into_iter().next(), flat.into_iter().next());
            let lead = nothing_chosen(recording);
            (
                stage.unwrap_or_default(),
                lead,
                values.unwrap_or_default(),
                None,
            )
        }
    }
}

fn nothing_chosen(recording: &Recording) -> Lead {
    Lead {
        carrier: recording
            .strips
            .first()
            .map_or(Carrier::Axis, |s| s.carrier),
        names: recording.strips.iter().map(|s| s.name.clone()).collect(),
        direction: vec![1.0],
        why: "the only axis".into(),
    }
}

/// The recording from `--from` to `--to`.
fn within<'a>(recording: &'a Recording, options: &ThumpOptions) -> Result<Cow<'a, Recording>> {
    let (from, to) = (
        options.from_s.unwrap_or(f64::NEG_INFINITY),
        options.to_s.unwrap_or(f64::INFINITY),
    );
    if options.from_s.is_none() && options.to_s.is_none() && recording.t_s.len() >= 32 {
        return Ok(Cow::Borrowed(recording));
    }
    let mut part = recording.clone();
    let (a, b) = (
        part.t_s.partition_point(|t| *t < from),
        part.t_s.partition_point(|t| *t <= to),
    );
    if b < a + 32 {
        return Err(Error::setting(
            "--from and --to",
            "leave nothing to measure",
            format!(
                "the recording runs from {:.1} to {:.1} s",
                recording.t_s.first().unwrap_or(&0.0),
                recording.t_s.last().unwrap_or(&0.0)
            ),
        ));
    }
    part.t_s = part.t_s[a..b].to_vec();
    for strip in &mut part.strips {
        strip.values = strip.values[a..b].to_vec();
    }
    Ok(Cow::Owned(part))
}

/// The quantities of a recording without what is slower than `low_hz`, one at a time.
fn strips(recording: &Recording, rows_hz: f64, low_hz: f64) -> impl Iterator<Item = Vec<f32>> + '_ {
    let quick = move |s: &Strip| without_slow(&s.values, rows_hz, low_hz);
    recording.strips.iter().map(quick)
}

/// The rate followed through every pull.
fn follow_all(
    recording: &Recording,
    values: &[f32],
    stage: &Stage,
    first: &RateFit,
) -> Vec<Followed> {
    let Some(hz) = first.hz.value else {
        return vec![];
    };
    let each = stage.pieces.iter().filter_map(|&samples| {
        let channel = follow::channel(&recording.t_s, values, samples, &stage.gusts);
        let fit = follow::rate_near(&channel, hz, recording.passband_hz)?;
        Some(Followed { samples, fit })
    });
    each.collect()
}

fn figures(
    recording: &Recording,
    options: &ThumpOptions,
    stage: Stage,
    lead: Lead,
    followed: &[Followed],
    trace: &ThumpTrace,
) -> Thump {
    let nyquist_hz = rate::nyquist_hz(&recording.t_s);
    let values = &trace.values;
    let mut warnings = recording.warnings.clone();
    let nothing = |why: &str| {
        (
            Measured::none(why),
            Measured::none(why),
            Measured::none(why),
        )
    };
    let mut candidates = vec![];
    let mut harmonics = vec![];
    let (hz, rms, felt) = match follow::mean_rate(followed) {
        None => nothing("no wobble stands out of the noise"),
        Some((hz, half)) => {
            candidates = alias_candidates(recording, values, followed, hz, nyquist_hz);
            let half = half.hypot(hz * recording.clock_doubt);
            let blocks = Blocks::of(
                &recording.t_s,
                values,
                followed,
                &stage.gusts,
                hz,
                recording.passband_hz,
            );
            harmonics = blocks.harmonics();
            strengths(recording, Measured::within(hz, half), &blocks, &candidates)
        }
    };
    if !candidates.is_empty() {
        warnings.push(Warning::Aliased {
            candidates_hz: candidates.clone(),
        });
    }
    warnings.extend(octave(&harmonics));
    let by_second = follow::by_second(followed);
    let bands = match trace.spectrum.get(1) {
        Some((step_hz, _)) => {
            let density: Vec<f64> = trace.spectrum.iter().map(|(_, d)| d * d).collect();
            octaves::levels(&density, *step_hz, recording.passband_hz)
        }
        None => vec![],
    };
    let per = |m: &Measured| match options.speed_m_s {
        Some(speed) if m.is_measured() => m.scaled(1.0 / speed),
        Some(_) => Measured {
            value: None,
            ci95: None,
            ..m.clone()
        },
        None => Measured::unmeasurable(
            "no retrieve speed; give --speed, or --cranks with --line-per-crank",
        ),
    };
    Thump {
        found: !followed.is_empty(),
        unsteadiness: follow::unsteadiness(&by_second),
        rms_per_speed: per(&rms),
        wobbles_per_m: per(&hz),
        hz,
        nyquist_hz,
        alias_candidates_hz: candidates,
        by_second,
        unit: recording.unit,
        rms,
        felt,
        harmonics,
        bands,
        lead,
        parts: stage.parts,
        gusts: stage.gusts,
        followed_s: followed
            .iter()
            .map(Followed::span_s)
            .fold(0.0, |a, b| a + b),
        speed_m_s: options.speed_m_s,
        warnings,
    }
}

/// Rate, strength and felt strength, each with what stands in its way.
fn strengths(
    recording: &Recording,
    hz: Measured,
    blocks: &Blocks,
    candidates: &[f64],
) -> (Measured, Measured, Measured) {
    let unknown = || Measured::unmeasurable(recording.unit_from);
    let hz = match candidates.is_empty() {
        true => hz,
        false => Measured {
            status: Status::Aliased,
            ..hz
        }
        .because("too few rows a second to tell this rate from its folds; log faster"),
    };
    let rms = match recording.unit {
        Unit::Unknown => unknown(),
        _ => blocks.rms(|_| 1.0),
    };
    let felt = match recording.unit {
        Unit::Unknown => unknown(),
        Unit::FullScale => Measured::unmeasurable("sound has no acceleration to weight"),
        Unit::MetresPerSecond2 if !candidates.is_empty() => {
            Measured::unmeasurable("the rate is not known")
        }
        Unit::MetresPerSecond2 => blocks.rms(weighting::wh),
    };
    (hz, rms, felt)
}

/// The rates that the rows cannot tell apart; none where they can.
fn alias_candidates(
    recording: &Recording,
    values: &[f32],
    followed: &[Followed],
    hz: f64,
    nyquist_hz: f64,
) -> Vec<f64> {
    let longest = followed.iter().max_by_key(|f| f.samples[1] - f.samples[0]);
    let (Some(images), Some(piece)) = (images_in_doubt(hz, nyquist_hz), longest) else {
        return vec![];
    };
    let left = alias::undecided(
        &[follow::channel(&recording.t_s, values, piece.samples, &[])],
        &images,
    );
    if left.len() > 1 || left.first() != Some(&hz) {
        images
    } else {
        vec![]
    }
}

/// Whether the thump may beat twice a cycle: the double is stronger than the rate itself.
fn octave(harmonics: &[super::Harmonic]) -> Option<Warning> {
    let share = |number: u32| {
        harmonics
            .iter()
            .find(|h| h.number == number)
            .map_or(0.0, |h| h.share)
    };
    (share(2) > share(1)).then(|| Warning::Other {
        code: "octave",
        text: "it is strongest at twice the rate: the pull on the line beats once to each side; check the rate against a clip (--with)".into(),
    })
}
