//! What came before the start: where the lure was found late, or the user's box is of a later time, it may long have been in
//! the picture. It is followed backwards from there, by one that knows it already.

use super::super::following::Following;
use super::super::shape::Shape;
use super::Pass;
use crate::Result;
use crate::media::{Backwards, Clip};

/// Pictures read ahead, or rather behind, take up no more memory than this, bytes: seven of 1080p.
const WAITING_BYTES: usize = 24 << 20;

/// So long since it was surely seen, s, it is not looked for any farther back: it had not come into the picture.
const GIVEN_UP_S: f64 = 2.0;

/// One that goes back from where the lure was first seen.
pub struct LookBack {
    /// number of the frame in which it was first seen
    first: usize,
    following: Following,
}

impl Pass {
    /// Sets one aside that goes back, as soon as the lure is known.
    pub(super) fn set_aside(&mut self) {
        let known = self.following.as_ref().and_then(Following::known_length);
        if self.back.is_none() && known.is_some() {
            self.back = self.turned_back();
        }
    }

    /// One that goes back from where the lure was first seen and knows it as well as the present one, which follows it still.
    fn turned_back(&self) -> Option<LookBack> {
        let following = self.following.as_ref().filter(|_| self.ended.is_empty())?;
        let mut rows = self.rows.iter().enumerate();
        let (first, pose) = rows.find_map(|(number, row)| Some((number, row.seen()?.1)))?;
        Some(LookBack {
            first,
            following: following.elsewhere(pose),
        })
    }

    /// Follows the lure back from where it was first seen until it is lost for good. Its silhouette, where it was not known
    /// before.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when a picture cannot be worked on; those of [`Clip::open`].
    pub(super) fn look_back(
        &mut self,
        clip: &Clip,
        progress: &mut dyn FnMut(usize),
    ) -> Result<Option<Shape>> {
        let known = self.back.is_some();
        let back = self.back.take().or_else(|| self.turned_back());
        let Some(LookBack { first, following }) = back.filter(|back| back.first > 0) else {
            return Ok(None);
        };
        let (first_s, now_s) = (self.rows[first].t_s, following.now_s());
        let mut pass = Pass {
            clear: self.clear,
            following: Some(following),
            ..Pass::new(self.view, self.size)
        };
        let mut backwards = Backwards::before(clip, first, WAITING_BYTES)?;
        let is_gone = |f: &Following| f.now_s() - f.firm_until_s() > GIVEN_UP_S;
        while !pass.following.as_ref().is_none_or(is_gone) {
            let Some(mut frame) = backwards.next()? else {
                break;
            };
            pass.clear.make(&mut frame)?;
            // the clip runs backwards, and the follower's time goes on
            frame.t_s = now_s + first_s - frame.t_s;
            pass.take(&frame, None)?;
            progress(self.rows.len() - frame.index);
        }
        pass.forget_doubtful();
        for (row, back) in self.rows[..first].iter_mut().rev().zip(pass.rows) {
            row.sighting = back.sighting;
        }
        let silhouette = pass.following.filter(|_| !known);
        Ok(silhouette.map(|f| f.shape().clone()))
    }
}
