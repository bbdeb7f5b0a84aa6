//! A phone's lens in one mode: where straight lines would have gone.
//!
//! The model is OpenCV's (its calib3d documentation; after Brown 1966 and Conrady 1919, from memory):
//! with x, y = X/Z, Y/Z and r² = x² + y²,
//! x' = x(1 + k₁r² + k₂r⁴ + k₃r⁶) + 2p₁xy + p₂(r² + 2x²),
//! y' = y(1 + k₁r² + k₂r⁴ + k₃r⁶) + p₁(r² + 2y²) + 2p₂xy,
//! and the picture point is (fₓx' + cₓ, f_y y' + c_y), px, the centre of the top-left pixel at 0.5, 0.5.

use serde::{Deserialize, Serialize};

use crate::{Error, Result};

/// The figures of a lens.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct LensFigures {
    /// Focal length along x, px.
    pub fx: f64,
    /// Focal length along y, px.
    pub fy: f64,
    /// Where the lens looks, px from the left.
    pub cx: f64,
    /// Where the lens looks, px from the top.
    pub cy: f64,
    /// Radial distortion.
    pub k1: f64,
    /// Radial distortion.
    pub k2: f64,
    /// Tangential distortion.
    pub p1: f64,
    /// Tangential distortion.
    pub p2: f64,
    /// Radial distortion.
    pub k3: f64,
}

/// A calibrated lens: figures in pictures of one size, and how well they are known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Lens {
    /// Width of the pictures, px.
    pub width: u32,
    /// Height of the pictures, px.
    pub height: u32,
    /// How far the stored picture was turned clockwise to be shown: 0, 90, 180, 270.
    pub turned_deg: u16,
    /// Whether the board was under water, the phone in its case.
    pub under_water: bool,
    /// Distance between corners found and corners of the fitted board, root mean square, px.
    pub rms_px: f64,
    /// Views of the board that count.
    pub views: usize,
    /// Views left out since they fit much worse than the rest.
    pub views_left_out: usize,
    /// How far out the board was seen, as a part of the way from the middle of the picture to its corner.
    pub seen_to: f64,
    /// The figures.
    pub lens: LensFigures,
    /// Standard deviation of each figure.
    pub sd: LensFigures,
}

impl LensFigures {
    /// The ray [X/Z, Y/Z] as the lens bends it.
    fn bent(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let r2 = x * x + y * y;
        let radial = 1.0 + r2 * (self.k1 + r2 * (self.k2 + r2 * self.k3));
        [
            x * radial + 2.0 * self.p1 * x * y + self.p2 * (r2 + 2.0 * x * x),
            y * radial + self.p1 * (r2 + 2.0 * y * y) + 2.0 * self.p2 * x * y,
        ]
    }

    /// Derivative of [`LensFigures::bent`]: [[dx'/dx, dx'/dy], [dy'/dx, dy'/dy]].
    fn bending(&self, [x, y]: [f64; 2]) -> [[f64; 2]; 2] {
        let r2 = x * x + y * y;
        let radial = 1.0 + r2 * (self.k1 + r2 * (self.k2 + r2 * self.k3));
        let slope = 2.0 * (self.k1 + r2 * (2.0 * self.k2 + r2 * 3.0 * self.k3));
        let across = x * y * slope + 2.0 * (self.p1 * x + self.p2 * y);
        [
            [
                radial + x * x * slope + 2.0 * self.p1 * y + 6.0 * self.p2 * x,
                across,
            ],
            [
                across,
                radial + y * y * slope + 6.0 * self.p1 * y + 2.0 * self.p2 * x,
            ],
        ]
    }

    /// Picture point of the ray [X/Z, Y/Z], px.
    pub fn seen(&self, ray: [f64; 2]) -> [f64; 2] {
        let [x, y] = self.bent(ray);
        [self.fx * x + self.cx, self.fy * y + self.cy]
    }

    /// Ray [X/Z, Y/Z] of a picture point, by Newton's method; `None` where the model bends back on itself,
    /// as it does outside the picture that it was fitted in.
    pub fn ray(&self, [u, v]: [f64; 2]) -> Option<[f64; 2]> {
        let aim = [(u - self.cx) / self.fx, (v - self.cy) / self.fy];
        let mut ray = aim;
        for _ in 0..30 {
            let [x, y] = self.bent(ray);
            let [[a, b], [c, d]] = self.bending(ray);
            let determinant = a * d - b * c;
            // Positive all the way from the axis, or the point lies on a fold.
            if !determinant.is_finite() || determinant < 0.05 || a + d <= 0.0 {
                return None;
            }
            let off = [aim[0] - x, aim[1] - y];
            let step = [
                (d * off[0] - b * off[1]) / determinant,
                (a * off[1] - c * off[0]) / determinant,
            ];
            ray = [ray[0] + step[0], ray[1] + step[1]];
            if step[0].hypot(step[1]) < 1e-13 {
                return Some(ray);
            }
        }
        let [x, y] = self.bent(ray);
        ((aim[0] - x).hypot(aim[1] - y) < 1e-9).then_some(ray)
    }

