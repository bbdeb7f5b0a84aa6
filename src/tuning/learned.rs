//! The bend advice that learns: each bend of a tie and the drift after it tell how this build answers.
//!
//! # Method
//! Drift d answers a bend u (mm at the eye of the tie, + to own right) as d ← d + b·u: common practice
//! (a bend away from the run takes the run away) says b > 0. Both d and b are unknown; least squares
//! over the build's own history with a prior on b, in its step-by-step form (a Kalman filter, Kalman
//! 1960, J. Basic Eng. 82:35), so that what a bend does beyond b·u (spring-back of the wire, a slip of
//! the hand) counts as a doubt that stays, and a rework that shifts the drift only resets d.
//!
//! The next bend minimises the expected squared distance from the aim,
//! u = −((d − aim)·b + cov(d, b)) / (b² + var b), which is the smaller the less b is known (the
//! "cautious" controller of adaptive control), and it is held to a limit. The prior is our own choice, for want of
//! published figures: 6 degrees per mm, give or take 6.

use super::advice::first_step_mm;
use crate::Measured;

/// Prior answer of the drift to a bend, degrees per mm, and its standard deviation.
const PRIOR: [f64; 2] = [6.0, 6.0];
/// What a bend does beyond its answer, as a share of the bend (standard deviation).
const SLIP: f64 = 0.25;
/// Standard deviation of the drift from run to run that one clip's interval does not show, degrees.
const RUN_TO_RUN_DEG: f64 = 0.4;
/// Standard deviation of what a rework of lip, ballast or hooks may do to the drift, degrees.
const REWORK_DEG: f64 = 20.0;
/// A bend may be this many first steps once the answer to one bend is known …
const GROWN: f64 = 3.0;
/// … and never more than this, mm.
const MOST_MM: f64 = 1.2;
/// Half-width of a 95 % interval in standard deviations.
const Z95: f64 = 1.959_964;

/// What happened to a build, as far as its drift goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DriftEvent {
    /// It was tested: drift, degrees, + to own right, and half the width of its 95 % interval.
    Tested {
        /// Drift, degrees.
        deg: f64,
        /// Half the width of its 95 % interval.
        half: f64,
    },
    /// Its tie was bent: mm at the eye, + to own right.
    Bent(f64),
    /// It was reworked in another way.
    Reworked,
}

/// What to do next about a build's drift.
#[derive(Debug, Clone, PartialEq)]
pub enum NextBend {
    /// Nothing to go by: no test with a drift.
    TestFirst,
    /// The drift is surely as wanted.
    Leave,
    /// Whether it is as wanted is not sure: pull it again as it is.
    TestAgain,
    /// Two bends in a row did not help.
    Stop,
    /// Bend.
    Bend {
        /// mm at the eye of the tie, + to own right.
        mm: f64,
        /// The drift to expect after it, degrees, with its 95 % interval.
        expected: Measured,
    },
}

/// What a build's history says.
#[derive(Debug, Clone, PartialEq)]
pub struct Learned {
    /// The drift as it is now, degrees.
    pub drift: Option<Measured>,
    /// The answer to a bend, degrees per mm: the prior's where no bend has been tested yet.
    pub response: Measured,
    /// Bends with a test before and after them.
    pub bends_tested: usize,
    /// Bends of this tie in all: wire weakens with each.
    pub bends: usize,
    /// What to do next.
    pub next: NextBend,
}

/// Learns from `events` in their order, and advises toward `aim` ± `within` degrees. `length_mm` is
/// the body length, from which the first step follows.
pub fn learn(events: &[DriftEvent], aim: f64, within: f64, length_mm: Option<f64>) -> Learned {
    let mut state = State::start();
    let mut past = Past::default();
    for event in events {
        match *event {
            DriftEvent::Tested { deg, half } => {
                state.see(deg, half);
                past.tested(state.drift[0] - aim);
            }
            DriftEvent::Bent(mm) => {
                state.bend(mm);
                past.bent(mm);
            }
            DriftEvent::Reworked => {
                state.rework();
                past.reworked();
            }
        }
    }
    Learned {
        drift: state.seen.then(|| state.drift_now()),
        response: state.response(),
        bends_tested: past.tested,
        bends: events
            .iter()
            .filter(|e| matches!(e, DriftEvent::Bent(_)))
            .count(),
        next: next(&state, &past, aim, within, length_mm),
    }
}

