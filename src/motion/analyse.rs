//! From the track to the swim test's result.

use super::blow_out::{Course, blow_out};
use super::ground::{Ground, Prior, Spread};
use super::hunts::{self, Excursion};
use super::pivot::pivot;
use super::pull::{Pull, PullSource};
use super::rate::Phase;
use super::robust::median;
use super::sightings::Sightings;
use super::stance::Way;
use super::trend::Trend;
use super::width;
use super::wobble::{Picture, WobbleFit, wobble};
use super::{BlowOut, Drift, Hunt, Hunts, Series, Swim};
use crate::camera::{Setup, Side, View};
use crate::tracking::Track;
use crate::{Measured, Status, Warning};

/// A drift or speed is told from at least this long a path, s …
const LEAST_PATH_S: f64 = 1.0;
/// … and this many samples.
const LEAST_SAMPLES: usize = 12;
/// A lure shorter than this is small in the picture, px.
const SMALL_PX: f64 = 30.0;
/// A clip seen less than this is partly seen.
const PARTLY: f64 = 0.9;
/// A camera that moves over the bottom by more than this many picture lengths must travel; turning
/// it by hand does not reach so far.
const TRAVEL_PICTURES: f64 = 1.2;
/// The yaw is told where the geometry leaves less than this of it open (one standard deviation);
/// beyond, the angle is given as it looks.
const TELLS_YAW: f64 = 0.15;
/// How well the course under a dart is known, as a part of its size (one standard deviation).
const DART_SD: f64 = 0.05;
/// Strouhal numbers of cruising animals (Taylor, Nudds & Thomas 2003, Nature 425:707).
const STROUHAL_BAND: [f64; 2] = [0.2, 0.4];

/// Every figure of the swim test from the lure's track.
pub fn analyse(track: &Track, setup: &Setup) -> Swim {
    if !track.frames.iter().any(|f| f.is_seen()) {
        return Swim::not_found("no lure was found");
    }
    let swum = Swum::new(track, setup);
    let fit = wobble(&swum.series, setup, &Picture::default());
    swum.measure(fit)
}

/// What stands before the measures: the track in the lure's own signs.
pub struct Swum<'a> {
    /// The track.
    pub track: &'a Track,
    /// What the user told.
    pub setup: &'a Setup,
    /// The pull direction.
    pub pull: Pull,
    /// The seen frames.
    pub series: Series,
}

impl<'a> Swum<'a> {
    /// The track in the lure's own signs.
    pub fn new(track: &'a Track, setup: &'a Setup) -> Self {
        let pull = Pull::of(track, setup);
        let series = Series::new(track, &pull.frame);
        Swum {
            track,
            setup,
            pull,
            series,
        }
    }

    /// Every measure, with the wobble already fitted to [`Swum::series`].
    pub fn measure(self, fit: WobbleFit) -> Swim {
        if self.is_brief() {
            return self.too_short(fit);
        }
        match self.path(&fit.cycles) {
            Some(path) => self.with_path(fit, &path),
            None => self.too_short(fit),
        }
    }

    fn is_brief(&self) -> bool {
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
        self.track.camera_moves && (far || self.setup.view != View::Ahead)
    }

    /// The path over ground with its darts.
    fn path(&self, cycles: &[f64]) -> Option<Path> {
        let picture = [self.track.picture_width_px, self.track.picture_height_px];
        let travels = self.travels();
        let line_seen = self.pull.source == PullSource::Line && self.setup.view != View::Above;
        let seen = Sightings::new(
            &self.series,
            cycles,
            travels,
            self.pull.frame.pull_deg,
            line_seen,
        );
        let prior = Prior::new(self.setup, travels, picture, &seen);
        let speed_bl_s = self
            .setup
            .speed_m_s
            .and_then(|v| self.setup.length_mm.map(|l| v * 1000.0 / l));
        let rough = prior.middle().way(&seen, picture)?;
        let keep = hunts::outside(&seen.t_s, &self.darts(&rough));
        let ground = Ground::new(
            &prior,
            &seen.thinned(usize::MAX, &keep),
            picture,
            speed_bl_s,
        )?;
        let way = ground.best().way(&seen, picture)?;
        let wobbling = ground.best().way(&seen.with_wobble(), picture)?;
        let darts = self.darts(&way);
        let keep = hunts::outside(&seen.t_s, &darts);
        Some(Path {
            way,
            wobbling,
            darts,
            keep,
            ground,
            travels,
        })
    }

