//! A clip read backwards: a few frames at a time, the latest first.

use super::{Clip, Frame};
use crate::Result;

/// So many frames at a time at least, for each time the file is decoded from a key picture on.
const FEWEST_AT_A_TIME: usize = 8;
/// Where the file does not lead to its key pictures, it is decoded from the beginning each time; no more often than this.
const MOST_FROM_FIRST: usize = 8;

/// The frames of a clip before one of them, the latest first.
pub struct Backwards {
    clip: Clip,
    at_a_time: usize,
    /// whether the file leads to its key pictures
    sought: bool,
    /// how many frames of the clip are yet to be read
    left: usize,
    /// those that are, the latest last
    waiting: Vec<Frame>,
}

impl Backwards {
    /// The frames of `clip`, which was read so far at least, before the one numbered `index`. Those that wait to be handed
    /// out take up no more than `most_bytes`, unless they are very large.
    ///
    /// # Errors
    /// As [`Clip::open`].
    pub fn before(clip: &Clip, index: usize, most_bytes: usize) -> Result<Backwards> {
        let pixels = clip.info().width as usize * clip.info().height as usize;
        // colour takes half as many bytes as brightness
        let bytes = pixels + pixels / 2;
        let clip = clip.beside()?;
        Ok(Backwards {
            sought: clip.has_rising_stamps(),
            clip,
            at_a_time: (most_bytes / bytes.max(1)).max(FEWEST_AT_A_TIME),
            left: index,
            waiting: Vec::new(),
        })
    }

    /// The next frame back; `None` before the first, and where the file cannot be read back that far.
    ///
    /// # Errors
    /// As [`Clip::read`].
    pub fn next_frame(&mut self) -> Result<Option<Frame>> {
        if self.waiting.is_empty() && self.left > 0 {
            self.read_on()?;
        }
        Ok(self.waiting.pop())
    }

    /// Reads the next few, in the order of the clip.
    fn read_on(&mut self) -> Result<()> {
        let (from, until) = (self.left.saturating_sub(self.at_a_time), self.left);
        self.left = from;
        self.sought = self.sought && self.clip.go_back_to(from);
        if !self.sought {
            if until > MOST_FROM_FIRST * self.at_a_time {
                self.left = 0;
                return Ok(());
            }
            self.clip.go_from_first_to(from)?;
        }
        for _ in from..until {
            let Some(frame) = self.clip.read_again()? else {
                // after a picture more or fewer none is where it was
                self.waiting.clear();
                self.left = 0;
                return Ok(());
            };
            self.waiting.push(frame);
        }
        Ok(())
    }
}
