//! Stamps that rise: mends the missing and the backward ones, and tells a variable from a
//! constant rate by the gaps themselves, whatever the container claims.

use crate::robust::median;

/// A gap counts as usual when it differs from the median by less than this part of it.
const USUAL_WITHIN: f64 = 0.10;
/// A clip has a variable rate when more than this part of its gaps are not usual. Fewer than that
/// are single dropped or doubled frames.
const VARIABLE_ABOVE: f64 = 0.02;
/// A gap this many times the median has room for a frame that is not there.
const LONG_GAP: f64 = 1.5;

/// What the gaps between a clip's frames say, all in seconds of real time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rhythm {
    /// Usual gap: the median; at a constant rate the mean of the usual gaps, which does not carry
    /// the container's rounding of stamps (Matroska rounds to 1 ms).
    pub gap_s: f64,
    /// Shortest and longest gap.
    pub range_s: [f64; 2],
    /// Whether the gaps vary by more than rounding and single lost frames explain.
    pub vfr: bool,
    /// Gaps of more than 1.5 × the median.
    pub long_gaps: usize,
}

impl Rhythm {
    /// Judges `gaps_s` (at least one, each above 0) of stamps that are rounded to `tick_s`.
    /// `None` for an empty slice.
    pub fn of(gaps_s: &[f64], tick_s: f64) -> Option<Rhythm> {
        let median = median(gaps_s.iter().copied())?;
        let near = USUAL_WITHIN * median + 1.01 * tick_s;
        let usual: Vec<f64> = gaps_s
            .iter()
            .copied()
            .filter(|gap| (gap - median).abs() <= near)
            .collect();
        let unusual = gaps_s.len() - usual.len();
        let vfr = unusual as f64 > VARIABLE_ABOVE * gaps_s.len() as f64;
        let gap_s = if vfr || usual.is_empty() {
            median
        } else {
            usual.iter().sum::<f64>() / usual.len() as f64
        };
        Some(Rhythm {
            gap_s,
            range_s: [
                gaps_s.iter().copied().fold(f64::INFINITY, f64::min),
                gaps_s.iter().copied().fold(0.0, f64::max),
            ],
            vfr,
            long_gaps: gaps_s
                .iter()
                .filter(|gap| **gap > LONG_GAP * median)
                .count(),
        })
    }

    /// Frames per second at the usual gap.
    pub fn fps(&self) -> f64 {
        1.0 / self.gap_s
    }
}

/// Turns the stamps of a stream into rising seconds of real time, the first frame at 0.
#[derive(Debug, Clone)]
pub struct Clock {
    /// Seconds of real time for each second of the container.
    slow_down: f64,
    tick_s: f64,
    nominal_gap_s: f64,
    first: Option<f64>,
    last_s: f64,
    gaps_s: Vec<f64>,
    mended: usize,
}

impl Clock {
    /// A clock for stamps rounded to `tick_s`, at `nominal_gap_s` between frames until the clip
    /// shows its own gaps (both container seconds). `slow_down` is the seconds of real time that
    /// pass in one second of the container: 1, or less for a clip that plays slower than life.
    pub fn new(tick_s: f64, nominal_gap_s: f64, slow_down: f64) -> Self {
        Clock {
            slow_down,
            tick_s: tick_s * slow_down,
            nominal_gap_s: nominal_gap_s * slow_down,
            first: None,
            last_s: 0.0,
            gaps_s: Vec::new(),
            mended: 0,
        }
    }

    /// Real time of the next frame, s, given its stamp in container seconds if it has one.
    /// A stamp that is missing or does not rise is replaced by the last time plus the usual gap.
    pub fn next(&mut self, stamp_s: Option<f64>) -> f64 {
        let Some(first) = self.first else {
            self.mended += usize::from(stamp_s.is_none());
            self.first = Some(stamp_s.unwrap_or(0.0));
            return 0.0;
        };
        let stamped = stamp_s
            .map(|s| (s - first) * self.slow_down)
            .filter(|t| *t > self.last_s);
        let t_s = stamped.unwrap_or_else(|| {
            self.mended += 1;
            self.last_s + self.usual_gap_s()
        });
        self.gaps_s.push(t_s - self.last_s);
        self.last_s = t_s;
        t_s
    }

