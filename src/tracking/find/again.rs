//! Looks for the lure anew, as at the beginning, where it was lost for long: its follower may have learned too little of
//! it, or something else.

use super::super::pose::Pose;
use super::super::start_box::StartBox;
use super::FIRST_LOOK_S;
use super::look::Look;
use super::rounds::Rounds;
use crate::Result;
use crate::camera::View;
use crate::media::Frame;

/// Out of sight for so long, s, it is looked for anew.
const LONG_GONE_S: f64 = 1.0;
/// The box of what is found is, across its corners, within these parts of the length of what was followed.
const OF_ITS_LENGTH: [f64; 2] = [0.6, 2.2];

/// A search that begins where the lure is long gone.
pub struct Again {
    view: View,
    size: [f64; 2],
    search: Option<(Look, Rounds)>,
}

impl Again {
    /// For a picture of this size, px.
    pub fn new(view: View, size: [f64; 2]) -> Again {
        Again {
            view,
            size,
            search: None,
        }
    }

    /// A box round the lure in this frame, once it is found; the lure was not seen for `gone_s`, and `was` so large.
    ///
    /// # Errors
    /// [`crate::Error::Video`] when a picture cannot be worked on.
    pub fn look(
        &mut self,
        frame: &Frame,
        gone_s: f64,
        was: Option<Pose>,
    ) -> Result<Option<StartBox>> {
        if gone_s < LONG_GONE_S {
            self.search = None;
            return Ok(None);
        }
        let (view, size) = (self.view, self.size);
        let first_s = frame.t_s + FIRST_LOOK_S;
        let begin = || (Look::new(size, view), Rounds::from(first_s, view));
        let (look, rounds) = self.search.get_or_insert_with(begin);
        if !look.see(frame)? {
            return Ok(None);
        }
        let Some(found) = rounds.go_on(look)? else {
            return Ok(None);
        };
        if was.is_none_or(|was| is_of_size(&found.now, &was)) {
            self.search = None;
            return Ok(Some(found.now));
        }
        rounds.drop_all(frame.t_s);
        Ok(None)
    }
}

/// Whether what was found is about as large as what was followed.
fn is_of_size(found: &StartBox, was: &Pose) -> bool {
    let [least, most] = OF_ITS_LENGTH;
    (least..most).contains(&(found.diagonal() / was.along_px))
}
