//! What lens, yardstick and water make of a track before it is measured.

use std::path::Path;

use super::SwimOptions;
use crate::camera::{
    Marks, Ruler, Setup, Showing, Straightener, SurfaceMark, Yardstick, board_in_clip, check_point,
};
use crate::media::{Clip, ClipOptions};
use crate::tracking::{self, Track};
use crate::water::refraction::field_of_view_in_water_deg;
use crate::{Error, Result, Warning, motion};

/// A ruler this far off level in a picture that looks along the water is shortened by up to 5 %, degrees.
const MOST_SLANT_DEG: f64 = 20.0;
/// A lens file is trusted this much farther out than the board was seen.
const BEYOND_THE_BOARD: f64 = 1.05;

/// The set-up of a clip, its marks checked and its lens fitted.
pub(super) struct Sight {
    setup: Setup,
    lens: Option<Straightener>,
    /// What the user should know.
    pub(super) warnings: Vec<Warning>,
}

impl Sight {
    /// Checks marks and lens against the clip before the long run.
    pub(super) fn new(path: &Path, clip: &Clip, options: &SwimOptions) -> Result<Sight> {
        let info = clip.info();
        let mut setup = options.setup.clone();
        check_marks(&setup, info.width, info.height)?;
        let surface = setup.marks.surface;
        setup.marks.surface = surface.map(|mark| mark.in_picture(f64::from(info.width)));
        if let Some(at) = options.optics.board {
            let clip_options = ClipOptions {
                real_fps: options.real_fps,
            };
            let seen = board_in_clip(path, &clip_options, &at.board, at.t_s)?;
            setup.marks.yardstick = Some(Yardstick::Board(seen));
        }
        let mut sight = Sight {
            lens: None,
            setup,
            warnings: Vec::new(),
        };
        if let Some((file, lens)) = &options.optics.lens {
            let showing = Showing {
                width: info.width,
                height: info.height,
                turned_deg: info.rotation_deg,
                mirrored: info.mirrored,
                under_water: sight.setup.marks.under_water,
            };
            let fitted = lens.fitted(&format!("--lens {}", file.display()), showing)?;
            if fitted.scaled_by != 1.0 {
                sight.warn(
                    "lens_scaled",
                    format!(
                        "the lens file is for pictures of another size, and was scaled by {:.3}: right only where the phone crops neither",
                        fitted.scaled_by
                    ),
                );
            }
            let name = file.file_name().unwrap_or(file.as_os_str());
            sight.setup.marks.lens = Some(name.to_string_lossy().into_owned());
            let index = sight.setup.marks.water_index();
            sight.lens = Some(Straightener::new(fitted, Some(index)));
        }
        Ok(sight)
    }

    /// The track without the lens (where there is one), and the set-up that goes with it.
    pub(super) fn settle(&mut self, track: &Track) -> (Option<Track>, Setup) {
        let straight = self
            .lens
            .take()
            .map(|lens| self.take_lens_out(track, &lens));
        let measured = straight.as_ref().unwrap_or(track);
        if straight.is_none() && self.setup.marks.under_water {
            let index = self.setup.marks.water_index();
            let in_air = self.setup.fov_deg;
            self.setup.fov_deg = in_air.map(|fov| field_of_view_in_water_deg(fov, index));
        }
        self.setup.told_tilt_deg = self.setup.tilt_deg;
        self.setup = motion::without_surface(&self.setup);
        if let Some((scale, warnings)) = motion::scale(measured, &self.setup) {
            self.setup.scale = Some(scale);
            self.warnings.extend(warnings);
        } else if let Some(yardstick) = &self.setup.marks.yardstick {
            let text = format!(
                "the {} told no scale: it is seen from its edge, or the lure was seen too briefly",
                yardstick.word()
            );
            self.warn("no_scale", text);
        }
        (straight, self.setup.clone())
    }

