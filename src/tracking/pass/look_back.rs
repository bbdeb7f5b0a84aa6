//! What came before a stretch begins: where the lure was found late or anew, or the user's box is of a later time, it may long
//! have been in the picture. It is followed backwards from there, by one that knows it already.

use super::super::following::Following;
use super::super::shape::Shape;
use super::Pass;
use crate::Result;
use crate::media::{Backwards, Clip};

/// Pictures that were read in the order of the clip and wait for their turn take up no more memory than this, bytes: eight
/// of 1080p.
const WAITING_BYTES: usize = 24 << 20;
/// So long since it was surely seen, s, it is not looked for any farther back: it had not come into the picture.
const GIVEN_UP_S: f64 = 2.0;

/// One that goes back from where the lure was first seen in a stretch.
pub struct LookBack {
    stretch: usize,
    /// number of the frame in which it was first seen
    first: usize,
    following: Following,
}

impl Pass {
    /// Sets one aside that goes back from where this stretch began, as soon as the lure is known in it.
    pub(super) fn set_aside(&mut self) {
        let known = self.following.as_ref().and_then(Following::known_length);
        if known.is_some() && !self.is_set_aside() {
            let back = self.turned_back();
            self.backs.extend(back);
        }
    }

    /// Whether one is set aside for the present stretch.
    fn is_set_aside(&self) -> bool {
        let last = self.backs.last();
        last.is_some_and(|back| back.stretch == self.ended.len())
    }

    /// One that goes back from where the lure was first seen in this stretch and knows it as well as the present one, which
    /// follows it still: what was lost before it was known may not have been the lure.
    fn turned_back(&self) -> Option<LookBack> {
        let following = self.following.as_ref().filter(|f| !f.is_lost())?;
        let stretch = self.ended.len();
        let mut rows = self.rows.iter().enumerate();
        let (first, pose) = rows.find_map(|(number, row)| {
            let (_, pose) = row.seen().filter(|_| row.stretch == stretch)?;
            Some((number, pose))
        })?;
        Some(LookBack {
            stretch,
            first,
            following: following.elsewhere(pose),
        })
    }

    /// Follows the lure back from where each stretch began. The silhouette of the last one, where the lure was not known yet
    /// when the clip ended.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when a picture cannot be worked on; those of [`Clip::open`].
    pub(super) fn look_back(
        &mut self,
        clip: &Clip,
        progress: &mut dyn FnMut(usize),
    ) -> Result<Option<Shape>> {
        let unknown = self.turned_back().filter(|_| !self.is_set_aside());
        for back in std::mem::take(&mut self.backs) {
            self.go_back(back, clip, progress)?;
        }
        match unknown {
            Some(back) => self.go_back(back, clip, progress),
            None => Ok(None),
        }
    }

    /// Follows the lure back until it is lost for good, or to where it was seen before. Its silhouette as learned on the way.
    fn go_back(
        &mut self,
        back: LookBack,
        clip: &Clip,
        progress: &mut dyn FnMut(usize),
    ) -> Result<Option<Shape>> {
        let LookBack {
            stretch,
            first,
            following,
        } = back;
        let seen_before = self.rows[..first].iter().rposition(|r| r.seen().is_some());
        let until = seen_before.map_or(0, |number| number + 1);
        // what lay on the bottom, as it turned out later, is not gone back from
        if until == first || self.rows[first].seen().is_none() {
            return Ok(None);
        }
        let (first_s, now_s) = (self.rows[first].t_s, following.now_s());
        let mut pass = Pass {
            clear: self.clear,
            following: Some(following),
            ..Pass::new(self.view, self.size)
        };
        let mut backwards = Backwards::before(clip, first, WAITING_BYTES)?;
        let is_gone = |f: &Following| f.now_s() - f.firm_until_s() > GIVEN_UP_S;
        while pass.rows.len() < first - until && !pass.following.as_ref().is_none_or(is_gone) {
            let Some(mut frame) = backwards.next_frame()? else {
                break;
            };
            pass.clear.make(&mut frame)?;
            // the clip runs backwards, and the follower's time goes on
            frame.t_s = now_s + first_s - frame.t_s;
            pass.take(&frame, None)?;
            progress(self.rows.len() - frame.index);
        }
        if pass
            .following
            .as_ref()
            .is_some_and(|f| f.is_lost() || is_gone(f))
        {
            pass.forget_doubtful();
        }
        for (row, seen) in self.rows[..first].iter_mut().rev().zip(pass.rows) {
            row.sighting = seen.sighting;
            row.stretch = stretch;
        }
        Ok(pass.following.map(|f| f.shape().clone()))
    }
}
