//! How the lure moves: phase of the wobble, attitude and path as closed functions of time.

use std::f64::consts::TAU;

use super::chance::{Chance, Wander};
use super::description::{BlowOut, Dart, SceneDescription, SwimPlan};
use super::vector::{Turn, Vec3};

/// How long a blow-out takes to develop, s.
const BLOW_OUT_S: f64 = 0.8;

/// The lure at one moment. Angles in degrees, lengths in mm, signs of the lure's own frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pose {
    /// Way along the pull, mm.
    pub along: f64,
    /// Place across the pull, mm, + to own right.
    pub lateral: f64,
    /// Depth of the pivot, mm.
    pub depth: f64,
    /// Where the path points against the pull, degrees, + to own right.
    pub heading: f64,
    /// Yaw against the heading, degrees, + nose to own right.
    pub yaw: f64,
    /// Roll, degrees, + own right side down.
    pub roll: f64,
    /// Pitch, degrees, + nose down.
    pub pitch: f64,
}

impl Pose {
    /// Where the pivot is.
    pub fn place(&self) -> Vec3 {
        Vec3::new(self.along, self.lateral, self.depth)
    }

    /// The attitude in the world.
    pub fn turn(&self) -> Turn {
        Turn::attitude(self.heading + self.yaw, self.pitch, self.roll)
    }

    /// A point given in own axes from the pivot, in the world.
    pub fn point(&self, own: Vec3) -> Vec3 {
        self.place() + self.turn().apply(own)
    }
}

/// The motion of a scene's lure.
#[derive(Debug, Clone)]
pub struct Moves {
    plan: SwimPlan,
    hand: f64,
    phase0: f64,
    rate: Wander,
    width: Wander,
    weave: Wander,
    bob: Wander,
}

impl Moves {
    /// The motion that the description asks for.
    pub fn new(scene: &SceneDescription) -> Moves {
        let mut chance = Chance::new(scene.seed, "moves");
        Moves {
            plan: scene.swim.clone(),
            hand: if scene.mirrored { -1.0 } else { 1.0 },
            phase0: chance.between(0.0, TAU),
            rate: Wander::new(&mut chance, 0.08, 0.8),
            width: Wander::new(&mut chance, 0.1, 0.9),
            weave: Wander::new(&mut chance, 0.1, 0.5),
            bob: Wander::new(&mut chance, 0.1, 0.6),
        }
    }

    /// Phase of the wobble, rad; yaw is its sine.
    pub fn phase(&self, t: f64) -> f64 {
        let p = &self.plan;
        self.phase0 + TAU * p.wobble_hz * (t + p.rate_wander * self.rate.integral(t))
    }

    /// Momentary zero-to-peak size of the wobble against the plan's, 1 = as planned.
    pub fn width_factor(&self, t: f64) -> f64 {
        if self.plan.wobble_hz == 0.0 {
            return 0.0;
        }
        let kept = self.plan.blow_out.map_or(1.0, |b| 1.0 - blown(b, t));
        kept * (1.0 + self.plan.width_wander * self.width.at(t))
    }

    /// The lure at time `t`, s.
    pub fn at(&self, t: f64) -> Pose {
        let p = &self.plan;
        let speed = p.speed_m_s * 1e3;
        let phase = self.phase(t);
        let width = self.width_factor(t);
        let wobble = phase.sin() + p.third_harmonic * (3.0 * phase).sin();
        let blown_out = p.blow_out.map_or(0.0, |b| blown(b, t));
        let roll = width * p.roll_deg * (phase - p.roll_lag_deg.to_radians()).sin()
            + p.list_deg
            + p.blow_out.map_or(0.0, |b| b.roll_deg * blown_out);
        Pose {
            along: p.start_along_mm + speed * t,
            lateral: self.hand * (self.steady_path(t) + self.dart_path(t)),
            depth: p.depth_mm + 4.0 * self.bob.at(t),
            heading: self.hand * self.heading(t),
            yaw: self.hand * (width * p.yaw_deg * wobble + p.crab_deg),
            roll: self.hand * roll,
            pitch: p.pitch_deg + p.nod_deg * width * (2.0 * phase + 0.7).sin(),
        }
    }