    fn take_lens_out(&mut self, track: &Track, lens: &Straightener) -> Track {
        let far = tracking::reach(track, lens);
        if far > BEYOND_THE_BOARD * lens.fitted().lens.seen_to {
            self.warn(
                "lens_reach",
                "the lure swam nearer the picture's edge than the board was seen when the lens file was made: calibrate with the board in the corners too".into(),
            );
        }
        let setup = &mut self.setup;
        setup.pull_deg = setup.pull_deg.map(|deg| straight_pull(deg, track, lens));
        setup.fov_deg = Some(lens.fov_deg());
        setup.focal_sd = Some(lens.focal_sd().max(0.002));
        let marks = &mut setup.marks;
        let whole = straight_marks(marks, lens);
        match whole {
            Some(straight) => *marks = straight,
            None => self.warn(
                "lens_marks",
                "the lens file does not reach the marks near the picture's edge: they were used as they look".into(),
            ),
        }
        tracking::straighten(track, lens)
    }

    fn warn(&mut self, code: &'static str, text: String) {
        self.warnings.push(Warning::Other { code, text });
    }
}

/// A pull direction at the lure's usual place without the lens.
fn straight_pull(pull_deg: f64, track: &Track, lens: &Straightener) -> f64 {
    let mut seen: Vec<[f64; 2]> = track
        .frames
        .iter()
        .filter(|f| f.is_seen())
        .map(|f| [f.x_px, f.y_px])
        .collect();
    let middle = seen.len() / 2;
    let mut usual = |k: usize| {
        seen.sort_by(|a, b| a[k].total_cmp(&b[k]));
        seen.get(middle).map(|p| p[k])
    };
    let slope = usual(0)
        .zip(usual(1))
        .and_then(|(x, y)| lens.jacobian([x, y]));
    let Some([[a, b], [c, d]]) = slope else {
        return pull_deg;
    };
    let (sin, cos) = pull_deg.to_radians().sin_cos();
    let (dx, dy) = (a * sin - b * cos, c * sin - d * cos);
    dx.atan2(-dy).to_degrees()
}

/// The marks without the lens; `None` where one lies outside what the lens file can tell.
fn straight_marks(marks: &Marks, lens: &Straightener) -> Option<Marks> {
    let point = |p: [f64; 2]| lens.point(p);
    Some(Marks {
        yardstick: match &marks.yardstick {
            Some(yardstick) => Some(yardstick.mapped(point)?),
            None => None,
        },
        surface: match marks.surface {
            Some(SurfaceMark::Line([a, b])) => Some(SurfaceMark::Line([point(a)?, point(b)?])),
            Some(SurfaceMark::Level(y)) => Some(SurfaceMark::Level(y)),
            Some(SurfaceMark::Pole(pole)) => Some(SurfaceMark::Pole(Ruler {
                from: point(pole.from)?,
                to: point(pole.to)?,
                ..pole
            })),
            None => None,
        },
        ..marks.clone()
    })
}

/// Refuses marks outside the picture.
fn check_marks(setup: &Setup, width: u32, height: u32) -> Result<()> {
    let marks = &setup.marks;
    if let Some(Yardstick::Ruler(ruler)) = &marks.yardstick {
        ruler.check_inside("--ruler", width, height)?;
        if setup.looks_along() && ruler.off_level_deg() > MOST_SLANT_DEG {
            return Err(Error::setting(
                "--ruler",
                "it lies along the line of sight, which shortens it in a picture that looks along the water",
                "lay it across the line of sight, so that it lies level in the picture",
            ));
        }
    }
    match &marks.surface {
        Some(SurfaceMark::Pole(pole)) => pole.check_inside("--pole", width, height),
        Some(SurfaceMark::Line([a, b])) => {
            check_point("--surface", *a, width, height)?;
            check_point("--surface", *b, width, height)?;
            if (b[0] - a[0]).abs() < 10.0 {
                return Err(Error::setting(
                    "--surface",
                    "its two points lie too close together to show how it slants",
                    "mark it at both sides of the picture, as 0,80,1280,84",
                ));
            }
            Ok(())
        }
        Some(SurfaceMark::Level(y)) => check_point("--surface", [0.0, *y], width, height),
        None => Ok(()),
    }
}
