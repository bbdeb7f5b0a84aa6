//! A pass over the clip: steady the background, follow the lure, and look for it anew where it is lost for long.

mod look_back;

use look_back::LookBack;

use super::assemble::{Row, track};
use super::clear::Clear;
use super::find::Again;
use super::follow::Sighting;
use super::following::Following;
use super::shape::Shape;
use super::start_box::StartBox;
use super::steady::Steady;
use super::track::Track;
use crate::Result;
use crate::camera::{Setup, View};
use crate::media::{Clip, Frame};

/// Boxes tried one after the other, in sizes of those given, until one holds the lure: for so long from its time on, s,
/// it must be seen in this part of the frames. Where none does, the one is taken that held it best, a less likely one
/// only if it did so clearly.
const BOX_SIZES: [f64; 3] = [1.0, 1.2, 0.85];
const HOLD_S: f64 = 0.4;
const HELD: f64 = 0.8;
/// A less likely box must hold it in this much more of the frames than the likeliest.
const CLEARLY: f64 = 0.1;
/// Only the likeliest box is tried in all sizes, the others as they are.
const AS_IT_IS: [f64; 1] = [1.0];
/// For so long after its time it is left to the box to hold the lure, s.
const LEFT_TO_BOX_S: f64 = 1.0;

/// Follows the lure through `clip` from one of the boxes in which it may lie at the box's time, the likeliest first: from
/// the first, as it is or a little larger or smaller, in which it is not soon lost. Where it is lost for long later, it is
/// looked for anew. `None` when no box is reached or none holds anything.
///
/// # Errors
/// [`crate::Error::Video`] when a picture cannot be worked on; those of [`Clip::open`] where the clip has to be read again.
pub fn follow(
    clip: &mut Clip,
    setup: &Setup,
    starts: &[StartBox],
    progress: &mut dyn FnMut(usize),
) -> Result<Option<Track>> {
    let size = [clip.info().width, clip.info().height].map(f64::from);
    let mut most = 0;
    let mut onward = |done: usize| {
        most = most.max(done);
        progress(most);
    };
    let mut best: Option<(f64, StartBox)> = None;
    for (rank, start) in starts.iter().enumerate() {
        let sizes = if rank == 0 { &BOX_SIZES[..] } else { &AS_IT_IS };
        let handicap = if rank == 0 { 0.0 } else { CLEARLY };
        let must_hold = HELD.max(best.map_or(0.0, |(merit, _)| merit) + handicap);
        for &times in sizes {
            let boxed = start.grown(times).inside(size);
            match run(clip, setup.view, &boxed, must_hold, &mut onward)? {
                Run::Through(pass) => return pass.track(clip, setup, &mut onward),
                Run::SoonLost { held } if best.is_none_or(|(most, _)| held - handicap > most) => {
                    best = Some((held - handicap, boxed));
                }
                Run::SoonLost { .. } => (),
            }
            clip.rewind()?;
        }
    }
    let Some((_, boxed)) = best else {
        return Ok(None);
    };
    match run(clip, setup.view, &boxed, 0.0, &mut onward)? {
        Run::Through(pass) => pass.track(clip, setup, &mut onward),
        Run::SoonLost { .. } => Ok(None),
    }
}

/// What became of a pass.
enum Run {
    /// It went through the clip.
    Through(Box<Pass>),
    /// The lure was seen in this part of the frames only, soon after the start.
    SoonLost { held: f64 },
}

/// What was seen in one pass over the clip.
struct Pass {
    view: View,
    size: [f64; 2],
    clear: Clear,
    steady: Steady,
    rows: Vec<Row>,
    /// silhouettes of the stretches in which the lure was followed, each begun anew; none of the last
    ended: Vec<Shape>,
    following: Option<Following>,
    /// set aside to go back from where each stretch began
    backs: Vec<LookBack>,
}

impl Pass {
    fn new(view: View, size: [f64; 2]) -> Pass {
        Pass {
            view,
            size,
            clear: Clear::default(),
            steady: Steady::new(size[0] as i32, size[1] as i32, view),
            rows: Vec::new(),
            ended: Vec::new(),
            following: None,
            backs: Vec::new(),
        }
    }

