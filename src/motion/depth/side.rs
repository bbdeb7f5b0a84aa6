//! Depth over time in a clip from the side with the surface or an upright pole marked.
//!
//! A camera that looks level sees heights at distance Z as f·height/Z. The mark and the lure need not be
//! equally far: the part of the depth on the far side of the camera's own level from each is scaled by its own
//! distance.

use super::super::analyse::Swum;
use super::super::doubt::SHAKE;
use super::super::robust::{median, quantile};
use crate::camera::{CLICK_PX, DISTANCE_DOUBT, GIVEN_DISTANCE_DOUBT, Ruler, SurfaceMark};

/// How far a surface with ripples may lie from where it was marked, px (half-width of a 95 % interval).
const SURFACE_PX: f64 = 2.0;
/// A camera tilted by up to 11 degrees shortens depths by up to 2 % (half-width of a 95 % interval).
const LEVEL_DOUBT: f64 = 0.02;

/// Depth over time, with what is open about all of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Depths {
    /// Time stamps, s.
    pub t_s: Vec<f64>,
    /// Depth of the middle of the body below the surface, mm.
    pub mm: Vec<f64>,
    /// Way along the surface in the direction of the pull, mm.
    pub along_mm: Vec<f64>,
    /// Half-width of the 95 % interval of the depth's scale, as a part.
    pub scale_doubt: f64,
    /// Half-width of the 95 % interval of the depth's zero, mm.
    pub zero_doubt_mm: f64,
    /// Half-width of the 95 % interval of the surface's slant, degrees.
    pub slant_doubt_deg: f64,
}

impl Depths {
    /// How far a leaning mark may part the depths at sample `i` and at `along_mm`, mm (half-width of a 95 %
    /// interval).
    pub fn lean_mm(&self, i: usize, along_mm: f64) -> f64 {
        let there = self.along_mm.get(i).copied().unwrap_or(along_mm);
        (there - along_mm).abs() * self.slant_doubt_deg.to_radians()
    }
}

/// The depth in every frame; the reason where it cannot be told.
pub fn depths(swum: &Swum, mark: SurfaceMark, mm_per_px: Option<f64>) -> Result<Depths, String> {
    stays_put(swum)?;
    let picture = [swum.track.picture_width_px, swum.track.picture_height_px];
    let mark = mark.in_picture(picture[0]);
    let marks = &swum.setup.marks;
    let doubt = marks
        .farther
        .map_or(DISTANCE_DOUBT, |_| GIVEN_DISTANCE_DOUBT);
    let surface = Surface::of(mark, picture)?;
    let series = &swum.series;
    let places: Vec<[f64; 2]> = (0..series.len())
        .map(|i| {
            let (place, shift) = (series.place_px[i], series.camera_px[i]);
            surface.place([place[0] + shift[0], place[1] + shift[1]])
        })
        .collect();
    // Most of the clip it runs level: there lies this quantile.
    let level = quantile(places.iter().map(|p| p[1]), 0.75).unwrap_or(0.0);
    let farther = marks.farther.unwrap_or(1.0);
    // Scale where the mark is and where the lure is, and what is open about the lure's distance.
    let (at_mark, at_lure, scale_doubt, distance_mm) = match mark {
        SurfaceMark::Pole(pole) => {
            let scale = pole.scale();
            let lure = scale.mm_per_px * farther;
            let open = (level - surface.camera_level) * lure * doubt;
            (scale.mm_per_px, lure, scale.doubt, open)
        }
        SurfaceMark::Line(_) | SurfaceMark::Level(_) => {
            let lure = mm_per_px
                .ok_or("no scale: give --length, a --ruler or a --pole of known length")?;
            let mark = lure / farther;
            let open = surface.camera_level * mark * doubt;
            let ends = swum.setup.scale_doubt(swum.track.doubts.ends);
            (mark, lure, ends.hypot(LEVEL_DOUBT), open)
        }
    };
    let sign = if swum.pull.frame.pull_deg.to_radians().sin() < 0.0 {
        -1.0
    } else {
        1.0
    };
    Ok(Depths {
        t_s: series.t_s.clone(),
        mm: places
            .iter()
            .map(|p| surface.camera_level * at_mark + (p[1] - surface.camera_level) * at_lure)
            .collect(),
        along_mm: places.iter().map(|p| sign * p[0] * at_lure).collect(),
        scale_doubt,
        zero_doubt_mm: (surface.click_px * at_mark)
            .hypot(surface.leaning_px(&places, level) * at_lure)
            .hypot(distance_mm),
        slant_doubt_deg: surface.slant_doubt_deg,
    })
}

