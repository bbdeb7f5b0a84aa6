//! The stamps of a log as they come, and rows counted under stamps that repeat.

use crate::robust::upper_median;

/// So many runs of equal stamps tell the rate.
const MOST_RUNS: usize = 100_000;
/// The latest runs, by which the usual one is judged.
const LATEST: usize = 60;

/// The stamps so far.
#[derive(Default)]
pub struct Stamps {
    /// The first stamp; where they are coarse, the present one.
    pub origin: Option<f64>,
    /// Time of the last row that was kept.
    pub last: f64,
    /// Rows under the present stamp.
    pub run: usize,
    /// Rows so far, lost ones counted.
    pub counted: f64,
    /// What midnights and clocks set back add, s.
    pub midnights: f64,
    /// Rows under each stamp and its distance to the next, s.
    runs: Vec<(u32, f32)>,
}

impl Stamps {
    /// Counts a row under a coarse stamp, with a jump where the stamps jump; `None` where they fall back.
    pub fn coarse(&mut self, t: f64) -> Option<f64> {
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

    /// Usual rows per stamp.
    pub fn rows_per_stamp(&self) -> Option<f64> {
        upper_median(self.latest().map(|r| f64::from(r.0)))
    }

    /// Usual rows a second.
    pub fn rows_hz(&self) -> Option<f64> {
        let counts = upper_median(self.runs.iter().map(|r| f64::from(r.0)))?;
        Some(counts / upper_median(self.runs.iter().map(|r| f64::from(r.1)))?)
    }

    /// Usual distance of stamps, s, once a few are there.
    fn step_s(&self) -> Option<f64> {
        let steps = self.latest().map(|r| f64::from(r.1));
        upper_median(steps).filter(|_| self.runs.len() > 4)
    }

    fn latest(&self) -> impl Iterator<Item = &(u32, f32)> {
        self.runs.iter().rev().take(LATEST)
    }
}
