//! Puts the players before the backdrop: fish, line, lure, specks, leaf.

use super::backdrop::Backdrop;
use super::colour::{Light, times};
use super::description::Viewpoint;
use super::extras::{LeafSeen, Sheet};
use super::eye::{Eye, Through};
use super::mesh::{Mesh, Stuff};
use super::paint::Painter;
use super::raster::{Area, Corner, Layer, draw};
use super::stage::{Stage, look};
use super::vector::{Turn, Vec3};
use super::witness::Masks;

/// The players of one moment.
pub(super) struct Cast<'a> {
    pub stage: &'a Stage,
    pub eye: Eye,
    pub through: Through<'a>,
    pub backdrop: &'a Backdrop<'a>,
    pub t: f64,
    pub width: usize,
    pub height: usize,
}

impl Cast<'_> {
    /// Everything in the water.
    pub fn under_water(&self, pixels: &mut [Light], masks: &mut Masks) {
        masks.now.clear();
        let lure = self.stage.moves.at(self.t).place();
        let lure_depth = self.eye.sees(lure, &Through::FLAT).map_or(1e9, |s| s.depth);
        self.specks(pixels, lure_depth..1e9);
        self.fish(pixels);
        if self.stage.description().lure.present {
            self.line(pixels);
            self.lure(pixels, masks);
        }
        self.specks(pixels, 0.0..lure_depth);
    }

    fn sheet<'b>(&self, pixels: &'b mut [Light]) -> Sheet<'b> {
        Sheet {
            pixels,
            width: self.width,
            height: self.height,
        }
    }

    fn specks(&self, pixels: &mut [Light], range: std::ops::Range<f64>) {
        let light = self.stage.medium.deep.map(|c| 0.25 + 0.8 * c);
        let sees = look(&self.eye, &self.through);
        self.stage.specks.draw(
            &mut self.sheet(pixels),
            &self.eye,
            self.t,
            &sees,
            range,
            light,
        );
    }

    fn lure(&self, pixels: &mut [Light], masks: &mut Masks) {
        let pose = self.stage.moves.at(self.t);
        let fittings = Mesh::fittings(&self.stage.description().lure, self.stage.swing(self.t));
        let mut shape = self.stage.body.clone();
        let first = shape.points.len() as u32;
        shape.points.extend(fittings.points);
        shape.normals.extend(fittings.normals);
        shape.triangles.extend(
            fittings
                .triangles
                .into_iter()
                .map(|(ids, s)| (ids.map(|i| i + first), s)),
        );
        let Some(layer) = self.layer(&shape, pose.place(), &pose.turn()) else {
            return;
        };
        self.lay(&layer, pixels);
        for (k, p) in layer.pixels.iter().enumerate().filter(|(_, p)| p[3] > 0.0) {
            let at = self.pixel(&layer.area, k);
            masks.all[at] += p[3];
            masks.body[at] += layer.body[k];
            masks.now.push((at, p[3]));
        }
    }

    fn fish(&self, pixels: &mut [Light]) {
        let Some(fish) = self.stage.description().extras.fish else {
            return;
        };
        let hand = self.stage.hand;
        let (s, c) = fish.course_deg.to_radians().sin_cos();
        let middle = self.stage.moves.at(fish.at_s);
        let way = fish.speed_m_s * 1e3 * (self.t - fish.at_s);
        let place = Vec3::new(
            middle.along + way * c - fish.miss_mm * s,
            hand * (hand * middle.lateral + way * s + fish.miss_mm * c),
            fish.depth_mm,
        );
        // A fish beats its tail about as often as it covers 0.7 of its length.
        let beat = std::f64::consts::TAU * fish.speed_m_s * 1e3 / (0.7 * fish.length_mm) * self.t;
        let mut shape = Mesh::fish(fish.length_mm, beat);
        if hand < 0.0 {
            shape = mirrored(shape);
        }
        let turn = Turn::attitude(hand * fish.course_deg, 0.0, 0.0);
        if let Some(layer) = self.layer(&shape, place, &turn) {
            self.lay(&layer, pixels);
        }
    }

    /// A shape at a place, drawn.
    fn layer(&self, shape: &Mesh, place: Vec3, turn: &Turn) -> Option<Layer> {
        let mut corners = Vec::with_capacity(shape.points.len());
        for (own, normal) in shape.points.iter().zip(&shape.normals) {
            let at = place + turn.apply(*own);
            let seen = self.eye.sees(at, &self.through)?;
            let n = turn.apply(*normal);
            let light = 0.35 + 0.65 * self.backdrop.net_at(at.x, at.y, 12.0);
            let carried = [
                own.x as f32,
                own.y as f32,
                own.z as f32,
                n.x as f32,
                n.y as f32,
                n.z as f32,
                light,
                seen.water_mm as f32,
            ];
            corners.push(Corner {
                px: seen.px,
                depth: seen.depth,
                carried,
            });
        }
        let area = Area::around(corners.iter().map(|c| c.px), self.width, self.height)?;
        let from = if self.eye.in_air() {
            self.eye.entry(place, &Through::FLAT)
        } else {
            self.eye.place
        };
        let painter = Painter {
            lure: &self.stage.description().lure,
            medium: &self.stage.medium,
            daylight: self.stage.medium.daylight(place.z as f32),
            to_eye: (from - place).unit(),
            to_sun: Vec3::new(-0.22, 0.3 * self.stage.hand, -1.0).unit(),
            fish_mm: self
                .stage
                .description()
                .extras
                .fish
                .map_or(100.0, |f| f.length_mm),
        };
        let paint = |stuff: Stuff, c: &[f32; 8]| painter.paint(stuff, c);
        Some(draw(
            &corners,
            &shape.triangles,
            area,
            self.stage.fineness.samples,
            paint,
        ))
    }

    fn pixel(&self, area: &Area, k: usize) -> usize {
        (area.top + k / area.width) * self.width + area.left + k % area.width
    }

    fn lay(&self, layer: &Layer, pixels: &mut [Light]) {
        for (k, p) in layer.pixels.iter().enumerate().filter(|(_, p)| p[3] > 0.0) {
            let under = &mut pixels[self.pixel(&layer.area, k)];
            *under = std::array::from_fn(|i| p[i] + under[i] * (1.0 - p[3]));
        }
    }

    /// The fishing line, from the nose along the pull.
    fn line(&self, pixels: &mut [Light]) {
        let d = self.stage.description();
        if d.extras.line_mm == 0.0 {
            return;
        }
        let pose = self.stage.moves.at(self.t);
        let tie = pose.point(Vec3::new(
            (d.lure.pivot + 0.03) * d.lure.length_mm,
            0.0,
            0.0,
        ));
        let bright = times([0.5, 0.52, 0.5], self.stage.medium.daylight(tie.z as f32));
        let mut sheet = self.sheet(pixels);
        let mut before = None;
        for step in 0..60 {
            let way = 12.0 * 1.11f64.powi(step) - 12.0;
            let Some(seen) = self.eye.sees(tie + Vec3::new(way, 0.0, 0.0), &self.through) else {
                break;
            };
            let wide = d.extras.line_mm * self.eye.focal_px / seen.depth;
            let light = self.stage.medium.through(bright, seen.water_mm as f32);
            if let Some(last) = before {
                sheet.stroke(last, seen.px, wide, light);
            }
            before = Some(seen.px);
        }
    }

    /// The leaf, on the surface or between camera and lure.
    pub fn leaf(&self, pixels: &mut [Light], masks: &mut Masks) {
        let Some(seen) = self.leaf_seen() else { return };
        let light = if self.eye.in_air() { 1.0 } else { 0.6 };
        let mut cover = std::collections::HashMap::new();
        seen.draw(&mut self.sheet(pixels), light, |at, c| {
            cover.insert(at, c);
        });
        masks.hidden += masks
            .now
            .iter()
            .map(|(at, a)| a * cover.get(at).unwrap_or(&0.0))
            .sum::<f32>();
    }

    fn leaf_seen(&self) -> Option<LeafSeen> {
        let d = self.stage.description();
        let leaf = d.extras.leaf?;
        let (eye_then, lure_then) = (
            self.stage.eye(leaf.at_s),
            self.stage.moves.at(leaf.at_s).place(),
        );
        let on_way = if eye_then.in_air() {
            eye_then.entry(lure_then, &Through::FLAT)
        } else {
            eye_then.place + (lure_then - eye_then.place) * 0.5
        };
        let since = (self.t - leaf.at_s) * 1e3;
        let tow = d.swim.speed_m_s * since;
        let past = leaf.past_m_s * since;
        // Seen along the pull, a leaf that passes along the pull would not pass at all.
        let moved = match d.camera.view {
            Viewpoint::Above | Viewpoint::Side => Vec3::new(tow - past, 0.0, 0.0),
            Viewpoint::Behind => Vec3::new(tow, self.stage.hand * past, 0.0),
            Viewpoint::Ahead => Vec3::new(0.0, self.stage.hand * past, 0.0),
        };
        let middle = on_way + moved;
        let half = leaf.size_mm / 2.0;
        let (tip, side) = if self.eye.in_air() {
            (
                Vec3::new(half, 0.35 * half * self.stage.hand, 0.0),
                Vec3::new(-0.24 * half, 0.68 * half * self.stage.hand, 0.0),
            )
        } else {
            (
                self.eye.right * half + self.eye.down * (0.3 * half),
                self.eye.down * (0.68 * half),
            )
        };
        let at = self.eye.sees_straight(middle)?.px;
        let off = |v: Vec3| {
            self.eye
                .sees_straight(middle + v)
                .map(|s| [s.px[0] - at[0], s.px[1] - at[1]])
        };
        Some(LeafSeen {
            middle: at,
            tip: off(tip)?,
            side: off(side)?,
        })
    }
}

fn mirrored(mut shape: Mesh) -> Mesh {
    shape
        .points
        .iter_mut()
        .chain(&mut shape.normals)
        .for_each(|v| v.y = -v.y);
    shape
}
