//! What colours the lure has and what colours the water round it: learned histograms, and from them
//! how much each sample speaks for the lure.

use super::window::Window;

/// Bins along brightness and along each colour difference.
const LUMA_BINS: usize = 24;
const CHROMA_BINS: usize = 16;
const BINS: usize = LUMA_BINS * CHROMA_BINS * CHROMA_BINS;
/// No single sample may speak louder than this for or against the lure, by its colour, its look or what was foretold
/// (natural log of the likelihood ratio): a colour never met before is no proof of anything.
pub const LOUDEST: f32 = 2.5;

/// Share of each histogram granted to a colour never met. Far more water has been seen than lure, so a
/// new colour is rather the lure's.
const LURE_FLOOR: f32 = 6e-4;
const WATER_FLOOR: f32 = 2e-4;

/// How brightness and colour differences fall into bins: the range met at the start, with a margin.
#[derive(Clone)]
struct Axes {
    start: [f32; 3],
    per_bin: [f32; 3],
}

impl Axes {
    fn of(window: &Window) -> Axes {
        let mut start = [0.0; 3];
        let mut per_bin = [1.0; 3];
        let planes = [&window.luma, &window.cb, &window.cr];
        for (k, plane) in planes.iter().enumerate() {
            let mut sorted: Vec<u8> = plane.to_vec();
            sorted.sort_unstable();
            let low = sorted[sorted.len() / 200] as f32;
            let high = sorted[sorted.len() - 1 - sorted.len() / 200] as f32;
            let bins = if k == 0 { LUMA_BINS } else { CHROMA_BINS } as f32;
            let margin = if k == 0 { 0.15 } else { 0.3 } * (high - low) + 2.0;
            start[k] = low - margin;
            per_bin[k] = ((high - low + 2.0 * margin) / bins).max(if k == 0 { 3.0 } else { 1.5 });
        }
        Axes { start, per_bin }
    }

    /// The bin of every brightness, made `scale` times as bright, and of every colour difference: that of a sample is
    /// the sum over its three.
    fn bins(&self, scale: f32) -> Bins {
        let table = |k: usize, scale: f32, bins: usize, stride: usize| {
            std::array::from_fn(|byte| {
                let at = (byte as f32 * scale - self.start[k]) / self.per_bin[k];
                (at as i32).clamp(0, bins as i32 - 1) as usize * stride
            })
        };
        Bins([
            table(0, scale, LUMA_BINS, CHROMA_BINS * CHROMA_BINS),
            table(1, 1.0, CHROMA_BINS, CHROMA_BINS),
            table(2, 1.0, CHROMA_BINS, 1),
        ])
    }
}

/// Bins by byte of each plane.
struct Bins([[usize; 256]; 3]);

impl Bins {
    /// The bin of sample `k`.
    #[inline]
    fn of(&self, window: &Window, k: usize) -> usize {
        let [luma, cb, cr] = &self.0;
        luma[usize::from(window.luma[k])]
            + cb[usize::from(window.cb[k])]
            + cr[usize::from(window.cr[k])]
    }
}

/// The learned colours of the lure and of its surround.
#[derive(Clone)]
pub struct Colours {
    axes: Axes,
    lure: Vec<f32>,
    surround: Vec<f32>,
    /// the lure as it was at the start, kept so that a slow error cannot wash it out
    first_lure: Vec<f32>,
    ratio: Vec<f32>,
    /// log density of the surround's colours, per unit of each channel
    water: Vec<f32>,
}

/// What the colours say of one sample.
#[derive(Debug, Clone, Copy)]
pub struct Voice {
    /// Log likelihood ratio lure : surround.
    pub log_ratio: f32,
    /// Log density of the colour in the surround.
    pub log_water: f32,
    /// Brightness (made even with the first picture) and colour differences.
    pub colour: [f32; 3],
}

impl Voice {
    /// Chance that the sample is lure, both being as likely beforehand.
    pub fn chance(&self) -> f32 {
        1.0 / (1.0 + (-self.log_ratio).exp())
    }
}

