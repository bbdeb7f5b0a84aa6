//! From the track to the swim test's result.

use super::blow_out::{Course, blow_out, lost_s};
use super::doubt::{
    ground_is_lost, withhold_idle_speed, withhold_no_blow_out, withhold_none, withhold_parts,
    withhold_unknown,
};
use super::ground::{Ground, Prior, Spread};
use super::hunts::{self, Excursion};
use super::pivot::{Pivot, pivot};
use super::pull::{Pull, PullSource};
use super::sightings::{CameraWork, Sightings};
use super::speed::strouhal;
use super::stance::Way;
use super::view_doubt;
use super::wobble::{Picture, WobbleFit, wobble};
use super::{BlowOut, Hunt, Hunts, Series, Swim, Wobble};
use crate::camera::{Setup, Side, View};
use crate::tracking::Track;
use crate::{Measured, Status};

/// A drift or speed is told from at least this long a path, s …
const LEAST_PATH_S: f64 = 1.0;
/// … and this many samples.
const LEAST_SAMPLES: usize = 12;
const BRIEF: &str = "the lure was seen too briefly";
const ABOVE_THE_HORIZON: &str =
    "by the tilt and the lens the lure would lie above the horizon; look at --tilt and --fov";
/// A camera that moves over the bottom by more than this many picture lengths must travel; turning
/// it by hand does not reach so far.
const TRAVEL_PICTURES: f64 = 1.2;
/// A dart whose farthest point fell into a gap went up to this many times as far as was seen.
const HIDDEN_PEAK: f64 = 1.6;
/// Gap beside the farthest point that may hide more, s.
const HIDING_GAP_S: f64 = 0.12;
/// How well the course under a dart is known, as a part of its size (one standard deviation).
const DART_SD: f64 = 0.05;

/// Every figure of the swim test from the lure's track.
pub fn analyse(track: &Track, setup: &Setup) -> Swim {
    if !track.frames.iter().any(|f| f.is_seen()) {
        return Swim::not_found("no lure was found");
    }
    let swum = Swum::new(track, setup);
    let as_seen = Picture {
        body: swum.body(),
        ..Picture::default()
    };
    let fit = wobble(&swum.series, setup, &as_seen);
    match swum.is_no_lure(&fit.wobble) {
        Some(why) => Swim::not_found(why),
        None => swum.measure(fit),
    }
}

/// What stands before the measures: the track in the lure's own signs.
pub struct Swum<'a> {
    /// The track.
    pub track: &'a Track,
    /// What the user told.
    pub setup: &'a Setup,
    /// The pull direction.
    pub pull: Pull,
    /// The seen frames; where the ground is lost, as they lie in the picture.
    pub series: Series,
    /// Whether the background gives no fixed ground.
    pub ground_is_lost: bool,
}

impl<'a> Swum<'a> {
    /// The track in the lure's own signs.
    pub fn new(track: &'a Track, setup: &'a Setup) -> Self {
        let pull = Pull::of(track, setup);
        let steadied = Series::new(track, &pull.frame);
        let ground_is_lost = ground_is_lost(track, setup, &steadied);
        let series = if ground_is_lost {
            Series::in_the_picture(track, &pull.frame)
        } else {
            steadied
        };
        Swum {
            track,
            setup,
            pull,
            series,
            ground_is_lost,
        }
    }

    /// Every measure, with the wobble already fitted to [`Swum::series`].
    pub fn measure(self, fit: WobbleFit) -> Swim {
        if self.is_brief() {
            return self.with_nothing_of(Swim::not_found(BRIEF).wobble, BRIEF);
        }
        match self.path(&fit.cycles) {
            Some(path) => self.with_path(fit, path),
            None => self.without_path(fit.wobble),
        }
    }

    pub(super) fn is_brief(&self) -> bool {
        self.series.len() < LEAST_SAMPLES || self.series.duration_s() < LEAST_PATH_S
    }

    /// Whether the camera travelled along, rather than being turned by hand.
    fn travels(&self) -> bool {
        let Some(&[x, y]) = self.series.camera_px.last() else {
            return false;
        };
        let long = self
            .track
            .picture_width_px
            .max(self.track.picture_height_px);
        let far = x.hypot(y) > TRAVEL_PICTURES * long;
        // A camera that waits ahead is turned to follow the lure in.
        !self.ground_is_lost && self.track.camera_moves && (far || self.setup.view != View::Ahead)
    }

    fn camera_work(&self, travels: bool) -> CameraWork {
        match (self.setup.view, travels) {
            (View::Above, true) => CameraWork::TravelsAbove,
            (View::Above, false) => CameraWork::StandsAbove,
            (_, true) => CameraWork::Travels,
            (_, false) => CameraWork::Stands,
        }
    }

