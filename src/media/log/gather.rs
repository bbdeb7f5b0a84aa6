//! Rows to thinned strips: stamps mended or refused, gaps kept open, unit and clipping told.

use std::path::{Path, PathBuf};

use super::AccelerationUnit;
use super::clock::{Clock, Told, median};
use super::header::Columns;
use crate::media::decimate::{Decimator, PASSBAND, factor_for};
use crate::media::recording::{
    Carrier, Recording, STANDARD_GRAVITY, Source, Strip, Unit, file_name,
};
use crate::media::sha256_of;
use crate::{Error, Result, Warning};

/// A pause of more than so many rows is a gap, over which nothing is smoothed.
const GAP_ROWS: f64 = 5.0;
/// Rows left out, as a share of all, from which on a file is refused.
const MOST_LEFT_OUT: f64 = 0.2;
/// Stamps that fall back, as a share of all, from which on a file is refused.
const MOST_FALLING: f64 = 0.02;
/// What coarse stamps leave in doubt, as a part of the rate: between two of them rows may have been
/// lost while the logger wrote. Logs of tuning forks lost 3 to 4 %; no published source.
const COARSE_DOUBT: f64 = 0.045;
/// So many rows on end whose time lies before the last one's are a clock that was set back.
const SET_BACK_ROWS: usize = 20;
/// A clock that was set back more often cannot be trusted.
const MOST_SET_BACK: usize = 3;
/// Full scales of accelerometers, g.
const FULL_SCALES_G: [f64; 8] = [2.0, 4.0, 6.0, 8.0, 16.0, 32.0, 100.0, 200.0];

/// Rows on their way to a [`Recording`].
pub struct Gatherer {
    path: PathBuf,
    names: Vec<String>,
    label: String,
    told: Told,
    unit: Option<AccelerationUnit>,
    factor: usize,
    time: Decimator,
    axes: Vec<Axis>,
    t_s: Vec<f64>,
    rows: usize,
    seen: usize,
    left_out: Faults,
    fallen: Faults,
    /// Rows on end whose time fell back, and how often the clock was set back.
    falling: usize,
    set_back: usize,
    stamps: Stamps,
    size_sum: f64,
}

struct Axis {
    thin: Decimator,
    values: Vec<f32>,
    top: Extreme,
    bottom: Extreme,
}

/// Rows at fault: how many, and the first.
#[derive(Default)]
struct Faults {
    count: usize,
    first_line: u64,
}

impl Faults {
    fn add(&mut self, line: u64) {
        if self.count == 0 {
            self.first_line = line;
        }
        self.count += 1;
    }
}

/// The stamps as they come.
#[derive(Default)]
struct Stamps {
    origin: Option<f64>,
    last: f64,
    run: usize,
    runs: Vec<(u32, f32)>,
    counted: f64,
    midnights: f64,
}

impl Gatherer {
    /// For the `columns` of the file at `path`.
    pub fn new(
        path: &Path,
        columns: &Columns,
        told: Told,
        unit: Option<AccelerationUnit>,
    ) -> Gatherer {
        let factor = factor_for(told.rows_hz);
        let axis = || Axis {
            thin: Decimator::new(factor),
            values: Vec::new(),
            top: Extreme::new(1.0),
            bottom: Extreme::new(-1.0),
        };
        Gatherer {
            path: path.to_path_buf(),
            names: columns.names.clone(),
            label: columns.axis_label.clone(),
            told,
            unit,
            factor,
            time: Decimator::new(factor),
            axes: columns.axes.iter().map(|_| axis()).collect(),
            t_s: Vec::new(),
            rows: 0,
            seen: 0,
            left_out: Faults::default(),
            fallen: Faults::default(),
            falling: 0,
            set_back: 0,
            stamps: Stamps::default(),
            size_sum: 0.0,
        }
    }

    /// Takes the row on `line`: its stamp (`None` inside where it is missing; `None` outside where the
    /// file has none) and its values.
    pub fn push(&mut self, line: u64, stamp: Option<Option<f64>>, values: &[f64]) -> Result<()> {
        self.seen += 1;
        let numbers = values.iter().all(|v| v.is_finite() && v.abs() < 1e9);
        let stamp = match stamp {
            None => Some(0.0),
            // Rows from last to first are taken with their time running backwards, and turned at the end.
            Some(stamp) => stamp
                .filter(|t| t.is_finite() && t.abs() < 1e21)
                .map(|t| if self.told.descends { -t } else { t }),
        };
        let (true, Some(stamp)) = (numbers, stamp) else {
            self.left_out.add(line);
            return Ok(());
        };
        match self.time_of(stamp) {
            Some(t) => {
                self.falling = 0;
                self.keep(t, values);
            }
            None => {
                self.fallen.add(line);
                self.falling += 1;
                if self.falling == SET_BACK_ROWS {
                    self.take_new_clock(stamp);
                }
            }
        }
        Ok(())
    }

