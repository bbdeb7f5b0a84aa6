//! A clip read backwards: a few frames at a time, the latest first.

use super::{Clip, Frame};
use crate::Result;

/// The frames of a clip before one of them, the latest first.
pub struct Backwards {
    clip: Clip,
    at_a_time: usize,
    /// how many frames of the clip are yet to be read
    left: usize,
    /// those that are, the latest last
    waiting: Vec<Frame>,
}

impl Backwards {
    /// The frames of `clip`, which was read so far at least, before the one numbered `index`. Those that wait to be handed
    /// out take up no more than `most_bytes`, or are one.
    ///
    /// # Errors
    /// As [`Clip::open`].
    pub fn before(clip: &Clip, index: usize, most_bytes: usize) -> Result<Backwards> {
        let pixels = clip.info().width as usize * clip.info().height as usize;
        // colour takes half as many bytes as brightness
        let bytes = pixels + pixels / 2;
        Ok(Backwards {
            clip: clip.beside()?,
            at_a_time: (most_bytes / bytes.max(1)).max(1),
            left: index,
            waiting: Vec::new(),
        })
    }

    /// The next frame back; `None` before the first.
    ///
    /// # Errors
    /// As [`Clip::read`].
    pub fn next(&mut self) -> Result<Option<Frame>> {
        if self.waiting.is_empty() && self.left > 0 {
            self.read_on()?;
        }
        Ok(self.waiting.pop())
    }

    /// Reads the next few, in the order of the clip.
    fn read_on(&mut self) -> Result<()> {
        let from = self.left.saturating_sub(self.at_a_time);
        self.clip.go_back_to(from)?;
        for _ in from..self.left {
            self.waiting.extend(self.clip.next_frame()?);
        }
        self.left = from;
        Ok(())
    }
}