    /// The path over ground with its darts.
    pub(super) fn path(&self, cycles: &[f64]) -> Option<Path> {
        let picture = [self.track.picture_width_px, self.track.picture_height_px];
        let travels = self.travels();
        let line_seen = self.pull.source == PullSource::Line && self.setup.view != View::Above;
        let seen = Sightings::new(
            &self.series,
            cycles,
            self.camera_work(travels),
            self.pull.frame.pull_deg,
            line_seen,
        );
        let prior = Prior::new(self.setup, travels, picture, &seen);
        let speed_bl_s = self
            .setup
            .speed_m_s
            .and_then(|v| self.setup.body_mm().map(|l| v * 1000.0 / l));
        let rough = prior.middle().way(&seen, picture)?;
        let rough_wobbling = prior.middle().way(&seen.with_wobble(), picture)?;
        let keep = hunts::outside(&seen.t_s, &self.darts(&rough, &rough_wobbling));
        let ground = Ground::new(
            &prior,
            &seen.thinned(usize::MAX, &keep),
            picture,
            speed_bl_s,
        )?;
        let way = ground.best().way(&seen, picture)?;
        let wobbling = ground.best().way(&seen.with_wobble(), picture)?;
        let darts = if self.ground_is_lost {
            self.picture_darts(&seen.place_px)
        } else {
            self.darts(&way, &wobbling)
        };
        let keep = hunts::outside(&seen.t_s, &darts);
        let darts = darts.into_iter().filter(|dart| self.swims(dart)).collect();
        Some(Path {
            way,
            wobbling,
            darts,
            keep,
            ground,
            travels,
            course_sd_px: seen.course_sd_px,
        })
    }

    fn darts(&self, way: &Way, wobbling: &Way) -> Vec<Excursion> {
        if self.setup.view == View::Side {
            return Vec::new();
        }
        hunts::find(
            &self.series.t_s,
            &way.forward,
            &way.sideways,
            &wobbling.sideways,
            self.setup.body_mm(),
        )
    }

    /// Whether an excursion is a lure that swims aside, and not one that slides there broadside.
    fn swims(&self, dart: &Excursion) -> bool {
        // looked at aslant the tilt draws every turn out
        let axis_shows = self.setup.view == View::Above && self.setup.tilt_deg.is_none();
        !axis_shows || !hunts::is_broadside(&self.series.axis_deg, dart)
    }

    fn with_path(self, mut fit: WobbleFit, mut path: Path) -> Swim {
        let blow_out = self.blow_out(&fit, &path);
        if let Some(left_s) = blow_out.t_s.filter(|_| !self.ground_is_lost) {
            path.only_before(&self.series.t_s, left_s);
        }
        let path = &path;
        if !fit.cycles.is_empty() {
            self.widths(&mut fit, path);
        }
        let Pivot {
            told: pivot,
            from_nose: pivots_at,
        } = self.pivot(&fit, path);
        self.sweep_about(&pivot, &mut fit.wobble);
        let drift = self.drift(path);
        let speed = self.speed(path);
        let strouhal = strouhal(&fit.wobble.hz, &fit.wobble.tail_sweep_mm, &speed);
        let mm_per_px = self.setup.body_mm().map(|l| l / path.way.body_at_lure_px);
        let mut swim = Swim {
            found: true,
            tracked_fraction: self.track.tracked_fraction(),
            mm_per_px,
            pull_deg: Some(self.pull.frame.pull_deg),
            hunts: self.hunts(path),
            blow_out,
            pivot,
            wobble: fit.wobble,
            roll: fit.roll,
            drift,
            speed,
            strouhal,
            depth: self.depth(Some(path), mm_per_px),
            warnings: Vec::new(),
        };
        self.withhold(&mut swim, path, &fit.cycles);
        let refuted = self.view_refuted(&fit.cycles);
        let pivots_at = pivots_at.filter(|_| refuted.is_none());
        if let Some(why) = refuted {
            view_doubt::withhold(&mut swim, why);
        }
        withhold_idle_speed(&mut swim, self.setup);
        withhold_unknown(&mut swim, self.setup);
        withhold_none(&mut swim.wobble, swim.tracked_fraction);
        withhold_parts(&mut swim, self.setup, pivots_at);
        withhold_no_blow_out(&mut swim.blow_out, swim.tracked_fraction);
        let cautions = self.warnings(&swim, path.travels);
        swim.warnings.extend(cautions);
        swim
    }

    fn pivot(&self, fit: &WobbleFit, path: &Path) -> Pivot {
        if self.setup.view == View::Side {
            return Pivot::none("sideways motion does not show from the side");
        }
        let ends = self.track.doubts.ends;
        pivot(&self.series, &fit.cycles, &path.keep, ends)
    }

    fn blow_out(&self, fit: &WobbleFit, path: &Path) -> BlowOut {
        let sideways_shows = self.setup.view != View::Side;
        blow_out(&Course {
            forward: Some(&path.way.forward),
            sideways: sideways_shows.then_some(&path.way.sideways),
            ..self.course(&fit.cycles, path)
        })
    }

