//! Where the camera is at each moment: the view's usual place, the follow, the shaking hand.

use super::chance::{Chance, Wander};
use super::description::{CameraPlan, Follow, SceneDescription, Viewpoint};
use super::eye::{Eye, Through};
use super::moves::Moves;
use super::vector::Vec3;
use crate::{Error, Result};

/// How late a turning hand follows, s.
const HAND_DELAY_S: f64 = 0.35;

/// The usual place of a view.
struct Usual {
    tilt_deg: f64,
    distance_mm: f64,
    fov_deg: f64,
}

fn usual(view: Viewpoint) -> Usual {
    let (tilt_deg, distance_mm, fov_deg) = match view {
        Viewpoint::Above => (90.0, 1200.0, 36.0),
        Viewpoint::Behind => (30.0, 480.0, 56.0),
        Viewpoint::Ahead => (42.0, 2600.0, 21.0),
        Viewpoint::Side => (6.0, 520.0, 50.0),
    };
    Usual {
        tilt_deg,
        distance_mm,
        fov_deg,
    }
}

/// Holds the camera.
#[derive(Debug, Clone)]
pub struct CameraMan {
    plan: CameraPlan,
    hand: f64,
    course_deg: f64,
    focal_px: f64,
    centre: [f64; 2],
    /// The aimed point at time 0 and the camera's place against it, mm.
    aim: Vec3,
    back: Vec3,
    tow_mm_s: f64,
    moves: Moves,
    shake: [Wander; 6],
}

impl CameraMan {
    /// The camera of a scene.
    ///
    /// # Errors
    /// [`Error::Setting`] when the place falls into the bottom or too near to the surface.
    pub fn new(scene: &SceneDescription) -> Result<CameraMan> {
        let plan = scene.camera.clone();
        let usual = usual(plan.view);
        let tilt_deg = plan.tilt_deg.unwrap_or(usual.tilt_deg);
        let distance = plan.distance_mm.unwrap_or(usual.distance_mm);
        let fov = plan.fov_deg.unwrap_or(usual.fov_deg);
        let hand = if scene.mirrored { -1.0 } else { 1.0 };
        let course_deg = hand
            * match plan.view {
                Viewpoint::Above => -plan.pull_deg.unwrap_or(0.0),
                Viewpoint::Behind => 0.0,
                Viewpoint::Ahead => 180.0,
                Viewpoint::Side => -90.0,
            };
        let (w, h) = (scene.clip.width as f64, scene.clip.height as f64);
        let centre = [w / 2.0, h / 2.0];
        let focal_px = w.max(h) / 2.0 / (fov.to_radians() / 2.0).tan();
        let tow_mm_s = scene.swim.speed_m_s * 1e3;
        let middle = match plan.follow {
            Follow::Tow => 0.0,
            Follow::Still | Follow::Turn => tow_mm_s * scene.clip.seconds / 2.0,
        };
        let aim = Vec3::new(
            scene.swim.start_along_mm + plan.aim_along_mm.unwrap_or(0.0) + middle,
            hand * plan.aim_lateral_mm,
            scene.swim.depth_mm,
        );
        let back = Eye::looking(aim, course_deg, tilt_deg, focal_px, centre).forward * -distance;
        let z = aim.z + back.z;
        if z > scene.water.bottom_mm - 20.0 || z.abs() < 20.0 {
            return Err(Error::setting(
                "camera.distance_mm",
                format!("with this tilt the camera comes to {z:.0} mm below the surface"),
                "keep it 20 mm off the surface and the bottom",
            ));
        }
        let mut chance = Chance::new(scene.seed, "shake");
        let shake = std::array::from_fn(|i| {
            let (lo, hi) = if i < 3 { (0.25, 1.8) } else { (5.0, 9.0) };
            Wander::new(&mut chance, lo, hi)
        });
        let moves = Moves::new(scene);
        Ok(CameraMan {
            plan,
            hand,
            course_deg,
            focal_px,
            centre,
            aim,
            back,
            tow_mm_s,
            moves,
            shake,
        })
    }

    /// The camera at time `t`, s.
    pub fn eye(&self, t: f64) -> Eye {
        let start = Vec3::new(
            match self.plan.follow {
                Follow::Tow => self.tow_mm_s * t,
                Follow::Still | Follow::Turn => 0.0,
            },
            0.0,
            0.0,
        );
        let aim = self.aim + start;
        let place = aim + self.back;
        let target = match self.plan.follow {
            Follow::Turn => self.moves.at(t - HAND_DELAY_S).place(),
            Follow::Still | Follow::Tow => aim,
        };
        self.shaken(self.aimed(place, target), t)
    }

    /// A camera at `place` that has `target` in the middle of its picture.
    fn aimed(&self, place: Vec3, target: Vec3) -> Eye {
        let level = Eye::looking(place, 0.0, 0.0, self.focal_px, self.centre);
        let towards = if level.in_air() {
            level.entry(target, &Through::FLAT)
        } else {
            target
        };
        let way = towards - place;
        let across = way.x.hypot(way.y);
        let tilt = way.z.atan2(across).to_degrees();
        // Straight down, the course cannot be read off the way.
        let course = match self.plan.follow {
            Follow::Turn if across > 0.05 * way.norm() => way.y.atan2(way.x).to_degrees(),
            _ => self.course_deg,
        };
        Eye::looking(place, course, tilt, self.focal_px, self.centre)
    }

    fn shaken(&self, eye: Eye, t: f64) -> Eye {
        let angle =
            |i: usize| self.plan.shake_deg * (self.shake[i].at(t) + 0.08 * self.shake[i + 3].at(t));
        eye.turned(
            self.hand * angle(0),
            angle(1),
            self.hand * (self.plan.lean_deg + angle(2)),
        )
    }
}
