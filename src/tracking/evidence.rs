//! What the samples of a window say of where the lure lies.
//!
//! The log likelihood of the picture given a pose, above that of water alone, is
//! Σ ln(1 + S·(R − 1)), with S the silhouette's share at the sample and R the likelihood ratio
//! lure : surround of its colour. Only the samples that the silhouette covers are visited.

use super::colours::{LOUDEST, Voice};
use super::lay::Lay;
use super::pose::Pose;
use super::shape::{Shape, Spot};
use super::window::Window;

/// Say of the look while the lure is looked for, and at last when its axis is read: colour in video is
/// coarse and lags, so it finds the lure more surely and the look places it more truly.
const TRUST_TO_FIND: f32 = 0.5;
const TRUST_TO_PLACE: f32 = 0.75;

/// A colour must speak at least so clearly for the lure (natural log) to draw a net.
const DRAWING: f32 = 0.5;

/// The samples of a window with what they say.
#[derive(Clone, Copy)]
pub struct Evidence<'a> {
    window: &'a Window,
    voices: &'a [Voice],
    /// every how many columns and rows a sample is asked
    stride: usize,
    /// how much of the say goes to the look of each spot once it is learned, 0–1
    trusting: f32,
}

/// A sample under the silhouette.
pub struct Covered {
    /// Body coordinates.
    pub body: [f32; 2],
    /// Share of lure and its slopes along u and v.
    pub share: [f32; 3],
    /// Likelihood ratio less one, and its slopes along u and v.
    pub excess: [f32; 3],
}

impl Covered {
    /// Likelihood of the sample's colour under the pose, against water alone.
    pub fn odds(&self) -> f32 {
        1.0 + self.share[0] * self.excess[0]
    }
}

impl<'a> Evidence<'a> {
    /// Listens to every `stride`-th column and row of a window.
    pub fn new(window: &'a Window, voices: &'a [Voice], stride: usize) -> Evidence<'a> {
        Evidence {
            window,
            voices,
            stride,
            trusting: TRUST_TO_FIND,
        }
    }

    /// The same samples, listened to for the exact place.
    pub fn for_placing(self) -> Evidence<'a> {
        Evidence {
            trusting: TRUST_TO_PLACE,
            ..self
        }
    }

    /// Log likelihood of a pose above water alone.
    pub fn agreement(&self, shape: &Shape, pose: &Pose) -> f64 {
        let mut sum = LogSum::default();
        self.under(shape, pose, |sample| sum.add(sample.odds()));
        sum.total()
    }

    /// Mean chance of lure over the silhouette, 0–1: how much of it looks like the lure.
    pub fn likeness(&self, shape: &Shape, pose: &Pose) -> f64 {
        let (mut sum, mut weight) = (0.0, 1e-9);
        self.under(shape, pose, |sample| {
            let (share, ratio) = (
                f64::from(sample.share[0]),
                f64::from(sample.excess[0]) + 1.0,
            );
            sum += share * ratio / (1.0 + ratio);
            weight += share;
        });
        sum / weight
    }

    /// Slides a round net of standard deviation `sigma_px` from `start` to where the lure's colours
    /// gather (mean shift).
    pub fn drawn_to(&self, start: [f64; 2], sigma_px: f64) -> [f64; 2] {
        let mut place = start;
        let narrow = 0.5 / (sigma_px * sigma_px);
        let drawing: Vec<([f64; 2], f64)> = (0..self.window.rows)
            .step_by(self.stride)
            .flat_map(|row| {
                (0..self.window.columns)
                    .step_by(self.stride)
                    .map(move |c| (c, row))
            })
            .filter_map(|(column, row)| {
                let says = self.voices[row * self.window.columns + column].log_ratio;
                (says > DRAWING).then(|| (self.window.point(column, row), f64::from(says)))
            })
            .collect();
        for _ in 0..3 {
            let (mut weight, mut sum) = (1e-6, [0.0; 2]);
            for ([x, y], says) in &drawing {
                let (dx, dy) = (x - place[0], y - place[1]);
                let w = says * (-narrow * (dx * dx + dy * dy)).exp();
                weight += w;
                sum[0] += w * dx;
                sum[1] += w * dy;
            }
            place = [place[0] + sum[0] / weight, place[1] + sum[1] / weight];
        }
        place
    }

    /// Visits the samples that the silhouette covers under a pose.
    #[inline]
    pub fn under(&self, shape: &Shape, pose: &Pose, mut visit: impl FnMut(&Covered)) {
        let say = self.trusting * shape.look_weight();
        let lay = Lay::of(self.window, pose);
        for row in (0..self.window.rows).step_by(self.stride) {
            let Some((first, last)) = lay.columns_within(row, shape.extent()) else {
                continue;
            };
            for column in (first.next_multiple_of(self.stride)..=last).step_by(self.stride) {
                let [u, v] = lay.at(column, row);
                let body = [u as f32, v as f32];
                let voice = &self.voices[row * self.window.columns + column];
                let spot = shape.meets(body[0], body[1], &voice.colour);
                if spot.share == [0.0; 3] {
                    continue;
                }
                visit(&Covered {
                    body,
                    share: spot.share,
                    excess: excess(voice, &spot, say),
                });
            }
        }
    }
}

/// Likelihood ratio less one where a sample meets this spot of the lure, with its slopes along
/// u and v: the lure's colours as a whole, and with weight `say` the look of this very spot.
#[inline]
fn excess(voice: &Voice, spot: &Spot, say: f32) -> [f32; 3] {
    let Some([log_look, du, dv]) = spot.log_look else {
        return [voice.log_ratio.exp() - 1.0, 0.0, 0.0];
    };
    let loud = log_look - voice.log_water;
    let held = loud.clamp(-LOUDEST, LOUDEST);
    let ratio = ((1.0 - say) * voice.log_ratio + say * held).exp();
    if loud.abs() >= LOUDEST {
        return [ratio - 1.0, 0.0, 0.0];
    }
    [ratio - 1.0, say * ratio * du, say * ratio * dv]
}

/// Sum of logarithms, taken of products: one logarithm for many factors.
pub struct LogSum {
    sum: f64,
    product: f64,
}

impl Default for LogSum {
    fn default() -> LogSum {
        LogSum {
            sum: 0.0,
            product: 1.0,
        }
    }
}

impl LogSum {
    /// Adds the logarithm of a factor, which is neither tiny nor huge.
    #[inline]
    pub fn add(&mut self, factor: f32) {
        self.product *= f64::from(factor);
        if !(1e-200..1e200).contains(&self.product) {
            self.sum += self.product.ln();
            self.product = 1.0;
        }
    }

    /// The sum.
    pub fn total(self) -> f64 {
        self.sum + self.product.ln()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sum_of_logarithms_neither_overflows_nor_loses() {
        let factors: Vec<f32> = (0..5000).map(|k| 0.1 + 0.005 * k as f32).collect();
        let mut sum = LogSum::default();
        factors.iter().for_each(|f| sum.add(*f));
        let plain: f64 = factors.iter().map(|f| f64::from(*f).ln()).sum();
        assert!((sum.total() - plain).abs() < 1e-8);
    }
}
