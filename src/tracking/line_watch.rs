//! Keeps an eye on the line: a wide look at first and now and then, in between only where it was.

use super::line::{self, Fan, Streak};
use super::pose::Pose;
use crate::Result;
use crate::media::Frame;

/// For so long every frame is looked at widely, s.
const SETTLING_S: f64 = 0.3;
/// Later a wide look is taken this often, s, …
const WIDE_EVERY_S: f64 = 0.25;
/// … and a narrow one so often: a line swings no faster than the lure darts.
const NARROW_EVERY_S: f64 = 1.0 / 45.0;
/// Half-width of a narrow look, degrees.
const NARROW_DEG: f64 = 15.0;

/// What a look for the line gave.
#[derive(Debug, Clone, Copy, Default)]
pub struct LineLook {
    /// Strongest streak off the nose end and off the tail end of the body frame.
    pub streaks: [Option<Streak>; 2],
    /// Whether it tells at which end the line is: both ends were searched all round, and that not just before.
    pub telling: bool,
}

/// When it was looked for last, and where it was.
#[derive(Debug, Clone, Default)]
pub struct LineWatch {
    unceasing: bool,
    began_s: Option<f64>,
    telling_s: f64,
    last_s: f64,
    /// direction of the line off either end when it was last seen, degrees
    seen: [Option<f64>; 2],
}

impl LineWatch {
    /// One that looks widely in every frame.
    pub fn unceasing() -> LineWatch {
        LineWatch {
            unceasing: true,
            ..LineWatch::default()
        }
    }

    /// Looks for the line off a lure that lies so, if it is time.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when the picture cannot be worked on.
    pub fn look(&mut self, frame: &Frame, pose: &Pose) -> Result<LineLook> {
        let due = self.began_s.is_none() || frame.t_s - self.telling_s > WIDE_EVERY_S;
        let began = *self.began_s.get_or_insert(frame.t_s);
        let wide = self.unceasing || due || frame.t_s - began < SETTLING_S;
        if !wide && frame.t_s - self.last_s < NARROW_EVERY_S {
            return Ok(LineLook::default());
        }
        if due {
            self.telling_s = frame.t_s;
        }
        let mut look = LineLook {
            telling: due,
            ..LineLook::default()
        };
        for (end, sense) in [1.0, -1.0].into_iter().enumerate() {
            let fan = match self.seen[end] {
                _ if wide => Fan::WHOLE,
                Some(direction_deg) => Fan::about(direction_deg, NARROW_DEG),
                None => continue,
            };
            look.streaks[end] = line::strongest(&frame.luma, pose, sense, fan)?;
        }
        self.remember(frame.t_s, &look, wide);
        Ok(look)
    }

    /// After a wide look only the clearer of the two ends is watched on.
    fn remember(&mut self, t_s: f64, look: &LineLook, wide: bool) {
        self.last_s = t_s;
        let line = |end: usize| look.streaks[end].filter(Streak::is_line);
        if wide {
            let strength = |end: usize| line(end).map_or(0.0, |s| s.strength);
            let clearer = usize::from(strength(1) > strength(0));
            // a faint line is missed now and then, and still there
            if let Some(streak) = line(clearer) {
                self.seen = [None; 2];
                self.seen[clearer] = Some(streak.direction_deg);
            }
        } else {
            for end in 0..2 {
                self.seen[end] = line(end).map(|s| s.direction_deg).or(self.seen[end]);
            }
        }
    }
}
