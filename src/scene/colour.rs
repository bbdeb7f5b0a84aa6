//! Colours as linear light, and their way to the screen's 0–255.

/// Linear red, green, blue; 1 is a white sheet in full light.
pub type Light = [f32; 3];

/// sRGB 0–255 to linear light (IEC 61966-2-1; constants from memory).
pub fn from_screen(c: [u8; 3]) -> Light {
    c.map(|v| {
        let v = f32::from(v) / 255.0;
        if v <= 0.04045 {
            v / 12.92
        } else {
            ((v + 0.055) / 1.055).powf(2.4)
        }
    })
}

/// A table from linear light (0–1 in equal steps) to the screen's 0–255, not rounded.
pub struct ScreenCurve(Vec<f32>);

impl ScreenCurve {
    const STEPS: usize = 4096;

    /// The sRGB curve with a soft shoulder, as phone cameras have.
    pub fn new() -> ScreenCurve {
        let value = |i: usize| {
            let light = 1.25 * i as f32 / Self::STEPS as f32;
            let soft = if light < 0.6 {
                light
            } else {
                0.6 + 0.4 * ((light - 0.6) / 0.65).min(1.0).powf(0.8)
            };
            let v = if soft <= 0.0031308 {
                soft * 12.92
            } else {
                1.055 * soft.powf(1.0 / 2.4) - 0.055
            };
            v * 255.0
        };
        ScreenCurve((0..=Self::STEPS).map(value).collect())
    }

    /// The screen value of a linear light.
    pub fn at(&self, light: f32) -> f32 {
        let place = (light / 1.25).clamp(0.0, 1.0) * Self::STEPS as f32;
        let i = (place as usize).min(Self::STEPS - 1);
        let part = place - i as f32;
        self.0[i] * (1.0 - part) + self.0[i + 1] * part
    }
}

/// Between `a` (0) and `b` (1).
pub fn blend(a: Light, b: Light, part: f32) -> Light {
    std::array::from_fn(|i| a[i] + (b[i] - a[i]) * part)
}

/// Channel by channel.
pub fn times(a: Light, b: Light) -> Light {
    std::array::from_fn(|i| a[i] * b[i])
}

/// 0 below `lo`, 1 above `hi`, smooth between.
pub fn step(lo: f32, hi: f32, v: f32) -> f32 {
    let u = ((v - lo) / (hi - lo)).clamp(0.0, 1.0);
    u * u * (3.0 - 2.0 * u)
}