    /// Sideways place without darts, before mirroring, mm.
    fn steady_path(&self, t: f64) -> f64 {
        let p = &self.plan;
        let drift = p.drift_deg.to_radians().tan() * p.speed_m_s * 1e3 * t;
        let weave = p.weave_mm * (self.weave.at(t) - self.weave.at(0.0));
        p.start_lateral_mm + drift + weave + p.blow_out.map_or(0.0, |b| run_away(b, t))
    }

    fn dart_path(&self, t: f64) -> f64 {
        self.plan.darts.iter().map(|d| dart_shape(d, t)).sum()
    }

    /// Heading of the body, degrees, before mirroring: along the steady path, and partly into darts.
    fn heading(&self, t: f64) -> f64 {
        const STEP: f64 = 1e-3;
        let slope = |f: &dyn Fn(f64) -> f64| (f(t + STEP) - f(t - STEP)) / (2.0 * STEP);
        let sideways = slope(&|t| self.steady_path(t))
            + self.plan.turn_into_dart * slope(&|t| self.dart_path(t));
        sideways
            .atan2((self.plan.speed_m_s * 1e3).max(1.0))
            .to_degrees()
            * if self.plan.speed_m_s > 0.0 { 1.0 } else { 0.0 }
    }
}

/// Out from the start to the peak and back to the end, each half a cosine, mm.
fn dart_shape(d: &Dart, t: f64) -> f64 {
    let ease = |u: f64| 0.5 - 0.5 * (std::f64::consts::PI * u.clamp(0.0, 1.0)).cos();
    if t < d.peak_s {
        d.mm * ease((t - d.start_s) / (d.peak_s - d.start_s))
    } else {
        d.mm * (1.0 - ease((t - d.peak_s) / (d.end_s - d.peak_s)))
    }
}

/// How far the blow-out has come, 0–1.
fn blown(b: BlowOut, t: f64) -> f64 {
    let u = ((t - b.at_s) / BLOW_OUT_S).clamp(0.0, 1.0);
    u * u * (3.0 - 2.0 * u)
}

/// Way to the side since the blow-out began, mm: its speed grows evenly, then stays.
fn run_away(b: BlowOut, t: f64) -> f64 {
    let since = (t - b.at_s).max(0.0);
    let growing = since.min(BLOW_OUT_S);
    b.away_m_s * 1e3 * (growing * growing / (2.0 * BLOW_OUT_S) + (since - growing))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scene() -> SceneDescription {
        let mut s = SceneDescription {
            seed: 5,
            ..Default::default()
        };
        s.swim.drift_deg = 3.0;
        s.swim.weave_mm = 0.0;
        s.swim.darts = vec![Dart {
            start_s: 2.0,
            peak_s: 2.4,
            end_s: 3.0,
            mm: -60.0,
        }];
        s
    }

    #[test]
    fn drift_and_dart_go_where_they_should() {
        let m = Moves::new(&scene());
        let slope = m.at(1.0).lateral / m.at(1.0).along;
        assert!((slope - 3f64.to_radians().tan()).abs() < 1e-9);
        let off = m.at(2.4).lateral - slope * m.at(2.4).along;
        assert!((off + 60.0).abs() < 1e-6);
        assert!(m.at(2.2).heading < 0.0 && m.at(2.7).heading > 3.0);
        assert!((m.at(4.0).heading - 3.0).abs() < 1e-6);
    }

    #[test]
    fn yaw_turns_with_the_phase_and_mirrors() {
        let m = Moves::new(&scene());
        let mirrored = Moves::new(&scene().mirror());
        for t in [0.1, 0.77, 2.3] {
            let (a, b) = (m.at(t), mirrored.at(t));
            assert_eq!(
                (a.yaw, a.roll, a.lateral, a.heading),
                (-b.yaw, -b.roll, -b.lateral, -b.heading)
            );
            assert_eq!((a.pitch, a.along, a.depth), (b.pitch, b.along, b.depth));
            assert_eq!(a.yaw > 0.0, m.phase(t).sin() > 0.0);
        }
    }

    #[test]
    fn blow_out_leaves_and_loses_its_wobble() {
        let mut s = scene();
        s.swim.blow_out = Some(BlowOut {
            at_s: 3.5,
            away_m_s: 0.3,
            roll_deg: 110.0,
        });
        let m = Moves::new(&s);
        assert!(m.width_factor(3.4) > 0.8 && m.width_factor(4.4) == 0.0);
        assert!((m.at(5.0).roll - 110.0).abs() < 1e-9);
        assert!(m.at(5.5).lateral - m.at(4.5).lateral > 290.0);
    }
}
