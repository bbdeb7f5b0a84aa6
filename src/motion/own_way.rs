//! Whether what was followed can be a lure at all.
//!
//! A box may have been drawn round a stone or round nothing. What it held is then lost at once, creeps about with the
//! light, or keeps its place on the bottom; no line draws it and nothing wobbles. A lure that hangs still in a current
//! has its line or its wobble, and one under a camera that goes with it keeps its place in the picture, not on the
//! bottom.

use super::analyse::Swum;
use super::robust::median;
use super::wobble::beats;
use super::{Series, Wobble};
use crate::camera::View;

/// Motion is told over so long, s, if it was seen with no gap longer than this, s.
const OVER_S: f64 = 0.4;
const GAP_S: f64 = 0.15;
/// What goes its own way moves over the bottom by this many body lengths a second (a slow pull makes one to five), and
/// by this part of the way that the bottom slides: near stones slide by faster than the bottom about them.
const OWN_PACE: f64 = 0.8;
const OWN_PART: f64 = 0.4;
/// It does so for this part of the time in which that can be told, for so long, s, and so straight (way made good over
/// way made): what creeps about with the light gets nowhere.
const MOSTLY: f64 = 0.5;
const STRAIGHT: f64 = 0.7;
const LONG_ENOUGH_S: f64 = 0.8;
/// Taken along by the bottom for this part of it, it belongs to the bottom.
const CARRIED: f64 = 0.8;
/// Seen along the water it or the bottom grows or shrinks by so much (natural log) where it makes way, if it was
/// followed for this part of the clip.
const NEARER: f64 = 0.2;
const FOLLOWED: f64 = 0.5;
/// A line seen off it in this part of its frames draws it.
const WITH_LINE: f64 = 0.3;

const STANDS: &str = "no lure was found: what was followed keeps its place before the bottom, no line draws it, and it does not wobble";
const LOST: &str =
    "no lure was found: what was followed was soon lost, no line draws it, and no wobble showed";

impl Swum<'_> {
    /// Why what was followed is no lure, where it is none.
    pub(super) fn is_no_lure(&self, wobble: &Wobble) -> Option<&'static str> {
        let wobbles = beats(wobble);
        let lines = self.series.line_deg.iter().filter(|l| l.is_finite());
        let drawn = lines.count() as f64 > WITH_LINE * self.series.len() as f64;
        let steadied = Series::new(self.track, &self.pull.frame);
        let moments = moments(&steadied);
        let lasts_s = |which: &dyn Fn(&Moment) -> bool| -> f64 {
            let picked = moments.iter().filter(|m| which(m));
            picked.map(|m| m.step_s).sum()
        };
        let told_s = lasts_s(&|_| true);
        let own_s = lasts_s(&Moment::is_its_own);
        let goes =
            own_s >= LONG_ENOUGH_S.max(MOSTLY * told_s) && straightness(&moments) >= STRAIGHT;
        // a line across a stone that slides away under a moving camera does not draw it
        let carried = lasts_s(&Moment::is_carried) > CARRIED * told_s;
        if wobbles || (drawn && !carried) || goes || self.comes_nearer() {
            None
        } else if told_s >= LONG_ENOUGH_S {
            Some(STANDS)
        } else {
            Some(LOST)
        }
    }

    /// Whether it or the camera makes way along the line of sight: looked at along the water, a lure may keep its
    /// place before a bottom that hardly slides.
    fn comes_nearer(&self) -> bool {
        matches!(self.setup.view, View::Behind | View::Ahead)
            && self.track.tracked_fraction() > FOLLOWED
            && self.grows().abs().max(self.bottom_grows().abs()) > NEARER
    }
}

/// How it and the bottom moved for a moment, body lengths and s.
struct Moment {
    over_bottom: [f64; 2],
    slide: f64,
    since_s: f64,
    /// to the next moment
    step_s: f64,
}

impl Moment {
    fn way(&self) -> f64 {
        self.over_bottom[0].hypot(self.over_bottom[1])
    }

    /// Whether the bottom slides by and takes it along.
    fn is_carried(&self) -> bool {
        self.slide > OWN_PACE * self.since_s && !self.is_its_own()
    }

    fn is_its_own(&self) -> bool {
        self.way() > (OWN_PACE * self.since_s).max(OWN_PART * self.slide)
    }
}

/// Way made good over way made, 0 to 1, in the moments in which it goes its own way.
fn straightness(moments: &[Moment]) -> f64 {
    let own = moments.iter().filter(|m| m.is_its_own());
    let (way, x, y) = own.fold((0.0, 0.0, 0.0), |(way, x, y), m| {
        (way + m.way(), x + m.over_bottom[0], y + m.over_bottom[1])
    });
    if way > 0.0 {
        f64::hypot(x, y) / way
    } else {
        0.0
    }
}

/// Its motion from each sample on, where it was seen throughout.
fn moments(series: &Series) -> Vec<Moment> {
    let length = median(series.length_px.iter().copied()).unwrap_or(f64::INFINITY);
    let t = &series.t_s;
    let mut moments = Vec::new();
    for i in 0..series.len() {
        let j = t.partition_point(|&x| x < t[i] + OVER_S);
        if j >= t.len() || t[i..=j].windows(2).any(|g| g[1] - g[0] > GAP_S) {
            continue;
        }
        let step = |p: &[[f64; 2]]| [p[j][0] - p[i][0], p[j][1] - p[i][1]];
        let (picture, camera) = (step(&series.place_px), step(&series.camera_px));
        let over = [picture[0] + camera[0], picture[1] + camera[1]];
        moments.push(Moment {
            over_bottom: over.map(|o| o / length),
            slide: camera[0].hypot(camera[1]) / length,
            since_s: t[j] - t[i],
            step_s: t[i + 1] - t[i],
        });
    }
    moments
}