    /// The row's time, s (rows in the coarse case, until their rate is known); `None` where it does not rise.
    fn time_of(&mut self, raw: f64) -> Option<f64> {
        match self.told.clock {
            Clock::Rate(hz) => Some(self.rows as f64 / hz),
            Clock::Stamps(scale) => {
                let origin = *self.stamps.origin.get_or_insert(raw);
                let mut t = (raw - origin) * scale + self.stamps.midnights;
                if self.rows > 0 && t < self.stamps.last - 80_000.0 && scale == 1.0 {
                    self.stamps.midnights += 86_400.0;
                    t += 86_400.0;
                }
                if self.rows > 0 && t <= self.stamps.last {
                    return None;
                }
                Some(t)
            }
            Clock::Coarse(scale) => self.stamps.coarse(raw * scale),
        }
    }

    /// Goes on from `raw` of a clock that was set back, as many rows later as fell back: the rows went
    /// on coming, so no time is lost.
    fn take_new_clock(&mut self, raw: f64) {
        self.falling = 0;
        self.set_back += 1;
        self.fallen.count -= SET_BACK_ROWS;
        match self.told.clock {
            Clock::Stamps(_) => {
                let step = 1.0 / self.told.rows_hz;
                let now = self.stamps.last + SET_BACK_ROWS as f64 * step;
                self.stamps.origin = Some(raw);
                self.stamps.midnights = now;
            }
            Clock::Coarse(scale) => {
                self.stamps.counted += SET_BACK_ROWS as f64;
                self.stamps.origin = Some(raw * scale);
                self.stamps.run = SET_BACK_ROWS;
            }
            Clock::Rate(_) => {}
        }
    }

    fn keep(&mut self, t: f64, values: &[f64]) {
        let step = match self.told.clock {
            Clock::Coarse(_) => 1.0,
            _ => 1.0 / self.told.rows_hz,
        };
        if self.rows > 0 && t - self.stamps.last > GAP_ROWS.max(0.5 * self.factor as f64) * step {
            self.time.clear();
            self.axes.iter_mut().for_each(|axis| axis.thin.clear());
        }
        self.stamps.last = t;
        self.rows += 1;
        self.size_sum += values.iter().map(|v| v * v).sum::<f64>().sqrt();
        self.t_s.extend(self.time.push(t));
        for (axis, &value) in self.axes.iter_mut().zip(values) {
            axis.values.extend(axis.thin.push(value).map(|v| v as f32));
            axis.top.push(value);
            axis.bottom.push(value);
        }
    }

    /// The recording.
    ///
    /// # Errors
    /// [`Error::Unreadable`] where too many rows are at fault, or nothing moves in it.
    pub fn finish(mut self) -> Result<Recording> {
        self.check()?;
        let mut warnings = self.mended();
        let (mut hz, mut doubt) = (self.rate_hz(), 0.0);
        if let Clock::Coarse(_) = self.told.clock {
            hz = self.stamps.rows_hz().unwrap_or(self.told.rows_hz);
            doubt = COARSE_DOUBT;
            self.t_s.iter_mut().for_each(|t| *t /= hz);
            self.stamps.last /= hz;
            warnings.push(Warning::Other {
                code: "coarse_stamps",
                text: format!(
                    "the time stamps repeat over about {:.0} rows, so rows that were lost do not show: any rate is in doubt by {:.1} %; give --rate where you know the logger's",
                    self.stamps.rows_per_stamp().unwrap_or(f64::NAN),
                    100.0 * doubt
                ),
            });
        }
        if self.told.descends {
            self.turn();
        }
        let (unit, factor, unit_from) = self.unit();
        warnings.extend(self.clipped(unit, factor));
        let strips = self.names.iter().zip(self.axes).map(|(name, axis)| Strip {
            name: name.clone(),
            carrier: Carrier::Axis,
            values: in_unit(axis.values, factor),
        });
        let recording = Recording {
            file: file_name(&self.path),
            sha256: sha256_of(&self.path).ok(),
            source: Source::Log,
            rows: self.rows,
            recorded_hz: hz,
            passband_hz: if self.factor == 1 { 0.5 } else { PASSBAND } * hz / self.factor as f64,
            clock_doubt: doubt,
            start_doubt_s: 0.0,
            t_s: self.t_s,
            strips: strips.collect(),
            unit,
            unit_from,
            time_from: self.told.words.clone(),
            warnings,
        };
        recording.check_long_enough(&self.path)?;
        Ok(recording)
    }

