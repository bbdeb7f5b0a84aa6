//! Searches a window for the lure: many rough starts, the best of them fitted finely.

use super::colours::Voice;
use super::evidence::Evidence;
use super::fit::{Climbed, Fit, Leash};
use super::pose::Pose;
use super::shape::Shape;
use super::window::Window;

/// Every how many samples the rough steps look.
const ROUGHLY: usize = 3;
/// Steps of each fit at most.
const STEPS: usize = 6;
const STEPS_TO_PLACE: usize = 4;
/// A fit that agrees to this part of the usual agreement needs no other beside it.
const AS_USUAL: f64 = 0.9;
/// Spacing of the net of places, in lengths.
pub const NET: f64 = 0.33;

/// What is looked for, and where.
pub struct Search<'a> {
    /// The silhouette, and a blurred copy that pulls from farther away.
    pub shape: &'a Shape,
    /// See `shape`.
    pub coarse: &'a Shape,
    /// Where it is expected, at its usual size.
    pub expected: Pose,
    /// How far it may be from there.
    pub leash: Leash,
    /// Axes tried, radians.
    pub axes: Vec<f64>,
    /// Rings of the net of places about the expected one.
    pub rings: i32,
    /// Usual agreement of the fits (natural log), where the lure was seen just now and its look is known.
    pub usual_agreement: Option<f64>,
}

impl Search<'_> {
    /// The best of many starts. It is placed by the `plain` voices, to which the backdrop says nothing: line, lip and
    /// hooks stand out from that as the body does.
    pub fn best_fit(&self, window: &Window, voices: &[Voice], plain: &[Voice]) -> Fit {
        let rough = Evidence::new(window, voices, ROUGHLY);
        let fine = Evidence::new(window, voices, 1);
        let found = self
            .straight_on(&rough, &fine)
            .unwrap_or_else(|| self.all_round(&rough, &fine));
        let to_place = Evidence::new(window, plain, 1).for_placing();
        let placed = to_place.improve(self.shape, found.pose, &self.leash, STEPS_TO_PLACE);
        Fit {
            pose: found.pose,
            placed: steadier(&found.pose, placed.pose),
            agreement: found.agreement,
            likeness: fine.likeness(self.shape, &found.pose),
        }
    }

    /// The fit from the expected pose alone, where it agrees as the lure does as a rule: most frames need no more.
    fn straight_on(&self, rough: &Evidence, fine: &Evidence) -> Option<Climbed> {
        let usual = self.usual_agreement?;
        let near = rough.improve(self.coarse, self.expected, &self.leash, STEPS);
        let found = fine.improve(self.shape, near.pose, &self.leash, STEPS);
        (found.agreement > AS_USUAL * usual).then_some(found)
    }

    /// The better fit of the two most promising of many starts.
    fn all_round(&self, rough: &Evidence, fine: &Evidence) -> Climbed {
        let [first, second] = self
            .starts(rough)
            .map(|pose| rough.improve(self.coarse, pose, &self.leash, STEPS).pose);
        let found = fine.improve(self.shape, first, &self.leash, STEPS);
        if alike(&first, &second) {
            return found;
        }
        let other = fine.improve(self.shape, second, &self.leash, STEPS);
        if other.agreement > found.agreement {
            other
        } else {
            found
        }
    }

    /// The two most promising poses to start from, the better one first.
    fn starts(&self, evidence: &Evidence) -> [Pose; 2] {
        let mut places = self.net();
        let centre = [self.expected.x_px, self.expected.y_px];
        places.push(evidence.drawn_to(centre, 0.45 * self.expected.along_px));
        let mut best = [(f64::NEG_INFINITY, self.expected); 2];
        for &axis_rad in &self.axes {
            let turned = Pose {
                axis_rad,
                ..self.expected
            };
            let put = places.iter().map(|&[x_px, y_px]| Pose {
                x_px,
                y_px,
                ..turned
            });
            let hung = self.leash.hold.as_ref().map(|hold| hold.hung(turned));
            for pose in put.chain(hung) {
                let agreement = evidence.agreement(self.coarse, &pose);
                if agreement > best[0].0 {
                    best = [(agreement, pose), best[0]];
                } else if agreement > best[1].0 {
                    best[1] = (agreement, pose);
                }
            }
        }
        best.map(|(_, pose)| pose)
    }

    fn net(&self) -> Vec<[f64; 2]> {
        let spacing = NET * self.expected.along_px;
        let mut places = Vec::new();
        for i in -self.rings..=self.rings {
            for j in -self.rings..=self.rings {
                places.push([
                    self.expected.x_px + f64::from(i) * spacing,
                    self.expected.y_px + f64::from(j) * spacing,
                ]);
            }
        }
        places
    }
}

/// Whether two poses are as good as one.
fn alike(a: &Pose, b: &Pose) -> bool {
    let away = (a.x_px - b.x_px).hypot(a.y_px - b.y_px);
    let turned = (a.axis_rad - b.axis_rad).abs().to_degrees();
    away < 0.03 * a.along_px && turned < 2.0
}

/// The pose read from the look, unless it strays from where the colours found the lure.
fn steadier(found: &Pose, placed: Pose) -> Pose {
    let away = (placed.x_px - found.x_px).hypot(placed.y_px - found.y_px);
    let turned = (placed.axis_rad - found.axis_rad).abs().to_degrees();
    if away < 0.1 * found.along_px && turned < 8.0 {
        placed
    } else {
        *found
    }
}
