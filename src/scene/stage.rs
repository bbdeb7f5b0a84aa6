//! The scene built and ready: draws any frame, with its truth.

use rayon::prelude::*;

use super::backdrop::{Backdrop, Medium, Patches, Sheen};
use super::bottom::bottom;
use super::cameraman::CameraMan;
use super::chance::Chance;
use super::colour::{Light, ScreenCurve};
use super::description::{Quality, SceneDescription};
use super::extras::Specks;
use super::eye::{Eye, Seen, Through};
use super::lightnet::LightNet;
use super::mesh::Mesh;
use super::moves::Moves;
use super::players::Cast;
use super::stamps::stamps;
use super::surface::Ripples;
use super::tile::Tile;
use super::truth::{ClipTruth, FrameTruth};
use super::vector::Vec3;
use super::witness::Masks;
use crate::Result;

/// How finely things are drawn.
#[derive(Debug, Clone, Copy)]
pub(super) struct Fineness {
    /// Moments averaged over an exposure.
    pub moments: usize,
    /// Samples per pixel in each direction on the lure.
    pub samples: usize,
    bottom_side: usize,
    bottom_mm: f64,
    net_side: usize,
}

impl Fineness {
    fn of(quality: Quality) -> Fineness {
        let (moments, samples, bottom_side, bottom_mm, net_side) = match quality {
            Quality::Quick => (2, 3, 256, 1900.0, 64),
            Quality::Normal => (4, 3, 1024, 1900.0, 128),
            Quality::Fine => (8, 4, 2048, 3800.0, 256),
        };
        Fineness {
            moments,
            samples,
            bottom_side,
            bottom_mm,
            net_side,
        }
    }
}

/// A frame: the picture, what of it is the lure, and the truth.
#[derive(Debug, Clone)]
pub struct Frame {
    /// Number of the frame, from 0.
    pub index: usize,
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Red, green, blue, row by row.
    pub rgb: Vec<u8>,
    /// Cover of each pixel by body, lip and hooks, 0–1 (averaged over the exposure; the leaf left out).
    pub cover: Vec<f32>,
    /// Cover of each pixel by the body alone.
    pub body_cover: Vec<f32>,
    /// What is really there.
    pub truth: FrameTruth,
}

/// A scene ready to be drawn. Frames can be asked for in any order and come out the same.
pub struct Stage {
    description: SceneDescription,
    pub(super) fineness: Fineness,
    pub(super) moves: Moves,
    cameraman: CameraMan,
    ripples: Ripples,
    patches: Patches,
    net: LightNet,
    pub(super) medium: Medium,
    bottom: Tile<Light>,
    pub(super) body: Mesh,
    pub(super) specks: Specks,
    stamps: Vec<f64>,
    curve: ScreenCurve,
    pub(super) hand: f64,
}

impl Stage {
    /// Builds the scene.
    ///
    /// # Errors
    /// [`crate::Error::Setting`] for a value that cannot be drawn.
    pub fn new(description: &SceneDescription) -> Result<Stage> {
        description.check()?;
        let d = description.clone();
        let fineness = Fineness::of(d.clip.quality);
        let hand = if d.mirrored { -1.0 } else { 1.0 };
        Ok(Stage {
            fineness,
            moves: Moves::new(&d),
            cameraman: CameraMan::new(&d)?,
            ripples: Ripples::new(d.seed, d.water.ripples, hand),
            patches: Patches::new(
                d.seed,
                d.water.ripples,
                d.clip.height as f64 / d.clip.width as f64,
            ),
            net: LightNet::new(d.seed, fineness.net_side),
            medium: Medium::new(&d.water),
            bottom: bottom(&d.water, d.seed, fineness.bottom_side, fineness.bottom_mm),
            body: Mesh::body(&d.lure),
            specks: Specks::new(d.seed, d.water.specks, d.water.bottom_mm, hand),
            stamps: stamps(&d.clip, d.seed),
            curve: ScreenCurve::new(),
            hand,
            description: d,
        })
    }

    /// What the scene is made of.
    pub fn description(&self) -> &SceneDescription {
        &self.description
    }

    /// Time stamp of each frame: the middle of its exposure, s of real time.
    pub fn stamps(&self) -> &[f64] {
        &self.stamps
    }

    /// How the lure moves.
    pub fn moves(&self) -> &Moves {
        &self.moves
    }

    /// The camera at a time, s.
    pub fn eye(&self, t: f64) -> Eye {
        self.cameraman.eye(t)
    }