    /// Last row first: the thinning weighs both sides alike, so what it gave can be turned as it is.
    fn turn(&mut self) {
        let whole = self.stamps.last;
        self.t_s.reverse();
        self.t_s.iter_mut().for_each(|t| *t = whole - *t);
        self.axes.iter_mut().for_each(|axis| axis.values.reverse());
    }

    fn check(&self) -> Result<()> {
        let share = |faults: &Faults| faults.count as f64 / self.seen.max(1) as f64;
        let refuse = |what: String, remedy: &str| Err(Error::unreadable(&self.path, what, remedy));
        if share(&self.left_out) > MOST_LEFT_OUT {
            return refuse(
                format!(
                    "{} of {} rows hold no numbers, the first is row {}",
                    self.left_out.count, self.seen, self.left_out.first_line
                ),
                "export the recording again, or name the columns",
            );
        }
        if (share(&self.fallen) > MOST_FALLING && self.fallen.count > 1)
            || self.set_back > MOST_SET_BACK
        {
            return refuse(
                format!(
                    "the time does not {} in {} of {} rows, the first is row {}",
                    self.way(),
                    self.fallen.count,
                    self.seen,
                    self.fallen.first_line
                ),
                "cut the file there, or give --rate ROWS-PER-SECOND",
            );
        }
        let still = |axis: &Axis| axis.top.at == axis.bottom.at;
        if self.rows > 0 && self.axes.iter().all(still) {
            let all = self.axes.iter().all(|axis| axis.top.at == 0.0);
            let what = if all {
                "every value is zero"
            } else {
                "every row holds the same values"
            };
            return refuse(
                format!("{what}: the sensor did not run"),
                "check the logger and record again",
            );
        }
        Ok(())
    }

    /// What was mended, as warnings.
    fn mended(&self) -> Vec<Warning> {
        let mut warnings = Vec::new();
        let mut say = |code, text| warnings.push(Warning::Other { code, text });
        let (left, fell) = (&self.left_out, &self.fallen);
        if left.count > 0 {
            say(
                "rows_left_out",
                format!(
                    "rows without numbers were left out: {}, the first is row {}",
                    left.count, left.first_line
                ),
            );
        }
        if fell.count > 0 {
            say(
                "stamps_left_out",
                format!(
                    "rows whose time did not {} were left out: {}, the first is row {}",
                    self.way(),
                    fell.count,
                    fell.first_line
                ),
            );
        }
        if self.told.descends {
            let text = "the rows run from the last moment to the first; they were turned round, and times count from the earliest";
            say("descending", text.into());
        }
        if self.set_back > 0 {
            say(
                "clock_set_back",
                format!(
                    "the clock was set back {} times (first near row {}); the rows there were taken as unbroken",
                    self.set_back, fell.first_line
                ),
            );
        }
        if self.told.contradicts {
            say(
                "time_unit",
                format!(
                    "the header names another unit of time, but only {} can be meant; give --rate if that is wrong",
                    self.told.words
                ),
            );
        }
        warnings
    }

    /// Which way the time goes from row to row.
    fn way(&self) -> &'static str {
        if self.told.descends { "fall" } else { "rise" }
    }

    fn rate_hz(&self) -> f64 {
        let steps: Vec<f64> = self.t_s.windows(2).map(|w| w[1] - w[0]).collect();
        median(&steps).map_or(self.told.rows_hz, |step| self.factor as f64 / step)
    }

    /// The unit, the factor to it, and what it rests on.
    fn unit(&self) -> (Unit, f64, &'static str) {
        let size = self.size_sum / self.rows.max(1) as f64;
        let factor = |unit| match unit {
            AccelerationUnit::MetresPerSecond2 => 1.0,
            AccelerationUnit::G => STANDARD_GRAVITY,
            AccelerationUnit::MilliG => 1e-3 * STANDARD_GRAVITY,
        };
        let told = |unit, from| (Unit::MetresPerSecond2, factor(unit), from);
        if let Some(unit) = self.unit {
            return told(unit, "as given");
        }
        match (by_header(&self.label), by_gravity(size)) {
            (Some(unit), _) => told(unit, "from the header"),
            (None, Some(unit)) => told(unit, "from the size of gravity in it"),
            (None, None) => (
                Unit::Unknown,
                1.0,
                "nothing tells the unit; give --unit g or --unit m/s2",
            ),
        }
    }

    fn clipped(&self, unit: Unit, factor: f64) -> Option<Warning> {
        let runs: usize = self
            .axes
            .iter()
            .flat_map(|a| [&a.top, &a.bottom])
            .map(|e| {
                let g = (e.at * factor / STANDARD_GRAVITY).abs();
                let full = FULL_SCALES_G.iter().any(|f| (g / f - 1.0).abs() < 0.025);
                if full && unit == Unit::MetresPerSecond2 {
                    e.runs
                } else {
                    0
                }
            })
            .sum();
        (runs >= 3).then(|| Warning::Other {
            code: "clipped",
            text: format!("the sensor reached the end of its range {runs} times, so the thump is stronger than told; set a wider range"),
        })
    }
}