    fn darts(&self, way: &Way) -> Vec<Excursion> {
        if self.setup.view == View::Side {
            return Vec::new();
        }
        hunts::find(
            &self.series.t_s,
            &way.forward,
            &way.sideways,
            self.setup.length_mm,
        )
    }

    fn with_path(self, mut fit: WobbleFit, path: &Path) -> Swim {
        if !fit.cycles.is_empty() {
            self.widths(&mut fit, path);
        }
        let side = self.setup.view == View::Side;
        let drift = self.drift(path);
        let speed = self.speed(path);
        let strouhal = strouhal(&fit.wobble.hz, &fit.wobble.tail_sweep_mm, &speed);
        let course = Course {
            t_s: &self.series.t_s,
            path: (!side).then_some((&path.way.forward[..], &path.way.sideways[..])),
            axis_deg: &self.series.axis_deg,
            cycles: &fit.cycles,
            keep: &path.keep,
        };
        let mut swim = Swim {
            found: true,
            tracked_fraction: self.track.tracked_fraction(),
            mm_per_px: self.setup.length_mm.map(|l| l / path.way.body_at_lure_px),
            pull_deg: Some(self.pull.frame.pull_deg),
            hunts: self.hunts(path),
            blow_out: blow_out(&course),
            pivot: if side {
                Measured::unmeasurable("sideways motion does not show from the side")
            } else {
                pivot(&self.series, &fit.cycles, &path.keep)
            },
            wobble: fit.wobble,
            roll: fit.roll,
            drift,
            speed,
            strouhal,
            warnings: Vec::new(),
        };
        swim.warnings = self.warnings(&swim, path.travels);
        swim
    }

    /// Width and tail sweep with the darts left out, at the scale and from the view that the path
    /// settled. Where a tilted view leaves the angles too open, the width stays as it looks.
    fn widths(&self, fit: &mut WobbleFit, path: &Path) {
        let phase = Phase {
            t_s: self.series.t_s.clone(),
            cycles: fit.cycles.clone(),
        };
        let (length, calm) = (self.setup.length_mm, path.keep.clone());
        let as_seen = Picture {
            mm_per_px: length.map(|l| l / path.way.body_at_lure_px),
            calm: calm.clone(),
        };
        let mut width = width::measure(&self.series, self.setup, &as_seen, &phase);
        let open = path.ground.yaw_deg().relative();
        let tilted = matches!(self.setup.view, View::Behind | View::Ahead)
            || (self.setup.view == View::Above && self.setup.tilt_deg.is_some());
        if tilted {
            let (series, setup) = (
                self.on_plane(path),
                Setup {
                    view: View::Above,
                    tilt_deg: None,
                    ..self.setup.clone()
                },
            );
            let on_plane = Picture {
                mm_per_px: length.map(|l| l / path.way.body_px),
                calm,
            };
            let own = width::measure(&series, &setup, &on_plane, &phase);
            width.tail_sweep_mm = widened(own.tail_sweep_mm, path.ground.body_px().relative());
            width.apparent = open[0].max(open[1]) > TELLS_YAW;
            if !width.apparent {
                width.deg = widened(own.deg, open);
            }
        } else {
            width.tail_sweep_mm = widened(
                width.tail_sweep_mm,
                path.ground.body_at_lure_px().relative(),
            );
        }
        fit.wobble.width_deg = width.deg;
        fit.wobble.apparent = width.apparent;
        fit.wobble.tail_sweep_mm = width.tail_sweep_mm;
    }

    /// The series as seen straight from above: yaw and sway on the plane of the pull.
    fn on_plane(&self, path: &Path) -> Series {
        let body_px = path.way.body_px;
        Series {
            axis_deg: path.wobbling.yaw_deg.clone(),
            sideways_px: path.wobbling.sideways.iter().map(|s| s * body_px).collect(),
            forward_px: path.wobbling.forward.iter().map(|f| f * body_px).collect(),
            length_px: vec![body_px; self.series.len()],
            ..self.series.clone()
        }
    }

    /// The steady run to one side. Its interval joins the path's wandering, the pull direction and
    /// whatever the geometry leaves open.
    fn drift(&self, path: &Path) -> Drift {
        let without = |why: &str| Drift {
            deg: Measured::unmeasurable(why),
            mm_per_m: None,
        };
        match (self.setup.view, self.pull.source) {
            (View::Side, _) => return without("sideways motion does not show from the side"),
            (_, PullSource::Path | PullSource::View) => {
                return without(
                    "the pull direction is not known; give --pull or let the line show",
                );
            }
            _ => {}
        }
        let way = &path.way;
        let Some(trend) = Trend::new(&self.series.t_s, &way.forward, &way.sideways, &path.keep)
        else {
            return without("the path outside darts is too short");
        };
        let tangent = trend.line.slope;
        let open = path.ground.drift();
        let pull_sd = (self.pull.sd_deg * self.pull_stretch(path)).to_radians();
        let random = (trend.t95 * trend.slope_se).hypot(1.96 * pull_sd);
        let low = tangent - random.hypot(1.96 * open.below);
        let high = tangent + random.hypot(1.96 * open.above);
        let deg = |t: f64| t.atan().to_degrees();
        Drift {
            deg: Measured::new(deg(tangent), [deg(low), deg(high)]),
            mm_per_m: Some(1000.0 * tangent),
        }
    }