fn next(state: &State, past: &Past, aim: f64, within: f64, length_mm: Option<f64>) -> NextBend {
    if !state.seen {
        return NextBend::TestFirst;
    }
    if past.bent_since_test != 0.0 {
        return NextBend::TestAgain;
    }
    let off = state.drift[0] - aim;
    let doubt = Z95 * state.var[0].sqrt();
    if off.abs() + doubt <= within {
        return NextBend::Leave;
    }
    if off.abs() <= within {
        // A bend would as likely spoil it: only a test can tell.
        return NextBend::TestAgain;
    }
    if past.no_help >= 2 {
        return NextBend::Stop;
    }
    if off.abs() - doubt < 0.0 {
        return NextBend::TestAgain;
    }
    let first = first_step_mm(length_mm);
    let limit = match past.tested {
        0 => first,
        _ => (GROWN * first).min(MOST_MM),
    };
    let mm = state.best_bend(aim).clamp(-limit, limit);
    // Practice holds for the side: an answer that seems to run backwards is no ground to follow it.
    if mm * off >= 0.0 {
        return NextBend::TestAgain;
    }
    let tenths = (mm * 20.0).round() / 20.0;
    let mm = if tenths == 0.0 {
        0.05f64.copysign(mm)
    } else {
        tenths
    };
    let mut after = *state;
    after.bend(mm);
    NextBend::Bend {
        mm,
        expected: after.drift_now(),
    }
}

/// Drift and answer with their covariance.
#[derive(Debug, Clone, Copy)]
struct State {
    /// Drift now and answer to a bend.
    drift: [f64; 2],
    /// Their variances.
    var: [f64; 2],
    cov: f64,
    seen: bool,
}

impl State {
    fn start() -> Self {
        State {
            drift: [0.0, PRIOR[0]],
            var: [REWORK_DEG * REWORK_DEG, PRIOR[1] * PRIOR[1]],
            cov: 0.0,
            seen: false,
        }
    }

    fn see(&mut self, deg: f64, half: f64) {
        let noise = (half / Z95).powi(2) + RUN_TO_RUN_DEG.powi(2);
        let total = self.var[0] + noise;
        let gain = [self.var[0] / total, self.cov / total];
        let surprise = deg - self.drift[0];
        self.drift[0] += gain[0] * surprise;
        self.drift[1] += gain[1] * surprise;
        self.var[1] -= gain[1] * self.cov;
        self.cov *= 1.0 - gain[0];
        self.var[0] *= 1.0 - gain[0];
        self.seen = true;
    }

    fn bend(&mut self, mm: f64) {
        let slip = SLIP * mm * self.drift[1].abs().max(PRIOR[0] / 2.0);
        self.drift[0] += self.drift[1] * mm;
        self.var[0] += 2.0 * mm * self.cov + mm * mm * self.var[1] + slip * slip;
        self.cov += mm * self.var[1];
    }

    fn rework(&mut self) {
        self.var[0] += REWORK_DEG * REWORK_DEG;
        // The same wire on the same lip answers much as before, but not surely so.
        self.var[1] += (PRIOR[1] / 2.0).powi(2);
        self.seen = false;
    }

    fn best_bend(&self, aim: f64) -> f64 {
        let [drift, answer] = self.drift;
        -((drift - aim) * answer + self.cov) / (answer * answer + self.var[1])
    }

    fn drift_now(&self) -> Measured {
        Measured::within(self.drift[0], Z95 * self.var[0].sqrt())
    }

