//! Sees what is really in a frame: from the scene itself, and from the pixels the lure covers.

use super::eye::Through;
use super::mesh::Mesh;
use super::stage::Stage;
use super::tally::rounded;
use super::truth::{FrameTruth, LureTruth};
use super::vector::Vec3;

impl Stage {
    /// The truth of the moment `t`, s, without what needs pixels.
    pub fn frame_truth(&self, t: f64) -> FrameTruth {
        let lure = self
            .description()
            .lure
            .present
            .then(|| self.lure_truth(t))
            .flatten();
        let inside = |l: &LureTruth| {
            let (w, h) = (
                self.description().clip.width as f64,
                self.description().clip.height as f64,
            );
            (0.0..w).contains(&l.cx) && (0.0..h).contains(&l.cy)
        };
        let visible = lure.as_ref().is_some_and(inside);
        let lure = lure.map(|l| LureTruth {
            mm_per_px: l.mm_per_px.filter(|_| visible),
            ..l
        });
        FrameTruth {
            t: rounded(t, 6),
            visible,
            lure,
        }
    }

    /// `None` when the lure is behind the camera.
    fn lure_truth(&self, t: f64) -> Option<LureTruth> {
        let lure = &self.description().lure;
        let (eye, through, pose) = (self.eye(t), self.through(t), self.moves.at(t));
        let own = |s: f64| Vec3::new((lure.pivot - s) * lure.length_mm, 0.0, 0.0);
        let sees = |p: Vec3| eye.sees(p, &through).map(|s| s.px);
        let flat = |p: Vec3| eye.sees(p, &Through::FLAT).map(|s| s.px);
        let (nose, tail) = (sees(pose.point(own(0.0)))?, sees(pose.point(own(1.0)))?);
        let middle = pose.point(own(0.5));
        let (centre, centre_flat) = (sees(middle)?, flat(middle)?);
        let ahead = flat(middle + Vec3::new(10.0, 0.0, 0.0))?;
        // The body's widest direction across the line of sight, 10 mm long, gives the scale.
        let across = eye.right * 5.0;
        let (left, right) = (flat(middle - across)?, flat(middle + across)?);
        let box_of = |mesh: &Mesh| bounds(mesh.points.iter().filter_map(|p| sees(pose.point(*p))));
        let bbox = box_of(&self.body);
        let fittings = box_of(&Mesh::fittings(lure, self.swing(t)));
        let px = |p: [f64; 2]| p.map(|v| rounded(v, 3));
        Some(LureTruth {
            cx: rounded(centre[0], 3),
            cy: rounded(centre[1], 3),
            cx_flat: rounded(centre_flat[0], 3),
            cy_flat: rounded(centre_flat[1], 3),
            nose: px(nose),
            tail: px(tail),
            pivot: px(sees(pose.place())?),
            axis_img_deg: rounded(image_angle(tail, nose), 3),
            retr_img_deg: rounded(image_angle(centre_flat, ahead), 3),
            heading_deg: rounded(pose.heading, 3),
            yaw_deg: rounded(pose.yaw, 3),
            roll_deg: rounded(pose.roll, 3),
            pitch_deg: rounded(pose.pitch, 3),
            lat_mm: rounded(pose.lateral, 3),
            along_mm: rounded(pose.along, 2),
            bbox,
            bbox_all: join(bbox, fittings),
            mask_bbox: None,
            mask_centroid: None,
            occluded: false,
            mm_per_px: Some(rounded(
                10.0 / (right[0] - left[0]).hypot(right[1] - left[1]),
                5,
            )),
            alpha_px: 0.0,
        })
    }

    /// Direction of the sight line where it meets the lure.
    pub(super) fn sight(&self, t: f64) -> Vec3 {
        let (eye, place) = (self.eye(t), self.moves.at(t).place());
        let from = if eye.in_air() {
            eye.entry(place, &Through::FLAT)
        } else {
            eye.place
        };
        (place - from).unit()
    }

    /// The tilt whose sine is the picture's scale along the pull over that across it, at the lure.
    pub(super) fn apparent_tilt(&self, t: f64) -> Option<f64> {
        let (eye, place) = (self.eye(t), self.moves.at(t).place());
        let span = |half: Vec3| {
            let end = |p: Vec3| eye.sees(p, &Through::FLAT).map(|s| s.px);
            let (a, b) = (end(place - half)?, end(place + half)?);
            Some((b[0] - a[0]).hypot(b[1] - a[1]))
        };
        let along = span(Vec3::new(5.0, 0.0, 0.0))?;
        let across = span(Vec3::new(0.0, 5.0, 0.0))?;
        Some((along / across).min(1.0).asin().to_degrees())
    }

    /// Adds what only the drawn pixels tell.
    pub(super) fn with_mask(&self, truth: FrameTruth, masks: &Masks) -> FrameTruth {
        let width = self.description().clip.width;
        let Some(lure) = truth.lure else { return truth };
        let (mut sum, mut sx, mut sy) = (0.0f64, 0.0f64, 0.0f64);
        let mut edge = [usize::MAX, usize::MAX, 0, 0];
        for (i, &a) in masks.all.iter().enumerate().filter(|(_, a)| **a > 0.0) {
            let (x, y) = (i % width, i / width);
            sum += f64::from(a);
            sx += f64::from(a) * (x as f64 + 0.5);
            sy += f64::from(a) * (y as f64 + 0.5);
            if a >= 0.25 {
                edge = [
                    edge[0].min(x),
                    edge[1].min(y),
                    edge[2].max(x + 1),
                    edge[3].max(y + 1),
                ];
            }
        }
        let lure = LureTruth {
            mask_bbox: (edge[2] > 0).then_some(edge),
            mask_centroid: (sum > 1.0).then(|| [rounded(sx / sum, 3), rounded(sy / sum, 3)]),
            occluded: sum > 0.0 && f64::from(masks.hidden) > 0.5 * sum,
            alpha_px: rounded(sum, 1),
            ..lure
        };
        FrameTruth {
            lure: Some(lure),
            ..truth
        }
    }
}

/// Cover of each pixel by the lure, summed over the moments of an exposure.
pub(super) struct Masks {
    /// Body, lip and hooks.
    pub all: Vec<f32>,
    /// The body alone.
    pub body: Vec<f32>,
    /// Lure cover of the present moment, for the leaf.
    pub now: Vec<(usize, f32)>,
    /// Sum of the lure's cover that lies under the leaf.
    pub hidden: f32,
}

impl Masks {
    pub fn new(pixels: usize) -> Masks {
        Masks {
            all: vec![0.0; pixels],
            body: vec![0.0; pixels],
            now: Vec::new(),
            hidden: 0.0,
        }
    }

    pub fn scale(&mut self, share: f32) {
        self.all
            .iter_mut()
            .chain(&mut self.body)
            .for_each(|v| *v *= share);
        self.hidden *= share;
    }
}

/// Direction from `a` to `b`, degrees clockwise from image-up.
fn image_angle(a: [f64; 2], b: [f64; 2]) -> f64 {
    (b[0] - a[0]).atan2(a[1] - b[1]).to_degrees()
}

fn bounds(points: impl Iterator<Item = [f64; 2]>) -> [f64; 4] {
    points
        .fold([f64::MAX, f64::MAX, f64::MIN, f64::MIN], |b, [x, y]| {
            join(b, [x, y, x, y])
        })
        .map(|v| rounded(v, 2))
}

fn join(a: [f64; 4], b: [f64; 4]) -> [f64; 4] {
    [
        a[0].min(b[0]),
        a[1].min(b[1]),
        a[2].max(b[2]),
        a[3].max(b[3]),
    ]
}
