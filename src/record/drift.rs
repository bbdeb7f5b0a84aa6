//! The drift of a build over its life, as the bend advice takes it.

use super::model::{ChangeKind, Entry, Run, TestKind};
use crate::Measured;
use crate::tuning::{DriftAtSpeed, DriftEvent, Measure};

/// Speeds farther apart than this share are not the same pull.
const SAME_SPEED: f64 = 0.15;

/// What a build's tests and bends say about its drift.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct DriftHistory {
    /// Tests, bends and reworks in order.
    pub events: Vec<DriftEvent>,
    /// Drift and speed of the tests since the last change, where both are known.
    pub at_speeds: Vec<DriftAtSpeed>,
    /// Swim tests without a drift.
    pub without_drift: usize,
    /// Tests left out of `events` because they were pulled at another speed than the last one.
    pub other_speed: usize,
}

impl DriftHistory {
    /// From the life of a build. Drift grows with speed, so only tests at the speed of the last one
    /// (or of unknown speed) are events.
    pub fn of(life: &[Entry]) -> DriftHistory {
        let mut history = DriftHistory::default();
        let speed = life.iter().rev().find_map(speed_of_swim);
        for entry in life {
            match entry {
                Entry::Run(run) if run.test.kind == TestKind::Swim => history.tested(run, speed),
                Entry::Run(_) => {}
                Entry::Change(change) => {
                    history.at_speeds.clear();
                    match (change.kind, change.signed_mm()) {
                        (_, Some(mm)) => history.events.push(DriftEvent::Bent(mm)),
                        // A bend up or down, or new paint, may shift the drift too.
                        (ChangeKind::Tie, None) | (_, None) => {
                            history.events.push(DriftEvent::Reworked);
                        }
                    }
                }
            }
        }
        history
    }

    fn tested(&mut self, run: &Run, usual_speed: Option<f64>) {
        let Some((deg, half)) = value_and_half(run.figures.get(Measure::Drift.key())) else {
            self.without_drift += 1;
            return;
        };
        let speed = value_and_half(run.figures.get(Measure::Speed.key())).map(|s| s.0);
        if let Some(m_s) = speed {
            self.at_speeds.push(DriftAtSpeed { m_s, deg, half });
        }
        let is_usual = match (speed, usual_speed) {
            (Some(a), Some(b)) => (a / b - 1.0).abs() <= SAME_SPEED,
            _ => true,
        };
        match is_usual {
            true => self.events.push(DriftEvent::Tested { deg, half }),
            false => self.other_speed += 1,
        }
    }
}

fn speed_of_swim(entry: &Entry) -> Option<f64> {
    match entry {
        Entry::Run(run) if value_and_half(run.figures.get(Measure::Drift.key())).is_some() => {
            value_and_half(run.figures.get(Measure::Speed.key())).map(|s| s.0)
        }
        _ => None,
    }
}

fn value_and_half(found: Option<&Measured>) -> Option<(f64, f64)> {
    let found = found.filter(|found| found.is_measured())?;
    let [lo, hi] = found.ci95?;
    Some((found.value?, (hi - lo) / 2.0))
}