    /// The figures in a picture turned by a quarter clockwise; `height` px is that before turning.
    ///
    /// A point x, y goes to height − y, x, and so does the tangential pair, which acts along (p₂, p₁).
    fn turned_quarter(&self, height: f64) -> LensFigures {
        LensFigures {
            fx: self.fy,
            fy: self.fx,
            cx: height - self.cy,
            cy: self.cx,
            p1: self.p2,
            p2: -self.p1,
            ..*self
        }
    }

    fn scaled(&self, by: f64) -> LensFigures {
        LensFigures {
            fx: self.fx * by,
            fy: self.fy * by,
            cx: self.cx * by,
            cy: self.cy * by,
            ..*self
        }
    }
}

/// How a clip shows its pictures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Showing {
    /// Displayed width, px.
    pub width: u32,
    /// Displayed height, px.
    pub height: u32,
    /// How far the stored picture is turned clockwise to be shown.
    pub turned_deg: u16,
    /// Whether it is shown mirrored.
    pub mirrored: bool,
    /// Whether it was filmed under water.
    pub under_water: bool,
}

/// A lens fitted to a clip.
#[derive(Debug, Clone, PartialEq)]
pub struct FittedLens {
    /// The lens as the clip shows it.
    pub lens: Lens,
    /// By how much the clip's pictures are larger than those of the lens file.
    pub scaled_by: f64,
    /// Whether it is a lens of the air behind the flat port of a case under water.
    pub behind_port: bool,
}

impl Lens {
    /// The lens for a clip: turned as the clip is, scaled where the clip has the same shape at another size.
    /// A lens of the air serves under water too, behind the flat port of a case; not the other way round.
    /// `option` is how the user named it.
    ///
    /// # Errors
    /// [`Error::Setting`] where the lens file is of another mode.
    pub fn fitted(&self, option: &str, clip: Showing) -> Result<FittedLens> {
        let other_mode = |what: String| {
            let remedy =
                "calibrate in the mode in which the clip was filmed: `truerun plan --lens`";
            Err(Error::setting(option, what, remedy))
        };
        if clip.mirrored {
            return other_mode("the clip is shown mirrored, which no lens does".into());
        }
        if self.under_water && !clip.under_water {
            return other_mode(
                "was made under water, and the clip was not filmed there (or say --under-water)"
                    .into(),
            );
        }
        let quarters =
            (i32::from(clip.turned_deg) - i32::from(self.turned_deg)).rem_euclid(360) / 90;
        let turned = (0..quarters).fold(self.clone(), |lens, _| lens.turned_quarter());
        let [across, down] = [
            f64::from(clip.width) / f64::from(turned.width),
            f64::from(clip.height) / f64::from(turned.height),
        ];
        // Sizes are whole pixels: half a pixel of rounding along the shorter side is the same shape.
        let slack = 0.75 / f64::from(clip.width.min(clip.height));
        if (across / down - 1.0).abs() > slack {
            return other_mode(format!(
                "is for pictures of {} × {}, and the clip's are {} × {}",
                turned.width, turned.height, clip.width, clip.height
            ));
        }
        Ok(FittedLens {
            lens: turned.scaled(across, clip),
            scaled_by: across,
            behind_port: clip.under_water && !self.under_water,
        })
    }

    fn turned_quarter(&self) -> Lens {
        let sd = self.sd;
        Lens {
            width: self.height,
            height: self.width,
            turned_deg: (self.turned_deg + 90) % 360,
            lens: self.lens.turned_quarter(f64::from(self.height)),
            sd: LensFigures {
                fx: sd.fy,
                fy: sd.fx,
                cx: sd.cy,
                cy: sd.cx,
                p1: sd.p2,
                p2: sd.p1,
                ..sd
            },
            ..self.clone()
        }
    }

    fn scaled(self, by: f64, clip: Showing) -> Lens {
        Lens {
            width: clip.width,
            height: clip.height,
            lens: self.lens.scaled(by),
            sd: self.sd.scaled(by),
            rms_px: self.rms_px * by,
            ..self
        }
    }

    /// How far out a picture point lies: 0 in the middle of the picture, 1 in its corners.
    pub fn reach(&self, [x, y]: [f64; 2]) -> f64 {
        let [half_w, half_h] = [f64::from(self.width) / 2.0, f64::from(self.height) / 2.0];
        (x - half_w).hypot(y - half_h) / half_w.hypot(half_h)
    }