impl Colours {
    /// Learns from a window and, per sample, how much of it is lure (0–1).
    pub fn learn(window: &Window, lure_share: &[f32], gain: f32) -> Colours {
        let axes = Axes::of(window);
        let (lure, surround) = histograms(&axes, window, lure_share, gain);
        let mut colours = Colours {
            axes,
            first_lure: lure.clone(),
            lure,
            surround,
            ratio: Vec::new(),
            water: Vec::new(),
        };
        colours.refresh();
        colours
    }

    /// Takes in one more frame with weights `lure_rate` and `surround_rate` (0–1).
    pub fn adapt(
        &mut self,
        window: &Window,
        lure_share: &[f32],
        gain: f32,
        lure_rate: f32,
        surround_rate: f32,
    ) {
        let (lure, surround) = histograms(&self.axes, window, lure_share, gain);
        for (old, new) in self.lure.iter_mut().zip(&lure) {
            *old += lure_rate * (new - *old);
        }
        for (old, new) in self.surround.iter_mut().zip(&surround) {
            *old += surround_rate * (new - *old);
        }
        self.refresh();
    }

    /// What each sample of the window says. `gain` is how much brighter this picture is than the first.
    pub fn speak(&self, window: &Window, gain: f32) -> Vec<Voice> {
        let scale = 1.0 / gain;
        let bins = self.axes.bins(scale);
        (0..window.len())
            .map(|k| {
                let bin = bins.of(window, k);
                Voice {
                    log_ratio: self.ratio[bin],
                    log_water: self.water[bin],
                    colour: window.colour(k, scale),
                }
            })
            .collect()
    }

    fn refresh(&mut self) {
        let volume: f32 = self.axes.per_bin.iter().product();
        let says = |lure: f32, water: f32| {
            let ratio = (lure + LURE_FLOOR) / (water + WATER_FLOOR);
            let log_water = ((water + WATER_FLOOR) / volume).ln();
            (ratio.ln().clamp(-LOUDEST, LOUDEST), log_water)
        };
        // most colours are never met: what is said of them is the same for all
        let never_met = says(0.0, 0.0);
        (self.ratio, self.water) = (0..BINS)
            .map(|b| {
                let lure = 0.6 * self.lure[b] + 0.4 * self.first_lure[b];
                match (lure, self.surround[b]) {
                    (0.0, 0.0) => never_met,
                    (lure, water) => says(lure, water),
                }
            })
            .unzip();
    }
}

/// Smoothed histograms of lure and surround, each summing to one.
fn histograms(axes: &Axes, window: &Window, lure_share: &[f32], gain: f32) -> (Vec<f32>, Vec<f32>) {
    let mut lure = vec![0.0f32; BINS];
    let mut surround = vec![0.0f32; BINS];
    let bins = axes.bins(1.0 / gain);
    for (k, &share) in lure_share.iter().enumerate() {
        let bin = bins.of(window, k);
        // samples on the edge are neither: leave them out of both
        if share > 0.5 {
            lure[bin] += share;
        } else if (0.0..0.1).contains(&share) {
            surround[bin] += 1.0 - share;
        }
    }
    (normalised(smoothed(lure)), normalised(smoothed(surround)))
}

/// Each axis smoothed with (¼, ½, ¼): neighbouring colours are alike.
fn smoothed(histogram: Vec<f32>) -> Vec<f32> {
    let mut now = histogram;
    for (stride, bins) in [
        (CHROMA_BINS * CHROMA_BINS, LUMA_BINS),
        (CHROMA_BINS, CHROMA_BINS),
        (1, CHROMA_BINS),
    ] {
        let mut next = vec![0.0f32; now.len()];
        for b in 0..now.len() {
            let value = now[b];
            if value == 0.0 {
                continue;
            }
            let at = (b / stride) % bins;
            next[b] += 0.5 * value;
            let below = if at > 0 { b - stride } else { b };
            let above = if at + 1 < bins { b + stride } else { b };
            next[below] += 0.25 * value;
            next[above] += 0.25 * value;
        }
        now = next;
    }
    now
}

fn normalised(mut histogram: Vec<f32>) -> Vec<f32> {
    let sum: f32 = histogram.iter().sum();
    if sum > 0.0 {
        histogram.iter_mut().for_each(|v| *v /= sum);
    }
    histogram
}
