//! From the first picture to the last: surface, lure, outline.

use super::cut::{self, Paints, Silhouette};
use super::sighting::{FloatFrame, FloatTrack, Missing, Outline, WaterLine};
use super::{end, find, samples, side, surface};
use crate::Result;
use crate::media::{Clip, Frame};
use crate::tracking::StartBox;
use crate::tracking::window::Window;

/// What the user told of how to look.
#[derive(Debug, Clone, Copy, Default)]
pub struct Floating {
    /// Seen from an end, not from the side.
    pub end: bool,
    /// Where the lure is.
    pub start: Option<StartBox>,
    /// Where the phone's level lies in the picture, degrees clockwise.
    pub horizon_deg: Option<f64>,
}

/// A body fills at least this share of its convex hull; from the nose the lip stands out to both sides.
const PLUMP_SIDE: f64 = 0.90;
const PLUMP_END: f64 = 0.80;
/// Frames without the lure after which it is looked for anew.
const LOST_AFTER: usize = 5;

/// Looks at a photo.
///
/// # Errors
/// [`crate::Error::Video`] where OpenCV fails inside.
pub fn photo(frame: &Frame, how: &Floating) -> Result<FloatTrack> {
    let mut follower = Follower::new(*how);
    follower.look(frame)?;
    Ok(follower.track)
}

/// Looks at every frame of a clip; `progress` hears how many are done.
///
/// # Errors
/// As [`Clip::read`].
pub fn clip(
    clip: &mut Clip,
    how: &Floating,
    progress: &mut dyn FnMut(usize),
) -> Result<FloatTrack> {
    let mut follower = Follower::new(*how);
    let mut frame = Frame::default();
    while clip.read(&mut frame)? {
        follower.look(&frame)?;
        progress(frame.index + 1);
    }
    Ok(follower.track)
}

struct Follower {
    how: Floating,
    paints: Option<Paints>,
    last: Option<(WaterLine, [f64; 4])>,
    lost: usize,
    /// No surface was found: level is the given horizon.
    dry: bool,
    track: FloatTrack,
}

impl Follower {
    fn new(how: Floating) -> Follower {
        Follower {
            how,
            paints: None,
            last: None,
            lost: 0,
            dry: false,
            track: FloatTrack::default(),
        }
    }

    fn look(&mut self, frame: &Frame) -> Result<()> {
        use opencv::core::MatTraitConst;
        self.track.width = frame.luma.cols() as u32;
        self.track.height = frame.luma.rows() as u32;
        let Some(window) = samples::whole(frame)? else {
            self.track.missing.get_or_insert(Missing::Lure);
            return Ok(());
        };
        let seen = match self.last.filter(|_| self.lost < LOST_AFTER) {
            Some((water, bounds)) => self.again(frame, &window, &water, bounds)?,
            None => self.anew(frame, &window)?,
        };
        let (water, outline) = match seen {
            Ok((water, outline)) => {
                self.lost = 0;
                self.last = Some((water, bounds(&outline)));
                self.track.missing = None;
                (Some(water).filter(|_| !self.dry), Some(outline))
            }
            Err(why) => {
                self.lost += 1;
                if self.track.frames.iter().all(|f| f.outline.is_none()) {
                    self.track.missing = Some(why);
                }
                (None, None)
            }
        };
        self.track.frames.push(FloatFrame {
            frame: frame.index,
            t_s: frame.t_s,
            water,
            outline,
        });
        Ok(())
    }

    /// Looks without knowing anything from before.
    fn anew(
        &mut self,
        frame: &Frame,
        window: &Window,
    ) -> Result<std::result::Result<(WaterLine, Outline), Missing>> {
        let mut why = Missing::Water;
        if let Some(found) = self.by_surface(frame, window, &mut why)? {
            self.dry = false;
            return Ok(Ok(found));
        }
        if let Some(horizon) = self.how.horizon_deg.filter(|_| why == Missing::Water) {
            let line = below_the_picture(window, horizon);
            if let Ok(seed) = find::lure(window, &line, self.how.start.as_ref(), false)? {
                if let Some((paints, silhouette)) = cut::first(frame, window, &line, &seed)? {
                    if let Ok(outline) = self.outline(window, &silhouette, &line) {
                        self.paints = Some(paints);
                        self.dry = true;
                        return Ok(Ok((line, outline)));
                    }
                }
            }
        }
        Ok(Err(why))
    }