    /// Field of view along the picture's long side without distortion, degrees.
    pub fn fov_deg(&self) -> f64 {
        let (long, focal) = if self.width >= self.height {
            (self.width, self.lens.fx)
        } else {
            (self.height, self.lens.fy)
        };
        2.0 * (f64::from(long) / 2.0 / focal).atan().to_degrees()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    /// Intrinsics and distortion published with OpenCV's chessboard photographs
    /// (samples/data/left_intrinsics.yml; 0.5 px for our pixel centres).
    fn published() -> Lens {
        Lens {
            width: 640,
            height: 480,
            turned_deg: 0,
            under_water: false,
            rms_px: 0.4,
            views: 13,
            views_left_out: 0,
            seen_to: 0.9,
            lens: LensFigures {
                fx: 535.915_733_961_632,
                fy: 535.915_733_961_632,
                cx: 342.283_154_733_083_73 + 0.5,
                cy: 235.570_829_097_881_73 + 0.5,
                k1: -0.266_372_609_096_606_8,
                k2: -0.038_588_898_922_304_65,
                p1: 0.001_783_194_704_285_296_4,
                p2: -0.000_281_221_004_411_154_7,
                k3: 0.238_391_530_808_784_86,
            },
            sd: LensFigures::default(),
        }
    }

    fn showing(width: u32, height: u32, turned_deg: u16) -> Showing {
        Showing {
            width,
            height,
            turned_deg,
            mirrored: false,
            under_water: false,
        }
    }

    #[test]
    fn undistorting_undoes_distorting() {
        let lens = published().lens;
        for x in -5..=5 {
            for y in -4..=4 {
                let ray = [f64::from(x) * 0.115, f64::from(y) * 0.105];
                let back = lens.ray(lens.seen(ray)).unwrap();
                assert_abs_diff_eq!(back[0], ray[0], epsilon = 1e-9);
                assert_abs_diff_eq!(back[1], ray[1], epsilon = 1e-9);
            }
        }
        // x(1 − 0.4 x²) never passes 0.61.
        let fold = LensFigures {
            k1: -0.4,
            k2: 0.0,
            k3: 0.0,
            p1: 0.0,
            p2: 0.0,
            ..lens
        };
        assert_eq!(fold.ray([fold.cx + 0.65 * fold.fx, fold.cy]), None);
        assert_eq!(lens.ray([f64::NAN, 0.0]), None);
    }

    #[test]
    fn a_turned_lens_bends_turned_points_alike() {
        let lens = published();
        let turned = lens.fitted("--lens", showing(480, 640, 90)).unwrap().lens;
        for [x, y] in [[20.0, 30.0], [600.0, 100.0], [320.0, 470.0]] {
            let ray = lens.lens.ray([x, y]).unwrap();
            let also = turned.lens.ray([480.0 - y, x]).unwrap();
            assert_abs_diff_eq!(also[0], -ray[1], epsilon = 1e-9);
            assert_abs_diff_eq!(also[1], ray[0], epsilon = 1e-9);
        }
        let once_round = (0..4).fold(lens.clone(), |l, _| l.turned_quarter());
        assert_abs_diff_eq!(once_round.lens.cx, lens.lens.cx, epsilon = 1e-9);
        assert_abs_diff_eq!(once_round.lens.p1, lens.lens.p1, epsilon = 1e-12);
    }

    #[test]
    fn another_size_of_the_same_shape_is_scaled() {
        let lens = published();
        let fitted = lens.fitted("--lens", showing(1280, 960, 0)).unwrap();
        assert_abs_diff_eq!(fitted.scaled_by, 2.0, epsilon = 1e-12);
        let (small, large) = (
            lens.lens.ray([40.0, 60.0]),
            fitted.lens.lens.ray([80.0, 120.0]),
        );
        assert_abs_diff_eq!(small.unwrap()[0], large.unwrap()[0], epsilon = 1e-12);
        assert_abs_diff_eq!(fitted.lens.fov_deg(), lens.fov_deg(), epsilon = 1e-9);
    }

    #[test]
    fn another_mode_is_refused() {
        let lens = published();
        for clip in [
            showing(1920, 1080, 0),
            showing(480, 640, 0),
            showing(640, 480, 90),
            Showing {
                mirrored: true,
                ..showing(640, 480, 0)
            },
        ] {
            let fault = lens
                .fitted("--lens phone.toml", clip)
                .unwrap_err()
                .to_string();
            assert!(
                fault.contains("phone.toml") && fault.contains("plan --lens"),
                "{fault}"
            );
        }
        let wet = Lens {
            under_water: true,
            ..lens.clone()
        };
        assert!(wet.fitted("--lens", showing(640, 480, 0)).is_err());
        let below = Showing {
            under_water: true,
            ..showing(640, 480, 0)
        };
        assert!(!wet.fitted("--lens", below).unwrap().behind_port);
        assert!(lens.fitted("--lens", below).unwrap().behind_port);
    }
}