    /// What the gaps so far say; `None` before the second frame.
    pub fn rhythm(&self) -> Option<Rhythm> {
        Rhythm::of(&self.gaps_s, self.tick_s)
    }

    /// Time of the last frame, s: the clip's duration from its first frame to its last.
    pub fn last_s(&self) -> f64 {
        self.last_s
    }

    /// How many stamps were mended.
    pub fn mended(&self) -> usize {
        self.mended
    }

    fn usual_gap_s(&self) -> f64 {
        self.rhythm()
            .map_or(self.nominal_gap_s, |rhythm| rhythm.gap_s)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(clock: &mut Clock, stamps: &[Option<f64>]) -> Vec<f64> {
        stamps.iter().map(|s| clock.next(*s)).collect()
    }

    #[test]
    fn tail_stamps_that_fall_back_go_on_at_the_usual_gap() {
        let mut clock = Clock::new(1e-5, 0.04, 1.0);
        let times = run(
            &mut clock,
            &[Some(5.0), Some(5.1), Some(5.2), Some(0.0), None, Some(5.5)],
        );
        let want = [0.0, 0.1, 0.2, 0.3, 0.4, 0.5];
        assert!(
            times.iter().zip(want).all(|(t, w)| (t - w).abs() < 1e-9),
            "{times:?}"
        );
        assert_eq!(clock.mended(), 2);
    }

    #[test]
    fn no_stamps_at_all_go_at_the_nominal_rate() {
        let mut clock = Clock::new(1e-3, 1.0 / 25.0, 1.0);
        let times = run(&mut clock, &[None; 4]);
        assert!((times[3] - 0.12).abs() < 1e-12);
        assert_eq!(clock.mended(), 4);
    }

    #[test]
    fn stamps_rounded_to_a_millisecond_are_a_constant_rate() {
        let mut clock = Clock::new(1e-3, 1.0 / 60.0, 1.0);
        for i in 0..300 {
            clock.next(Some((f64::from(i) / 60.0 * 1e3).round() / 1e3));
        }
        let rhythm = clock.rhythm().unwrap();
        assert!(!rhythm.vfr);
        assert!((rhythm.fps() - 60.0).abs() < 0.02, "{}", rhythm.fps());
    }

    #[test]
    fn one_lost_frame_is_a_gap_and_a_jitter_is_a_variable_rate() {
        let mut lost = Clock::new(1e-5, 0.02, 1.0);
        for i in (0..200).filter(|i| *i != 90) {
            lost.next(Some(f64::from(i) * 0.02));
        }
        let rhythm = lost.rhythm().unwrap();
        assert_eq!((rhythm.vfr, rhythm.long_gaps), (false, 1));

        let mut jitter = Clock::new(1e-5, 0.02, 1.0);
        for i in 0..200 {
            let wander = if i % 3 == 0 { 0.006 } else { 0.0 };
            jitter.next(Some(f64::from(i) * 0.02 + wander));
        }
        assert!(jitter.rhythm().unwrap().vfr);
    }

    #[test]
    fn a_slow_motion_clip_runs_at_real_speed() {
        // 240 frames a second, played at 30: an eighth of a second for each second played.
        let mut clock = Clock::new(1e-5, 1.0 / 30.0, 30.0 / 240.0);
        let times: Vec<f64> = (0..481)
            .map(|i| clock.next(Some(f64::from(i) / 30.0)))
            .collect();
        assert!((times[480] - 2.0).abs() < 1e-9);
        assert!((clock.rhythm().unwrap().fps() - 240.0).abs() < 1e-6);
    }
}