    /// A blow-out that shows whatever the way over ground: turned across the pull.
    pub(super) fn blow_out_on_the_spot(&self, cycles: &[f64], path: &Path) -> BlowOut {
        blow_out(&self.course(cycles, path))
    }

    fn course<'b>(&'b self, cycles: &'b [f64], path: &'b Path) -> Course<'b> {
        Course {
            t_s: &self.series.t_s,
            forward: None,
            sideways: None,
            course_sd: self.course_off_px(path) / path.way.body_px,
            axis_deg: &self.series.axis_deg,
            cycles,
            keep: &path.keep,
            lost_s: lost_s(self.track),
        }
    }

    fn hunts(&self, path: &Path) -> Hunts {
        if self.setup.view == View::Side {
            let why = "sideways darts do not show from the side";
            return Hunts {
                status: Status::Unmeasurable,
                why: Some(why.into()),
                events: vec![],
            };
        }
        let t = &self.series.t_s;
        let scale = path.ground.body_px();
        let unsure = self.setup.scale_doubt(0.0) / 1.96;
        let events: Vec<Hunt> = path
            .darts
            .iter()
            .filter_map(|d| {
                let mm = self.setup.body_mm().map(|l| d.size.abs() * l);
                Some(Hunt {
                    start_s: t[d.start],
                    peak_s: t[d.peak],
                    end_s: t[d.end],
                    side: Side::of(d.size)?,
                    mm,
                    mm_ci95: mm.map(|mm| {
                        let [low, high] = dart_interval(mm, d, scale, unsure);
                        [
                            low,
                            if peak_hidden(t, d) {
                                HIDDEN_PEAK * high
                            } else {
                                high
                            },
                        ]
                    }),
                    recovered: d.recovered,
                })
            })
            .collect();
        if events.is_empty() {
            let why = "no quick excursion that comes back stands out of the path";
            return Hunts {
                status: Status::None,
                why: Some(why.into()),
                events,
            };
        }
        Hunts {
            status: Status::Measured,
            why: None,
            events,
        }
    }

    /// The result where no tilt and lens near those that are given fit what was seen: nothing but the rate.
    fn without_path(self, wobble: Wobble) -> Swim {
        let wobble = Wobble {
            width_deg: Measured::unmeasurable(ABOVE_THE_HORIZON),
            tail_sweep_mm: Measured::unmeasurable(ABOVE_THE_HORIZON),
            apparent: false,
            ..wobble
        };
        self.with_nothing_of(wobble, ABOVE_THE_HORIZON)
    }

    /// The result where only the wobble may be known, and why.
    fn with_nothing_of(self, wobble: Wobble, why: &str) -> Swim {
        let mut swim = Swim {
            depth: self.depth(None, None),
            found: !self.series.is_empty(),
            tracked_fraction: self.track.tracked_fraction(),
            wobble,
            pull_deg: Some(self.pull.frame.pull_deg),
            ..Swim::not_found(why)
        };
        withhold_none(&mut swim.wobble, swim.tracked_fraction);
        swim.warnings = self.warnings(&swim, false);
        swim
    }
}

/// The path in the plane of the pull.
pub(super) struct Path {
    /// Without the wobble.
    pub(super) way: Way,
    /// With it.
    pub(super) wobbling: Way,
    pub(super) darts: Vec<Excursion>,
    /// Which samples lie outside darts.
    pub(super) keep: Vec<bool>,
    pub(super) ground: Ground,
    pub(super) travels: bool,
    /// How far the camera's course may be off at the end of its way, `[x, y]` px of the picture.
    pub(super) course_sd_px: [f64; 2],
}

impl Path {
    /// Leaves out what came after the lure had left its course: it tells nothing of how it runs.
    fn only_before(&mut self, t_s: &[f64], left_s: f64) {
        for (keep, &t) in self.keep.iter_mut().zip(t_s) {
            *keep &= t < left_s;
        }
        self.darts.retain(|dart| t_s[dart.start] < left_s);
    }
}

/// Whether the lure was out of sight about the dart's farthest point.
fn peak_hidden(t_s: &[f64], dart: &Excursion) -> bool {
    let (from, to) = (
        dart.peak.saturating_sub(3),
        (dart.peak + 3).min(t_s.len() - 1),
    );
    (from + 1..=to).any(|i| t_s[i] - t_s[i - 1] > HIDING_GAP_S)
}

/// A dart's size in mm with the scale's and the path's own uncertainty; `unsure` is one standard deviation of
/// a scale from a yardstick, as a part.
fn dart_interval(mm: f64, dart: &Excursion, body_px: Spread, unsure: f64) -> [f64; 2] {
    let own = (1.5 * dart.sd / dart.size.abs()).hypot(unsure);
    let low = 1.96 * own.hypot(body_px.above / body_px.middle).hypot(DART_SD);
    let high = 1.96 * own.hypot(body_px.below / body_px.middle).hypot(DART_SD);
    [mm * (1.0 - low).max(0.0), mm * (1.0 + high)]
}
