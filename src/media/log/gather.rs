//! Rows to thinned strips: stamps mended or refused, gaps kept open, unit and clipping told.

use std::path::{Path, PathBuf};

use super::axis::Axis;
use super::clock::{Clock, Told};
use super::header::Columns;
use super::stamps::Stamps;
use super::{AccelerationUnit, unit};
use crate::media::decimate::{Decimator, PASSBAND, factor_for};
use crate::media::recording::{Carrier, Recording, Source, Strip, Unit, file_name};
use crate::media::sha256_of;
use crate::robust::upper_median;
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

impl Gatherer {
    /// For the `columns` of the file at `path`.
    pub fn new(
        path: &Path,
        columns: &Columns,
        told: Told,
        unit: Option<AccelerationUnit>,
    ) -> Gatherer {
        let factor = factor_for(told.rows_hz);
        Gatherer {
            path: path.to_path_buf(),
            names: columns.names.clone(),
            label: columns.axis_label.clone(),
            told,
            unit,
            factor,
            time: Decimator::new(factor),
            axes: columns.axes.iter().map(|_| Axis::new(factor)).collect(),
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
            self.axes.iter_mut().for_each(|axis| axis.pause());
        }
        self.stamps.last = t;
        self.rows += 1;
        self.size_sum += values.iter().map(|v| v * v).sum::<f64>().sqrt();
        self.t_s.extend(self.time.push(t));
        for (axis, &value) in self.axes.iter_mut().zip(values) {
            axis.push(value);
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
        let size = self.size_sum / self.rows.max(1) as f64;
        let (unit, factor, unit_from) = unit::settle(self.unit, &self.label, size);
        warnings.extend(self.clipped(unit, factor));
        let strips = self.names.iter().zip(self.axes).map(|(name, axis)| Strip {
            name: name.clone(),
            carrier: Carrier::Axis,
            values: axis.in_unit(factor),
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
        self.axes.iter_mut().for_each(|axis| axis.turn());
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
        let still: Option<Vec<f64>> = self.axes.iter().map(Axis::still_at).collect();
        if let Some(values) = still.filter(|_| self.rows > 0) {
            let what = if values.iter().all(|v| *v == 0.0) {
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
        let steps = self.t_s.windows(2).map(|w| w[1] - w[0]);
        upper_median(steps).map_or(self.told.rows_hz, |step| self.factor as f64 / step)
    }

    fn clipped(&self, unit: Unit, factor: f64) -> Option<Warning> {
        let runs: usize = match unit {
            Unit::MetresPerSecond2 => self.axes.iter().map(|a| a.runs_at_full_scale(factor)).sum(),
            _ => 0,
        };
        (runs >= 3).then(|| Warning::Other {
            code: "clipped",
            text: format!("the sensor reached the end of its range {runs} times, so the thump is stronger than told; set a wider range"),
        })
    }
}