    /// By how much an error of the pull's image angle grows on the plane: foreshortening turns a small
    /// image angle about the up direction into a smaller one, one about the level into a larger.
    fn pull_stretch(&self, path: &Path) -> f64 {
        let sin = path
            .ground
            .tilt_deg()
            .middle
            .to_radians()
            .sin()
            .abs()
            .max(0.1);
        let up = self.pull.frame.pull_deg.to_radians().cos().powi(2);
        sin / (up + (1.0 - up) * sin * sin).max(sin * sin)
    }

    fn speed(&self, path: &Path) -> Measured {
        if let Some(given) = self.setup.speed_m_s {
            return Measured::within(given, 0.05 * given).because("as given");
        }
        let Some(length) = self.setup.length_mm else {
            return Measured::unmeasurable("no scale: give the body length with --length");
        };
        let way = &path.way;
        let Some(trend) = Trend::new(&self.series.t_s, &self.series.t_s, &way.forward, &path.keep)
        else {
            return Measured::unmeasurable("the path outside darts is too short");
        };
        let pace = trend.line.slope;
        let open = path.ground.pace();
        // A mean over the time it was seen: only the ends' places and the body's length enter.
        let ends = 1.96 * 2.0 * trend.scatter / self.series.duration_s();
        let random = ends.hypot(1.96 * 0.015 * pace);
        let to_m_s = length / 1000.0;
        let low = (pace - random.hypot(1.96 * open.below)).max(0.0);
        let speed =
            Measured::new(pace, [low, pace + random.hypot(1.96 * open.above)]).scaled(to_m_s);
        if pace <= 0.0 {
            return Measured::unmeasurable("no way forward along the pull was seen");
        }
        if path.travels {
            return speed.because("rests on how deep the bottom lies below the lure");
        }
        speed
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
        let events: Vec<Hunt> = path
            .darts
            .iter()
            .filter_map(|d| {
                let mm = self.setup.length_mm.map(|l| d.size.abs() * l);
                Some(Hunt {
                    start_s: t[d.start],
                    peak_s: t[d.peak],
                    end_s: t[d.end],
                    side: Side::of(d.size)?,
                    mm,
                    mm_ci95: mm.map(|mm| dart_interval(mm, d, scale)),
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

    fn warnings(&self, swim: &Swim, travels: bool) -> Vec<Warning> {
        let mut warnings = Vec::new();
        let gaps: Vec<f64> = self
            .track
            .frames
            .windows(2)
            .map(|w| w[1].t_s - w[0].t_s)
            .filter(|g| *g > 0.0)
            .collect();
        if let (Some(low), Some(middle), Some(high)) = (
            super::robust::quantile(gaps.iter().copied(), 0.05),
            median(gaps.iter().copied()),
            super::robust::quantile(gaps.iter().copied(), 0.95),
        ) {
            if high - low > 0.15 * middle {
                warnings.push(Warning::VariableFrameRate { gap_s: [low, high] });
            }
        }
        if swim.tracked_fraction < PARTLY {
            warnings.push(Warning::PartlySeen {
                tracked_fraction: swim.tracked_fraction,
            });
        }
        if swim.wobble.status_is(Status::Aliased) {
            let candidates_hz = swim.wobble.alias_candidates_hz.clone();
            warnings.push(Warning::Aliased { candidates_hz });
        }
        if swim.wobble.apparent && swim.wobble.width_deg.is_measured() {
            warnings.push(Warning::ApparentAngles);
        }
        if travels && self.setup.speed_m_s.is_none() {
            warnings.push(Warning::MovingCamera);
        }
        if matches!(self.pull.source, PullSource::Path | PullSource::View) {
            warnings.push(Warning::PullFromPath);
        }
        let length_px = median(self.series.length_px.iter().copied()).unwrap_or(0.0);
        if length_px < SMALL_PX {
            warnings.push(Warning::SmallInPicture { length_px });
        }
        if let Some(strouhal) = swim.strouhal.value {
            if !(STROUHAL_BAND[0]..=STROUHAL_BAND[1]).contains(&strouhal) {
                warnings.push(Warning::UnusualStrouhal { strouhal });
            }
        }
        if let Some(why) = self.pull.contradicts(self.setup.view) {
            warnings.push(Warning::ViewDoubtful { why });
        }
        warnings
    }

    /// The result where the lure was seen too briefly for a path.
    fn too_short(self, fit: WobbleFit) -> Swim {
        const WHY: &str = "the lure was seen too briefly";
        let nothing = || Measured::unmeasurable(WHY);
        let mut swim = Swim {
            found: !self.series.is_empty(),
            tracked_fraction: self.track.tracked_fraction(),
            wobble: fit.wobble,
            roll: fit.roll,
            pull_deg: Some(self.pull.frame.pull_deg),
            ..Swim::not_found(WHY)
        };
        swim.drift.deg = nothing();
        swim.warnings = self.warnings(&swim, false);
        swim
    }
}

/// The path in the plane of the pull.
struct Path {
    /// Without the wobble.
    way: Way,
    /// With it.
    wobbling: Way,
    darts: Vec<Excursion>,
    /// Which samples lie outside darts.
    keep: Vec<bool>,
    ground: Ground,
    travels: bool,
}

/// A figure with its interval widened by what the geometry leaves open, ln below and above (one
/// standard deviation each).
fn widened(m: Measured, open: [f64; 2]) -> Measured {
    let (Some(value), Some([low, high])) = (m.value, m.ci95) else {
        return m;
    };
    let [below, above] = open.map(|o| 1.96 * o * value.abs());
    let ends = [
        value - (value - low).hypot(below),
        value + (high - value).hypot(above),
    ];
    Measured {
        ci95: Some(ends),
        ..m
    }
}

/// A dart's size in mm with the scale's and the path's own uncertainty.
fn dart_interval(mm: f64, dart: &Excursion, body_px: Spread) -> [f64; 2] {
    let own = 1.5 * dart.sd / dart.size.abs();
    let low = 1.96 * own.hypot(body_px.above / body_px.middle).hypot(DART_SD);
    let high = 1.96 * own.hypot(body_px.below / body_px.middle).hypot(DART_SD);
    [mm * (1.0 - low).max(0.0), mm * (1.0 + high)]
}

/// Strouhal number f·A/U with A the tail sweep.
fn strouhal(hz: &Measured, sweep_mm: &Measured, speed: &Measured) -> Measured {
    let (Some(f), Some(a), Some(u)) = (part(hz), part(sweep_mm), part(speed)) else {
        return Measured::unmeasurable("needs rate, tail sweep and speed");
    };
    let value = f.middle * a.middle / 1000.0 / u.middle;
    let low = f.below.hypot(a.below).hypot(u.above);
    let high = f.above.hypot(a.above).hypot(u.below);
    Measured::new(value, [value * (-low).exp(), value * high.exp()])
}

/// A positive measured figure with its relative reach down and up (ln); `None` without a value.
fn part(m: &Measured) -> Option<Spread> {
    let (value, [low, high]) = (m.value?, m.ci95?);
    (m.is_measured() && value > 0.0 && low > 0.0).then(|| Spread {
        middle: value,
        below: (value / low).ln(),
        above: (high / value).ln(),
    })
}

impl Swim {
    /// The result where there is nothing to measure, for the reason given.
    pub fn not_found(why: &str) -> Swim {
        let nothing = || Measured::unmeasurable(why);
        Swim {
            found: false,
            tracked_fraction: 0.0,
            mm_per_px: None,
            pull_deg: None,
            wobble: super::Wobble {
                hz: nothing(),
                width_deg: nothing(),
                apparent: false,
                tail_sweep_mm: nothing(),
                nyquist_hz: f64::NAN,
                alias_candidates_hz: Vec::new(),
                by_second: Vec::new(),
            },
            roll: super::Roll {
                width_deg: nothing(),
            },
            drift: Drift {
                deg: nothing(),
                mm_per_m: None,
            },
            hunts: Hunts {
                status: Status::Unmeasurable,
                why: Some(why.into()),
                events: Vec::new(),
            },
            blow_out: BlowOut {
                status: Status::Unmeasurable,
                t_s: None,
                why: Some(why.into()),
            },
            pivot: nothing(),
            speed: nothing(),
            strouhal: nothing(),
            warnings: Vec::new(),
        }
    }
}

impl super::Wobble {
    fn status_is(&self, status: Status) -> bool {
        self.hz.status == status
    }
}