    fn by_surface(
        &mut self,
        frame: &Frame,
        window: &Window,
        why: &mut Missing,
    ) -> Result<Option<(WaterLine, Outline)>> {
        let candidates = surface::candidates(window, self.how.horizon_deg);
        let ways = [false, true];
        let tries = ways
            .iter()
            .flat_map(|strict| candidates.iter().map(|c| (c, *strict)));
        for (candidate, strict) in tries {
            let Some(rough) = surface::settle(window, candidate) else {
                continue;
            };
            let seed = match find::lure(window, &rough, self.how.start.as_ref(), strict)? {
                Ok(seed) => seed,
                Err(missing) => {
                    if *why == Missing::Water {
                        *why = missing;
                    }
                    continue;
                }
            };
            let hidden = hidden(seed.bounds_px);
            if !surface::shows_beside(window, candidate, hidden) {
                continue;
            }
            let water = surface::beside(window, candidate, &rough, hidden);
            let Some((paints, silhouette)) = cut::first(frame, window, &water, &seed)? else {
                *why = Missing::Lure;
                continue;
            };
            match self.outline(window, &silhouette, &water) {
                Ok(outline) => {
                    self.paints = Some(paints);
                    return Ok(Some((water, outline)));
                }
                Err(missing) => *why = missing,
            }
        }
        Ok(None)
    }

    /// Looks near where the lure was last.
    fn again(
        &self,
        frame: &Frame,
        window: &Window,
        last: &WaterLine,
        bounds: [f64; 4],
    ) -> Result<std::result::Result<(WaterLine, Outline), Missing>> {
        let Some(paints) = &self.paints else {
            return Ok(Err(Missing::Lure));
        };
        let water = match self.dry {
            true => Some(*last),
            false => surface::again(window, last, hidden(bounds)),
        };
        let Some(water) = water else {
            return Ok(Err(Missing::Water));
        };
        let Some(silhouette) = cut::again(frame, &water, paints, bounds)? else {
            return Ok(Err(Missing::Lure));
        };
        Ok(self
            .outline(window, &silhouette, &water)
            .map(|outline| (water, outline)))
    }

    fn outline(
        &self,
        window: &Window,
        silhouette: &Silhouette,
        water: &WaterLine,
    ) -> std::result::Result<Outline, Missing> {
        let least = if self.how.end { PLUMP_END } else { PLUMP_SIDE };
        if silhouette.plumpness().unwrap_or(0.0) < least {
            return Err(Missing::Lure);
        }
        let outline = match self.how.end {
            true => end::outline(window, silhouette, water),
            false => side::outline(window, silhouette, water),
        };
        let outline = outline.ok_or(Missing::Lure)?;
        let [left, top, right, bottom] = bounds(&outline);
        let most = [
            window.columns as f64 * window.step_px[0],
            window.rows as f64 * window.step_px[1],
        ];
        let out = left < 1.5 || top < 1.5 || right > most[0] - 1.5 || bottom > most[1] - 1.5;
        if out {
            Err(Missing::CutByFrame)
        } else {
            Ok(outline)
        }
    }
}

/// A line under the whole picture, for one in which no water was found.
fn below_the_picture(window: &Window, horizon_deg: f64) -> WaterLine {
    let (width, height) = (
        window.columns as f64 * window.step_px[0],
        window.rows as f64 * window.step_px[1],
    );
    WaterLine {
        at_px: [width / 2.0, 2.0 * height + width],
        turn_deg: horizon_deg,
        sd_px: 0.0,
        sd_turn_deg: 0.0,
        band_px: 0.0,
        waves_px: 0.0,
    }
}

/// Columns that the lure covers, with room for lip and hooks, px.
fn hidden([left, _, right, _]: [f64; 4]) -> [f64; 2] {
    let room = 0.08 * (right - left);
    [left - room, right + room]
}

/// Left, top, right, bottom of an outline, px.
fn bounds(outline: &Outline) -> [f64; 4] {
    let half = outline.length_px[0] / 2.0;
    let ends = [outline.point(-half, 0.0), outline.point(half, 0.0)];
    let edges = outline
        .slices
        .iter()
        .flat_map(|s| s.edges_px.map(|v| outline.point(s.u_px, v)));
    ends.into_iter().chain(edges).fold(
        [
            f64::INFINITY,
            f64::INFINITY,
            f64::NEG_INFINITY,
            f64::NEG_INFINITY,
        ],
        |[l, t, r, b], [x, y]| [l.min(x), t.min(y), r.max(x), b.max(y)],
    )
}