    fn response(&self) -> Measured {
        Measured::within(self.drift[1], Z95 * self.var[1].sqrt())
    }
}

/// Whether the bends so far have helped.
#[derive(Debug, Default)]
struct Past {
    off_before: Option<f64>,
    bent_since_test: f64,
    tested: usize,
    no_help: usize,
}

impl Past {
    fn bent(&mut self, mm: f64) {
        self.bent_since_test += mm;
    }

    fn tested(&mut self, off: f64) {
        if let (Some(before), true) = (self.off_before, self.bent_since_test != 0.0) {
            let went_the_right_way = (off - before) * self.bent_since_test > 0.0;
            let helped = went_the_right_way && off.abs() < before.abs();
            self.no_help = if helped { 0 } else { self.no_help + 1 };
            self.tested += 1;
        }
        self.off_before = Some(off);
        self.bent_since_test = 0.0;
    }

    fn reworked(&mut self) {
        self.off_before = None;
        self.bent_since_test = 0.0;
        self.no_help = 0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tested(deg: f64) -> DriftEvent {
        DriftEvent::Tested { deg, half: 0.4 }
    }

    #[test]
    fn the_first_bend_is_the_small_first_step_against_the_run() {
        for (run, want) in [(5.0, -0.3), (-5.0, 0.3)] {
            let learned = learn(&[tested(run)], 0.0, 1.0, Some(58.0));
            let NextBend::Bend { mm, expected } = learned.next else {
                panic!("{learned:?}")
            };
            assert_eq!(mm, want);
            assert!(expected.value.unwrap().abs() < run.abs());
        }
    }

    #[test]
    fn a_strong_answer_makes_the_next_bend_smaller_and_a_weak_one_larger() {
        let next = |after: f64| {
            let events = [tested(6.0), DriftEvent::Bent(-0.3), tested(after)];
            match learn(&events, 0.0, 1.0, Some(58.0)).next {
                NextBend::Bend { mm, .. } => mm,
                other => panic!("{other:?}"),
            }
        };
        let (strong, weak) = (next(2.5), next(5.4));
        assert!(strong < 0.0 && strong > -0.3, "{strong}");
        assert!((-0.9..-0.5).contains(&weak), "{weak}");
    }

    #[test]
    fn left_and_right_are_mirrored() {
        let events = [tested(6.0), DriftEvent::Bent(-0.3), tested(3.0)];
        let mirrored = events.map(|event| match event {
            DriftEvent::Tested { deg, half } => DriftEvent::Tested { deg: -deg, half },
            DriftEvent::Bent(mm) => DriftEvent::Bent(-mm),
            other => other,
        });
        let (a, b) = (
            learn(&events, 0.0, 1.0, None),
            learn(&mirrored, 0.0, 1.0, None),
        );
        assert_eq!(a.response, b.response);
        let (NextBend::Bend { mm: a, .. }, NextBend::Bend { mm: b, .. }) = (a.next, b.next) else {
            panic!()
        };
        assert_eq!(a, -b);
    }

    #[test]
    fn two_bends_without_help_end_it() {
        let events = [
            tested(4.0),
            DriftEvent::Bent(-0.3),
            tested(4.6),
            DriftEvent::Bent(-0.3),
            tested(5.5),
        ];
        assert_eq!(learn(&events[..3], 0.0, 1.0, None).bends_tested, 1);
        assert_eq!(learn(&events, 0.0, 1.0, None).next, NextBend::Stop);
    }

    #[test]
    fn nothing_known_and_all_well() {
        assert_eq!(learn(&[], 0.0, 1.0, None).next, NextBend::TestFirst);
        let straight = DriftEvent::Tested {
            deg: 0.1,
            half: 0.2,
        };
        assert_eq!(learn(&[straight; 3], 0.0, 1.0, None).next, NextBend::Leave);
        let bent = [tested(4.0), DriftEvent::Bent(-0.3)];
        assert_eq!(learn(&bent, 0.0, 1.0, None).next, NextBend::TestAgain);
    }
}