/// `values` times `factor`, in place.
fn in_unit(mut values: Vec<f32>, factor: f64) -> Vec<f32> {
    values
        .iter_mut()
        .for_each(|v| *v = (f64::from(*v) * factor) as f32);
    values
}

/// The unit that a header names.
fn by_header(label: &str) -> Option<AccelerationUnit> {
    let metric = [
        "m/s", "m s-2", "ms^-2", "ms-2", "mps2", "m_s2", "m·s", "m/sec",
    ];
    let words: Vec<&str> = label.split(|c: char| !c.is_alphanumeric()).collect();
    if metric.iter().any(|m| label.contains(m)) || words.contains(&"ms2") {
        Some(AccelerationUnit::MetresPerSecond2)
    } else if words.contains(&"mg") {
        Some(AccelerationUnit::MilliG)
    } else if words.contains(&"g") || words.contains(&"gs") {
        Some(AccelerationUnit::G)
    } else {
        None
    }
}

/// The unit in which a mean acceleration of `size` is gravity.
fn by_gravity(size: f64) -> Option<AccelerationUnit> {
    match size {
        s if (0.7..1.6).contains(&s) => Some(AccelerationUnit::G),
        s if (7.0..15.0).contains(&s) => Some(AccelerationUnit::MetresPerSecond2),
        s if (700.0..1600.0).contains(&s) => Some(AccelerationUnit::MilliG),
        _ => None,
    }
}

/// The farthest value to one side, and how often it was held for three rows on end.
struct Extreme {
    sign: f64,
    at: f64,
    held: usize,
    runs: usize,
}

impl Extreme {
    fn new(sign: f64) -> Extreme {
        Extreme {
            sign,
            at: -sign * f64::INFINITY,
            held: 0,
            runs: 0,
        }
    }

    fn push(&mut self, value: f64) {
        if self.sign * value > self.sign * self.at {
            (self.at, self.held, self.runs) = (value, 1, 0);
        } else if value == self.at {
            self.held += 1;
            self.runs += usize::from(self.held == 3);
        } else {
            self.held = 0;
        }
    }
}

impl Stamps {
    /// Counts a row under a coarse stamp, with a jump where the stamps jump; `None` where they fall back.
    fn coarse(&mut self, t: f64) -> Option<f64> {
        let Some(before) = self.origin else {
            self.origin = Some(t);
            self.run = 1;
            return Some(0.0);
        };
        if t < before {
            return None;
        }
        let mut rows = 1.0;
        if t > before {
            if let (Some(usual_s), Some(usual)) = (self.step_s(), self.rows_per_stamp()) {
                let missed = ((t - before) / usual_s).round() - 1.0;
                rows += (missed * usual).clamp(0.0, 1e9);
            }
            if self.runs.len() < MOST_RUNS {
                self.runs.push((self.run as u32, (t - before) as f32));
            }
            (self.origin, self.run) = (Some(t), 0);
        }
        self.run += 1;
        self.counted += rows;
        Some(self.counted)
    }

    /// Usual distance of stamps, s, once a few are there.
    fn step_s(&self) -> Option<f64> {
        (self.runs.len() > 4)
            .then(|| self.recent().map(|r| f64::from(r.1)).collect::<Vec<_>>())
            .and_then(|s| median(&s))
    }

    /// Usual rows per stamp.
    fn rows_per_stamp(&self) -> Option<f64> {
        median(&self.recent().map(|r| f64::from(r.0)).collect::<Vec<_>>())
    }

    fn rows_hz(&self) -> Option<f64> {
        let steps: Vec<f64> = self.runs.iter().map(|r| f64::from(r.1)).collect();
        let counts: Vec<f64> = self.runs.iter().map(|r| f64::from(r.0)).collect();
        Some(median(&counts)? / median(&steps)?)
    }

    fn recent(&self) -> impl Iterator<Item = &(u32, f32)> {
        self.runs.iter().rev().take(60)
    }
}

/// So many runs of equal stamps tell the rate.
const MOST_RUNS: usize = 100_000;