    /// Takes in the next frame, in which the lure is begun with anew where it was `found`.
    fn take(&mut self, frame: &Frame, found: Option<StartBox>) -> Result<()> {
        let lure = self.following.as_ref().map(Following::whereabouts);
        let to_scene = self.steady.next(frame, lure)?;
        let begun = match found {
            Some(place) => Following::begin(frame, &place, self.view, &to_scene)?,
            None => None,
        };
        let sighting = match (begun, &mut self.following) {
            (Some((following, sighting)), _) => {
                self.begin(following);
                Some(sighting)
            }
            (None, Some(following)) => Some(following.next(frame, &to_scene)?),
            (None, None) => None,
        };
        self.rows.push(Row {
            t_s: frame.t_s,
            stretch: self.ended.len(),
            sighting,
            to_scene,
        });
        self.call_back();
        Ok(())
    }

    fn track(
        mut self,
        clip: &Clip,
        setup: &Setup,
        progress: &mut dyn FnMut(usize),
    ) -> Result<Option<Track>> {
        let before = self.look_back(clip, progress)?;
        progress(self.rows.len());
        let Some(following) = self.following else {
            return Ok(None);
        };
        let last = before.unwrap_or_else(|| following.shape().clone());
        let shapes: Vec<Shape> = self.ended.into_iter().chain([last]).collect();
        Ok(track(self.rows, &shapes, setup, self.size))
    }

    /// Begins a stretch where the lure was found.
    fn begin(&mut self, following: Following) {
        self.forget_doubtful();
        if let Some(before) = self.following.replace(following) {
            self.ended.push(before.shape().clone());
        }
    }

    /// The lure was lost: what was seen since it was hardly seen may be of something else.
    fn forget_doubtful(&mut self) {
        let Some(lost) = &self.following else {
            return;
        };
        let since_s = lost.firm_until_s();
        let doubtful = self.rows.iter_mut().rev();
        for row in doubtful.take_while(|row| row.t_s > since_s) {
            row.sighting = None;
        }
    }

    /// Where the follower has strayed onto the bottom, takes back what it saw there.
    fn call_back(&mut self) {
        let (Some(following), Some(now)) = (&mut self.following, self.rows.last()) else {
            return;
        };
        let Some((_, pose)) = now.seen() else {
            return;
        };
        let Some(since_s) = following.astray_since(now.t_s, &pose, &now.to_scene) else {
            return;
        };
        let strayed = self.rows.iter_mut().rev();
        let strayed =
            strayed.take_while(|row| row.t_s > since_s && row.stretch == self.ended.len());
        let sightings = strayed.filter_map(|row| row.sighting.as_mut());
        let frames = sightings.map(|sighting| *sighting = Sighting::NOTHING);
        following.take_back(frames.count());
    }

    /// Part of the frames in which the lure was seen since it was begun with.
    fn held(&self) -> f64 {
        let looked: Vec<&Row> = self.rows.iter().filter(|r| r.sighting.is_some()).collect();
        let seen = looked.iter().filter(|r| r.seen().is_some()).count();
        seen as f64 / looked.len().max(1) as f64
    }
}

/// One pass over the clip, which ends where the lure is seen in less than the part `must_hold` of the frames soon after the
/// start.
fn run(
    clip: &mut Clip,
    view: View,
    start: &StartBox,
    must_hold: f64,
    progress: &mut dyn FnMut(usize),
) -> Result<Run> {
    let size = [clip.info().width, clip.info().height].map(f64::from);
    let mut again = Again::new(view, size);
    let mut pass = Pass::new(view, size);
    let mut frame = Frame::default();
    let (mut waits, mut to_be_held) = (true, true);
    // frames before the start are gone back to at the end
    let mut before = 0;
    while clip.read(&mut frame)? {
        pass.clear.make(&mut frame)?;
        let found = match &pass.following {
            _ if frame.t_s + 1e-3 < start.t_s => None,
            _ if waits => Some(*start),
            Some(following) if !following.is_lost() || following.was_leaving(size) => {
                again.rest();
                None
            }
            _ if frame.t_s < start.t_s + LEFT_TO_BOX_S => None,
            following => {
                let known_px = following.as_ref().and_then(Following::known_length);
                again.look(&frame, known_px.unwrap_or(start.diagonal()))?
            }
        };
        waits &= found.is_none();
        pass.take(&frame, found)?;
        pass.set_aside();
        if to_be_held && frame.t_s - start.t_s > HOLD_S {
            to_be_held = false;
            let held = pass.held();
            if held < must_hold {
                return Ok(Run::SoonLost { held });
            }
        }
        before += usize::from(waits);
        progress(frame.index + 1 - before);
    }
    // so near the clip's end that it was never put to the test
    if to_be_held && must_hold > 0.0 {
        return Ok(Run::SoonLost { held: 0.0 });
    }
    Ok(Run::Through(Box::new(pass)))
}