/// A mark stays where it was marked only in front of a camera that stands still.
fn stays_put(swum: &Swum) -> Result<(), String> {
    let long = swum
        .track
        .picture_width_px
        .max(swum.track.picture_height_px);
    let far = swum
        .series
        .camera_px
        .iter()
        .any(|p| p[0].hypot(p[1]) > SHAKE * long);
    if far {
        return Err("the camera moved, so the marked surface did not stay where it was marked; prop the camera up".into());
    }
    Ok(())
}

/// The surface in the picture: along it, and down from it.
struct Surface {
    from: [f64; 2],
    along: [f64; 2],
    down: [f64; 2],
    /// How far below the surface the camera's own level shows, px.
    camera_level: f64,
    click_px: f64,
    /// Where along it the mark has its middle, px.
    middle: f64,
    slant_doubt_deg: f64,
}

impl Surface {
    fn of(mark: SurfaceMark, picture: [f64; 2]) -> Result<Surface, String> {
        let mut way = 1.0;
        let (from, along, click_px, long_px) = match mark.in_picture(picture[0]) {
            SurfaceMark::Level(y) => ([0.0, y], [1.0, 0.0], SURFACE_PX, picture[0]),
            SurfaceMark::Line([a, b]) => {
                let long = (b[0] - a[0]).hypot(b[1] - a[1]);
                way = if b[0] < a[0] { -1.0 } else { 1.0 };
                let along = [way * (b[0] - a[0]) / long, way * (b[1] - a[1]) / long];
                (a, along, SURFACE_PX, long)
            }
            SurfaceMark::Pole(pole) => (pole.from, across(&pole), CLICK_PX, pole.length_px()),
        };
        let down = [-along[1], along[0]];
        if down[1].is_nan() || down[1] < 0.5 {
            return Err("the marked surface does not lie level in the picture, or the pole does not stand upright".into());
        }
        let centre = [picture[0] / 2.0 - from[0], picture[1] / 2.0 - from[1]];
        Ok(Surface {
            from,
            along,
            down,
            camera_level: centre[0] * down[0] + centre[1] * down[1],
            click_px,
            middle: match mark {
                SurfaceMark::Pole(_) => 0.0,
                SurfaceMark::Level(_) | SurfaceMark::Line(_) => 0.5 * way * long_px,
            },
            slant_doubt_deg: (click_px * std::f64::consts::SQRT_2 / long_px)
                .atan()
                .to_degrees(),
        })
    }

    /// How far off the surface may be above the stretch where the lure runs level (deeper than `level`, px,
    /// or near it) since the mark may lean, px (half-width of a 95 % interval).
    fn leaning_px(&self, places: &[[f64; 2]], level: f64) -> f64 {
        let deep = places.iter().filter(|p| p[1] > 0.9 * level);
        let away = median(deep.map(|p| p[0] - self.middle)).unwrap_or(0.0);
        away.abs() * self.slant_doubt_deg.to_radians()
    }

    /// Way along the surface and below it, px.
    fn place(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let d = [x - self.from[0], y - self.from[1]];
        [
            d[0] * self.along[0] + d[1] * self.along[1],
            d[0] * self.down[0] + d[1] * self.down[1],
        ]
    }
}

/// Along the surface, to the right, for a pole that stands upright in it.
fn across(pole: &Ruler) -> [f64; 2] {
    let px = pole.length_px();
    [
        (pole.to[1] - pole.from[1]) / px,
        -(pole.to[0] - pole.from[0]) / px,
    ]
}