    /// Every frame in turn.
    pub fn frames(&self) -> impl Iterator<Item = Frame> + '_ {
        (0..self.stamps.len()).map(|i| self.frame(i))
    }

    /// The truth of the whole clip without drawing it: all but what needs pixels (mask, occlusion).
    pub fn truth(&self) -> ClipTruth {
        self.clip_truth(self.stamps.iter().map(|&t| self.frame_truth(t)).collect())
    }

    /// Draws one frame.
    ///
    /// # Panics
    /// When there is no such frame.
    pub fn frame(&self, index: usize) -> Frame {
        let t = self.stamps[index];
        let (width, height) = (self.description.clip.width, self.description.clip.height);
        let net = self.net.at(t);
        let backdrop = self.backdrop(&net);
        let mut sum = vec![[0.0f32; 3]; width * height];
        let mut masks = Masks::new(width * height);
        for moment in 0..self.fineness.moments {
            let part = (moment as f64 + 0.5) / self.fineness.moments as f64 - 0.5;
            let picture = self.moment(
                t + part * self.description.clip.exposure_s,
                &backdrop,
                &mut masks,
            );
            for (s, p) in sum.iter_mut().zip(&picture) {
                *s = [s[0] + p[0], s[1] + p[1], s[2] + p[2]];
            }
        }
        let share = 1.0 / self.fineness.moments as f32;
        masks.scale(share);
        let truth = self.with_mask(self.frame_truth(t), &masks);
        let rgb = self.developed(&sum, share * self.gain(t), index);
        Frame {
            index,
            width,
            height,
            rgb,
            cover: masks.all,
            body_cover: masks.body,
            truth,
        }
    }

    fn backdrop<'a>(&'a self, net: &'a Tile<f32>) -> Backdrop<'a> {
        let w = &self.description.water;
        Backdrop {
            medium: &self.medium,
            bottom: &self.bottom,
            net,
            net_strength: w.light_net as f32,
            bottom_mm: w.bottom_mm,
            daylight: self.medium.daylight(w.bottom_mm as f32),
            hand: self.hand,
            glare: (w.glare as f32, &self.patches),
        }
    }

    /// The picture at one moment, linear light.
    fn moment(&self, t: f64, backdrop: &Backdrop, masks: &mut Masks) -> Vec<Light> {
        let (width, height) = (self.description.clip.width, self.description.clip.height);
        let eye = self.eye(t);
        let through = self.through(t);
        let (mut pixels, sheen) = backdrop.draw(&eye, &through, width, height);
        let cast = Cast {
            stage: self,
            eye,
            through,
            backdrop,
            t,
            width,
            height,
        };
        cast.under_water(&mut pixels, masks);
        lay_sheen(&mut pixels, &sheen);
        cast.leaf(&mut pixels, masks);
        pixels
    }

    /// The rippled surface at a time.
    pub(super) fn through(&self, t: f64) -> Through<'_> {
        Through {
            ripples: Some((&self.ripples, t)),
        }
    }

    fn gain(&self, t: f64) -> f32 {
        let steps = self
            .description
            .clip
            .exposure_steps
            .iter()
            .filter(|s| s.at_s <= t);
        steps
            .max_by(|a, b| a.at_s.total_cmp(&b.at_s))
            .map_or(1.0, |s| s.gain as f32)
    }

    /// From linear light to the screen, with the lens's fall-off and the sensor's noise.
    fn developed(&self, sum: &[Light], gain: f32, index: usize) -> Vec<u8> {
        let (width, height) = (self.description.clip.width, self.description.clip.height);
        let noise = self.description.clip.noise as f32;
        let far2 = (width * width + height * height) as f32 / 4.0;
        let mut rgb = vec![0u8; width * height * 3];
        rgb.par_chunks_mut(width * 3)
            .enumerate()
            .for_each(|(row, line)| {
                let mut chance = Chance::new(
                    self.description.seed ^ ((index as u64) << 32) ^ row as u64,
                    "noise",
                );
                let dy = row as f32 + 0.5 - height as f32 / 2.0;
                for column in 0..width {
                    let dx = column as f32 + 0.5 - width as f32 / 2.0;
                    let fall = gain * (1.0 - 0.14 * (dx * dx + dy * dy) / far2);
                    let light = sum[row * width + column];
                    let grain = grains(chance.bits());
                    for c in 0..3 {
                        let v = self.curve.at(light[c] * fall) + noise * grain[c];
                        line[3 * column + c] = (v + 0.5).clamp(0.0, 255.0) as u8;
                    }
                }
            });
        rgb
    }

    /// How far the hooks are swung to own right, rad: they lag behind the yaw.
    pub(super) fn swing(&self, t: f64) -> f64 {
        -0.8 * self.moves.at(t - 0.03).yaw.to_radians()
    }
}

/// Lays the sky's reflections over what is under water.
fn lay_sheen(pixels: &mut [Light], sheen: &[Sheen]) {
    const SKY: Light = [0.95, 1.0, 1.05];
    for (p, s) in pixels.iter_mut().zip(sheen) {
        let lit = |i: usize| p[i] * s.keep + SKY[i] * s.sky;
        *p = [lit(0), lit(1), lit(2)];
    }
}

/// Three numbers, nearly normal with mean 0 and standard deviation 1, from 64 random bits: each the sum
/// of four even ones of five bits.
fn grains(bits: u64) -> [f32; 3] {
    std::array::from_fn(|c| {
        let part = bits >> (20 * c);
        let sum: u64 = (0..4).map(|k| (part >> (5 * k)) & 31).sum();
        // Each even number 0–31 has mean 15.5 and variance (32² − 1)/12 = 85.25.
        (sum as f32 - 62.0) / 341f32.sqrt()
    })
}

/// A point's look through the present surface.
pub(super) fn look<'a>(
    eye: &'a Eye,
    through: &'a Through<'a>,
) -> impl Fn(Vec3) -> Option<Seen> + 'a {
    move |p| eye.sees(p, through)
}
