//! What came before the start: where the lure was found late, or the user's box is of a later time, it may long have been in
//! the picture. It is followed backwards from there, by one that knows it already.

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

/// One that goes back from where the lure was first seen.
pub struct LookBack {
    /// number of the frame in which it was first seen
    first: usize,
    following: Following,
    /// whether its silhouette was known by then
    known: bool,
}

impl Pass {
    /// Sets one aside that goes back, as soon as the lure is known.
    pub(super) fn set_aside(&mut self) {
        let known = self.following.as_ref().and_then(Following::known_length);
        if self.back.is_none() && known.is_some() {
            self.back = self.turned_back();
        }
    }

    /// One that goes back from where the lure was first seen and knows it as well as the present one, which follows it
    /// still: what was lost before it was known may not have been the lure.
    fn turned_back(&self) -> Option<LookBack> {
        let following = self.following.as_ref().filter(|f| !f.is_lost())?;
        if !self.ended.is_empty() {
            return None;
        }
        let mut rows = self.rows.iter().enumerate();
        let (first, pose) = rows.find_map(|(number, row)| Some((number, row.seen()?.1)))?;
        Some(LookBack {
            first,
            following: following.elsewhere(pose),
            known: following.known_length().is_some(),
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
        // what lay on the bottom, as it turned out later, is not gone back from
        let back = self.back.take();
        let back = back.filter(|back| self.rows[back.first].seen().is_some());
        let Some(back) = back.or_else(|| self.turned_back()).filter(|b| b.first > 0) else {
            return Ok(None);
        };
        let (first_s, now_s) = (self.rows[back.first].t_s, back.following.now_s());
        let mut pass = Pass {
            clear: self.clear,
            following: Some(back.following),
            ..Pass::new(self.view, self.size)
        };
        let mut backwards = Backwards::before(clip, back.first, WAITING_BYTES)?;
        let is_gone = |f: &Following| f.now_s() - f.firm_until_s() > GIVEN_UP_S;
        while !pass.following.as_ref().is_none_or(is_gone) {
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
        for (row, seen_back) in self.rows[..back.first].iter_mut().rev().zip(pass.rows) {
            row.sighting = seen_back.sighting;
        }
        let silhouette = pass.following.filter(|_| !back.known);
        Ok(silhouette.map(|f| f.shape().clone()))
    }
}
